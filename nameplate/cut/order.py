"""Puts what the beam does on one sheet in order: scores, then inside cuts, then outside cuts.

Within that the way with the beam off is as short as `tour.py` finds it, from the sheet's lower left corner and back
there. A part that is cut out of another one, or lies in its bay, comes before it: it would lie loose, or on waste that
hangs by one side. The scores of a part are burned one after the other.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal, TypeAlias

import numpy as np

from nameplate import tolerances
from nameplate.cut.heat import spread
from nameplate.cut.kerf import CutContour, Toolpath
from nameplate.cut.start_points import Numbers, Starts, start_points
from nameplate.cut.tour import Stop, Visit, best_ways, short_tour
from nameplate.geometry import region
from nameplate.geometry.curves.curve import Curve, flatten, moved, started_at, turned_over
from nameplate.geometry.lie import Lie
from nameplate.geometry.nearby import boxes_within
from nameplate.geometry.planar import as_complex
from nameplate.geometry.region import Array
from nameplate.ticket.workshop_schema import ColourKeys

Operation: TypeAlias = Literal["score", "cut-inside", "cut-outside"]

#: Scores of a part that are farther apart than this (mm) are not one row: what is scored between them may be nearer.
APART = 10.0

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
    """One line that the beam burns, in sheet coordinates (y up): a closed curve, or a polyline (n, 2) to score."""

    operation: Operation
    owner: PlacedToolpath
    line: Curve | Array
    feature: str | None = None


def operation_colours(colours: ColourKeys) -> dict[Operation, str]:
    """Give the colour of each operation's lines."""
    return {"score": colours.score, "cut-inside": colours.cut_inside, "cut-outside": colours.cut_outside}


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """What is burned without a pause: steps that follow each other, and how the beam may pass them.

    `knots` are those at which a closed line may begin; the scores of a part are one line, forward or backward.
    """

    steps: tuple[Step, ...]
    stop: Stop
    knots: Numbers | None = None

    @property
    def operation(self) -> Operation:
        return self.steps[0].operation

    @property
    def box(self) -> tuple[float, float, float, float]:
        """The box (x0, y0, x1, y1) round a closed line and the handles of its cubics."""
        line = self.steps[0].line
        assert isinstance(line, Curve)
        (x0, y0), (x1, y1) = line.segments.min(axis=(0, 1)), line.segments.max(axis=(0, 1))
        return float(x0), float(y0), float(x1), float(y1)

    def passed(self, way: int) -> tuple[Step, ...]:
        """Give the steps as they are burned in one of the ways."""
        if self.knots is None:
            return tuple(replace(s, line=np.asarray(s.line)[::-1]) for s in self.steps[::-1]) if way else self.steps
        (step,) = self.steps
        assert isinstance(step.line, Curve)
        return (replace(step, line=started_at(step.line, int(self.knots[way]))),)


def burning_order(
    placed: Sequence[PlacedToolpath], *, rest: tuple[float, float] = (0.0, 0.0), spread_heat: float = 0.0
) -> tuple[Step, ...]:
    """Give every line of a sheet in the order of burning; the same input gives the same order.

    The head rests at `rest` (mm) before and after. With `spread_heat`, cuts that follow each other lie at least so many
    mm apart where that is possible.

    >>> burning_order([])
    ()
    """
    lines = _lines(placed)
    stops = [line.stop for line in lines]
    blocks = [OPERATIONS.index(line.operation) for line in lines]
    before = list(_before(lines))
    home = complex(*rest)
    visits = short_tour(stops, blocks, home, home, before=before)
    if spread_heat > 0:
        order = _spread(lines, visits, before, spread_heat)
        visits = tuple(map(Visit, order, best_ways(stops, order, home, home)))
    return tuple(step for visit in visits for step in lines[visit.stop].passed(visit.way))


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


def _lines(placed: Sequence[PlacedToolpath]) -> list[_Line]:
    """Give what is burned of each part, copies of one toolpath looked at once."""
    paths = list({id(p.toolpath): p.toolpath for p in placed}.values())
    starts = {id(path): own for path, own in zip(paths, start_points(paths), strict=True)}
    rows = {id(path): _rows(path.marks) for path in paths}
    lines: list[_Line] = []
    for p in placed:
        lines += _scores(p, (*map(p.lie.lines, rows[id(p.toolpath)]), *_rows(p.labels)))
        lines += _cuts(p, starts[id(p.toolpath)])
    return lines


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


def _cuts(placed: PlacedToolpath, starts: Sequence[Starts]) -> Iterator[_Line]:
    for contour, own in zip(placed.toolpath.contours, starts, strict=True):
        step = _cut(placed, contour)
        assert isinstance(step.line, Curve)
        segments = step.line.segments
        knots = -own.knots % len(segments) if placed.over else own.knots
        points = as_complex(segments[knots, 0])
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
    curve = line.steps[0].line
    assert isinstance(curve, Curve)
    return region.from_ring(flatten(curve, tolerances.CURVE))
