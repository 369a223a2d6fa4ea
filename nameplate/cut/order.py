"""Puts what the beam does on one sheet in order: scores, then inside cuts, then outside cuts; or part by part.

Within that the way with the beam off is as short as `tour.py` finds it, from the sheet's lower left corner and back
there. A part that is cut out of another one, or lies in its bay, comes before it: it would lie loose, or on waste that
hangs by one side. The scores of a part are burned one after the other. By part, all scores come first, then the holes
and the outline of one solid after those of another: the solids on a short way past their middles, the holes likewise.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal, TypeAlias

import numpy as np

from nameplate import tolerances
from nameplate.cut.kerf import CutContour, Toolpath
from nameplate.cut.lead_ins import Begun, lead_ins, led_in
from nameplate.cut.local_search import Stop
from nameplate.cut.machine import PLAIN_RULES, CutRules
from nameplate.cut.start_points import Starts, start_points
from nameplate.cut.tabs import opened, tab_places
from nameplate.cut.tour import Visit, best_ways, short_tour, spread
from nameplate.geometry import region
from nameplate.geometry.box import Box
from nameplate.geometry.curves.curve import Curve, drawn, flatten, moved, started_at, turned_over
from nameplate.geometry.lie import Lie
from nameplate.geometry.nearby import boxes_within
from nameplate.geometry.planar import Complex, as_complex, as_points
from nameplate.geometry.region import Array, Indices
from nameplate.system.grouping import grouped
from nameplate.ticket.workshop_schema import ColourKeys

Operation: TypeAlias = Literal["score", "cut-inside", "cut-outside"]

#: Scores of a part that are farther apart than this (mm) are not one row: what is scored between them may be nearer.
APART = 10.0

#: What it counts (mm of travel) to begin a cut without a lead-in where these are asked for: more than any way there.
NO_LEAD_IN = 1000.0

#: Burning order of the operations over the whole sheet.
OPERATIONS: tuple[Operation, ...] = ("score", "cut-inside", "cut-outside")


@dataclass(frozen=True, slots=True, eq=False)
class PlacedToolpath:
    """One copy of a part on a sheet: turned `over` first where its sheet lies face down, then turned by `turn` degrees
    about the plate's origin, then shifted to (x, y). `labels` are lines to score that tell it, in sheet coordinates."""

    toolpath: Toolpath
    copy: int
    x: float
    y: float
    turn: float = 0.0
    over: bool = False
    labels: tuple[Array, ...] = ()

    @property
    def lie(self) -> Lie:
        """How the part lies on the sheet."""
        return Lie(self.x, self.y, self.turn, self.over)


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One line that the beam burns, in sheet coordinates (y up): a curve, or a polyline (n, 2) to score.

    An open curve begins with a `lead_in` so long (mm), or is an `arc` of an outline that tabs hold: which of how many.
    """

    operation: Operation
    owner: PlacedToolpath
    line: Curve | Array
    feature: str | None = None
    lead_in: float = 0.0
    arc: tuple[int, int] | None = None

    @property
    def curve(self) -> Curve:
        """The line of a cut."""
        assert isinstance(self.line, Curve)
        return self.line

    def drawn(self, tolerance: float = tolerances.FLATTEN) -> Array:
        """Give the line as a polyline (n, 2), within `tolerance` mm where it is a curve."""
        return drawn(self.line, tolerance) if isinstance(self.line, Curve) else self.line


def operation_colours(colours: ColourKeys) -> dict[Operation, str]:
    """Give the colour of each operation's lines."""
    return {"score": colours.score, "cut-inside": colours.cut_inside, "cut-outside": colours.cut_outside}


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """What is burned without a pause: steps that follow each other, and how the beam may pass them.

    The scores of a part are one line, forward or backward. `knots` are those at which a closed line may begin; of an
    outline that tabs hold it is any of the `arcs` between them. `pierced` are the places where lead-ins to these begin.
    """

    steps: tuple[Step, ...]
    stop: Stop
    knots: Indices | None = None
    arcs: tuple[Curve, ...] = ()
    pierced: Complex | None = None

    @property
    def operation(self) -> Operation:
        return self.steps[0].operation

    @property
    def curve(self) -> Curve:
        """The closed line."""
        return self.steps[0].curve

    @property
    def box(self) -> Box:
        """The box round a closed line and the handles of its cubics."""
        segments = self.curve.segments
        return Box(*segments.min(axis=(0, 1)).tolist(), *segments.max(axis=(0, 1)).tolist())

    @property
    def begun(self) -> Begun:
        """The closed line with the ways in which it may begin."""
        knots = [] if self.knots is None else self.knots.tolist()
        ways = self.arcs or [started_at(self.curve, knot) for knot in knots]
        return Begun(self.curve, id(self.steps[0].owner), self.operation == "cut-inside", ways)

    def passed(self, way: int) -> tuple[Step, ...]:
        """Give the steps as they are burned in one of the ways."""
        if self.arcs:
            count = len(self.arcs)
            own = [(way + k) % count for k in range(count)]
            return tuple(self._led(self.arcs[at], at, (k, count)) for k, at in enumerate(own, 1))
        if self.knots is None:
            return tuple(replace(s, line=np.asarray(s.line)[::-1]) for s in self.steps[::-1]) if way else self.steps
        return (self._led(started_at(self.curve, int(self.knots[way])), way),)

    def _led(self, line: Curve, way: int, arc: tuple[int, int] | None = None) -> Step:
        """Give the step along a line, with the lead-in of a way where there is one."""
        step = replace(self.steps[0], line=line, arc=arc)
        if self.pierced is None or np.isnan(self.pierced[way]):
            return step
        led = led_in(line, as_points(self.pierced[way : way + 1])[0])
        return replace(step, line=led, lead_in=float(np.hypot(*(led.start - line.start))))


