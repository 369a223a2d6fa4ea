"""The worklist: every piece once, where it really lies, and safe to open."""

from __future__ import annotations

import csv
import html
import io
import itertools
import math
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from nameplate.findings import Finding
from nameplate.geometry.region import EMPTY, covers, difference, intersects, moved, rectangle
from nameplate.model import Face, Lettering, Order, Part, Plate
from nameplate.nest.layout import Layout, Placement, SheetLayout
from nameplate.paperwork.cards import cards_html
from nameplate.paperwork.worklist import COLUMNS, BatchOnPaper, mapped_sheets, on_the_bed, worklist_csv, worklist_rows
from nameplate.paperwork.worklist_page import left_of_sentence, worklist_html
from nameplate.ticket.workshop_schema import MaterialKeys
from tests.browsers import needs_browser, printed, started

FACE = Face(rectangle(-55, -40, 55, 40), rectangle(-49, -34, 49, 34), EMPTY, "rectangle")


def made(plate_id, name, *, copies=1, position="", extra=(), line2=""):
    region = difference(rectangle(-30, -5, 30, 15), rectangle(-2, 0, 2, 4))
    order = Order(plate_id, int(plate_id) + 1, name, line2=line2, copies=copies, position=position, extra=extra)
    parts = (
        Part(plate_id, "lettering", "lettering", region, copies=copies),
        Part(plate_id, "template", "template", difference(FACE.outline, region)),
    )
    lettering = Lettering(region, 20.0, 14.0, (name,), 1)
    return Plate(order, lettering, parts, jig={"file": f"jigs/{plate_id}.svg"})


def refused(plate_id, name, reason="the reason"):
    order = Order(plate_id, int(plate_id) + 1, name)
    return Plate(order, None, findings=(Finding("x", "error", reason, plate_id, order.row),))


def at(plate_id, x, y, turn=0.0, kind="lettering", copy=1):
    return Placement(plate_id, kind, copy, 1, x, y, turn)


PLATES = [
    made("1", "Wren Abara", copies=2, position="B 7", extra=(("tree", "=1+1"), ("sheet", "mine"))),
    refused("2", "שרה"),
    made("3", "Zoë, “Z” <b>Ó</b>", line2="since 1999", extra=(("tree", "pear"), ("sheet", ""))),
]
LAYOUT = Layout(
    (
        SheetLayout("lettering", 600, 300, 0, 1.0, (at("1", 100, 50), at("3", 200, 100, 90.0))),
        SheetLayout("lettering", 600, 300, 0, 1.0, (at("1", 40, 30, 180.0, copy=2),), number=2),
        SheetLayout(
            "template", 600, 400, 1, 1.0, (at("1", 60, 45, kind="template"), at("3", 180, 45, kind="template"))
        ),
    )
)
FILES = ["cut/lettering-01.svg", "cut/lettering-02.svg", "cut/template-01.svg"]


def on_paper(plates=PLATES, layout=LAYOUT, files=FILES, faces=None, title="Orchard", **more):
    return BatchOnPaper(plates, faces or {"": FACE}, title, layout=layout, files=files, **more)


def rows_of(batch):
    return worklist_rows(batch, mapped_sheets(batch))


def rows():
    return rows_of(on_paper())


def test_one_row_for_every_piece_and_every_refused_plate():
    assert [(r["plate"], r["copy"], r["status"], r["sheet"]) for r in rows()] == [
        ("1", "1", "made", FILES[0]),
        ("1", "2", "made", FILES[1]),
        ("2", "", "refused", ""),
        ("3", "1", "made", FILES[0]),
    ]


def test_the_place_is_the_middle_of_the_piece_where_it_lies():
    # middle of the piece (0, 5) turned counter-clockwise about the plate's origin, then shifted
    for row, (x, y, turn) in zip(
        [rows()[i] for i in (0, 1, 3)], [(100, 50, 0), (40, 30, 180), (200, 100, 90)], strict=True
    ):
        t = math.radians(turn)
        assert float(row["x_mm"]) == pytest.approx(x - 5 * math.sin(t), abs=0.05)
        assert float(row["y_mm"]) == pytest.approx(y + 5 * math.cos(t), abs=0.05)
        assert float(row["turn_deg"]) == turn


