"""The proof as a customer reads it: its texts and pictures read back by other programs' libraries (PDFium, lxml)."""

from __future__ import annotations

import csv
import html
import itertools
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from lxml import html as lxml_html

from nameplate.findings import Finding
from nameplate.geometry.region import bounds, rectangle
from nameplate.model import Face, Lettering, LinePlace, Order, OrderedLine, Part, Plate
from nameplate.paperwork.card_texts import SMALLER, Letters, texts_of
from nameplate.paperwork.looks import looks_of
from nameplate.paperwork.proof import proof_of
from nameplate.paperwork.proof_html import proof_html
from nameplate.paperwork.proof_pdf import proof_pdf
from nameplate.pdf.paper import A4, LETTER
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, MaterialKeys
from tests.browsers import needs_browser, started
from tests.hash_seeds import said_with_seeds

ORCHARD = Path(__file__).parents[2] / "examples" / "orchard" / "sponsors.csv"
FACE = Face(rectangle(-55, -40, 55, 40), rectangle(-49, -34, 49, 34), rectangle(-50, -2, -46, 2), "rectangle")
LONG = Face(rectangle(-100, -20, 100, 20), rectangle(-90, -15, 90, 15), rectangle(0, 0, 1, 1), "rectangle")
SMALL = Face(rectangle(-20, -25, 20, 25), rectangle(-15, -20, 15, 20), rectangle(0, 0, 1, 1), "rectangle")
FACES = {"gold": LONG, "silver": FACE, "bronze": SMALL}
LETTERS = rectangle(-30, -5, 30, 15)


def made(number, name="Wren Abara", **order):
    region = LETTERS if order.get("design") != "bronze" else rectangle(-10, -5, 10, 5)
    return Plate(Order(f"{number:03d}", number + 1, name, **order), Lettering(region, 20.0, 14.04, (name,), 1))


def proof(plates, faces=None, findings=(), **more):
    faces = faces or {"": FACE}
    materials = more.pop("materials", dict.fromkeys(faces, DEFAULT_MATERIALS))
    return proof_of(plates, faces, findings, title="Orchard sponsors", materials=materials, **more)


def test_names_of_a_proof_of_some_plates_are_compared_with_all_of_the_list():
    new, others = made(3, "Mary Smyth"), [made(1, "Mary Smith"), made(2, "Ida Quill")]
    assert proof([new]).looks == {}
    looks = proof([new], beside=[plate.order for plate in others]).looks
    assert looks[new.order.row] == ("nearly the same name as “Mary Smith”",)


def three_designs():
    """A roster of three designs, every row of it with something of its own."""
    with ORCHARD.open(encoding="utf-8") as file:
        names = [row["name"] for row in csv.DictReader(file)]
    plates = [made(n, name, design=list(FACES)[n % 3], copies=1 + n % 2) for n, name in enumerate(names, 1)]
    unmade = [Plate(Order("090", 91, "Otto Vale", design="gold"), None)]
    return [*plates, *unmade, Plate(Order("091", 92, "Ada Pell", design="bronze", hold=True), None)]


def pages(data):
    """The texts of all pages, their white space as one space each."""
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def picture(data, dots=8):
    """The first page as an array of colours, (0, 0) at its upper left corner, so many dots to the mm."""
    import pypdfium2

    page = pypdfium2.PdfDocument(data)[0]
    return np.array(page.render(scale=dots * 25.4 / 72, rev_byteorder=True).to_numpy())[..., :3]


@pytest.mark.parametrize("per_page", [1, 4, 8])
@pytest.mark.parametrize("paper", [A4, LETTER])
def test_every_name_of_the_roster_is_text_in_both_forms(per_page, paper):
    plates = three_designs()
    whole = proof(plates, FACES, per_page=per_page)
    wanted = Counter((plate.order.id, plate.order.name) for plate in plates)
    page = lxml_html.fromstring("".join(proof_html(whole)))
    cards = [(card.find(".//h2").text_content(), card.findall(".//p")[0].text) for card in page.iter("article")]
    assert Counter((re.search(r"No\. (\d+)", count)[1], name) for name, count in cards) == wanted
    text = " ".join(pages(proof_pdf(whole, paper)))
    names = {plate.order.name for plate in plates}
    found = [(m[2], m[1]) for name in names for m in re.finditer(rf"({re.escape(name)}) No\. (\d+)\b", text)]
    assert Counter(found) == wanted


