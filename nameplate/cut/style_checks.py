"""Judges how parts come free of a written sheet: tabs where they should be and nowhere else, lead-ins in the waste,
each part finished before the next one where that was asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from nameplate import tolerances
from nameplate.cut.burn import PartKey, whose
from nameplate.cut.closing import ClosedSheet
from nameplate.cut.expectation import SheetExpectation
from nameplate.cut.read_back import ReadPath, ReadSheet
from nameplate.findings import Finding
from nameplate.geometry import region
from nameplate.geometry.compare import lines_near, strips
from nameplate.geometry.region import Array, Region

#: Farthest (mm) a tab may be off its place, and its width off what was asked for: as far as a burned edge may be.
TAB_OFF = tolerances.BURN


def judge_style(sheet: ReadSheet, closed: ClosedSheet, expected: SheetExpectation) -> Iterator[Finding]:
    """Compare what a sheet says of its cuts, its tabs and the order of its parts with what was asked for."""
    words = expected.style.words
    if sheet.cuts != words:
        said = (
            f"the file says of its cuts {' '.join(sheet.cuts) or 'nothing'!r}, and not {' '.join(words) or 'nothing'!r}"
        )
        yield Finding("cut-style", "error", said)
    yield from closed.faults
    if words:
        yield from _lead_ins(closed, expected)
        yield from _tabs(sheet, closed, expected)
    if expected.style.by_part:
        yield from _unfinished(closed.sheet)


def judge_lead_ins(closed: ClosedSheet, burned: Mapping[PartKey, Region], gap: float) -> Iterator[Finding]:
    """Find lead-ins that come nearer than the `gap` (mm) to a part that they do not lead to."""
    if not closed.lead_ins:
        return
    numbers = {key: k for k, key in enumerate(burned)}
    lines = [lead.line for lead in closed.lead_ins]
    owners = [numbers.get(lead.of.key, -1) for lead in closed.lead_ins]  # of what does not close nothing is burned
    near = lines_near(list(burned.values()), lines, gap - tolerances.BURN, owners)
    for key, numbers_near in zip(burned, near, strict=True):
        for k in numbers_near:
            of, (x, y) = closed.lead_ins[k].of, lines[k][0]
            message = (
                f"{whose(of.key)}: the lead-in from ({x:.2f}, {y:.2f}) comes within the gap of {gap:g} mm of "
                f"{whose(key)}"
            )
            yield Finding("lead-in", "error", message, of.plate)


def _lead_ins(closed: ClosedSheet, expected: SheetExpectation) -> Iterator[Finding]:
    """Find lead-ins of another length than asked for."""
    wanted = expected.style.lead_in
    for lead in closed.lead_ins:
        if max(abs(lead.length - wanted), abs(lead.of.lead_in - wanted)) > tolerances.BURN:
            (x, y), long = lead.line[0], f"{lead.length:.2f} mm long, and not {wanted:g}"
            message = f"{whose(lead.of.key)}: the lead-in from ({x:.2f}, {y:.2f}) is {long}"
            yield Finding("lead-in", "error", message, lead.of.plate, None, round(lead.length, 3), wanted)


# --- tabs -----------------------------------------------------------------------------------------------------------


def _tabs(sheet: ReadSheet, closed: ClosedSheet, expected: SheetExpectation) -> Iterator[Finding]:
    """Find tabs that should not be, are missing, are wider or narrower than asked for, or are cut through."""
    wanted = expected.tabs.reshape(-1, 2)
    found = np.zeros(len(wanted), dtype=bool)
    gap = expected.style.tab_width + expected.kerf.widest
    for opening in closed.openings:
        middle = opening.line.mean(axis=0)
        (x, y), off = middle, np.hypot(*(wanted - middle).T)
        own = off <= TAB_OFF
        if not own.any() or found[own].all():
            message = f"{whose(opening.of.key)}: the outline is open at ({x:.2f}, {y:.2f}), where no tab belongs"
            yield Finding("tab", "error", message, opening.of.plate)
            continue
        found |= own
        if abs(opening.length - gap) > TAB_OFF:
            width, least = opening.length - expected.kerf.widest, expected.style.tab_width
            message = (
                f"{whose(opening.of.key)}: the tab at ({x:.2f}, {y:.2f}) is {width:.3f} mm wide, and not {least:g}"
            )
            yield Finding("tab", "error", message, opening.of.plate, None, round(width, 4), least)
    for x, y in wanted[~found]:
        yield Finding("tab", "error", f"no part hangs by a tab at ({x:.2f}, {y:.2f}), where one belongs")
    yield from _cut_through(sheet, closed, expected.kerf.widest)


def _cut_through(sheet: ReadSheet, closed: ClosedSheet, kerf: float) -> Iterator[Finding]:
    """Find tabs that any line of the file comes nearer to than the arcs that end at them."""
    if not closed.openings:
        return
    left = [_left(opening.line, kerf) for opening in closed.openings]
    cuts = [path.points for path in sheet.paths if path.operation != "score"]
    across = lines_near(
        [region.union(*strips([line], tolerances.BURN)) for line in left], cuts, kerf / 2, [-1] * len(cuts)
    )
    for opening, near in zip(closed.openings, across, strict=True):
        if near:
            x, y = opening.line.mean(axis=0)
            message = f"{whose(opening.of.key)}: the tab at ({x:.2f}, {y:.2f}) is cut through"
            yield Finding("tab", "error", message, opening.of.plate)


def _left(line: Array, kerf: float) -> Array:
    """Give the stretch of an opening (2, 2) that the ends of its arcs surely leave: so long that rounding is no cut."""
    a, b = line
    length = float(np.hypot(*(b - a)))
    share = min(0.49, (kerf / 2 + 2 * tolerances.BURN) / max(length, tolerances.BURN))
    return np.stack([a + share * (b - a), b - share * (b - a)])


# --- order ----------------------------------------------------------------------------------------------------------


def _unfinished(sheet: ReadSheet) -> Iterator[Finding]:
    """Find holes that are not cut right before the outline round them."""
    holes: list[ReadPath] = []
    for path in sheet.paths:
        if path.operation == "cut-inside":
            holes.append(path)
        elif path.operation == "cut-outside":
            outline = region.from_ring(path.points)
            yield from (
                _strayed(h)
                for h in holes
                if h.key != path.key or not region.covers(outline, region.from_ring(h.points))
            )
            holes = []
    yield from map(_strayed, holes)


def _strayed(hole: ReadPath) -> Finding:
    x, y = hole.points[0]
    message = f"{whose(hole.key)}: the inside cut at ({x:.2f}, {y:.2f}) is not followed by the outline of its part"
    return Finding("burning-order", "error", message, hole.plate)
