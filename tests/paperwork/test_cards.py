import html
import itertools
import re

import numpy as np
import pytest

from nameplate.findings import Finding
from nameplate.geometry import region as rg
from nameplate.jig.labels import CHECK_BAR, place_labels
from nameplate.jig.make import make_shared
from nameplate.jig.template import labels_of
from nameplate.model import Face, Lettering, Order, Part, Plate
from nameplate.paperwork.cards import cards_html, plate_picture
from nameplate.paperwork.worklist import BatchOnPaper
from nameplate.ticket.schema import JigKeys
from tests.browsers import needs_browser, printed, started

FACE = Face(rg.rectangle(-50, -25, 50, 25), rg.rectangle(-44, -19, 44, 19), rg.EMPTY, "rectangle")
NAME = Lettering(rg.rectangle(-30, -4, 30, 4), 20.0, 10.0, ("Wren",), 1)
JIG = {
    "file": "jigs/1-wren.svg",
    "style": "carrier",
    "window": "contacts",
    "play": {"shift": 0.3, "turn": 0.4, "far": 0.45},
    "nubs": [[30.0, 0.0]],
}


def page_of(plates, face=FACE, **more):
    return "".join(cards_html(BatchOnPaper(plates, {"": face}, **{"title": "T", **more})))


def test_a_picture_is_true_to_size():
    svg = plate_picture(NAME, FACE, np.empty((0, 2)), "")
    width, height = re.search(r'width="([0-9.]+)mm" height="([0-9.]+)mm"', svg).groups()
    view = [float(v) for v in re.search(r'viewBox="([^"]+)"', svg)[1].split()]
    # hundredths of a millimetre: 100 units are one mm on paper
    assert float(width) == view[2] / 100 == 102.0 and float(height) == view[3] / 100 == 52.0


def test_a_plate_larger_than_the_paper_says_its_scale():
    large = Face(rg.rectangle(-200, -50, 200, 50), rg.EMPTY, rg.EMPTY, "rectangle")
    page = page_of([Plate(Order("1", 2, "Wren"), NAME, jig=JIG)], large)
    assert f"picture at {85 / 402:.0%} of true size" in page  # 400 mm and a border of 1 mm, in a card's 85 mm


def test_every_made_plate_has_a_card_and_refused_ones_have_none():
    plates = [Plate(Order("1", 2, "Wren & <b>Co"), NAME, jig=JIG), Plate(Order("2", 3, "Jo"), None)]
    page = page_of(plates, title="Orchard")
    assert page.count('class="card"') == 1 and page.count("nub of the template") == 1
    assert "Wren &amp; &lt;b&gt;Co" in page and "<b>Co" not in page
    for part in ("jigs/1-wren.svg", "0.45\N{NO-BREAK SPACE}mm", "Dry fit", "picture at 83% of true size"):
        assert part in page


@pytest.mark.parametrize(("per_page", "rows"), [(1, 7), (2, 7), (6, 4)])
def test_fewer_cards_on_a_page_have_larger_pictures(per_page, rows):
    plates = [Plate(Order(str(n), n + 1, "Wren"), NAME, jig=JIG) for n in range(7)]
    large = Face(rg.rectangle(-200, -50, 200, 50), rg.EMPTY, rg.EMPTY, "rectangle")
    page = page_of(plates, large, cards_per_page=per_page, paper="letter")
    assert page.count('<section class="row">') == rows and page.count('class="card"') == 7
    assert f"picture at {(85 if per_page == 6 else 178) / 402:.0%} of true size" in page and "size: letter" in page
    height = float(re.search(r"\.card { min-height: ([0-9.]+)mm", page)[1])
    # what A4 and Letter both have between margins of 12 mm: 279.4 - 24 mm (ISO 216, ANSI/ASME Y14.1); gaps of 3 mm
    rows_on_page = {1: 1, 2: 2, 6: 3}[per_page]
    assert rows_on_page * height + (rows_on_page - 1) * 3 <= 279.4 - 24


def test_carrier_and_ladder_have_a_picture_of_how_they_go_together():
    keys = JigKeys(style="carrier", ladder=True)
    made = make_shared(FACE, keys, title="T", carrier_thickness=3.0, template_thickness=1.0)
    template = Part("1", "template", "template", rg.rectangle(-60, -10, 60, 10))
    plates = [Plate(Order("1", 2, "Wren"), NAME, (template,), jig=JIG)]
    page = page_of(plates, carriers={"": made.record}, shared={"": made.parts})
    layers = len(made.record["layers"])
    taken_apart = re.search(r'aria-label="the carrier taken apart.*?</svg>', page)[0]
    # the layers, the plaque and a template, numbered from the floor up
    assert re.findall(r">(\d+)</text>", taken_apart) == [str(n) for n in range(1, layers + 3)]
    assert taken_apart.count("v-") == 3  # three pins
    assert "1 floor" in page and f"{layers + 1} the plaque, {layers + 2} a template" in page
    assert "Try the plug in the pockets" in page and 'aria-label="the fit ladder' in page
    assert "fit ladder" not in cards(["applied"])


