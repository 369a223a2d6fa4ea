"""Maps of sheets: read back from the SVG, and judged by boxes that only that text gives."""

from __future__ import annotations

import itertools
import math
import random
import re

import pytest
from lxml import etree

from nameplate.geometry.region import bounds, covers, difference, intersects, moved, rectangle
from nameplate.paperwork.sheet_maps import Squares, map_of
from tests.browsers import needs_browser, started

SVG = "{http://www.w3.org/2000/svg}"


def ids_of(svg):
    """The ids of a map and their boxes (hundredths of a mm), by the SVG alone: text is as wide as its textLength.

    A sans-serif bold reaches 0.76 em up and 0.22 em down with its capitals, figures and descenders (measured on the
    bundled Playpen Sans ExtraBold: 0.729 and 0.2).
    """
    [group] = [g for g in etree.fromstring(svg).iter(f"{SVG}g") if g.get("class") == "ids"]
    em = float(group.get("font-size"))
    for text in group:
        x, y, half = float(text.get("x")), float(text.get("y")), float(text.get("textLength")) / 2
        assert text.get("lengthAdjust") == "spacingAndGlyphs" and group.get("text-anchor") == "middle"
        x0, y0, x1, y1 = x - half, y - 0.76 * em, x + half, y + 0.22 * em
        if turned := re.fullmatch(r"rotate\(-90 (-?\d+) (-?\d+)\)", text.get("transform", "")):
            cx, cy = map(float, turned.groups())  # a quarter turn to the left, y down: (x, y) -> (y, -x) about (cx, cy)
            x0, y0, x1, y1 = cx + (y0 - cy), cy - (x1 - cx), cx + (y1 - cy), cy - (x0 - cx)
        yield text.text, (x0, y0, x1, y1)


def leaders_of(svg):
    """The leaders of a map, from the id to the piece: x, y, x, y in hundredths of a mm."""
    drawn = re.search(r'class="leaders"[^>]* d="([^"]+)"', svg)
    return re.findall(r"M(-?\d+) (-?\d+) L(-?\d+) (-?\d+)", drawn[1]) if drawn else []


def overlapping(boxes):
    pairs = itertools.combinations(boxes, 2)
    return [(n, m) for (n, a), (m, b) in pairs if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]]


