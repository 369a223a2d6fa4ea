"""The proof: every name once, as the customer reads it, on numbered pages; and the workshop's notes beside it."""

from __future__ import annotations

import base64
import hashlib
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import numpy as np
import pytest

from nameplate.findings import Finding
from nameplate.geometry.region import EMPTY, difference, offset, rectangle
from nameplate.model import Face, Lettering, Order, OrderedLine, Part, Plate
from nameplate.paperwork.notes import notes_html
from nameplate.paperwork.pictures import FINE, path_data, plate_pictures
from nameplate.paperwork.proof import PAGE, grid_for, proof_of
from nameplate.paperwork.proof_html import proof_html
from nameplate.paperwork.worklist import BatchOnPaper
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS

FACE = Face(rectangle(-55, -40, 55, 40), rectangle(-49, -34, 49, 34), rectangle(-50, -2, -46, 2), "rectangle")
LETTERS = difference(rectangle(-30, -5, 30, 15), rectangle(-2, 0, 2, 4))


def made(number, name="Wren Abara", **order):
    return Plate(Order(f"{number:03d}", number + 1, name, **order), Lettering(LETTERS, 20.0, 14.04, (name,), 1))


def plain(html):
    body = re.sub(r"<script>.*?</script>", "", html.partition("<body>")[2], flags=re.DOTALL)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))


def the_proof(plates, findings=(), title="Orchard", materials=DEFAULT_MATERIALS, **more):
    return proof_of(plates, {"": FACE}, findings, title=title, materials={"": materials}, **more)


def proof(plates, findings=(), title="Orchard", materials=DEFAULT_MATERIALS, **more):
    html = "".join(proof_html(the_proof(plates, findings, title, materials, **more)))
    return html, plain(html)


def notes(plates, findings, title="Orchard"):
    return plain("".join(notes_html(BatchOnPaper(plates, {}, title, findings=findings))))


@pytest.mark.parametrize(
    ("names", "per_page", "pages"), [(1, 4, 1), (4, 4, 1), (5, 4, 2), (5, 1, 5), (16, 8, 2), (3, 2, 2)]
)
def test_pages_are_numbered_and_full(names, per_page, pages):
    html, text = proof([made(n) for n in range(1, names + 1)], per_page=per_page)
    assert html.count('<section class="page') == pages
    assert [f"page {n} of {pages}" in text for n in range(1, pages + 1)] == [True] * pages
    assert html.count("<article") == text.count("as it should be") == html.count("<svg") == names
    assert text.count("signature") == text.count(" date ") == pages


@pytest.mark.parametrize("aspect", [0.2, 0.7, 1.4, 3.0, 12.0])
@pytest.mark.parametrize("per_page", range(1, 9))
def test_cards_fit_their_page_and_pictures_their_cards(per_page, aspect):
    grid = grid_for(per_page, aspect)
    assert grid.columns * grid.rows >= per_page
    assert grid.columns * grid.width <= PAGE[0] and grid.rows * grid.height <= PAGE[1]
    assert 0 < grid.picture[0] < grid.width and 0 < grid.picture[1] < grid.height


def test_the_face_is_drawn_with_its_artwork():
    assert "dasharray" not in proof([made(1)])[0]
    rim = np.array([[-50.0, 0.0], [50.0, 0.0]])
    drawn = plate_pictures(replace(FACE, scored=(rim,)), width=60, height=40).outline
    assert 'stroke-dasharray="3 2" d="M-5000 0 5000 0"' in drawn


def test_a_card_shows_the_name_as_text_and_the_plate_with_size_font_material_and_number():
    html, text = proof([made(7, "Jean-Luc O’Tarn", line2="of Elm & Ash", copies=3, fonts=("Lobster",))], inches=True)
    for part in (
        "Jean-Luc O’Tarn / of Elm &amp; Ash",
        "No. 007, 3 pieces",
        "Plate 110 × 80 mm (4.33 × 3.15 in)",  # 110 / 25.4 = 4.331, 80 / 25.4 = 3.150
        "Lettering 60 × 20 mm (2.36 × 0.79 in)",
        "Lobster · cast acrylic, 3 mm, glued on",
    ):
        assert part in re.sub(r" +", " ", text)
    assert path_data(LETTERS) in html
    metric = proof([made(7)])[1]
    assert "Plate 110 × 80 mm" in metric and " in)" not in metric


