"""The PDF files as an independent reader has them: pypdfium2 (PDFium) says where on the page every line lies."""

import ctypes
import math
import re

import numpy as np
import pypdfium2
import pytest
from pypdfium2 import raw

from nameplate.pdf.paper import A4, CHECK_LINE, LETTER, POINTS
from nameplate.units import on_tape
from nameplate.wall.drilling import drilling_pdf, steps_of
from nameplate.wall.plan_pdf import wall_pdf
from tests.wall.walls import orders, planned, wall


def boxes(page):
    """Every path's box in mm from the lower left corner of the page, with its colour."""
    found = []
    for obj in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        channels = [ctypes.c_uint() for _ in range(4)]
        assert raw.FPDFPageObj_GetStrokeColor(obj, *channels)
        sides = [ctypes.c_float() for _ in range(4)]
        assert raw.FPDFPageObj_GetBounds(obj, *sides)
        found.append((tuple(side.value / POINTS for side in sides), tuple(c.value for c in channels[:3])))
    return found


def middles(found, colour, size, slack=0.4):
    """The middles of paths of one colour that are about so wide and high."""
    return [
        ((x0 + x1) / 2, (y0 + y1) / 2)
        for (x0, y0, x1, y1), own in found
        if own == colour and abs(x1 - x0 - size) < slack and abs(y1 - y0 - size) < slack
    ]


RED, BLACK = (204, 0, 0), (0, 0, 0)


def text_of(page):
    return page.get_textpage().get_text_range()


@pytest.mark.parametrize(("paper", "name"), [(A4, "a4"), (LETTER, "letter")])
def test_holes_of_the_template_are_true_to_size_and_from_page_to_page(paper, name):
    plan = planned(
        wall(columns=3, rows=3, width=1000.0, height=600.0, pitch=(210.5, 133.3), hanger=((0.0, 25.0),), hole=8.0),
        orders(9),
    )
    with pypdfium2.PdfDocument(drilling_pdf(plan, paper, title="Orchard")) as file:
        across, up = steps_of(paper)
        seen = set()
        for number in range(1, len(file)):
            page = file[number]
            assert page.get_size() == pytest.approx((paper.width * POINTS, paper.height * POINTS), abs=0.01)
            found = boxes(page)
            crosses = middles(found, BLACK, 10)
            assert len(crosses) == 4
            (left, right), (bottom, top) = (sorted({round(c[k], 2) for c in crosses}) for k in (0, 1))
            assert (right - left, top - bottom) == pytest.approx((across, up), abs=0.02)
            # where the page says its lower left cross is
            told = [t for t in _texts(page) if t[0].startswith("x ")]
            corner = min((t for t in told if '"' not in t[0]), key=lambda t: (round(t[2]), t[1]))
            x, y = (float(v) for v in corner[0].replace("x ", "").split(" y "))
            on_wall = [(cx - left + x, cy - bottom + y) for cx, cy in middles(found, RED, 8)]
            holes = [(h.holes[0].x, h.holes[0].y) for h in plan.hangings]
            in_inches = {t[0] for t in told if '"' in t[0]}
            if paper == LETTER:  # crosses stand where a tape in inches has a line
                low, high = y / 12.7, (y + up) / 12.7
                assert (low, high) == pytest.approx((round(low), round(high)), abs=0.01)
                assert f"x {on_tape(x)} y {on_tape(y)}" in in_inches
                assert {f"x {on_tape(hx)} y {on_tape(hy)}" for hx, hy in on_wall} <= in_inches
            else:
                assert not in_inches
            for hole in on_wall:
                nearest = min(holes, key=lambda h: np.hypot(h[0] - hole[0], h[1] - hole[1]))
                assert hole == pytest.approx(nearest, abs=0.02)
                seen.add(nearest)
            ticks = sorted((b[0] + b[2]) / 2 for b, _ in found if b[2] - b[0] < 0.5 and b[3] < 20 and b[3] - b[1] < 5)
            assert ticks[1] - ticks[0] == pytest.approx(CHECK_LINE, abs=0.01)
            assert len(ticks) == 2
        assert seen == set(holes)


def _texts(page):
    """The texts of a page, each line with where it begins (mm)."""
    textpage = page.get_textpage()
    found = []
    for k in range(textpage.count_rects()):
        left, bottom, right, top = textpage.get_rect(k)
        text = textpage.get_text_bounded(left - 0.5, bottom - 0.5, right + 0.5, top + 0.5)
        found.append((" ".join(text.split()), left / POINTS, bottom / POINTS))
    return found


