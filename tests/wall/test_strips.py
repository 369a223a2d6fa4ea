"""Drilling strips: every hole of wall.csv is on one of them, where it belongs; read by svgpathtools, not by our reader.

The figures of a strip are told by strips.csv: where its first mark belongs, and where that lies on its sheet.
"""

import csv
import io
import math
from dataclasses import replace
from functools import cache
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
from svgpathtools import parse_path

from nameplate.cut.machine import PLAIN_PEN
from nameplate.errors import InspectionError
from nameplate.geometry.box import Box
from nameplate.geometry.engraving_font import label
from nameplate.pdf.paper import A4
from nameplate.ticket.wall_checks import wall_problems
from nameplate.wall import strip_sheets
from nameplate.wall.files import wall_files, wall_html
from nameplate.wall.strip_sheets import PIN, PRICK, strip_files
from nameplate.wall.table import wall_csv
from nameplate.wall.words import about_strips
from tests.wall.walls import orders, planned, wall

CARD = (600.0, 300.0)

WALLS = {
    "a hole each": {},
    "one that came out elsewhere": {"moved": (("017", ((9.5, 0.0),)),)},
    "two beside one another": {"hanger": ((-40.0, 25.0), (40.0, 25.0))},
    "two over one another": {"hanger": ((0.0, 30.0), (0.0, -30.0))},
    "far apart": {"columns": 2, "rows": 3, "pitch": (1700.0, 400.0), "stagger": 0.0},
    "small card": {"strip": (130.0, 60.0)},
}


def rows(text):
    return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))


@cache
def drawn(text):
    """Give by strip the circles (x, y, diameter), the scored lines and the outline of a sheet, y up; and its size."""
    root = ElementTree.fromstring(text)
    width, height = map(float, root.get("viewBox").split()[2:])
    found = {}
    for group in root:
        for element in group:
            own = found.setdefault(element.get("data-plate"), {"cut-inside": [], "score": [], "cut-outside": []})
            path = parse_path(element.get("d"))
            points = np.concatenate([segment.point(np.linspace(0, 1, 16)) for segment in path])
            own[group.get("data-operation")].append(np.column_stack([points.real, height - points.imag]))
    return found, width, height


def circle(points):
    low, high = points.min(axis=0), points.max(axis=0)
    return (*((low + high) / 2).tolist(), float((high - low).mean()))


@cache
def files_of(name):
    keys = WALLS[name]
    plan = planned(wall(**{"strip": CARD, **keys}), orders(20 if "columns" not in keys else 6))
    return plan, dict(strip_files(plan, PLAIN_PEN, title="Orchard"))


@pytest.fixture(params=WALLS)
def made(request):
    return files_of(request.param)


def test_every_hole_is_on_a_strip_where_the_table_has_it(made):
    plan, files = made
    holes = [(float(row["x"]), float(row["y"])) for row in rows(wall_csv(plan, {}))]
    marked = []
    for row in rows(files[strip_sheets.STRIPS_CSV]):
        strips, *_ = drawn(files[row["file"]])
        circles = [circle(points) for points in strips[f"strip {row['strip']}"]["cut-inside"]]
        right, up = float(row["x"]) - float(row["sheet_x"]), float(row["y"]) - float(row["sheet_y"])
        pins = sorted((x + right, y + up) for x, y, d in circles if abs(d - PIN) < 0.02)
        wanted = [(float(row["x"]), float(row["y"])), (float(row["last_x"]), float(row["y"]))]
        assert pins == [pytest.approx(at, abs=0.01) for at in wanted]
        assert all(value % 10 == 0 for at in wanted for value in at)
        marked += [(x + right, y + up) for x, y, d in circles if abs(d - PRICK) < 0.02]
        assert len(circles) == 2 + sum(abs(d - PRICK) < 0.02 for *_, d in circles)
    assert len(marked) == len(holes)
    for hole in holes:
        assert sum(math.dist(hole, at) < 0.05 for at in marked) == 1


def test_strips_lie_on_their_card_apart_and_within_its_edges(made):
    plan, files = made
    for name, text in files.items():
        if name.endswith(".svg"):
            strips, width, height = drawn(text)
            assert (width, height) == plan.keys.strip
            boxes = [
                Box(*np.vstack(own["cut-outside"]).min(axis=0), *np.vstack(own["cut-outside"]).max(axis=0))
                for own in strips.values()
            ]
            assert all(len(own["cut-outside"]) == 1 for own in strips.values())
            assert all(
                b.x0 + 1e-6 >= 5 and b.y0 + 1e-6 >= 5 and b.x1 <= width - 5 + 1e-6 and b.y1 <= height - 5 + 1e-6
                for b in boxes
            )
            assert all(a.y0 >= b.y1 + 3 - 1e-6 for a, b in pairwise(sorted(boxes, key=lambda b: -b.y1)))
            inside = [(np.vstack(own["score"]), b) for own, b in zip(strips.values(), boxes, strict=True)]
            assert all((p[:, 0] >= b.x0 - 1e-6).all() and (p[:, 0] <= b.x1 + 1e-6).all() for p, b in inside)