def test_paper_says_what_is_laid_into_the_machine_and_where_a_template_lies():
    batch = on_paper(materials={"lettering": MaterialKeys("black acrylic", 3.0)})
    sheets = mapped_sheets(batch)
    page = "".join(worklist_html(batch, sheets, worklist_rows(batch, sheets)))
    assert "<b>lettering sheet 2</b>: black acrylic 3 mm, 600 x 300" in page
    assert "<b>template sheet 1</b>: 600 x 400" in page  # nobody said of what
    cards = "".join(cards_html(batch, sheets))
    assert re.search(r"<b>lettering sheet 1</b>: black acrylic 3 mm, 600 x 300\Wmm, cut/lettering-01.svg; ", cards)
    square = next(row["jig_square"] for row in worklist_rows(batch, sheets) if row["plate"] == "3")
    assert f"its template: template sheet 1, {square};" in cards and "jigs/3.svg" not in cards
    as_cut = on_paper(as_cut={("3", "template", 1, 1): PLATES[2]})
    assert "jigs/3.svg" in "".join(cards_html(as_cut, mapped_sheets(as_cut)))


def test_jig_and_wall_and_extra_columns():
    first, _, _, last = rows()
    assert (first["jig"], first["jig_sheet"], first["position"], first["copies"]) == (
        "jigs/1.svg",
        FILES[2],
        "B 7",
        "2",
    )
    assert (first["tree"], first["sheet (list)"], last["tree"]) == ("=1+1", "mine", "pear")
    assert (last["line2"], last["row"]) == ("since 1999", "4")


def test_the_csv_reads_back_and_starts_with_the_mark_of_utf_8():
    data = worklist_csv(rows()).encode("utf-8")
    assert data.startswith(b"\xef\xbb\xbf")
    assert b"\r\n" in data
    back = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    assert [r["name"] for r in back] == ["Wren Abara", "Wren Abara", "שרה", "Zoë, “Z” <b>Ó</b>"]
    assert back[0]["tree"] == "'=1+1"
    assert tuple(back[0])[: len(COLUMNS)] == COLUMNS


def test_an_empty_job_has_its_headings():
    text = worklist_csv([])
    assert text.lstrip("\ufeff").strip() == ",".join(COLUMNS)


class Page(HTMLParser):
    """Checks that tags are closed in order and collects the text and the tags of a page."""

    VOID = frozenset({"meta", "br", "col", "path"})

    def __init__(self, html):
        super().__init__()
        self.open, self.words, self.tags = [], [], []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


def drawn(batch):
    sheets = mapped_sheets(batch)
    return "".join(worklist_html(batch, sheets, worklist_rows(batch, sheets)))


def html_of(*of, title="Orchard <script>alert(1)</script>", **more):
    batch = on_paper(*of, title=title, **more)
    return drawn(batch)


def page(*of, **more):
    return Page(html_of(*of, **more))


def test_the_page_shows_every_plate_every_sheet_and_why_a_row_was_refused():
    shown = page()
    for part in (
        "Wren Abara",
        "copy 2 of 2",
        "Zoë, “Z” <b>Ó</b>",
        "since 1999",
        "שרה",
        "the reason",
        "B 7",
        "pear",
        *FILES,
    ):
        assert part in shown.text
    pictures = [a["aria-label"] for tag, a in shown.tags if tag == "svg"]
    assert len(pictures) == 3 + 3


def test_the_page_carries_the_cautions_local_codes_first():
    text = page(slots={}).text
    places = [
        text.index(w)
        for w in ("Local codes", "running laser", "Exhaust", "PVC", "Cyanoacrylate", "silica", "Wren Abara")
    ]
    assert places == sorted(places)
    assert "Cyanoacrylate" in page().text and "silica" not in page().text  # no wall
    pierced = [replace(plate, order=replace(plate.order, mount="pierced")) for plate in PLATES]
    assert "Cyanoacrylate" not in page(pierced).text and "running laser" in page(pierced).text