def burning_order(
    placed: Sequence[PlacedToolpath],
    *,
    rest: tuple[float, float] = (0.0, 0.0),
    spread_heat: float = 0.0,
    rules: CutRules = PLAIN_RULES,
) -> tuple[Step, ...]:
    """Give every line of a sheet in the order of burning; the same input gives the same order.

    The head rests at `rest` (mm) before and after. With `spread_heat`, cuts that follow each other lie at least so many
    mm apart where that is possible; of a sheet that is cut by part, these are parts. The `rules` say how parts come
    free of the sheet.

    >>> burning_order([])
    ()
    """
    lines = _lines(placed, rules)
    before = list(_before(lines))
    order_by = _by_part if rules.style.by_part else _by_operation
    visits = order_by(lines, before, complex(*rest), spread_heat)
    return tuple(step for visit in visits for step in lines[visit.stop].passed(visit.way))


def _by_operation(
    lines: Sequence[_Line], before: Sequence[tuple[int, int]], home: complex, apart: float
) -> tuple[Visit, ...]:
    stops = [line.stop for line in lines]
    blocks = [OPERATIONS.index(line.operation) for line in lines]
    visits = short_tour(stops, blocks, home, home, before=before)
    if apart <= 0:
        return visits
    order = _spread(lines, visits, before, apart)
    return tuple(map(Visit, order, best_ways(stops, order, home, home)))


