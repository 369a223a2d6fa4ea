"""Takes in holes that came out elsewhere.

A plate hangs aside of its hole by at most the hanger's play. What that leaves is shared out among the plates beside it
in its row, which are as few as will do: along a curve whose second differences (by which two spaces beside one another
differ) are all as large as each other, outward one way, inward the other. With N - 1 plates to each side such a curve
takes N (N + 1) / 4 times the difference that passes unseen. Plates whose holes are drilled move by the play alone.
Where a row cannot do it, only the plate itself moves, and that is said. Plates hang level: one whose drilled holes are
too far from where its own are, however it is shifted, hangs on none, stays at its place, and that is said instead.

A plate is also seen that stands off the lines of the grid by more than the unseen share of its pitch.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from nameplate.findings import Finding
from nameplate.system.grouping import grouped
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
    """A row: `windows` are by column the shifts that the holes of drilled plates allow on each axis.

    `columns` are those of all its places: free ones count like plates, so that a later name changes nothing.
    `limit` is by how much (mm) spaces may differ unseen, `off` how far a plate may stand off the grid's lines.
    """

    columns: frozenset[int]
    windows: Mapping[int, tuple[tuple[float, float], ...]]
    limit: float
    off: Shift


@dataclass(frozen=True, slots=True)
class TakenIn:
    """Plates as they hang once all drilled holes are taken in, and what is to be said about each of these."""

    hangings: tuple[Hanging, ...]
    findings: tuple[Finding, ...]


def take_in(hangings: Sequence[Hanging], keys: WallKeys, grid: WallGrid) -> TakenIn:
    """Shift plates (in reading order) so that holes that came out elsewhere are not seen, as far as that can be."""
    limit, off = keys.unseen * grid.gap, Shift(keys.unseen * grid.pitch[0], keys.unseen * grid.pitch[1])
    columns = grouped((place.row, place.column) for place in grid.places)
    out: list[Hanging] = []
    found: list[Finding] = []
    for number, own in groupby(hangings, key=lambda hanging: hanging.place.row):
        plates = {hanging.place.column: hanging for hanging in own}
        windows = {c: _windows(h, keys) for c, h in plates.items() if h.holes[0].drilled}
        row = _Row(frozenset(columns[number]), windows, limit, off)
        shifts, unseen = _shifts(row)
        moved = {c: h.shifted(*shifts[c]) for c, h in plates.items()}
        out += moved.values()
        found += _findings(row, moved, keys, grid.gap, uneven=unevenness(shifts), unseen=unseen)
    return TakenIn(tuple(out), tuple(found))


def _offsets(hanging: Hanging) -> tuple[Shift, ...]:
    """Give how far each hole is from where it was planned."""
    place = hanging.place
    planned = zip(hanging.holes, hanging.fixings, strict=True)
    return tuple(Shift(hole.x - place.x - x, hole.y - place.y - y) for hole, (x, y) in planned)


def _windows(hanging: Hanging, keys: WallKeys) -> tuple[tuple[float, float], ...]:
    """Give, for each axis, the least and greatest shift at which a plate hangs on all its holes, 0 where none does."""
    offs = _offsets(hanging)
    if misfit(offs) > keys.play + _NOTHING:
        return ((0.0, 0.0),) * 2
    spans = ((max(axis) - keys.play, min(axis) + keys.play) for axis in zip(*offs, strict=True))
    return tuple((low, max(low, high)) for low, high in spans)


def misfit(offs: Sequence[Shift]) -> float:
    """Give how far (mm) the worst hole still is from where the plate has its own when the plate is shifted best.

    >>> misfit([Shift(6, 0), Shift(0, 0)]), misfit([Shift(9.5, 2)]), misfit([Shift(1, 0), Shift(1, -5)])
    (3.0, 0.0, 2.5)
    """
    spreads = [max(axis) - min(axis) for axis in ([off.dx for off in offs], [off.dy for off in offs])]
    return max(spreads) / 2


def _clamped(value: float, window: tuple[float, float]) -> float:
    return min(max(value, window[0]), window[1])


def _shifts(row: _Row) -> tuple[dict[int, Shift], bool]:
    """Give the shift of each plate of a row, and whether nothing of it is seen."""
    left = {c: Shift(*(_clamped(0.0, window) for window in windows)) for c, windows in row.windows.items()}
    alone = {c: Shift(0.0, 0.0) for c in row.columns} | left
    if any(abs(shift[axis]) > row.off[axis] + _NOTHING for shift in left.values() for axis in (0, 1)):
        return alone, False
    for more in range(len(row.columns)):
        shared = _shared_out(row, left, more)
        if unevenness(shared) <= row.limit + _NOTHING:
            return shared, True
    return alone, False


def _shared_out(row: _Row, left: Mapping[int, Shift], more: int) -> dict[int, Shift]:
    """Share out what is left of each hole along the row, over as few plates as it takes, and so many more."""
    sums = {c: [0.0, 0.0] for c in row.columns}
    for at, shift in left.items():
        for axis, length in enumerate(shift):
            if length:
                shares = curve(steps_for(length, row.limit) + more)
                for c in sums:
                    sums[c][axis] += length * (shares[abs(c - at)] if abs(c - at) < len(shares) else 0.0)
    for c, windows in row.windows.items():
        sums[c] = [_clamped(total, window) for total, window in zip(sums[c], windows, strict=True)]
    return {c: Shift(*total) for c, total in sums.items()}


def steps_for(length: float, limit: float) -> int:
    """Give the least number of steps over which spaces differ by at most `limit` when a plate moves by `length` mm.

    >>> steps_for(2.5, 5.7), steps_for(7.5, 5.7), steps_for(9, 5.7), steps_for(1, 0)
    (1, 2, 3, 1)
    """
    steps = 1
    while limit > 0 and steps * (steps + 1) / 4 * limit < abs(length) - _NOTHING:
        steps += 1
    return steps


def curve(steps: int) -> tuple[float, ...]:
    """Give the share of a shift that a plate takes, its neighbour, and so on, until the one that stays.

    >>> curve(1), [round(share, 3) for share in curve(2)], [round(share, 3) for share in curve(3)]
    ((1.0,), [1.0, 0.667], [1.0, 0.833, 0.333])
    """
    half = steps // 2
    bends = [-1.0] * (steps - half - 1) + [0.5 if steps % 2 else -0.5] + [1.0] * half
    sums = [sum((i - j + 1) * bend for i, bend in enumerate(bends) if i >= j) for j in range(steps)]
    return tuple(total / sums[0] for total in sums)


def unevenness(shifts: Mapping[int, Shift]) -> float:
    """Give the largest difference (mm) of two spaces beside one another, or of the slopes of a row that is not level.

    A plate at the end of a row has one space, which is compared with what was planned; one that hangs alone is compared
    with its place.

    >>> unevenness({0: Shift(0, 0), 1: Shift(2, 0), 2: Shift(0, 0)})
    4
    """
    worst = 0.0
    for c, here in shifts.items():
        beside = [shifts[n] for n in (c - 1, c + 1) if n in shifts]
        for axis in range(2):
            differs = sum(other[axis] for other in beside) - max(1, len(beside)) * here[axis]
            worst = max(worst, abs(differs))
    return worst


# --- what is said ---------------------------------------------------------------------------------------------------


def _findings(
    row: _Row, moved: Mapping[int, Hanging], keys: WallKeys, gap: float, *, uneven: float, unseen: bool
) -> Iterator[Finding]:
    differ = f"neighbouring spaces differ by {uneven:.1f} mm" + (f", {uneven / gap:.1%} of {gap:.0f} mm" if gap else "")
    for hanging in (moved[c] for c in row.windows):
        offs = _offsets(hanging)
        farthest = max(max(map(abs, off)) for off in offs)
        if farthest > _NOTHING:
            begin = (
                f"[wall] {hanging.plate.id} at {hanging.place.name}: its {_came_out(offs)}; with the hanger's play of "
                f"{keys.play:g} mm it "
            )
            where = hanging.plate.order.id, hanging.plate.order.row
            if (worst := misfit(offs)) > keys.play + _NOTHING:
                text = begin + _does_not_hang(hanging, offs, keys.play)
                yield Finding("hole-seen", "warning", text, *where, measured=worst, allowed=keys.play)
            elif unseen:
                text = begin + _hidden(hanging, moved, differ)
                yield Finding("hole-hidden", "note", text, *where, measured=farthest, allowed=keys.play)
            else:
                text = begin + _seen(hanging, row, differ)
                yield Finding("hole-seen", "warning", text, *where, measured=uneven, allowed=row.limit)


def _came_out(offs: Sequence[Shift]) -> str:
    """Say how far the holes of a plate are off.

    >>> _came_out([Shift(9.5, 0)]), _came_out([Shift(1, 0), Shift(0, 0)])
    ('hole came out 9.5 mm right', 'holes came out (1) 1.0 mm right, (2) where it was planned')
    """
    if len(offs) == 1:
        return f"hole came out {words_for(offs[0])}"
    return f"holes came out {', '.join(f'({number}) {words_for(off)}' for number, off in enumerate(offs, 1))}"


def _hidden(hanging: Hanging, moved: Mapping[int, Hanging], differ: str) -> str:
    left = Shift(hanging.dx, hanging.dy)
    if max(map(abs, left)) <= _NOTHING:
        return "hangs where it was planned, as long as it is pushed there"
    text = f"hangs {words_for(left)}, and {differ}, too little to be seen"
    others = [h for h in moved.values() if not h.holes[0].drilled and max(abs(h.dx), abs(h.dy)) > _NOTHING]
    if not others:
        return text
    who = ", ".join(f"{h.plate.id} {words_for(Shift(h.dx, h.dy))}" for h in others)
    return (
        f"{text}, because plates beside it move: {who}. Drill their holes as the plan has them now; those that are "
        "drilled already belong into moved, too, as [0, 0]"
    )


def _does_not_hang(hanging: Hanging, offs: Sequence[Shift], play: float) -> str:
    """Say that the plate fits on no shift, and which holes to drill anew for the one that is least off."""
    kept = min(range(len(offs)), key=lambda k: max(map(abs, offs[k])))
    anew, slots = [], []
    for number, (off, hole) in enumerate(zip(offs, hanging.holes, strict=True), 1):
        aside = Shift(off.dx - offs[kept].dx, off.dy - offs[kept].dy)
        if max(map(abs, aside)) > play + _NOTHING:
            anew.append(f"({number}) and drill it anew at {_at(hole.x - aside.dx, hole.y - aside.dy)}")
            slots.append(f"({number}) {words_for(Shift(*(v - _clamped(v, (-play, play)) for v in aside)))}")
    return (
        f"does not hang on these holes: where it fits best, level, one is still {misfit(offs):.1f} mm from where the "
        f"plate has its own. Fill hole {', hole '.join(anew)}, which goes with hole ({kept + 1}), or make slots of the "
        f"plate's own holes, longer by: {', '.join(slots)}"
    )


def _seen(hanging: Hanging, row: _Row, differ: str) -> str:
    anew = " and ".join(_at(hanging.place.x + x, hanging.place.y + y) for x, y in hanging.fixings)
    return (
        f"hangs {words_for(Shift(hanging.dx, hanging.dy))}, and {differ}: that is seen, as is more than "
        f"{row.limit:.1f} mm between spaces, {row.off.dx:.1f} mm aside of the grid or {row.off.dy:.1f} mm up or down. "
        f"Fill the hole and drill it anew at {anew}, or take a hanger with more play"
    )


def _at(x: float, y: float) -> str:
    return f"x {x:.1f} mm, y {y:.1f} mm"


def words_for(shift: Shift) -> str:
    """Say how far something is off.

    >>> words_for(Shift(9.5, 0)), words_for(Shift(-1, 2)), words_for(Shift(0, 0))
    ('9.5 mm right', '1.0 mm left and 2.0 mm up', 'where it was planned')
    """
    parts = [(shift.dx, "right" if shift.dx > 0 else "left"), (shift.dy, "up" if shift.dy > 0 else "down")]
    return " and ".join(f"{abs(v):.1f} mm {way}" for v, way in parts if abs(v) > _NOTHING) or "where it was planned"