def test_what_the_list_does_not_say_has_no_column():
    text = page().text
    assert "hang it where the list says" in text and "hangs at" in text and "from the list" in text
    bare = [replace(plate, order=replace(plate.order, position="", extra=())) for plate in PLATES]
    text = page(bare).text
    assert "hang it" not in text and "hangs at" not in text and "from the list" not in text
    assert "Tick the plate off." in text and "where it lies" in text


def test_nothing_in_a_name_becomes_a_tag_and_nothing_is_fetched():
    shown = page()
    names = {tag for tag, _ in shown.tags}
    assert not names & {"script", "link", "img", "iframe", "object", "embed", "base", "form"}
    assert "alert(1)" in shown.text
    assert not [a for _, attrs in shown.tags for a in attrs if a in ("src", "href") or a.startswith("on")]


def test_reasons_found_in_the_list_are_shown_too():
    plates = [Plate(Order("2", 3, "Ada"), None)]
    found = [Finding("y", "error", "letter missing", row=3), Finding("z", "error", "of another row", row=4)]
    shown = page(plates, Layout(), [], findings=found)
    assert "letter missing" in shown.text
    assert "of another row" not in shown.text


def test_without_templates_the_order_of_work_does_not_speak_of_them():
    plate = made("1", "Wren")
    bare = Plate(plate.order, plate.lettering, plate.parts[:1])
    shown = page([bare], Layout((SheetLayout("lettering", 600, 300, 0, 1.0, (at("1", 100, 50),)),)), FILES[:1])
    assert "template" not in shown.text.partition("Order of work")[2].partition("Plates")[0]


