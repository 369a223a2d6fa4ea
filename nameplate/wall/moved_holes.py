"""Takes in holes that came out elsewhere.

A plate hangs aside of its hole by at most the hanger's play. What that leaves is shared out along its row: of n steps
to each side the k-th plate takes n - k parts, so that two spaces beside one another differ by at most twice what is
left over n (the second difference of a tent), and n is the least for which that is under what is seen. Plates whose
holes are drilled move by the play alone. Where a row cannot do it, only the plate itself moves, and that is said.

Known limit: rows are looked at one by one; how a plate stands to those above and below it is told, not weighed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from nameplate.findings import Finding
from nameplate.ticket.wall_schema import WallKeys
from nameplate.wall.grid import WallGrid
from nameplate.wall.hanging import Hanging

#: Lengths (mm) that are nothing beside what a drill can do.
_NOTHING = 1e-6


class Shift(NamedTuple):
    """How far a plate stands from its place, mm to the right and up."""

    dx: float
    dy: float


@dataclass(frozen=True, slots=True)
class _Row:
    """The plates of a row by column; `windows` are the shifts that the holes of drilled ones allow on each axis."""

    plates: Mapping[int, Hanging]
    windows: Mapping[int, tuple[tuple[float, float], ...]]
    limit: float


@dataclass(frozen=True, slots=True)
class TakenIn:
    """Plates as they hang once all drilled holes are taken in, and what is to be said about each of these."""

    hangings: tuple[Hanging, ...]
    findings: tuple[Finding, ...]


def take_in(hangings: Sequence[Hanging], keys: WallKeys, grid: WallGrid) -> TakenIn:
    """Shift plates (in reading order) so that holes that came out elsewhere are not seen, as far as that can be."""
    limit = keys.unseen * grid.gap
    out: list[Hanging] = []
    found: list[Finding] = []
    for _, own in groupby(hangings, key=lambda hanging: hanging.place.row):
        plates = {hanging.place.column: hanging for hanging in own}
        row = _Row(plates, {c: _windows(h, keys) for c, h in plates.items() if h.holes[0].drilled}, limit)
        shifts, unseen = _shifts(row)
        moved = {c: h.shifted(*shifts[c], keys.hanger) for c, h in plates.items()}
        out += moved.values()
        found += _findings(row, moved, keys, grid, unseen=unseen)
    return TakenIn(tuple(out), tuple(found))


def _offsets(hanging: Hanging, keys: WallKeys) -> tuple[Shift, ...]:
    """Give how far each hole is from where it was planned."""
    place = hanging.place
    planned = zip(hanging.holes, keys.hanger, strict=True)
    return tuple(Shift(hole.x - place.x - x, hole.y - place.y - y) for hole, (x, y) in planned)


def _windows(hanging: Hanging, keys: WallKeys) -> tuple[tuple[float, float], ...]:
    """Give, for each axis, the least and greatest shift at which the plate hangs on all its holes.

    Where none does, both are the middle between the holes that are farthest off to either side.
    """
    windows = []
    for offs in zip(*_offsets(hanging, keys), strict=True):
        low, high = max(offs) - keys.play, min(offs) + keys.play
        windows.append((low, high) if low <= high else ((low + high) / 2,) * 2)
    return tuple(windows)


def _clamped(value: float, window: tuple[float, float]) -> float:
    return min(max(value, window[0]), window[1])


def _left_over(row: _Row) -> dict[int, Shift]:
    """Give what the play leaves of each drilled hole."""
    return {c: Shift(*(_clamped(0.0, window) for window in windows)) for c, windows in row.windows.items()}


def _shifts(row: _Row) -> tuple[dict[int, Shift], bool]:
    """Give the shift of each plate of a row, and whether nothing of it is seen."""
    alone = {c: Shift(0.0, 0.0) for c in row.plates} | _left_over(row)
    if unevenness(alone, row.plates) <= row.limit + _NOTHING:
        return alone, True
    spread = _tents(row)
    if spread is None or unevenness(spread, row.plates) > row.limit + _NOTHING:
        return alone, False
    return spread, True


def _tents(row: _Row) -> dict[int, Shift] | None:
    """Share out what is left of each hole along the row; None where the row is too short, or no difference passes."""
    shares = {c: [0.0, 0.0] for c in row.plates}
    for at, left in _left_over(row).items():
        for axis, length in enumerate(left):
            steps = steps_for(length, row.limit)
            if steps is None or steps > max(abs(c - at) for c in row.plates) + 1:
                return None
            for c in shares:
                shares[c][axis] += length * max(0.0, 1 - abs(c - at) / steps)
    for c, windows in row.windows.items():
        shares[c] = [_clamped(share, window) for share, window in zip(shares[c], windows, strict=True)]
    return {c: Shift(*share) for c, share in shares.items()}


def steps_for(length: float, limit: float) -> int | None:
    """Give the least number of steps over which a shift of `length` makes spaces differ by at most `limit`, both mm.

    >>> steps_for(7.5, 5.7), steps_for(0, 0), steps_for(1, 0)
    (3, 1, None)
    """
    if abs(length) <= _NOTHING:
        return 1
    return None if limit <= 0 else max(1, math.ceil(2 * abs(length) / limit - _NOTHING))


def unevenness(shifts: Mapping[int, Shift], columns: Mapping[int, object]) -> float:
    """Give the largest difference (mm) of two spaces beside one another, or of the slopes of a row that is not level.

    A plate at the end of a row has one space, which is compared with what was planned; one that hangs alone is compared
    with its place.

    >>> unevenness({0: Shift(0, 0), 1: Shift(2, 0), 2: Shift(0, 0)}, {0: 0, 1: 0, 2: 0})
    4
    """
    worst = 0.0
    for c in columns:
        here = shifts[c]
        beside = [shifts[n] for n in (c - 1, c + 1) if n in columns]
        for axis in range(2):
            differs = sum(other[axis] for other in beside) - max(1, len(beside)) * here[axis]
            worst = max(worst, abs(differs))
    return worst


# --- what is said ---------------------------------------------------------------------------------------------------


def _findings(
    row: _Row, moved: Mapping[int, Hanging], keys: WallKeys, grid: WallGrid, *, unseen: bool
) -> Iterator[Finding]:
    shifts = {c: Shift(h.dx, h.dy) for c, h in moved.items()}
    uneven = unevenness(shifts, row.plates)
    helpers = [h for h in moved.values() if not h.holes[0].drilled and max(abs(h.dx), abs(h.dy)) > _NOTHING]
    for c in row.windows:
        offs = _offsets(moved[c], keys)
        if any(max(map(abs, off)) > _NOTHING for off in offs):
            yield _finding(moved[c], offs, helpers, uneven, keys, grid, unseen=unseen)


def _finding(
    hanging: Hanging,
    offs: Sequence[Shift],
    helpers: Sequence[Hanging],
    uneven: float,
    keys: WallKeys,
    grid: WallGrid,
    *,
    unseen: bool,
) -> Finding:
    plate, left = hanging.plate, Shift(hanging.dx, hanging.dy)
    begin = f"[wall] {plate.id} at {hanging.place.name}: its hole came out {' and '.join(map(words_for, offs))}"
    share = f"{uneven:.1f} mm" + (f", {uneven / grid.gap:.1%} of {grid.gap:.0f} mm" if grid.gap else "")
    differ = f"neighbouring spaces differ by {share}"
    at, code, measured = (plate.order.id, plate.order.row), "hole-hidden", max(max(map(abs, off)) for off in offs)
    if not unseen:
        anew = " and ".join(f"x {hanging.place.x + x:.1f}, y {hanging.place.y + y:.1f}" for x, y in keys.hanger)
        text = (
            f"{begin}; with the hanger's play of {keys.play:g} mm it hangs {words_for(left)}, and {differ}: that is "
            f"seen (over {keys.unseen:.1%}). Fill the hole and drill it anew at {anew}, or take a hanger with more play"
        )
        return Finding("hole-seen", "warning", text, *at, measured=uneven, allowed=keys.unseen * grid.gap)
    if max(map(abs, left)) <= _NOTHING:
        text = f"{begin}; the hanger's play of {keys.play:g} mm hides it: hang the plate where it was planned"
        return Finding(code, "note", text, *at, measured=measured, allowed=keys.play)
    text = f"{begin}; with the hanger's play of {keys.play:g} mm it hangs {words_for(left)}, and {differ}: not seen"
    if helpers:
        who = ", ".join(f"{h.plate.id} {words_for(Shift(h.dx, h.dy))}" for h in helpers)
        text += (
            f", because plates beside it move: {who}. Drill their holes as the plan has them now; those that are "
            "drilled already belong into moved, too, as [0, 0]"
        )
    return Finding(code, "note", text, *at, measured=measured, allowed=keys.play)


def words_for(shift: Shift) -> str:
    """Say how far something is off.

    >>> words_for(Shift(9.5, 0)), words_for(Shift(-1, 2)), words_for(Shift(0, 0))
    ('9.5 mm right', '1.0 mm left and 2.0 mm up', 'where it was planned')
    """
    parts = [(shift.dx, "right" if shift.dx > 0 else "left"), (shift.dy, "up" if shift.dy > 0 else "down")]
    return " and ".join(f"{abs(v):.1f} mm {way}" for v, way in parts if abs(v) > _NOTHING) or "where it was planned"
