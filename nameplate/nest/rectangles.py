"""Nesting by upright boxes with rectpack: quick, and exact for rectangles.

Method: each piece becomes its box, grown by the gap; each plain sheet becomes a bin, grown by the gap once (the gap
along its upper and right edge is not needed); whole numbers of 0.1 micrometre keep rounding out of it. Boxes are
taken largest first and go to the first sheet with room.

Known limits: parts never lie inside one another's box; only turns that differ by 90 degrees give a choice; sheets
that are not whole rectangles are used by their largest plain rectangle only.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from nameplate.geometry.box import Box
from nameplate.geometry.collision_set import turned_box
from nameplate.geometry.region import bounds, points
from nameplate.nest.layout import Piece, Placement, placement
from nameplate.nest.search.free_rectangle import largest_rectangle
from nameplate.nest.sheets import Blank, Rules

#: Packing units in a millimetre: the last decimal of a layout.
UNITS = 10_000

#: A box may be this much wider (mm) than the units say: float noise of turning, far below a unit.
NOISE = 1e-7


class Packed(NamedTuple):
    """What an engine made of some pieces: placements for each blank in order, and the positions of what is left."""

    placements: tuple[tuple[Placement, ...], ...]
    left: tuple[int, ...]

    def on(self, blanks: Sequence[Blank]) -> list[tuple[Blank, tuple[Placement, ...]]]:
        """Give the blanks that it was made on with what lies on each, those left empty out."""
        return [(blank, rows) for blank, rows in zip(blanks, self.placements, strict=True) if rows]


class _Lie(NamedTuple):
    """A piece lying at one turn."""

    turn: float
    box: Box


def pack_boxes(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules) -> Packed:
    """Pack pieces by their boxes onto the given sheets, first sheet first.

    >>> pack_boxes([], [], Rules(gap=1, edge=5))
    Packed(placements=(), left=())
    """
    import rectpack

    lies = [_lies(piece, rules.turns) for piece in pieces]
    spaces = [_space(blank) for blank in blanks]
    rotation = any(len(pair) > 1 for pair in lies)
    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Offline,
        bin_algo=rectpack.PackingBin.BFF,
        pack_algo=rectpack.MaxRectsBssf,
        sort_algo=rectpack.SORT_NONE,
        rotation=rotation,
    )
    boxes = [pair[0].box for pair in lies]
    for i in sorted(range(len(pieces)), key=lambda i: sorted((-boxes[i].width, -boxes[i].height))):
        packer.add_rect(*_sides(lies[i], rules.gap), rid=i)
    for b, space in enumerate(spaces):
        if space is not None:
            packer.add_bin(_down(space.width + rules.gap), _down(space.height + rules.gap), bid=b)
    if not pieces or all(space is None for space in spaces):
        return Packed(((),) * len(blanks), tuple(range(len(pieces))))
    packer.pack()
    rows: list[list[Placement]] = [[] for _ in blanks]
    found = set()
    for b in packer:
        space = spaces[b.bid]
        assert space is not None
        for rect in sorted(b, key=lambda r: int(r.rid)):
            own = lies[rect.rid]
            lie = own[0] if _sides(own, rules.gap) == (rect.width, rect.height) else own[-1]
            x, y = space.x0 + rect.x / UNITS - lie.box.x0, space.y0 + rect.y / UNITS - lie.box.y0
            x, y = _up(x) / UNITS, _up(y) / UNITS  # so that parts without a gap never overlap by rounding
            rows[b.bid].append(placement(pieces[rect.rid], x, y, lie.turn))
            found.add(rect.rid)
    return Packed(tuple(tuple(row) for row in rows), tuple(i for i in range(len(pieces)) if i not in found))


def _sides(lies: Sequence[_Lie], gap: float) -> tuple[int, int]:
    """Give the sides of the first lie's box with the gap, in units, with one to spare for a place that gets rounded."""
    spare = any(_up(corner) / UNITS - corner > NOISE for lie in lies for corner in lie.box)
    box = lies[0].box
    return _up(box.width + gap) + spare, _up(box.height + gap) + spare


def _up(value: float) -> int:
    return math.ceil((value - NOISE) * UNITS)


def _down(value: float) -> int:
    return math.floor((value + NOISE) * UNITS)


def _lies(piece: Piece, turns: Sequence[float]) -> list[_Lie]:
    """Give the lie with the smallest box, and the one a quarter turn from it when that is allowed too."""
    normal = [t % 360 for t in turns]
    pairs = [t for t in normal if (t + 90) % 360 in normal or (t + 270) % 360 in normal]
    corners = points(piece.region)
    choices = [_Lie(t, turned_box(corners, t)) for t in (pairs or normal)]
    best = min(choices, key=lambda lie: round(lie.box.width * lie.box.height, 6))
    across = [lie for lie in choices if (lie.turn - best.turn) % 180 == 90]
    return [best, *across[:1]]


def _space(blank: Blank) -> Box | None:
    """Give the rectangle of a sheet that boxes can fill."""
    if blank.usable.is_empty:
        return None
    return bounds(blank.usable) if blank.plain else largest_rectangle(blank.usable)
