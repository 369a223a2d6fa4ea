import hashlib
import os
import subprocess
import sys

import numpy as np
import pytest
import shapely
import svgpathtools
from lxml import etree

from nameplate.cut.kerf import toolpath
from nameplate.cut.order import PlacedToolpath, burning_order
from nameplate.cut.start_points import SEEN, WEAK, start_points
from nameplate.cut.svg import steps_svg
from nameplate.geometry import region
from nameplate.model import Part
from tests.benchmarks.travel import generated_sheet, made_toolpaths, measured, nearest_neighbour

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def sheet():
    """Forty parts of three names made in earnest."""
    return generated_sheet(made_toolpaths(3), 40)


def test_the_nearest_neighbour_of_three_squares():
    # from the corner to (10, 0), by squares of 4 mm to (20, 0) and (40, 0), and back: 10 + 10 + 20 + 40; a kerf of 0
    path = toolpath(Part("1", "template", "t", region.rectangle(0, 0, 4, 4)), 0.0)
    start = path.contours[0].curve.start
    placed = [PlacedToolpath(path, k, x - start[0], -start[1]) for k, x in enumerate((40.0, 10.0, 20.0), 1)]
    assert nearest_neighbour(placed, anywhere=False) == pytest.approx(80)
    assert nearest_neighbour(placed, anywhere=True) <= 80


def test_the_way_is_a_quarter_shorter_than_the_nearest_neighbours(sheet):
    got = measured(sheet)
    assert got.parts == 40 and got.lines > 150
    assert got.ordered < 0.75 * got.drawn
    assert got.ordered < 0.85 * got.nearest


def test_lines_begin_in_nooks_and_on_nothing_thin_where_they_have_a_choice(sheet):
    paths = list({id(p.toolpath): p.toolpath for p in sheet}.values())
    starts = {id(path): own for path, own in zip(paths, start_points(paths), strict=True)}
    counts = {0.0: 0, SEEN: 0, WEAK: 0}
    for step in burning_order(sheet):
        p = step.owner
        at = (step.line.start - (p.x, p.y)) * (1 if p.turn == 0 else -1)
        knots = [
            (float(np.hypot(*(c.curve.segments[k, 0] - at))), float(cost), float(own.costs.min()))
            for c, own in zip(p.toolpath.contours, starts[id(p.toolpath)], strict=True)
            for k, cost in zip(own.knots, own.costs, strict=True)
        ]
        far, cost, best = min(knots)
        assert far < 1e-6
        assert cost < WEAK or best == WEAK
        counts[cost] += 1
    assert counts[0.0] > 0.8 * sum(counts.values())


def replayed(text):
    """Burn a written file line by line, and give the lines that lie on what came loose before they were burned."""
    loose, fallen = [], []
    for number, element in enumerate(etree.fromstring(text.encode()).iter(SVG + "path")):
        path = svgpathtools.parse_path(element.get("d"))
        points = np.array([segment.point(t) for segment in path for t in np.linspace(0, 1, 12)])
        line = shapely.linestrings(points.real, points.imag)
        if any(area.contains(line) for area in loose):
            fallen.append(number)
        if element.getparent().get("data-operation") != "score":
            area = shapely.make_valid(shapely.Polygon(line))
            shapely.prepare(area)
            loose.append(area)
    return fallen


def test_no_line_is_burned_on_a_part_that_came_loose(sheet):
    text = steps_svg(2000, 2000, burning_order(sheet))
    assert replayed(text) == []
    lines = text.splitlines()
    first = next(k for k, line in enumerate(lines) if "cut-outside" in line) + 1
    whose = lines[first].split(" fill=")[0]
    hole = next(k for k, line in enumerate(lines[:first]) if line.startswith(whose))
    lines[first], lines[hole] = lines[hole], lines[first]
    assert replayed("\n".join(lines))  # a hole that is cut after its part is found


ORDER = """
from tests.benchmarks.test_travel import digest
print(digest())
"""


def digest():
    text = steps_svg(2000, 2000, burning_order(generated_sheet(made_toolpaths(1), 12)))
    return hashlib.sha256(text.encode()).hexdigest()


def test_the_same_bytes_whatever_the_hash_seed():
    """In another process that goes through sets in another order."""
    own = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "PYTHONHASHSEED": "1"}
    run = [sys.executable, "-c", ORDER]
    done = subprocess.run(run, env=own, capture_output=True, text=True, check=True, timeout=300)
    assert done.stdout.split() == [digest()]
