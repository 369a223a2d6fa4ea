"""Takes what was read of a cut file apart: its outlines, closed again over their tabs, and its lead-ins.

What is left of a part is what its closed outlines leave, however it hangs on the sheet. The arcs of an outline follow
each other in the file, each from one tab to the next, the last up to where the first begins.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from nameplate import tolerances
from nameplate.cut.path_data import flattened
from nameplate.cut.read_back import ReadPath, ReadSheet
from nameplate.findings import Finding
from nameplate.geometry.region import Array

#: Where two ends of a line are this near (mm), it closes: the last decimal of a number, both ways.
MEETS = 2 * tolerances.SAME_POINT


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """A straight line (2, 2) of a cut: a lead-in, or the opening from the end of one arc to the start of the next."""

    of: ReadPath
    line: Array

    @property
    def length(self) -> float:
        """How long it is, mm."""
        return float(np.hypot(*(self.line[1] - self.line[0])))


@dataclass(frozen=True, slots=True, eq=False)
class ClosedSheet:
    """A sheet whose cuts are all closed, and what was taken from them; `faults` tell of those that cannot be."""

    sheet: ReadSheet
    lead_ins: tuple[Stretch, ...] = ()
    openings: tuple[Stretch, ...] = ()
    faults: tuple[Finding, ...] = ()


def closed_up(sheet: ReadSheet) -> ClosedSheet:
    """Close the cuts of a sheet; one without open cuts stays as it is."""
    if all(path.closed or path.operation == "score" for path in sheet.paths):
        return ClosedSheet(sheet)
    paths: list[ReadPath] = []
    openings: list[Stretch] = []
    faults: list[Finding] = []
    for arcs in _outlines(sheet.paths):
        first = arcs[0]
        if first.closed or first.operation == "score":
            paths.append(first)
        elif fault := _not_whole(arcs):
            faults.append(Finding("open-cut", "error", fault, first.plate))
        else:
            points = np.vstack([points for arc, after in _in_turn(arcs) for points in (arc.points, _over(arc, after))])
            paths.append(replace(first, points=np.vstack([points, points[:1]]), closed=True, arc=None))
            if first.arc is not None:  # a line that has a lead-in only closes by itself
                openings += [Stretch(a, np.stack([a.points[-1], b.points[0]])) for a, b in _in_turn(arcs)]
    lead_ins = tuple(Stretch(path, path.points[:2]) for path in sheet.paths if path.lead_in)
    return ClosedSheet(replace(sheet, paths=tuple(paths)), lead_ins, tuple(openings), tuple(faults))


def _outlines(paths: Sequence[ReadPath]) -> Iterator[list[ReadPath]]:
    """Yield the arcs of each outline without their lead-ins; a line that is all of its outline, by itself."""
    arcs: list[ReadPath] = []
    for path in paths:
        if arcs and (path.arc is None or path.arc[0] == 1):
            yield arcs
            arcs = []
        arcs.append(replace(path, points=path.points[1:]) if path.lead_in else path)
        if path.arc is None:
            yield arcs
            arcs = []
    if arcs:
        yield arcs


def _not_whole(arcs: Sequence[ReadPath]) -> str:
    """Say why some arcs are no whole outline of a part; empty where they are."""
    first = arcs[0]
    who = f"plate {first.plate}, {first.kind}: a path of {first.operation}"
    if first.arc is None:
        gap = float(np.hypot(*(first.points[-1] - first.points[0])))
        return f"{who} is open by {gap:.3f} mm; every cut must close" if gap > MEETS else ""
    count = first.arc[1]
    if [arc.arc for arc in arcs] != [(k, count) for k in range(1, count + 1)]:
        said = ", ".join(f"{arc.arc[0]}/{arc.arc[1]}" for arc in arcs if arc.arc)
        return f"{who} has the arcs {said}; each must be there once, in order"
    if any((arc.key, arc.operation) != (first.key, first.operation) for arc in arcs):
        return f"{who} goes on as an arc of another part"
    return "" if all(np.ptp(arc.points, axis=0).any() for arc in arcs) else f"{who} has an arc without length"


def _in_turn(arcs: Sequence[ReadPath]) -> Iterator[tuple[ReadPath, ReadPath]]:
    return zip(arcs, (*arcs[1:], arcs[0]), strict=True)


def _over(arc: ReadPath, after: ReadPath) -> Array:
    """Give the outline over a tab (n, 2): the cubic that goes on as one arc ends and ends as the next begins."""
    if arc.arc is None:
        return np.empty((0, 2))
    a, b = arc.points[-1], after.points[0]
    gap = float(np.hypot(*(b - a)))
    onward, back = (_onward(points, gap) * gap / 3 for points in (arc.points, after.points[::-1]))
    return flattened(np.stack([a, a + onward, b + back, b])[None], np.ones(1, dtype=bool))


def _onward(points: Array, straight: float) -> Array:
    """Give the direction (2,) in which a flattened curve ends: its last chord, turned on as it turned before.

    A last chord of `straight` mm or more is no curve's.
    """
    chords = np.diff(points, axis=0)
    chords = chords[chords.any(axis=1)][-2:]
    lengths = np.hypot(*chords.T)
    x, y = chords[-1] / lengths[-1]
    if len(chords) < 2 or lengths[-1] >= straight:
        return np.array([x, y])
    before = np.arctan2(chords[0, 0] * y - chords[0, 1] * x, chords[0] @ (x, y))
    turn = before * lengths[-1] / lengths.sum()
    return np.array([x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)])