def crowd(count, *, width=600, height=400, seed=1, name="{:03d}"):
    """Pieces of many sizes, each a bar or a frame in a cell of its own, in every quarter turn."""
    chance = random.Random(seed)
    columns = math.ceil(math.sqrt(count * width / height))
    w, h = width / columns, height / math.ceil(count / columns)
    for n in range(count):
        long, thick = chance.uniform(0.3, 0.95), chance.uniform(0.1, 0.6)
        bar = rectangle(0, 0, w * long, h * thick) if chance.random() < 0.5 else rectangle(0, 0, w * thick, h * long)
        box = bounds(bar)
        inner = rectangle(box.width / 4, box.height / 4, box.width * 3 / 4, box.height * 3 / 4)
        piece = difference(bar, inner) if chance.random() < 0.5 else bar
        yield name.format(n + 1), moved(piece, n % columns * w, n // columns * h)


def test_of_200_parts_on_a_sheet_no_two_ids_overlap_and_each_stands_on_its_piece_or_leads_to_it():
    pieces = list(crowd(200))
    svg = map_of(600, 400, pieces).drawn("map")
    found = list(ids_of(svg))
    assert [name for name, _ in found] == [name for name, _ in pieces]
    assert overlapping(found) == []
    alone = 0
    for (_, (x0, y0, x1, y1)), (_, piece) in zip(found, pieces, strict=True):
        box = bounds(piece)
        x, y = (x0 + x1) / 200, -(y0 + y1) / 200
        alone += box.x0 - 3 <= x <= box.x1 + 3 and box.y0 - 3 <= y <= box.y1 + 3
    assert alone + len(leaders_of(svg)) >= 200 and alone > 190


@needs_browser
def test_of_200_parts_on_a_sheet_no_two_ids_overlap_as_a_browser_draws_them():
    corners = (
        "all => all.map(one => { const r = one.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom] })"
    )
    with started() as browser:
        tab = browser.new_page(viewport={"width": 4000, "height": 3000})
        tab.set_content(map_of(600, 400, list(crowd(200))).drawn("map"))
        boxes = tab.eval_on_selector_all(".ids text", corners)
    assert len(boxes) == 200 and all(right > left and bottom > top for left, top, right, bottom in boxes)
    # a line of text is higher than its figures by a sixth of itself above and below (a usual sans-serif: ascent 0.9 em,
    # descent 0.22 em, figures 0.73 em)
    air = [min(x1 - x0, y1 - y0) * 0.15 for x0, y0, x1, y1 in boxes]
    ink = [
        (x0, y0 + a, x1, y1 - a) if x1 - x0 > y1 - y0 else (x0 + a, y0, x1 - a, y1)
        for a, (x0, y0, x1, y1) in zip(air, boxes, strict=True)
    ]
    assert overlapping([(str(n), box) for n, box in enumerate(ink)]) == []


@pytest.mark.parametrize(("count", "name"), [(200, "2026-spring-{:04d}"), (700, "{:04d}"), (60, "{}" + "W" * 40)])
def test_ids_without_room_on_their_pieces_stand_beside_them_or_are_smaller(count, name):
    pieces = list(crowd(count, name=name))
    svg = map_of(600, 400, pieces).drawn("map")
    found = list(ids_of(svg))
    assert len(found) == count and overlapping(found) == []
    for _, (x0, y0, x1, y1) in found:  # all on the sheet
        assert x0 >= 0 and x1 <= 60_000 and y0 >= -40_000 and y1 <= 0


def boxes_of(svg, *, grown=0.0):
    """The boxes of a map's ids in mm, y up, grown by so much of the width of the white edge drawn round them."""
    edge = grown * float(re.search(r'class="ids".*? stroke-width="(\d+)"', svg)[1])
    for name, (x0, y0, x1, y1) in ids_of(svg):
        yield name, rectangle((x0 - edge) / 100, -(y1 + edge) / 100, (x1 + edge) / 100, -(y0 - edge) / 100)


@pytest.mark.parametrize("letters", [(30, 20, 80, 50), (8, 20, 102, 50), (12, 10, 60, 68)])
def test_an_id_stands_in_the_solid_of_a_plate_and_not_on_the_letters_cut_through_it(letters):
    # 110 x 80 mm; on the map of a sheet of 600 x 300 an id is about 12 x 7 mm, and what is left takes it on one side
    pierced = difference(rectangle(0, 0, 110, 80), rectangle(*letters))
    pieces = [("001", moved(pierced, 10, 10)), ("002", moved(pierced, 130, 10)), ("003", rectangle(300, 50, 420, 130))]
    found = dict(boxes_of(map_of(600, 300, pieces).drawn("map")))
    for name, piece in pieces:
        assert covers(piece, found[name]), name
    assert bounds(found["003"]).centre == pytest.approx((360, 90), abs=4)  # without letters in its middle


def test_the_white_edge_of_an_id_covers_no_other_id():
    svg = map_of(600, 400, list(crowd(200))).drawn("map")
    edges, texts = list(boxes_of(svg, grown=0.5)), list(boxes_of(svg))  # half of a stroke lies outside of its letters
    (_, edge), (_, text) = edges[0], texts[0]
    assert bounds(edge).width - bounds(text).width > 2  # two sides of about 1 mm, 0.4 on paper
    assert not [(a, b) for a, edge in edges for b, text in texts if a != b and intersects(edge, text)]


def test_a_leader_goes_from_an_id_to_its_piece():
    # ten pieces on a spot: not all ids have room there
    pieces = [(f"{n:03d}", moved(rectangle(0, 0, 3, 3), 300 + n % 5 * 4, 200 + n // 5 * 4)) for n in range(10)]
    svg = map_of(600, 400, pieces).drawn("map")
    found = dict(ids_of(svg))
    assert overlapping(list(found.items())) == []
    assert leaders_of(svg)
    for line in leaders_of(svg):
        x, y, to_x, to_y = map(int, line)
        [name] = [n for n, (x0, y0, x1, y1) in found.items() if x0 < x < x1 and y0 < y < y1]
        box = bounds(dict(pieces)[name])
        assert box.x0 - 0.01 <= to_x / 100 <= box.x1 + 0.01 and box.y0 - 0.01 <= -to_y / 100 <= box.y1 + 0.01


def test_a_map_is_true_to_the_sheet_with_letters_and_numbers_along_its_edges():
    svg = map_of(600, 300, [("1 & 2", rectangle(70, 45, 130, 65))]).drawn("map of a sheet")
    for corner in ("7000 -4500", "13000 -4500", "13000 -6500", "7000 -6500"):  # hundredths of a mm, y down
        assert corner in svg
    [edge] = [g for g in etree.fromstring(svg).iter(f"{SVG}g") if g.get("class") == "squares"]
    side = Squares(600, 300).side
    letters = {t.text for t in edge if t.text.isalpha()}
    assert letters == set("ABCDEFGHIJKL"[: 600 // side]) and {t.text for t in edge} - letters == set(
        "123456"[: 300 // side]
    )
    for t in edge:
        x, y = float(t.get("x")) / 100, -float(t.get("y")) / 100
        at = Squares(600, 300).at(min(max(x, 0), 599), min(max(y, 0), 299))
        assert t.text in (at[0], at[1:])


@pytest.mark.parametrize("size", [(600, 300), (300, 600), (150, 90), (2440, 1220), (60, 3000), (610.5, 405.2)])
def test_a_map_has_room_on_a_page_of_either_paper(size):
    svg = map_of(*size, []).drawn("map")
    width, height = (float(v) for v in re.search(r'width="([0-9.]+)mm" height="([0-9.]+)mm"', svg).groups())
    long, short = (width, height) if size[0] >= size[1] else (height, width)
    # the papers' common part, 279.4 x 210 mm (ISO 216, ANSI/ASME Y14.1), less margins and two lines of text
    assert long <= 279.4 - 24 and short <= 210 - 24 - 14
    assert long <= 279.4 - 16 - 14  # upright
    assert 17 <= Squares(*size).side / Squares(*size).scale <= 60


def test_an_id_wider_than_its_upright_piece_reads_upward_on_it():
    svg = map_of(600, 400, [("W-001", rectangle(100, 100, 108, 180)), ("W-002", rectangle(200, 100, 280, 180))]).drawn(
        "m"
    )
    assert svg.count("rotate(-90") == 1
    (_, (x0, y0, x1, y1)), _ = ids_of(svg)
    assert y1 - y0 > x1 - x0 and 9_500 < x0 < x1 < 11_300 and -18_000 < y0 < y1 < -10_000


def test_a_lower_map_has_the_same_squares_and_letters_as_large():
    def letters(**lower):
        svg = map_of(400, 600, list(crowd(20, width=400, height=600)), **lower).drawn("map")
        height = float(re.search(r'height="([0-9.]+)mm"', svg)[1])
        units = float(re.search(r'viewBox="\S+ \S+ \S+ (\S+)"', svg)[1]) / height  # in a mm on paper
        sizes = [float(size) / units for size in re.findall(r'font-size="(\d+)"', svg)]
        return height, sizes, re.findall(r">([A-Z]|\d\d?)</text>", svg)

    (height, own, squares), (low, same, names) = letters(), letters(tallest=140)
    assert height > 230 and 138 < low < 143 and same == pytest.approx(own, rel=0.01) and squares == names