@pytest.mark.parametrize("per_page", [1, 4, 8])
def test_each_page_and_each_plate_has_a_place_to_sign(per_page):
    plates = three_designs()
    told = pages(proof_pdf(proof(plates, FACES, per_page=per_page), A4))
    for number, text in enumerate(told, 1):
        assert f"page {number} of {len(told)}" in text
        assert text.count("signature") == text.count(" date") == 1
    assert sum(text.count("initials") for text in told) == sum(plate.lettering is not None for plate in plates)
    assert "50 names" not in told[0] and "49 names in all, 72 pieces, version" in told[0] and "sent on" in told[0]
    assert "1 cannot be made yet. 1 is on hold." in told[0]


def test_each_design_has_pages_of_its_own_and_the_first_one_the_title():
    told = pages(proof_pdf(proof(three_designs(), FACES), A4))
    headed = [re.search(r"proof(, continued)?, design (\w+)", text).groups() for text in told]
    assert headed[0] == (None, "gold") and all(continued for continued, _ in headed[1:])
    assert [design for _, design in headed] == sorted((design for _, design in headed), key=list(FACES).index)


def test_a_card_says_size_font_material_and_count_in_words():
    materials = {"": {**DEFAULT_MATERIALS, "lettering": MaterialKeys(thickness=2)}}
    lettering = replace(made(7).lettering, line_places=(LinePlace("Lobster", 20.0, 0, 0),))
    plate = replace(made(7, copies=3, fonts=("Lobster", "Pacifico")), lettering=lettering)
    (text,) = pages(proof_pdf(proof([plate], materials=materials, inches=True), A4))
    for part in (
        "Wren Abara No. 007, 3 pieces",
        "Plate 110 × 80 mm (4.33 × 3.15 in)",  # 110 / 25.4 = 4.331, 80 / 25.4 = 3.150
        "Lettering 60 × 20 mm (2.36 × 0.79 in)",
        "Lobster · a material to be agreed, 2 mm, glued on",
    ):
        assert part in text
    assert "Pacifico" not in text  # a fallback that nothing was taken from
    borrowed = replace(plate, findings=(Finding("fallback-font", "note", "y from Pacifico", "007", 8),))
    assert "Lobster and Pacifico" in pages(proof_pdf(proof([borrowed]), A4))[0]


def test_the_customer_reads_nothing_of_engineering():
    findings = [
        Finding("hard-to-read", "warning", "the e is not clear; a smaller minimum web helps", "001", 2),
        Finding("fragile", "warning", "55 MPa at its neck under 2 N", "001", 2),
        Finding("jig-play", "warning", "0.6 mm in its window", "001", 2),
    ]
    text = " ".join(pages(proof_pdf(proof([made(1)], findings=findings), A4)))
    assert "Please check: some letters may be hard to make out" in text and "1 needs checking: 001." in text
    for word in ("MPa", " N ", "neck", "web", "kerf", "window", "hard-to-read", "row ", "carrier", "unnamed"):
        assert word not in text


def test_who_signed_or_what_changed_is_said():
    signed = {"001": "Approved by R. Quill.", "002": "Changed since it was approved."}
    whole = proof([made(1), made(2, "Otto Vale")], signed=signed)
    (text,), page = pages(proof_pdf(whole, A4)), "".join(proof_html(whole))
    assert all(said in text and said in page for said in signed.values())
    assert page.count('<p class="changed"') == 1 and 'class="look"' not in page


