"""Puts what the beam does on one sheet in order: scores, then inside cuts, then outside cuts.

Within each operation the beam goes to the nearest line not yet burned (nearest neighbour), so that it travels little;
a part that lies in another part's outline (in a hole, or cut out of it) comes before that part.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from nameplate import tolerances
from nameplate.cut.kerf import Toolpath
from nameplate.geometry import region
from nameplate.geometry.curves.curve import Curve, flatten, moved, started_at, turned_over
from nameplate.geometry.lie import Lie
from nameplate.geometry.nearby import Index
from nameplate.geometry.region import Array
from nameplate.ticket.workshop_schema import ColourKeys

Operation: TypeAlias = Literal["score", "cut-inside", "cut-outside"]

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


def burning_order(placed: Sequence[PlacedToolpath], *, start: tuple[float, float] = (0.0, 0.0)) -> tuple[Step, ...]:
    """Give every line of a sheet in the order of burning, from where the beam starts; the same input gives the same
    order.

    >>> burning_order([])
    ()
    """
    steps = [_steps(p) for p in placed]
    ranks = _ranks(placed, steps)
    ordered: list[Step] = []
    at: Array = np.array(start)
    for operation in OPERATIONS:
        for rank in sorted(set(ranks)):
            group = [s for own, r in zip(steps, ranks, strict=True) if r == rank for s in own]
            walked, at = _walk([s for s in group if s.operation == operation], at)
            ordered += walked
    return tuple(ordered)


def _steps(placed: PlacedToolpath) -> tuple[Step, ...]:
    path = placed.toolpath
    scores = [Step("score", placed, line) for line in (*placed.lie.lines(path.marks), *placed.labels)]
    return (*scores, *(Step(c.operation, placed, _lying(c.curve, placed), c.feature) for c in path.contours))


def _lying(curve: Curve, placed: PlacedToolpath) -> Curve:
    return moved(turned_over(curve) if placed.over else curve, placed.x, placed.y, placed.turn)


def _ranks(placed: Sequence[PlacedToolpath], steps: Sequence[Sequence[Step]]) -> list[int]:
    """Give each part 0 minus the number of other parts' outlines it lies in, so that the innermost comes first."""
    outlines: list[region.Region] = []
    owners: list[int] = []
    for number, own in enumerate(steps):
        for step in own:
            if step.operation == "cut-outside" and isinstance(step.line, Curve):
                outlines.append(region.from_ring(flatten(step.line, tolerances.CURVE)))
                owners.append(number)
    index = Index(outlines)
    first = {owner: at for at, owner in reversed(list(enumerate(owners)))}
    ranks = []
    for number in range(len(placed)):
        spot = outlines[first[number]] if number in first else None
        if spot is None:
            ranks.append(0)
            continue
        around = index.near(spot)
        ranks.append(-sum(owners[i] != number and region.covers(outlines[i], spot) for i in around))
    return ranks


def _walk(steps: Sequence[Step], at: Array) -> tuple[list[Step], Array]:
    """Visit steps by nearest entry point; closed curves may be entered at any knot, strokes at either end."""
    if not steps:
        return [], at
    entries = [_entries(s) for s in steps]
    points = np.vstack(entries)
    owner = np.repeat(np.arange(len(entries)), [len(e) for e in entries])
    first = np.searchsorted(owner, np.arange(len(entries)))
    left = points.copy()
    walked = []
    for _ in steps:
        nearest = int(np.argmin(((left - at) ** 2).sum(axis=1)))
        number = int(owner[nearest])
        knot = nearest - int(first[number])
        walked.append(_entered(steps[number], knot))
        left[owner == number] = np.inf
        at = points[nearest] if isinstance(steps[number].line, Curve) else points[first[number] + 1 - knot]
    return walked, at


def _entries(step: Step) -> Array:
    if isinstance(step.line, Curve):
        return step.line.segments[:, 0]
    return step.line[[0, -1]]


def _entered(step: Step, knot: int) -> Step:
    if isinstance(step.line, Curve):
        line: Curve | Array = started_at(step.line, knot)
    else:
        line = step.line[::-1] if knot else step.line
    return Step(step.operation, step.owner, line, step.feature)