def squares_seen(batch):
    """The squares in which the ids stand on the maps of a batch, by the SVG alone: a text's middle is about a third of
    its size above its baseline."""
    found, page = {}, "".join(worklist_html(batch, mapped_sheets(batch), []))
    for file, svg in re.findall(r'"map of (cut/[^"]+)"(.+?)</svg>', page, re.DOTALL):
        group = svg.partition('class="ids"')[2]
        (size,) = re.findall(r'font-size="(\d+)"', group)
        for x, y, name in re.findall(r'<text x="(\d+)" y="(-?\d+)"[^>]*>([^<]+)</text>', group):
            # squares of 50 mm (of 100 on no sheet so small), lettered and numbered from the corner of x and y
            column, line = "ABCDEFGHIJKL"[int(x) // 5000], (int(size) // 3 - int(y)) // 5000 + 1
            found[file, name] = f"{column}{line}"
    return found


def test_every_piece_is_found_by_its_square_on_its_sheet():
    # the opening of the plaque is where its middle is: its id stands beside that, in another square
    plaque = difference(rectangle(-70, -40, 70, 40), rectangle(-55, -25, 55, 25))
    pierced = replace(made("4", "Corvin"), parts=(Part("4", "blank", "blank", plaque),))
    sheets = (*LAYOUT.sheets, SheetLayout("blank", 600, 300, 2, 1.0, (at("4", 120, 75, kind="blank"),)))
    batch = on_paper([*PLATES, pierced], Layout(sheets), [*FILES, "cut/blank-01.svg"])
    seen = squares_seen(batch)
    made_rows = [row for row in rows_of(batch) if row["status"] == "made"]
    assert [row["square"] for row in made_rows] == [seen[row["sheet"], row["plate"]] for row in made_rows]
    for row in made_rows[:-1]:
        assert row["jig_square"] == seen[row["jig_sheet"], row["plate"]]
    assert made_rows[-1]["square"] != "C2" and (made_rows[-1]["x_mm"], made_rows[-1]["y_mm"]) == ("120.0", "75.0")
    text = page().text
    for row in made_rows[:-1]:
        number = row["sheet"].removesuffix(".svg")[-1]
        assert f"lettering sheet {number}, {row['square']}" in text and f"template sheet 1, {row['jig_square']}" in text


def test_a_spare_piece_is_called_so_and_hangs_nowhere():
    laid = (at("1", 100, 50), at("1", 200, 50, copy=2))
    layout = Layout((SheetLayout("lettering", 600, 300, 0, 1.0, laid),))
    text = page([made("1", "Wren", position="A 1")], layout, FILES[:1]).text
    lying, _, hanging = text.partition("Plates, sheet by sheet")[2].partition("Plates, by where they hang")
    assert lying.count("Wren") == 2 and lying.count("spare") == 1 and hanging.count("Wren") == 1


def test_names_that_are_nearly_the_same_are_pointed_out():
    plates = [made("1", "Maria"), made("2", "Marla"), made("3", "Otto")]
    laid = tuple(at(str(n), 100 * n, 50) for n in (1, 2, 3))
    text = page(plates, Layout((SheetLayout("lettering", 600, 300, 0, 1.0, laid),)), FILES[:1]).text
    assert "! nearly the same name as “Marla”" in text and "! nearly the same name as “Maria”" in text
    assert text.count("! nearly") == 2


def test_plates_stand_sheet_by_sheet_and_once_more_by_where_they_hang():
    plates = [made("1", "Wren", position="A 10"), made("2", "Otto", position="A 9"), made("3", "Maja")]
    sheets = (
        SheetLayout("lettering", 600, 300, 0, 1.0, (at("3", 400, 50), at("2", 100, 50))),
        SheetLayout("lettering", 600, 300, 0, 1.0, (at("1", 100, 50),), number=2),
    )
    text = page(plates, Layout(sheets), FILES[:2]).text
    lying, _, hanging = text.partition("Plates, sheet by sheet")[2].partition("Plates, by where they hang")
    assert lying.index("Otto") < lying.index("Maja") < lying.index("Wren")
    assert hanging.index("Otto") < hanging.index("Wren") and "Maja" not in hanging


def test_plates_on_which_nothing_is_glued_have_no_box_for_glue():
    def page(mount):
        plate = made("1", "Wren Abara")
        plates = [replace(plate, order=replace(plate.order, mount=mount), jig={})]
        layout = Layout((SheetLayout("lettering", 600, 300, 0, 1.0, (at("1", 100, 50),)),))
        html = html_of(plates, layout, FILES[:1])
        return html.partition("<h2>Order of work</h2>")[2]

    assert "glue" in page("applied") and "glue" not in page("pierced") and "Cut the plates" in page("pierced")


def test_a_plate_of_two_pieces_is_ticked_off_once_and_each_piece_when_it_is_cut():
    plate = made("1", "Wren Abara", copies=2)
    plate = replace(plate, parts=(*plate.parts, Part("1", "blank", "blank", FACE.outline, copies=2)))
    laid = SheetLayout("lettering", 600, 300, 0, 1.0, (at("1", 100, 50), at("1", 200, 50, copy=2)))
    blanks = SheetLayout("blank", 600, 300, 1, 1.0, (at("1", 60, 45, kind="blank"), at("1", 180, 45, 0, "blank", 2)))
    files = ["cut/lettering-01.svg", "cut/blank-01.svg"]
    rows = rows_of(on_paper([plate], Layout((laid, blanks)), files))
    assert [(r["piece"], r["copy"]) for r in rows] == [
        ("lettering", "1"), ("lettering", "2"), ("blank", "1"), ("blank", "2"),
    ]  # fmt: skip
    shown = page([plate], Layout((laid, blanks)), files).text
    table = shown.partition("Plates, sheet")[2]
    ticks = (
        "name cut",
        "plaque cut",
        "glued",
        "hung",
        "copy 1 of 2",
        "copy 2 of 2",
        "lettering sheet 1",
        "plaque sheet 1",
    )
    assert [table.count(word) for word in ticks] == [2, 2, 2, 2, 1, 1, 2, 2]


def test_each_design_has_the_order_of_work_of_its_own_plates():
    glued, pierced = made("1", "Wren"), made("2", "Otto")
    glued = replace(glued, order=replace(glued.order, design="gold"))
    blank = (Part("2", "blank", "blank", FACE.outline),)
    pierced = replace(pierced, order=replace(pierced.order, design="plain", mount="pierced"), parts=blank, jig={})
    sheets = (
        SheetLayout("lettering", 600, 300, 0, 1.0, (at("1", 100, 50),)),
        SheetLayout("blank", 600, 300, 1, 1.0, (at("2", 60, 45, kind="blank"),)),
    )
    faces = {"gold": FACE, "plain": FACE}
    html = html_of([glued, pierced], Layout(sheets), FILES[:2], faces)
    gold, _, plain = html.partition("design gold")[2].partition("<h2>Plates")[0].partition("design plain")
    assert "glue" in gold and "glue" not in plain and "Cut the plates" in plain


def test_designs_that_are_made_alike_have_one_order_of_work_and_each_jig_its_own():
    def ways(styles):
        plates = [
            replace(plate, order=replace(plate.order, design=design), jig={"style": style, "file": "jigs/1.svg"})
            for n, (design, style) in enumerate(styles.items(), 1)
            for plate in [made(str(n), "Wren")]
        ]
        laid = tuple(at(plate.order.id, 100 * n, 50) for n, plate in enumerate(plates, 1))
        layout = Layout((SheetLayout("lettering", 600, 300, 0, 1.0, laid),))
        html = html_of(plates, layout, FILES[:1], dict.fromkeys(styles, FACE))
        return html.partition("<h2>Order of work</h2>")[2].partition("<figure")[0]

    alike = ways({"gold": "template", "silver": "template", "bronze": "print"})
    assert re.findall(r"<h3>(.+?)</h3>", alike) == ["designs gold and silver", "design bronze"]
    assert alike.count("Cut the templates") == 1 and alike.count("Print jigs/all.pdf") == 1
    assert "Cut the templates" not in ways({"gold": "skeleton"}) and "its template" in ways({"gold": "skeleton"})
    assert "template" not in ways({"gold": "none"})


def test_the_id_of_a_name_in_what_is_left_of_its_blank_stands_once_and_not_on_the_letters():
    pieces = (at("1", 100, 60), at("1", 100, 60, kind="template"))
    sheet = SheetLayout("lettering", 600, 300, 0, 1.0, pieces)
    batch = on_paper(PLATES[:1], Layout((sheet,)), FILES[:1])
    page = drawn(batch)
    ((x, y, wide),) = re.findall(r'<text x="(\d+)" y="-(\d+)" textLength="(\d+)"[^>]*>1</text>', page)
    x, y, wide = (int(value) / 100 for value in (x, y, wide))
    text = rectangle(x - wide / 2, y, x + wide / 2, y + 4)
    assert covers(moved(FACE.outline, 100, 60), text)
    assert not intersects(moved(PLATES[0].lettering.region, 100, 60), text)


def test_what_is_cut_already_has_no_map_and_the_first_map_follows_the_order_of_work():
    sheets = (replace(LAYOUT.sheets[0], cut=True), *LAYOUT.sheets[1:])
    html = html_of(layout=Layout(sheets))
    assert re.findall(r"<figure( class=.*?)?>", html) == [' class="first"', ""]
    assert [FILES[0] in html.partition("Plates, sheet by sheet")[0], "map of " + FILES[1] in html] == [False, True]
    assert "Cut already, so not drawn here: lettering sheet 1." in html and "Cut already" not in html_of()


def test_a_sheet_that_is_cut_is_drawn_after_the_others_while_pieces_of_it_are_to_be_put_together():
    first = replace(LAYOUT.sheets[0], cut=True)
    layout = Layout((first, *LAYOUT.sheets[1:]))
    states = {at.key: "fitted" for at in first.placements}
    waiting = html_of(layout=layout, states={**states, first.placements[-1].key: "cut"})
    assert re.findall("map of (.*?)<", waiting)[-1].startswith(FILES[0]) and waiting.count("<figure") == len(FILES)
    assert "drawn to find its pieces by" in waiting and "not drawn here" not in waiting
    assert "map of " + FILES[0] not in html_of(layout=layout, states=states)


def test_where_plates_hang_all_that_is_on_them_is_told_and_what_the_mark_means():
    plates = [
        made(str(n), name, line2="Oak", position=f"A {n}")
        for n, name in enumerate(("Hanna Wren", "Hannah Wren", "Bo"), 1)
    ]
    lying = tuple(at(str(n), 90 * n, 50) for n in range(1, 4))
    page = html_of(plates, Layout((SheetLayout("lettering", 600, 300, 0, 1.0, lying),)), FILES[:1])
    hanging = page.partition("Plates, by where they hang")[2]
    assert "<td>Hannah Wren / Oak <b>!</b></td>" in hanging and "<td>Bo / Oak</td>" in hanging
    assert hanging.count("another plate has nearly the same name") == 1


def test_pieces_of_a_cut_sheet_that_are_of_no_use_any_more_are_crossed_out_and_named():
    first = replace(LAYOUT.sheets[0], placements=tuple(at(str(n), 90 * n, 50) for n in range(1, 4)), cut=True)
    plates, layout = [made(str(n), f"Wren {n}") for n in range(1, 4)], Layout((first,))
    keys = [at.key for at in first.placements]
    assert "crossed" not in html_of(plates, layout, FILES[:1], states=dict.fromkeys(keys, "cut"))
    states = {keys[0]: "spoiled", keys[1]: "cut", keys[2]: "made anew"}
    page = html_of(plates, layout, FILES[:1], states=states)
    said = f"Crossed out, to be thrown away: {keys[0][0]} (spoiled), {keys[-1][0]} (made anew)."
    assert said in page and page.count("to be thrown away") == 1
    (over,) = re.findall('class="crossed"[^>]* d="([^"]*)"', page)
    assert over.count("M") == 2 * 2  # two pieces, two strokes each


#: The lengths that say how large a box is and how wide the border of a ticked one, by their classes.
BOX_SIZES = {"box": "width", "ticked": "border-width"}


def together(*ids, hung=(), copies=1):
    """The states of the names of plates that are put together, as the record has them."""
    fitted = {at(plate, 0, 0, copy=copy).key: "fitted" for plate in ids for copy in range(1, copies + 1)}
    return fitted | {at(plate, 0, 0).key: "hung" for plate in hung}


def test_plates_that_are_put_together_stand_in_one_line_and_the_others_as_they_did():
    plates = [made(str(n), f"Wren {n}", position="" if n == 5 else f"A {n}") for n in range(1, 7)]
    sheets = (
        SheetLayout("lettering", 600, 300, 0, 1.0, tuple(at(str(n), 90 * n, 50) for n in range(1, 4)), cut=True),
        SheetLayout("lettering", 600, 300, 0, 1.0, tuple(at(str(n), 90 * n, 50) for n in range(4, 7)), number=2),
    )

    def told(states):
        rows = html_of(plates, Layout(sheets), FILES[:2], states=states).partition("Plates, sheet by sheet")[2]
        lying, _, hanging = rows.partition("Plates, by where they hang")
        cells = [dict(re.findall(r"<tr>\s*<td><b>(\d).*?</td>(.*?)</tr>", lying, re.DOTALL))]
        cells.append(dict(re.findall(r"<tr><td><b>A (\d)</b>(.*?)</tr>", hanging)))
        return *cells, re.findall("<p>([^<]*without a row here.*?)</p>", rows)

    before, hanging_before, nothing = told({})
    assert list(before) == list("123456") and list(hanging_before) == list("12346") and nothing == []
    lying, hanging, lines = told(together("1", "2", "3", "5", hung="12"))
    assert lying == {plate: before[plate] for plate in "46"}
    assert list(hanging) == list("346") and hanging["4"] == hanging_before["4"]
    assert "lettering sheet 1" in hanging_before["3"] and "<td>put together</td>" in hanging["3"]
    assert lines == [
        "Put together already, so without a row here: 1-3, 5 (to hang still: 5).",
        "Hung already, so without a row here: 1, 2.",
    ]


def test_what_is_cut_is_ticked_by_a_border_for_browsers_print_no_background():
    html = html_of(states={at("1", 0, 0).key: "cut"})
    box, side = (float(re.search(rf"\.{name} {{.*?({key}): ([0-9.]+)mm", html)[2]) for name, key in BOX_SIZES.items())
    assert side * 2 >= box and "background" not in html.partition("</style>")[2]
    assert html.count('<span class="box ticked"></span> cut') == 1 and html.count('<span class="box"></span> cut') == 2


def test_of_a_plate_of_which_one_copy_is_put_together_the_other_keeps_its_row():
    laid = (at("1", 100, 50), at("1", 200, 50, copy=2))
    layout = Layout((SheetLayout("lettering", 600, 300, 0, 1.0, laid, cut=True),))
    both = [made("1", "Wren", copies=2, position="A 1")]
    one, two = (html_of(both, layout, FILES[:1], states=together("1", copies=n)) for n in (1, 2))
    assert "copy 2 of 2" in one and "copy 1 of 2" not in one and "without a row here: 1 copy 1." in one
    assert "without a row here: 1." in two and "of 2" not in two


def test_once_all_is_put_together_the_paper_has_no_order_of_work_and_no_empty_table():
    sheets = tuple(replace(sheet, cut=True) for sheet in LAYOUT.sheets)
    every = together("1", "3", copies=2)
    text = page(layout=Layout(sheets), states=every).text
    assert "Order of work" in page(layout=Layout(sheets)).text and "Order of work" not in text
    assert "where it lies" not in text.partition("by where they hang")[0]
    assert "without a row here: 1, 3 (to hang still: 3)" in text  # the other has a row among those that hang
    assert "not drawn here: lettering sheets 1, 2; template sheet 1." in text


@needs_browser
def test_the_first_map_is_on_the_first_page_and_its_letters_can_be_read():
    with started() as browser:
        tab = browser.new_page()
        for size, paper in itertools.product([(400, 600), (158, 309), (600, 400), (600, 100)], ["a4", "letter"]):
            laid = SheetLayout("lettering", *size, 0, 1.0, (at("777", size[0] / 2, 20),))
            layout = Layout((laid, SheetLayout("template", 600, 400, 1, 1.0, (), number=2)))
            html = html_of([made("777", "Wren")], layout, FILES[:2], paper=paper, bed=("Lay it.",))
            texts = printed(tab, html)
            found = [text.get_text_range() for text in texts]
            assert ["Squares of" in text for text in found] == [True, True, False], (size, paper)
            assert "lettering sheet 1" in found[0] and "template sheet 2" in found[1]
            start, count = texts[0].search("777").get_next()
            boxes = [texts[0].get_charbox(start + n) for n in range(count)]
            high = max(box[3] for box in boxes) - min(box[1] for box in boxes)
            # figures are some 0.7 em high; letters of 1.5 mm (4.3 pt) are about the least that is read on paper
            assert high * 25.4 / 72 > 0.7 * 1.5, (size, paper)


def test_the_order_of_work_says_how_sheets_lie_and_where_ids_are():
    down = replace(LAYOUT, sheets=tuple(replace(s, face_down=s.material == "lettering") for s in LAYOUT.sheets))
    first, second, third = on_the_bed(down, label="back")
    assert first.startswith("Lay the lettering sheets show side down, the masking left on")
    assert second.startswith("The template sheets lie show side up") and "on the back of" in third
    assert on_the_bed(LAYOUT, label="none") == ()
    assert [("on the waste" in line, "on the back" in line) for line in on_the_bed(LAYOUT, label="waste")] == [
        (True, False)
    ]
    done = Layout(tuple(replace(sheet, cut=True) for sheet in down.sheets))
    assert on_the_bed(done, label="back") == ()  # nothing is laid down any more
    assert f"<p>{first}</p>" in html_of(bed=(first,)).partition("Order of work")[2]


def test_on_letter_sheets_and_the_places_of_offcuts_are_in_inches_too():
    rest = SheetLayout("lettering", 114.8, 152.4, -1, 0.0, (), number=3, offcut="rest of lettering 07", at=(25.4, 90.5))
    layout = Layout((SheetLayout("lettering", 609.6, 304.8, 0, 1.0, (at("1", 100, 50),)), rest))
    for paper, inches in (("letter", True), ("a4", False)):
        batch = on_paper(layout=layout, files=FILES[:2], paper=paper)
        page = html.unescape(drawn(batch))
        for mm, inch in (
            ("609.6 x 304.8\N{NO-BREAK SPACE}mm", " (24 x 12 in)"),
            ("114.8 x 152.4\N{NO-BREAK SPACE}mm", " (4.51 x 6 in)"),
            ("lower left corner is 25.4 mm", " (1 in) to the right of and 90.5 mm (3.56 in) above that sheet's"),
        ):
            assert mm in page and (mm + inch in page) == inches, (paper, mm)


def test_a_rest_that_begins_where_its_sheet_does_has_the_same_corner_and_the_first_sheet_follows_in_brackets():
    first = SheetLayout("lettering", 600, 300, 0, 1.0, (), number=1, cut=True)
    rest = {"offcut": "rest of lettering 01"}
    second = SheetLayout("lettering", 500, 300, -1, 0.0, (), number=2, at=(100.0, 0.0), cut=True, **rest)
    here = "Laid on the rest of lettering 01: this sheet's lower left corner is "
    assert left_of_sentence(second, [first]) == f"{here}100 mm to the right of that of lettering sheet 1."
    same = replace(second, at=(0.0, 0.0))
    assert left_of_sentence(same, [first]) == f"{here}the same as that of lettering sheet 1."
    third = replace(second, number=3, at=(0.0, 0.04), offcut="rest of lettering 02", cut=False)
    assert left_of_sentence(third, [first, second]) == (
        f"{here.replace('01', '02')}the same as that of lettering sheet 2 "
        "(100 mm to the right of that of lettering sheet 1)."
    )
    above = replace(second, at=(0.0, 40.5))
    assert left_of_sentence(above, [first]) == f"{here}40.5 mm above that of lettering sheet 1."


def test_a_sheet_to_be_cut_is_told_what_to_write_on_what_is_left_of_it():
    rests = {FILES[0]: "rest of lettering 01", FILES[2]: "rest of template 01"}
    sheets = (LAYOUT.sheets[0], LAYOUT.sheets[1], replace(LAYOUT.sheets[2], cut=True))
    states = {piece.key: "cut" for piece in sheets[2].placements}
    html = html_of(layout=Layout(sheets), rests=rests, states=states)
    figures = dict(re.findall(r"<figcaption><b>(.*?)</b>(.*?)</figure>", html, re.DOTALL))
    told = "Once it is cut, write “rest of lettering 01” on what is left of it."
    assert [name for name, figure in figures.items() if told in figure] == ["lettering sheet 1"]
    assert html.count("on what is left of it") == 1  # nobody knows of a rest of the second, and the third is cut


@pytest.mark.parametrize(
    ("turns", "way"),
    [
        ((0.0, 180.0), "from left to right"),
        ((270.0, 90.0), "up and down"),
        ((45.0,), "turned by 45°"),
        ((0.0, 90.0), ""),
        ((), ""),
    ],
)
def test_on_the_map_of_a_sheet_with_a_grain_stands_which_way_the_lines_of_its_pieces_run(turns, way):
    laid = tuple(at("1", 100 * n, 50, turn, copy=n) for n, turn in enumerate(turns, 1))
    sheet = SheetLayout("lettering", 600, 300, 0, 1.0, laid)

    def told(grain, *, cut=False):
        materials = {"lettering": MaterialKeys("brushed acrylic", 2.0, grain=grain)}
        states, sheets = {piece.key: "cut" for piece in laid if cut}, (replace(sheet, cut=cut),)
        plates = [made("1", "Wren", copies=2)]
        html = html_of(plates, Layout(sheets), FILES[:1], materials=materials, states=states)
        return re.findall("Grain or brushing: the lines of all pieces run (.*?) on this map", html)

    assert told(True) == [way] * bool(way)
    assert told(False) == told(None) == told(True, cut=True) == []


def test_a_piece_that_was_cut_before_its_plate_was_made_anew_lies_there_as_it_was_cut_and_others_as_they_are_now():
    now, moved_by = made("1", "Wren Abara", copies=2), 40.0
    part = replace(now.parts[0], region=moved(now.parts[0].region, moved_by))
    then = replace(now, order=replace(now.order, name="Wrenn Abara"), parts=(part, *now.parts[1:]))
    sheet = SheetLayout("lettering", 600, 300, 0, 1.0, (at("1", 100, 50), at("1", 300, 50, copy=2)), cut=True)
    states = {piece.key: "cut" for piece in sheet.placements}
    batch = on_paper([now], Layout((sheet,)), FILES[:1], states=states, as_cut={sheet.placements[0].key: then})
    assert [(row["name"], row["x_mm"]) for row in rows_of(batch)] == [("Wrenn Abara", "140.0"), ("Wren Abara", "300.0")]
    assert all(f" {round(100 * x)} " in drawn(batch) for x in (100 + moved_by + 30, 300 + 30))  # their right ends