def test_the_map_has_every_hole_in_its_place_and_the_wall_round_them():
    plan = planned(wall(columns=3, rows=3, width=1000.0, height=600.0, hanger=((0.0, 25.0),)), orders(9))
    with pypdfium2.PdfDocument(drilling_pdf(plan, A4, title="Orchard")) as file:
        found = boxes(file[0])
    sizes = [(box[2] - box[0], box[3] - box[1], box) for box, colour in found if colour == BLACK]
    wide, high, frame = max(sizes, key=lambda size: size[0] * size[1])
    scale = 1000 / (wide - 0.6)  # a line of 0.3 mm: its box is that much larger on every side
    assert high - 0.6 == pytest.approx(600 / scale, abs=0.05)
    marks = np.array(middles(found, RED, 0.6, slack=0.35))
    middle = np.array([(frame[0] + frame[2]) / 2, (frame[1] + frame[3]) / 2])
    want = np.array([(h.holes[0].x, h.holes[0].y) for h in plan.hangings]) / scale + middle
    assert len(marks) == 9
    assert np.abs(np.array(sorted(marks.tolist())) - np.array(sorted(want.tolist()))).max() < 0.05
    assert 0 < frame[1] < frame[3] < 297


def test_only_pages_with_a_hole_are_printed_and_the_first_is_the_map():
    plan = planned(wall(), orders(1))
    with pypdfium2.PdfDocument(drilling_pdf(plan, A4, title="Orchard")) as file:
        assert len(file) == 2
        first = " ".join(text_of(file[0]).split())
        assert "Local codes" in first
        assert "silica" in first
        assert "100 %" in first
        assert "A1 · 001" in text_of(file[1])


@pytest.mark.parametrize(
    ("columns", "rows", "pitch"), [(12, 4, (150.0, 140.0)), (5, 3, (70.0, 95.0)), (3, 2, (400, 300))]
)
def test_as_few_pages_as_a_grid_of_holes_can_take(columns, rows, pitch):
    # in a line of n holes a pitch apart a cell holds 1 + length // pitch of them, and each page is a cell
    keys = wall(columns=columns, rows=rows, width=3000.0, height=1500.0, pitch=pitch, stagger=0.0)
    across, up = (1 + int(length // step) for length, step in zip(steps_of(A4), pitch, strict=True))
    plan = planned(keys, orders(columns * rows))
    with pypdfium2.PdfDocument(drilling_pdf(plan, A4, title="Orchard")) as file:
        assert len(file) == 1 + math.ceil(columns / across) * math.ceil(rows / up)
        told = [re.findall(r"\d+ · (\d+)", text_of(page)) for page in file]
    assert {plate for page in told for plate in page} == {order.id for order in orders(columns * rows)}


def test_the_plan_in_print_says_all_that_the_page_says():
    plan = planned(wall(moved=(("017", ((9.5, 0.0),)),)), orders(60))
    with pypdfium2.PdfDocument(wall_pdf(plan, {"003": "held"}, A4, title="Orchard")) as file:
        text = " ".join(" ".join(text_of(page) for page in file).split())
    for words in ("Local codes", "wires", "silica", "Ladder", "centre line", "its hole came out 9.5 mm right"):
        assert words in text
    assert "Name 3 (held)" in text
    assert "B10 020 Name 20 1425 525 56 1/8 20 11/16" in text
    assert "B7 017 Name 17 534.5 525 21 1/16 20 11/16 drilled" in text
    assert text.count("page ") >= 3


def test_same_plan_same_bytes():
    plan = planned(wall(), orders(5))
    assert wall_pdf(plan, {}, A4, title="O") == wall_pdf(plan, {}, A4, title="O")
    assert drilling_pdf(plan, A4, title="O") == drilling_pdf(plan, A4, title="O")


@pytest.mark.parametrize("rows", range(1, 9))
def test_the_heading_of_the_holes_never_stands_alone(rows):
    keys = wall(columns=2, rows=rows, width=500.0, height=800.0, pitch=(210.0, 90.0), hanger=((0.0, 25.0),))
    with pypdfium2.PdfDocument(wall_pdf(planned(keys, orders(2 * rows)), {}, LETTER, title="Orchard")) as file:
        pages = [text_of(page).splitlines() for page in file]
    (page,) = (lines for lines in pages if "Holes" in lines)
    assert any(line.startswith("A1 ") for line in page[page.index("Holes") + 1 :])