def test_what_changed_is_counted_apart_from_what_needs_checking_and_has_a_sign_of_its_own():
    findings = [Finding("hard-to-read", "warning", "the e is not clear", "001", 2)]
    changed = "Changed since the proof of 2026-03-01: the text was “Otto”"
    plates = [made(1), made(2, "Otto Vale"), made(3, "Mina Roe")]
    whole = proof(plates, findings=findings, signed=dict.fromkeys(("002", "003"), changed))
    (text,), page = pages(proof_pdf(whole, A4)), "".join(proof_html(whole))
    for told in (text, html.unescape(re.sub(r"<[^>]+>", "", page))):
        assert "1 needs checking: 001." in told and "2 new or changed." in told
        # one in the head, and one at each plate
        assert told.count("Δ") == 3
    assert page.count('<p class="changed"') == 2 and page.count('<p class="look"') == 1


def test_the_plate_is_drawn_in_its_colours_as_large_as_its_card_takes():
    colours = {"lettering": "#112233", "backing": "#445566", "blank": "#778899"}
    own = {key: replace(DEFAULT_MATERIALS[key], colour=colour) for key, colour in colours.items()}
    backed = replace(made(1), parts=(Part("001", "backing", "backing", rectangle(-35, -9, 35, 19)),))
    drawn = picture(proof_pdf(proof([backed], materials={"": {**DEFAULT_MATERIALS, **own}}, per_page=1), A4))
    boxes = {}
    for colour in colours.values():
        ys, xs = np.nonzero((drawn == tuple(bytes.fromhex(colour[1:]))).all(axis=-1))
        boxes[colour] = (np.ptp(xs) / 8, np.ptp(ys) / 8)
    scale = boxes["#778899"][0] / 110
    assert scale > 1.6  # 186 mm of the page are for a face of 110
    assert boxes["#778899"][1] == pytest.approx(80 * scale, abs=0.5)
    assert boxes["#445566"] == pytest.approx((70 * scale, 28 * scale), abs=0.5)
    assert boxes["#112233"] == pytest.approx((60 * scale, 20 * scale), abs=0.5)
    # what stays in its plate is no acrylic: it is drawn as a dark opening
    pierced = picture(proof_pdf(proof([made(1, mount="pierced")], materials={"": {**DEFAULT_MATERIALS, **own}}), A4))
    assert not (pierced == (0x11, 0x22, 0x33)).all(axis=-1).any()