def test_a_card_names_the_fonts_of_all_lines_and_a_small_one_all_it_needs():
    fonts = (("Satisfy",), ("Pacifico", "Lobster"), ("Satisfy",))
    styled = [OrderedLine(text, own) for text, own in zip(("In memory of", "Wren Abara", "1950"), fonts, strict=True)]
    plates = [made(1, styled=(*styled, OrderedLine("", ("Allura",))))]
    assert "Satisfy, Pacifico and Lobster · cast acrylic" in proof(plates)[1]
    small = proof(plates, per_page=8)[1]
    for part in ("Plate 110 × 80 mm · Satisfy, Pacifico and Lobster", "as it should be", "initials"):
        assert part in small


def test_the_plate_is_drawn_in_the_colours_of_its_materials():
    own = {
        key: replace(m, colour=c)
        for (key, m), c in zip(DEFAULT_MATERIALS.items(), ("#112233", None, "#445566", "#778899", None), strict=True)
    }
    backed = replace(made(1), parts=(Part("001", "backing", "backing", rectangle(-35, -9, 35, 19)),))
    svg = proof([backed], materials=own)[0].partition("<svg")[2]
    assert re.findall(r'fill="(#\w+)"', svg) == ["#778899", "#fff", "#445566", "#112233"]
    # what stays in its plate is no acrylic: it is drawn as a dark opening
    pierced = proof([made(1, mount="pierced")], materials=own)[0].partition("<svg")[2]
    assert "#112233" not in pierced and "#778899" in pierced


def test_a_refused_name_says_so_and_its_reason_is_for_the_workshop():
    plates = [Plate(Order("001", 2, "שרה"), None), made(2), Plate(Order("003", 4, "Jo", hold=True), None)]
    findings = [Finding("unsupported-script", "error", "Hebrew is not set", row=2)]
    html, text = proof(plates, findings)
    assert text.count("Not made yet") == text.count("On hold") == 1 and "Hebrew is not set" not in text
    assert "1 cannot be made yet" in text and "1 is on hold" in text
    assert html.count("as it should be") == html.count("<svg") == 1
    told = notes(plates, findings)
    assert "001 שרה" in told and "Not made: Hebrew is not set" in told and "row 2 of the list" in told


@pytest.mark.parametrize(
    ("legibility", "codes", "said"),
    [
        (0.39, (), "Please check: the ë may be hard to make out"),
        (0.39, ("hard-to-read",), "Please check: the ë may be hard to make out"),
        (
            0.39,
            ("small-letters",),
            "Please check: the ë may be hard to make out; the letters are small, an a is 3.9 mm",
        ),
        (0.41, ("small-letters",), "Please check: the letters are small, an a is 3.9 mm high"),
        (0.41, (), ""),
        (None, ("hard-to-read",), "Please check: some letters may be hard to make out"),
        (0.1, ("misread",), "Please check: the ë reads as e"),
        (None, ("long-tie",), "Please check: a long strip joins its lines (another line break or font avoids it)"),
    ],
)
def test_the_letter_that_is_not_clear_is_named(legibility, codes, said):
    plate = made(1, "Maëlle")
    lettering = replace(plate.lettering, legibility=legibility, weakest_letter="the ë")
    found = [Finding(code, "warning", "the ë reads as e; give it room", "001", 2, measured=3.9) for code in codes]
    _, text = proof([replace(plate, lettering=lettering)], found)
    assert said in text if said else "Please check" not in text
    assert text.count("hard to make out") == said.count("hard to make out")


def test_the_customer_reads_no_rows_no_codes_and_nothing_of_engineering():
    findings = [
        Finding("hard-to-read", "warning", "the e is not clear; a smaller minimum web helps", "001", 2),
        Finding("fragile", "warning", "55 MPa at its neck", "001", 2),
        Finding("jig-play", "warning", "0.6 mm in its window", "001", 2),
        Finding("assumed", "note", "kerf 0.18"),
    ]
    _, text = proof([made(1)], findings)
    assert "Please check: some letters may be hard to make out" in text
    for word in ("MPa", "neck", "web", "kerf", "window", "hard-to-read", "row "):
        assert word not in text
    told = notes([made(1)], findings)
    assert all(f.message in told for f in findings)
    assert "3 to look at before cutting" in told and "1 to do or to decide" in told