def _by_part(
    lines: Sequence[_Line], before: Sequence[tuple[int, int]], home: complex, apart: float
) -> tuple[Visit, ...]:
    """Order the lines of each operation within the solid that they cut, and the solids among each other."""
    stops = [line.stop for line in lines]
    scores = [k for k, line in enumerate(lines) if line.operation == "score"]
    order = [scores[visit.stop] for visit in short_tour([stops[k] for k in scores], [0] * len(scores), home, home)]
    at = complex(stops[order[-1]].exits[0]) if order else home
    solids = _solids(lines)
    outlines = list(solids)
    numbers = {outline: number for number, outline in enumerate(outlines)}
    pairs = [(numbers[first], numbers[second]) for first, second in before]
    middles = [complex(*lines[outline].box.centre) for outline in outlines]
    passing = [Stop(np.array([middle]), np.array([middle]), np.zeros(1)) for middle in middles]
    visits = short_tour(passing, [0] * len(outlines), at, home, before=pairs)
    way = [visit.stop for visit in visits]
    if apart > 0:
        way = spread(way, [lines[outlines[number]].box for number in way], pairs, apart)
    for number in way:
        holes = solids[outlines[number]]
        passed = short_tour([stops[k] for k in holes], [0] * len(holes), at, middles[number], turns=1, kicks=0)
        order += [*(holes[visit.stop] for visit in passed), outlines[number]]
        at = middles[number]
    return tuple(map(Visit, order, best_ways(stops, order, home, home)))


def _solids(lines: Sequence[_Line]) -> dict[int, list[int]]:
    """Give for each outline, by its number, the numbers of the holes in it."""
    solids: dict[int, list[int]] = {k: [] for k, line in enumerate(lines) if line.operation == "cut-outside"}
    of_part = grouped((id(lines[outline].steps[0].owner), outline) for outline in solids)
    for k, line in enumerate(lines):
        if line.operation == "cut-inside":
            solids[_around(lines, k, of_part[id(line.steps[0].owner)])].append(k)
    return solids


def _around(lines: Sequence[_Line], hole: int, outlines: Sequence[int]) -> int:
    """Give that of a part's outlines in which a hole lies; the holes of one lie in no other."""
    holding = (k for k in outlines if region.covers(_area(lines[k]), _area(lines[hole])))
    return outlines[0] if len(outlines) == 1 else next(holding, outlines[0])


def as_drawn(placed: Sequence[PlacedToolpath]) -> tuple[Step, ...]:
    """Give every line of a sheet, small ones first, begun where it is drawn: for a sheet that no beam will follow.

    An outline comes before one that it lies in, as in the burning order, and operations one after the other.

    >>> as_drawn([])
    ()
    """
    steps = [step for p in placed for step in _drawn(p)]
    return tuple(sorted(steps, key=lambda step: (OPERATIONS.index(step.operation), _extent(step.line))))


def _drawn(placed: PlacedToolpath) -> Iterator[Step]:
    for stroke in (*placed.lie.lines(placed.toolpath.marks), *placed.labels):
        yield Step("score", placed, stroke)
    for contour in placed.toolpath.contours:
        yield _cut(placed, contour)


def _extent(line: Curve | Array) -> float:
    """Give the width and height of a line's box together, mm."""
    points = line.segments.reshape(-1, 2) if isinstance(line, Curve) else line
    return float(np.ptp(points, axis=0).sum())


def _spread(
    lines: Sequence[_Line], visits: Sequence[Visit], before: Sequence[tuple[int, int]], apart: float
) -> list[int]:
    order: list[int] = []
    for operation in OPERATIONS:
        own = [v.stop for v in visits if lines[v.stop].operation == operation]
        order += own if operation == "score" else spread(own, [lines[k].box for k in own], before, apart)
    return order


def _lines(placed: Sequence[PlacedToolpath], rules: CutRules) -> list[_Line]:
    """Give what is burned of each part, copies of one toolpath looked at once."""
    paths = list({id(p.toolpath): p.toolpath for p in placed}.values())
    starts = {id(path): own for path, own in zip(paths, start_points(paths), strict=True)}
    rows = {id(path): _rows(path.marks) for path in paths}
    tabs = {id(path): tab_places(path, rules) for path in paths}
    lines: list[_Line] = []
    for p in placed:
        lines += _scores(p, (*map(p.lie.lines, rows[id(p.toolpath)]), *_rows(p.labels)))
        lines += _cuts(p, starts[id(p.toolpath)], tabs[id(p.toolpath)], rules)
    return _led(lines, rules) if rules.style.lead_in else lines