def cards(mounts, **jig):
    parts = (Part("1", "backing", "backing", rg.rectangle(-34, -8, 34, 8)),)
    plates = [
        Plate(Order(str(n), n + 1, "Wren", mount=m), NAME, parts * (m == "backed"), jig=jig)
        for n, m in enumerate(mounts, 1)
    ]
    return page_of(plates)


def test_the_steps_stand_once_and_the_cards_two_in_a_row():
    page = cards(["applied"] * 13, **JIG)
    assert page.count("Dry fit") == page.count("<ol>") == 1
    assert page.count('class="card"') == 13 and page.count('<section class="row">') == 7


def test_nothing_is_glued_on_plates_that_are_cut_through_or_engraved():
    page = cards(["pierced", "marked"]).partition("<h2>")[2]  # below the cautions
    assert "glue" not in page.lower() and "<circle" not in page
    assert "arrow" not in page and "l-150 200" not in page and "l150 200" not in page  # nothing is lined up
    assert "l150 200" in cards(["applied"])
    assert "no bridge broke" in page and "Engraved names" in page
    assert "<circle" in cards(["applied"])


def test_the_backing_comes_before_the_face_and_other_kinds_have_steps_of_their_own():
    page = cards(["applied", "backed", "backed"])
    backed = page.partition("Names on backings")[2].partition("</ol>")[0]
    assert backed.index("on its backing") < backed.index("on the face")
    assert page.count("<ol>") == 2 and "Names on backings, glued on (2)" in page
    # common practice: without a jig the name is tried dry, glued, pressed and waited for
    assert "Try the name on the face dry" in page


def test_a_plaque_that_is_cut_here_is_lifted_out_first():
    plates = [Plate(Order("1", 2, "Wren"), NAME, (Part("1", "blank", "blank", FACE.outline),), jig=JIG)]
    page = page_of(plates).partition("<h2>")[2]
    assert page.startswith("Names glued on in the carrier, plaques cut here<")
    assert page.index("Lift the plaque out of its sheet") < page.index("Lay the plaque in the pocket")
    assert "Lift the plaque" not in cards(["applied", "pierced"])


def test_cautions_and_the_carriers_parts_are_on_the_page():
    carrier = {
        "layers": [{"layer": 1, "what": "floor", "thickness": 3.0}, {"layer": 2, "what": "wall", "thickness": 3.0}],
        "parts": [{"what": "dowel pin", "count": 3, "diameter": 3.0, "length": 10.0, "note": "pressed in"}],
        "play": {"shift": 0.1, "turn": 0.1, "far": 0.2},
    }
    page = page_of([], title="Orchard", carriers={"": carrier})
    assert "dowel pin" in page and "floor (3&nbsp;mm)" in page
    assert "yanoacrylate" in page


def test_cards_say_where_a_plate_hangs_on_the_wall_or_by_the_list():
    from nameplate.paperwork.cards import _hangs

    twice = Plate(Order("7", 2, "Ada", copies=2, position="by the gate"), None)
    assert _hangs(twice, {("7", 1): "A1", ("7", 2): "B3", ("8", 1): "C1"}) == "A1, B3"
    assert _hangs(twice, None) == "by the gate"


def test_cards_say_how_sheets_lie_and_what_the_signs_on_a_template_mean():
    lines = ("Lay sheets of lettering show side down.", "Ids are on the waste.")
    plates = [Plate(Order("1", 2, "Wren"), NAME, jig=JIG)]
    page = page_of(plates, bed=lines)
    assert all(f"<p>{line}</p>" in page for line in lines) and "At the laser" in page
    assert "square bracket, 10 mm long" in page  # as labels.CHECK_BAR draws it
    assert CHECK_BAR[0] == 10.0
    assert "At the laser" not in cards(["applied"]) and "bracket" not in cards(["applied"], style="print")


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("Wren", "Zoë Łoś"), "the plate's id, and its name where there is room; an arrow"),
        (("Ωμέγα", "Wren", "Ольга"), "the plate's id, and its name where there is room (1, 3: the id alone); an arrow"),
        (("Ωμέγα", "Ольга"), "the plate's id; an arrow"),
    ],
)
def test_cards_say_of_names_that_cannot_be_scored_that_their_templates_have_the_id_alone(names, said):
    plates = [Plate(Order(str(n), n + 1, name), NAME, jig=JIG) for n, name in enumerate(names, 1)]
    assert f"Scored on a template: {said}" in html.unescape(page_of(plates))
    # as on the templates themselves, where there is room
    outline, window = rg.rectangle(0, 0, 120, 60), rg.rectangle(10, 30, 110, 50)
    for plate, name in zip(plates, names, strict=True):
        label, alone = (
            [line.tolist() for line in found.lines]
            for found in (labels_of(outline, window, plate.order), place_labels(outline, window, (plate.order.id,)))
        )
        assert (label == alone) == (name in ("Ωμέγα", "Ольга"))