@pytest.mark.parametrize("pitch", [68.0, 97.3, 113.0, 124.3, 149.16, 186.45])
@pytest.mark.parametrize(("apart", "off", "card"), [(0.0, 0.0, 600.0), (62.0, 1.7, 600.0), (41.0, 9.3, 400.0)])
def test_no_mark_of_a_strip_lies_near_a_hole(pitch, apart, off, card):
    hanger = ((-apart / 2, off), (apart / 2, -off)) if apart else ((0.0, 3.0),)
    keys = wall(strip=(card, 300.0), columns=15, rows=4, pitch=(pitch, 150.0), stagger=0.5, hanger=hanger)
    plan = planned(keys, orders(60))
    strips = [strip for sheet in strip_sheets.strip_sheets(plan) for strip, *_ in sheet.laid]
    holes = [(hole.x, hole.y) for hanging in plan.hangings for hole in hanging.holes]
    assert len(holes) == sum(len(strip.holes) for strip in strips) == (120 if apart else 60)
    for strip in strips:
        assert all(math.dist(mark, hole) - PRICK / 2 >= 8 for mark in strip.marks for hole in holes)
    assert sum(a.marks[1] == b.marks[0] for a, b in pairwise(strips)) >= 4


def test_neighbours_along_a_row_share_a_mark():
    _, files = files_of("a hole each")
    table = rows(files[strip_sheets.STRIPS_CSV])
    along = [(a, b) for a, b in pairwise(table) if a["y"] == b["y"]]
    assert len(along) >= 6
    assert all(a["last_x"] == b["x"] for a, b in along)


def test_ids_figures_and_both_lines_are_scored():
    plan = planned(wall(strip=CARD, columns=3, rows=1, stagger=0.0, pitch=(200.0, 150.0)), orders(3))
    files = dict(strip_files(plan, PLAIN_PEN, title=""))
    (row, *_) = rows(files[strip_sheets.STRIPS_CSV])
    strips, *_ = drawn(files[row["file"]])
    strokes = strips["strip 1"]["score"]
    right, up = float(row["x"]) - float(row["sheet_x"]), float(row["y"]) - float(row["sheet_y"])

    def there(text, height):
        """Tell whether the strokes of a text stand somewhere, each where it belongs beside the first."""
        wanted = [stroke - label(text, height)[0][0] for stroke in label(text, height)]
        ends = np.array([end for stroke in strokes for end in (stroke[0], stroke[-1])])
        return any(all(np.hypot(*(ends - (start + stroke[0])).T).min() < 0.01 for stroke in wanted) for start in ends)

    assert there("A1 001", 4.0) and there("A2 002", 4.0)
    assert there(f"X {float(row['x']):g} Y {float(row['y']):g}", 3.0)
    assert not there("A1 009", 4.0)
    (hole,) = {float(own["y"]) for own in rows(wall_csv(plan, {}))}
    assert hole == 0
    level = [stroke for stroke in strokes if np.ptp(stroke[:, 0]) > 400]
    centre = [stroke for stroke in strokes if np.ptp(stroke[:, 1]) > 30]
    assert [stroke[0, 1] + up for stroke in level] == [pytest.approx(0, abs=0.001)]
    assert [stroke[0, 0] + right for stroke in centre] == [pytest.approx(0, abs=0.001)]
    assert there("LEVEL", 3.0) and there("CENTRE", 3.0)


def test_a_sheet_that_does_not_show_what_it_should_is_refused(monkeypatch):
    plan = planned(wall(strip=CARD), orders(3))
    real = strip_sheets.laid_svg

    def short(sheet, *more, **options):
        return real(replace(sheet, laid=sheet.laid[:-1]), *more, **options)

    monkeypatch.setattr(strip_sheets, "laid_svg", short)
    with pytest.raises(InspectionError, match="is missing"):
        dict(strip_files(plan, PLAIN_PEN, title=""))


def test_the_page_tells_of_strips_and_of_fire_and_without_the_key_there_are_none():
    plan = planned(wall(strip=CARD), orders(3))
    page = "".join(wall_html(plan, {}, title="Orchard"))
    wanted = ("Card catches fire easily", "Never leave a running laser alone", "extinguisher", "Exhaust outdoors")
    assert all(words in page for words in wanted)
    assert "2 strips on 1 sheet of card" in about_strips(plan)[0] and "drilling.pdf has the same holes on paper" in page
    bare = planned(wall(), orders(3))
    assert about_strips(bare) == () and "Drilling strips" not in "".join(wall_html(bare, {}, title="Orchard"))
    assert not any(name.startswith("drilling/") for name, _ in wall_files(bare, {}, A4, title="Orchard"))
    assert any(name.startswith("drilling/") for name, _ in wall_files(plan, {}, A4, title="Orchard"))


@pytest.mark.parametrize(
    ("card", "bed", "why"),
    [
        ((100.0, 300.0), None, "expected card of at least 130 x 60 mm"),
        ((600.0, 50.0), None, "expected card of at least 130 x 60 mm"),
        ((600.0, 300.0), (400.0, 300.0), "larger than the bed of 400 x 300 mm"),
        ((300.0, 400.0), (400.0, 300.0), "lies on the bed of 400 x 300 mm only turned"),
    ],
)
def test_card_that_is_too_small_or_does_not_lie_on_the_bed_is_refused(card, bed, why):
    ((_, said),) = wall_problems(wall(strip=card), bed)
    assert f"wall.strip = [{card[0]:g}, {card[1]:g}]" in said and why in said