def test_what_may_be_a_slip_in_the_text_is_marked():
    names = ["Wren Abara", "Wren Abarra", "hazel Thistlewood", "Jo", "Bo", "Paolo Dall’Orto", "Fiona McAlister"]
    _, text = proof([made(n, name) for n, name in enumerate(names, 1)], per_page=8)
    assert "nearly the same name as “Wren Abarra”" in text and "nearly the same name as “Wren Abara”" in text
    assert text.count("the capitals are unusual") == 1 and text.count("Please check") == 3
    assert "3 need checking: 001-003." in text
    _, text = proof([made(n, name.upper()) for n, name in enumerate(("Rhys Cadwgan", "Tilda", "Otto"), 1)])
    assert "Please check" not in text  # a list in capitals is written so


def test_another_text_size_place_or_colour_is_another_version_and_the_same_job_is_the_same():
    def version(plates, **more):
        return re.search(r"version (\w{8})", proof(plates, **more)[1])[1]

    one = made(1)
    moved = replace(one, lettering=replace(one.lettering, origin=(1.0, 0.0)))
    larger = replace(one, lettering=replace(one.lettering, size=21.0))
    red = {**DEFAULT_MATERIALS, "lettering": replace(DEFAULT_MATERIALS["lettering"], colour="#8a1f2b")}
    versions = [version([p]) for p in (one, made(1, "Wren Abarà"), moved, larger)] + [version([one], materials=red)]
    assert len(set(versions)) == 5
    assert version([one]) == version([made(1)])


def test_names_never_become_tags_and_only_the_pages_own_script_may_run():
    nasty = "<script>alert(1)</script>"
    html, _ = proof([made(1, nasty, line2='"><i>')], [Finding("x", "error", "<i>", row=2)], "<u>")
    assert not re.search(r"<(i|u)\b", html) and nasty not in html
    (script,) = re.findall(r"<script>(.*?)</script>", html, flags=re.DOTALL)
    # Content Security Policy Level 3, section 2.3.1: the hash is of the script's text, in base64
    assert f"script-src 'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}'" in html
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)", html)


def test_the_notes_of_a_job_with_nothing_to_say_say_so():
    told = notes([made(1)], [], title="<u>")
    assert "There is nothing to look at" in told and "&lt;u&gt;" in told


def test_a_picture_is_well_formed_and_true_to_shape():
    root = ElementTree.fromstring(
        plate_pictures(FACE, width=44, height=34).of(made(1).lettering, 'A "quoted" <name> & more')
    )
    assert root.get("aria-label") == 'A "quoted" <name> & more'
    assert root.get("viewBox") == "-5600 -4100 11200 8200"
    assert (root.get("width"), root.get("height")) == ("44mm", "32.21mm")
    outline, keep_out, letters = (p.get("d") for p in root)
    assert "M5500 4000 5500 -4000 -5500 -4000 -5500 4000Z" in outline
    assert "M-4600 200 -4600 -200 -5000 -200 -5000 200Z" in keep_out
    assert letters.count("M") == 2  # the outline and its counter


def test_a_picture_has_a_path_for_the_face_and_one_for_the_name():
    face = Face(FACE.outline, FACE.zone, EMPTY, "x")
    picture = plate_pictures(face, width=44, height=34).of(made(1).lettering, "x")
    assert [path.get("fill") for path in ElementTree.fromstring(picture)] == ["none", "#000"]


def test_a_picture_fits_its_box_whatever_the_face():
    for outline in (rectangle(0, 0, 300, 10), rectangle(0, 0, 10, 300), rectangle(0, 0, 5, 5)):
        root = ElementTree.fromstring(
            plate_pictures(Face(outline, outline, EMPTY, "x"), width=44, height=34).of(made(1).lettering, "x")
        )
        width, height = (float(root.get(k).removesuffix("mm")) for k in ("width", "height"))
        assert width <= 44.01
        assert height <= 34.01
        assert width == pytest.approx(44, abs=0.01) or height == pytest.approx(34, abs=0.01)


def test_a_drawn_line_lies_within_its_tolerance():
    # the outline of a disc, thinned out, against the circle itself
    disc = offset(rectangle(-0.001, -0.001, 0.001, 0.001), 20)
    drawn = np.array([float(v) for v in path_data(disc)[1:-1].split()]).reshape(-1, 2) / 100
    ends = np.roll(drawn, -1, axis=0)
    middles = np.hypot(*((drawn + ends) / 2).T)
    assert np.all(np.abs(np.hypot(*drawn.T) - 20) < FINE + 0.01)
    assert np.all(np.abs(middles - 20) < FINE + 0.01)
    assert len(drawn) > 20


def test_the_same_job_gives_the_same_bytes():
    plates = [made(n) for n in range(1, 12)]
    assert proof(plates) == proof(plates)


def test_an_empty_job_has_no_page():
    assert proof([])[0].count("<section") == 0
