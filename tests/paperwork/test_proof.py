"""The proof: every name once, with all that was found out about it, on numbered pages."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import numpy as np
import pytest

from nameplate.findings import Finding
from nameplate.geometry.region import EMPTY, difference, offset, rectangle
from nameplate.model import Face, Lettering, Order, Plate
from nameplate.paperwork.pictures import FINE, path_data, plate_pictures
from nameplate.paperwork.proof import CARDS_A_PAGE, proof_html

FACE = Face(rectangle(-55, -40, 55, 40), rectangle(-49, -34, 49, 34), rectangle(-50, -2, -46, 2), "rectangle")
LETTERS = difference(rectangle(-30, -5, 30, 15), rectangle(-2, 0, 2, 4))


def made(number, name="Wren Abara", **order):
    return Plate(Order(f"{number:03d}", number + 1, name, **order), Lettering(LETTERS, 20.0, 14.04, (name,), 1))


def proof(plates, findings=(), title="Orchard"):
    html = "".join(proof_html(plates, FACE, findings, title=title))
    return html, re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html.partition("<body>")[2]))


@pytest.mark.parametrize(("names", "pages"), [(1, 1), (CARDS_A_PAGE, 1), (CARDS_A_PAGE + 1, 2), (5 * CARDS_A_PAGE, 5)])
def test_pages_are_numbered_and_full(names, pages):
    html, text = proof([made(n) for n in range(1, names + 1)])
    assert html.count('<section class="page">') == pages
    assert [f"page {n} of {pages}" in text for n in range(1, pages + 1)] == [True] * pages
    assert html.count("<article") == text.count("spelling approved") == html.count("<svg") == names


def test_the_face_is_told_with_its_size_and_drawn_with_its_artwork():
    html, text = proof([made(1)])
    assert "The face: 110.0 x 80.0 mm, 1 hole." in text
    assert "dasharray" not in html
    rim = np.array([[-50.0, 0.0], [50.0, 0.0]])
    drawn = plate_pictures(replace(FACE, scored=(rim,)), width=60, height=40).outline
    assert 'stroke-dasharray="3 2" d="M-5000 0 5000 0"' in drawn


def test_a_card_shows_the_name_as_typed_and_as_made():
    html, text = proof([made(7, "Jean-Luc O’Tarn", line2="of Elm & Ash", copies=3, position="B 7")])
    for part in (
        "Jean-Luc O’Tarn",
        "of Elm &amp; Ash",
        "plate 007 , row 8",
        "3 copies",
        "hangs at B 7",
        "capitals 14.0 mm high",
    ):
        assert part in text
    assert path_data(LETTERS) in html


def test_a_refused_row_is_shown_as_not_made_with_its_reason():
    plate = Plate(Order("001", 2, "שרה"), None)
    html, text = proof([plate, made(2)], [Finding("unsupported-script", "error", "Hebrew is not set", row=2)])
    assert "NOT MADE" in text
    assert text.count("not made: Hebrew is not set") == 1
    assert "1 of 2 cannot be made yet" in text
    assert html.count("spelling approved") == html.count("<svg") == 1


def test_every_finding_stands_on_its_card_or_at_the_end_and_each_card_has_only_its_own():
    findings = [
        Finding("a", "error", "first finding", plate="001", row=2),
        Finding("b", "warning", "second finding", row=3),
        Finding("c", "note", "about the whole job"),
    ]
    html, text = proof([made(1), made(2)], findings)
    cards = html.partition("what was found")[0]
    assert cards.count("first finding") == cards.count("second finding") == 1
    assert "about the whole job" not in cards
    end = text.partition("what was found")[2]
    assert all(f.message in end for f in findings)
    assert "page 2 of 2" in end


def test_what_does_not_fit_a_card_is_said_to_stand_at_the_end():
    findings = [Finding(f"f{n}", "warning", f"finding {n} " + "long " * 20, row=2) for n in range(5)]
    html, text = proof([made(1)], findings)
    assert "more on the last pages" in text.partition("what was found")[0]
    assert all(f"finding {n}" in text.partition("what was found")[2] for n in range(5))
    assert html.count("<article") == 1


def test_many_findings_are_shared_out_to_numbered_pages():
    findings = [Finding("x", "note", f"finding number {n}.") for n in range(120)]
    html, text = proof([made(1)], findings)
    pages = html.count('<section class="page">')
    assert pages == 1 + 3  # 50 lines a page
    assert all(f"page {n} of {pages}" in text for n in range(1, pages + 1))
    assert all(f"finding number {n}." in text for n in range(120))


def test_names_never_become_tags():
    html, _ = proof(
        [made(1, "<script>alert(1)</script>", position='"><b>')], [Finding("x", "error", "<i>", row=2)], "<u>"
    )
    assert not re.search(r"<(script|i|u)\b", html)


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


def test_a_picture_without_lettering_or_keep_outs_is_the_face_alone():
    face = Face(FACE.outline, FACE.zone, EMPTY, "x")
    assert len(ElementTree.fromstring(plate_pictures(face, width=44, height=34).of(None, "x"))) == 1


def test_a_picture_fits_its_box_whatever_the_face():
    for outline in (rectangle(0, 0, 300, 10), rectangle(0, 0, 10, 300), rectangle(0, 0, 5, 5)):
        root = ElementTree.fromstring(
            plate_pictures(Face(outline, outline, EMPTY, "x"), width=44, height=34).of(None, "x")
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