def _led(lines: Sequence[_Line], rules: CutRules) -> list[_Line]:
    """Give the lines with what lead-ins there is room for; to begin without one costs NO_LEAD_IN."""
    cuts = [line for line in lines if line.operation != "score"]
    found = iter(lead_ins([line.begun for line in cuts], rules))
    return [line if line.operation == "score" else _with(line, next(found)) for line in lines]


def _with(line: _Line, pierced: Complex) -> _Line:
    costs = line.stop.costs + NO_LEAD_IN * np.isnan(pierced)
    return replace(line, stop=replace(line.stop, costs=costs), pierced=pierced)


def _scores(placed: PlacedToolpath, rows: Sequence[Sequence[Array]]) -> Iterator[_Line]:
    for strokes in rows:
        ends = as_complex(np.stack([strokes[0][0], strokes[-1][-1]]))
        yield _Line(tuple(Step("score", placed, s) for s in strokes), Stop(ends, ends[::-1], np.zeros(2)))


def _rows(marks: Sequence[Array]) -> list[list[Array]]:
    """Give the strokes (n, 2) of a part in rows, such as a label: in a short order, each in its shorter direction."""
    strokes = [mark for mark in marks if len(mark) > 1]
    if not strokes:
        return []
    ends = [as_complex(stroke[[0, -1]]) for stroke in strokes]
    stops = [Stop(both, both[::-1], np.zeros(2)) for both in ends]
    corners = np.concatenate(ends)
    begin = complex(corners.real.min(), corners.imag.min())
    end = complex(corners.real.max(), corners.imag.max())
    visits = short_tour(stops, [0] * len(stops), begin, end, turns=1, kicks=0)
    inside = [strokes[v.stop][::-1] if v.way else strokes[v.stop] for v in visits]
    rows = [inside[:1]]
    for before, after in pairwise(inside):
        if math.dist(before[-1], after[0]) > APART:
            rows.append([])
        rows[-1].append(after)
    return rows


def _cuts(placed: PlacedToolpath, starts: Sequence[Starts], tabs: Sequence[Array], rules: CutRules) -> Iterator[_Line]:
    for contour, own, hung in zip(placed.toolpath.contours, starts, tabs, strict=True):
        step = _cut(placed, contour)
        if len(hung):
            arcs = opened(step.curve, placed.lie.points(hung), rules.opening)
            begun = as_complex(np.stack([arc.start for arc in arcs]))
            yield _Line((step,), Stop(begun, begun, np.zeros(len(arcs))), arcs=arcs)
            continue
        knots = -own.knots % len(step.curve.segments) if placed.over else own.knots
        points = as_complex(step.curve.segments[knots, 0])
        yield _Line((step,), Stop(points, points, own.costs), knots)


def _cut(placed: PlacedToolpath, contour: CutContour) -> Step:
    curve = moved(turned_over(contour.curve) if placed.over else contour.curve, placed.x, placed.y, placed.turn)
    return Step(contour.operation, placed, curve, contour.feature)


def _before(lines: Sequence[_Line]) -> Iterator[tuple[int, int]]:
    """Yield pairs of outlines of which the first lies in the convex hull of the second: in it, or in a bay of it."""
    outlines = [k for k, line in enumerate(lines) if line.operation == "cut-outside"]
    boxes = np.array([lines[k].box for k in outlines]).reshape(-1, 4)
    inner, around = boxes_within(boxes, boxes)
    other = (boxes[inner] != boxes[around]).any(axis=1)  # of two equal boxes neither comes first
    for a, b in zip(inner[other].tolist(), around[other].tolist(), strict=True):
        first, second = outlines[a], outlines[b]
        if region.covers(region.hull(_area(lines[second])), _area(lines[first])):
            yield first, second


def _area(line: _Line) -> region.Region:
    return region.from_ring(flatten(line.curve, tolerances.CURVE))