@pytest.mark.parametrize(
    ("face", "holes"), [(FACE.outline, False), (rg.difference(FACE.outline, rg.disc((0, 18), 2)), True)]
)
def test_only_a_plaque_with_holes_has_something_pushed_out_of_them(face, holes):
    plates = [Plate(Order("1", 2, "Wren"), NAME, (Part("1", "blank", "blank", face),), jig=JIG)]
    page = page_of(plates)
    assert ("push out what is left in its holes" in page) == holes == ("plaques with holes cut here" in page)


def to_check(*messages, **more):
    found = tuple(Finding("x", "warning", message, "1", 2) for message in messages)
    return Plate(Order("1", 2, "Wren", **more), NAME, jig=JIG, findings=found)


def test_a_card_says_what_to_check_and_cuts_nothing_off():
    def check(*messages):
        return re.findall(r"<b>check: (.*?)</b>", page_of([to_check(*messages)]))

    assert check() == []
    assert check("“Wren” is hard to read: the n is not clear; give it a larger face") == [
        "hard to read: the n is not clear"
    ]
    (two,) = check("small letters are 4.0 mm high; under 4.5 mm they close", "another")
    assert two == "small letters are 4.0 mm high (and 1 more in notes.html)"
    assert check("a word " * 30) == ["a word " * 30]


#: As long as a warning of one plate gets before its first semicolon.
LONG = (
    "the jig holds “Bartholomew Maximilian Quillfeather” to 1.26 mm at its farthest point (shift 0.92 mm, turn 1.58 "
    "degrees), more than the tolerance of 0.5 mm; jig.clearance = 0.34 (now 0.9) would hold it"
)


def test_a_card_with_long_texts_has_a_smaller_picture_and_says_so():
    tall = Face(rg.rectangle(-30, -28, 30, 28), rg.EMPTY, rg.EMPTY, "rectangle")
    short, long = (page_of([to_check(*messages)], tall) for messages in ((), (LONG,)))
    assert "picture true to size" in short and "picture true to size" not in long
    assert "picture at 8" in long  # of 75 mm in a card the check takes three lines of 3.4 mm


#: How many parts of a card cut off what they hold, then the boxes on the screen of the card, of the words of each
#: paragraph in it, and of its picture.
BOXES = """cards => cards.map(card => {
    const box = one => { const r = one.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom] };
    const parts = [...card.querySelectorAll("h3, p")];
    const words = parts.map(part => {
        const all = document.createRange(); all.selectNodeContents(part); return box(all) });
    const cuts = one => getComputedStyle(one).overflow != "visible";
    return [[card, ...parts, card.querySelector(".picture")].filter(cuts).length,
         box(card), ...words, box(card.querySelector("svg"))] })"""


@needs_browser
def test_nothing_of_a_card_is_cut_off_as_a_browser_prints_it():
    tall = Face(rg.rectangle(-110, -112, 110, 112), rg.EMPTY, rg.EMPTY, "rectangle")
    line = "keeper of the old pear trees beside the mill, 1931 to 2019"
    full = to_check(LONG, "another", "a third", copies=14, position="the far end of the wall", line2=line)
    with started() as browser:
        tab = browser.new_page(viewport={"width": round(192 * 96 / 25.4), "height": 1000})
        tab.emulate_media(media="print")
        for per_page in (1, 2, 6):
            tab.set_content(page_of([full] * 6, tall, cards_per_page=per_page, paper="letter"))
            cards = tab.eval_on_selector_all(".card", BOXES)
            heights = tab.eval_on_selector_all(".row", "all => all.map(one => one.getBoundingClientRect().height)")
            rows_on_page = {1: 1, 2: 2, 6: 3}[per_page]
            assert len(cards) == 6 and len(heights) == 6 // per_page * rows_on_page
            for cut, card, *inner in cards:
                assert not cut and len(inner) == 5  # heading, what it is, what to check, boxes, picture
                assert all(
                    card[0] <= x0 and card[1] <= y0 and x1 <= card[2] and y1 <= card[3] for x0, y0, x1, y1 in inner
                )
                down = sorted(inner, key=lambda box: box[1])
                assert all(above[3] <= below[1] + 1 for above, below in itertools.pairwise(down))
            # a page of Letter between margins of 12 mm (ANSI/ASME Y14.1), gaps of 3 mm, in pixels of 1/96 in
            assert rows_on_page * max(heights) <= (279.4 - 24 - 3 * (rows_on_page - 1)) * 96 / 25.4


@needs_browser
def test_the_first_cards_follow_the_steps_and_further_pages_are_full():
    plates = [Plate(Order(str(n), n + 1, "Wren"), NAME, jig=JIG) for n in range(1, 12)]
    with started() as browser:
        tab = browser.new_page()
        for paper, per_page, cards in (
            ("a4", 6, [2, 6, 3]),
            ("letter", 6, [2, 6, 3]),
            ("a4", 2, [1, 2, 2, 2, 2, 2]),
            ("a4", 1, [0, *[1] * 11]),
        ):
            printed_pages = printed(tab, page_of(plates, cards_per_page=per_page, paper=paper))
            told = [page.get_text_range() for page in printed_pages]
            assert [text.count("Wren") for text in told] == cards, (paper, per_page)
            assert "Lay the plaque in the pocket" in told[0]