@pytest.mark.parametrize("per_page", [1, 2, 4, 8])
@pytest.mark.parametrize("design", FACES)
def test_no_text_leaves_its_page_or_lies_over_another(per_page, design):
    """Boxes of letters, as PDFium gives them, of the longest texts there are."""
    import pypdfium2

    name = "Llanfairpwllgwyngyll " * 4 + "& Maximiliane Oberwieser-Thistlewood"
    fonts = ("Playpen Sans ExtraBold", "Dancing Script Bold", "Oleo Script Bold")
    plates = [made(n, name, design=design, fonts=fonts, copies=12) for n in (1, 2, 3)]
    findings = [Finding(code, "warning", "", "001", 2) for code in ("hard-to-read", "small-text", "line-break")]
    data = proof_pdf(proof(plates, FACES, findings, per_page=per_page), LETTER)
    for page in pypdfium2.PdfDocument(data):
        text = page.get_textpage()
        boxes = [text.get_charbox(i) for i in range(text.count_chars()) if text.get_text_range(i, 1).strip()]
        low, high = np.array(boxes)[:, :2].min(axis=0), np.array(boxes)[:, 2:].max(axis=0)
        assert (low > 10).all() and (high < np.array(page.get_size()) - 10).all()
        middles = np.array([((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in boxes])
        for k, (x0, y0, x1, y1) in enumerate(boxes):
            inside = ((middles > (x0 + 0.1, y0 + 0.1)) & (middles < (x1 - 0.1, y1 - 0.1))).all(axis=1)
            assert set(np.nonzero(inside)[0]) <= {k}
    told = " ".join(pages(data))
    assert told.count("Maximiliane Oberwieser-Thistlewood") == told.count("initials") == 3


def test_the_heading_of_a_large_job_stays_on_its_page():
    import pypdfium2

    plates = [made(n, copies=999, fonts=("Lobster",)) for n in range(1, 5)]
    unmade = [Plate(Order(f"{n}", n, "Otto Vale", hold=n % 2 == 0), None) for n in range(100, 300)]
    whole = replace(proof([*plates, *unmade], per_page=8), title="The community orchard of the valley " * 4)
    page = pypdfium2.PdfDocument(proof_pdf(whole, LETTER))[0]
    text = page.get_textpage()
    boxes = [text.get_charbox(i) for i in range(text.count_chars()) if text.get_text_range(i, 1).strip()]
    assert max(x1 for _, _, x1, _ in boxes) < page.get_width() - 30
    assert "100 cannot be made yet. 100 are on hold." in " ".join(text.get_text_range().split())


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("per_page", range(1, 9))
@pytest.mark.parametrize("design", FACES)
def test_no_card_leaves_out_what_it_has_to_say(design, per_page, paper):
    findings = [Finding(code, "warning", "", "001", 2, measured=3.4) for code in ("hard-to-read", "small-text")]
    (text,) = pages(
        proof_pdf(proof([made(1, "Maximiliane Oberwieser", design=design)], FACES, findings, per_page=per_page), paper)
    )
    for part in (
        "No. 001, 1 piece",
        "some letters may be hard to make out; the letters are small, an a is 3.4 mm high",
        "Plate ",
        "glued on",
    ):
        assert part in text


#: What a card may have to say at most, or nearly: two lines of a name, what changed, what to look at, three fonts.
FULL = {"001": "Changed since the proof of 2026-03-01: the font was “Playpen Sans ExtraBold”, the size is another"}
LONG_NAME = "Wilhelmina Featherstonehaugh-Carrington"


def full(design, per_page):
    findings = [Finding(code, "warning", "", "001", 2, measured=3.4) for code in ("hard-to-read", "small-text")]
    fonts = (("Playpen Sans ExtraBold",), ("Dancing Script Bold",), ("Oleo Script Bold",))
    texts = (LONG_NAME, "of the Thistlewood Press", "1931 - 2012")
    styled = tuple(OrderedLine(text, own) for text, own in zip(texts, fonts, strict=True))
    plates = [made(1, LONG_NAME, design=design, styled=styled, copies=12)]
    return proof(plates, FACES, findings, per_page=per_page, signed=FULL, inches=True)


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("per_page", range(1, 9))
@pytest.mark.parametrize("design", FACES)
def test_a_card_with_much_to_say_says_all_of_it_in_smaller_letters(design, per_page, paper):
    (text,) = pages(proof_pdf(full(design, per_page), paper))
    for part in (
        FULL["001"],
        "an a is 3.4 mm high",
        "12 pieces",
        "Plate ",
        "Oleo Script Bold · cast acrylic, 3 mm, glued",
    ):
        assert part in text
    assert "…" not in text


def test_what_has_no_room_in_the_smallest_letters_ends_with_dots_facts_last():
    whole = full("bronze", 8)
    card = whole.card(whole.plates[0], small=True)
    card = replace(card, signed="Changed since the proof: " + "the text was “Wren” " * 20)
    letters = Letters((9.5, 8.0), 4, 7.0, 0.45, 0.3, lambda size: 3.0)
    roomy, tight = (texts_of(card, ("Δ", "!"), 43.0, height, letters, "") for height in (200.0, 38.0))
    assert (roomy.by, roomy.text("signed")) == (1.0, card.signed) and tight.by == SMALLER[-1]
    assert tight.height <= 38.0 < roomy.height
    assert tight.text("signed").endswith("…") and card.signed.startswith(tight.text("signed").removesuffix(" …"))
    assert tight.text("fact") == card.facts[0] and tight.text("count") == card.count
    least = texts_of(card, ("Δ", "!"), 43.0, 1.0, letters, "")
    assert [len(one.lines) for one in least.paragraphs if one.told != "count"] == [1, 1, 1]
    assert least.text("fact").endswith("…") and card.facts[0].startswith(least.text("fact").removesuffix(" …"))


@needs_browser
def test_a_browser_shows_all_that_a_card_says(tmp_path):
    with started() as browser:
        tab = browser.new_page()
        for design, per_page in itertools.product(FACES, range(1, 9)):
            tab.set_content("".join(proof_html(full(design, per_page))))
            over = "document.querySelectorAll('.told').forEach(t => found.push(t.scrollHeight - t.clientHeight))"
            assert tab.evaluate(f"() => {{ const found = []; {over}; return found; }}") == [0], (design, per_page)


def test_the_same_job_is_the_same_file():
    assert proof_pdf(proof(three_designs(), FACES), A4) == proof_pdf(proof(three_designs(), FACES), A4)


def test_a_row_of_a_design_that_there_is_not_has_a_card_all_the_same():
    unknown = Plate(Order("002", 3, "Otto Vale", design="sliver"), None)
    told = pages(proof_pdf(proof([made(1, design="gold"), unknown], FACES), A4))
    assert "Otto Vale" in told[1] and "Not made yet" in told[1]


def test_a_letter_that_the_print_lacks_is_said():
    (text,) = pages(proof_pdf(proof([Plate(Order("001", 2, "漢 Lin"), None)]), A4))
    assert "\ufffd Lin" in text and "stands for a letter" in text


def looked_at(*names):
    orders = [Order(f"{n:03d}", n, name) for n, name in enumerate(names)]
    return {names[row]: list(texts) for row, texts in looks_of(orders, ()).items()}


def test_names_are_the_same_where_design_and_lines_are():
    texts = [("", "Oak"), ("tag", "Oak"), ("", "Quince"), ("", "oak")]
    orders = [Order(str(n), n, "Zoë Lindqvist", line2, design=design) for n, (design, line2) in enumerate(texts, 1)]
    again = Finding("duplicate-name", "warning", "again", row=4)
    assert looks_of(orders, [again]) == {4: ("the same name is on the list twice",)}


def test_a_word_without_an_accent_that_another_row_has_is_marked():
    said = looked_at("Zoe Park", "Zoë Lind", "José Quill", "Jose Vale", "Otto Zoemann", "La Rive", "Là-bas Sud")
    assert said == {
        "Zoe Park": ["“Zoe” has no accent here, “Zoë” has one elsewhere"],
        "Jose Vale": ["“Jose” has no accent here, “José” has one elsewhere"],
    }
    # the accent may be a letter of its own (Unicode TR 15: NFC and NFD are the same text)
    assert looked_at("Zoë Park", "Zoe\u0308 Lind") == {}


def test_two_letters_that_changed_places_are_nearly_the_same_name():
    assert set(looked_at("Wren Abara", "Wern Abara", "Otto Vale")) == {"Wren Abara", "Wern Abara"}


def test_names_near_several_others_are_told_alike_in_whatever_order_python_goes_through_sets():
    code = (
        "from nameplate.model import Order; from nameplate.paperwork.looks import near_names\n"
        "names = 'Maria Quill', 'Marla Quill', 'Maria Quilt', 'Mari Quill', 'Marina Quill'\n"
        "print(ascii(list(near_names([Order(str(n), n, name) for n, name in enumerate(names)]))))"
    )
    said = said_with_seeds(code, range(4))
    assert len(said) == 1
    assert b"Marina Quill" in said.pop()


def test_nothing_is_marked_in_the_texts_of_the_example():
    with ORCHARD.open(encoding="utf-8") as file:
        assert looked_at(*(row["name"] for row in csv.DictReader(file))) == {}


def test_the_picture_of_a_small_face_is_larger_than_life():
    (plate,) = [made(1, design="bronze")]
    drawn = picture(proof_pdf(proof([plate], FACES), A4))
    dark = (drawn == (0x2B, 0x26, 0x22)).all(axis=-1)
    assert np.ptp(np.nonzero(dark)[1]) / 8 > bounds(plate.lettering.region).width
