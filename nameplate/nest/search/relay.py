"""Laying a sheet as the strip solver says, exactly checked, and pushing its parts together."""

from __future__ import annotations

import math
from collections.abc import Sequence

from nameplate.geometry.collision_set import shifted
from nameplate.geometry.region import bounds, filled
from nameplate.nest.layout import Piece, placement
from nameplate.nest.search.orders import largest_first
from nameplate.nest.search.strip import Solved
from nameplate.nest.search.trueshape import PlacedPart, Stamps, Table, open_table, place, put_at
from nameplate.nest.sheets import Rules

#: Steps (mm) by which a part is pushed left, each as often as it goes. Finer ones gain less than they cost.
STEPS = (1.0, 0.4, 0.15, 0.05)

#: Ways left that are tried in turn: straight, or with so much up for each step left. Steeper ones follow outlines that
#: lean more.
SLOPES = (0.0, 0.7, -0.7, 2.0, -2.0)

#: How often all parts are pushed; later passes gain next to nothing.
PASSES = 3


def relaid(
    table: Table, indices: Sequence[int], solved: Solved, pieces: Sequence[Piece], stamps: Stamps, rules: Rules
) -> tuple[Table, list[int]] | None:
    """Lay parts, given by position, on a new sheet like `table` as the solver says, every one checked exactly.

    Those that fail the check or stick out are laid by the greedy rule; gives the sheet and who found no place. None
    when the solution is not one of these parts.
    """
    new = open_table(table.blank, rules, table.cell)
    if new is None or len(solved.lies) != len(indices):
        return None
    over = []
    for index, lie in zip(indices, solved.lies, strict=True):
        if not _lay_exactly(new, index, lie, pieces[index], stamps, rules):
            over.append(index)
    settle(new, pieces, stamps)
    rank = {index: n for n, index in enumerate(largest_first(pieces))}
    over.sort(key=lambda i: rank[i])
    return new, [i for i in over if not place(new, i, pieces[i], stamps.of(i))]


def _lay_exactly(
    table: Table, index: int, lie: tuple[float, float, float], piece: Piece, stamps: Stamps, rules: Rules
) -> bool:
    """Lay one part where the solver put it, if that holds exactly."""
    turn, x, y = lie
    turn = turn % 360 if rules.free else min(rules.turns, key=lambda t: abs((turn - t + 180) % 360 - 180))
    cx, cy = turned_centre(bounds(filled(piece.region)).centre, turn)
    # the strip's corner lies half a gap outside the usable rectangle: that much of the growth is certain
    reach = rules.gap / 2
    at = placement(piece, table.origin[0] - reach + x - cx, table.origin[1] - reach + y - cy, turn)
    return put_at(table, index, piece, stamps.die(index), at)


def turned_centre(centre: tuple[float, float], turn: float) -> tuple[float, float]:
    """Turn a point about the origin by degrees."""
    angle = math.radians(turn)
    c, s = math.cos(angle), math.sin(angle)
    return c * centre[0] - s * centre[1], s * centre[0] + c * centre[1]


def settle(table: Table, pieces: Sequence[Piece], stamps: Stamps) -> None:
    """Push the parts of a sheet left, leftmost first, as far as the exact check allows; they may slide past others."""
    if not table.blank.plain:
        return
    for _ in range(PASSES):
        for lying in sorted(table.lying, key=lambda ly: (table.right(ly) - ly.stamp.width, ly.index)):
            table.take(lying)
            dx, dy = _way(table, lying)
            piece = pieces[lying.index]
            at = placement(piece, lying.at.x + dx, lying.at.y + dy, lying.at.turn)
            if not dx or not put_at(table, lying.index, piece, stamps.die(lying.index), at):
                table.put_back(lying)


def _way(table: Table, lying: PlacedPart) -> tuple[float, float]:
    """Give how far (mm) a part, which has been taken up, can go left, and how far it slides up or down for it."""
    stamp, dx, dy = lying.stamp, 0.0, 0.0
    left = lying.at.x + stamp.x0 - table.origin[0]
    low = lying.at.y + stamp.y0 - table.origin[1]
    high = table.size[1] - low - stamp.height
    for step in STEPS:
        goes = True
        while goes:
            goes = False
            for slope in SLOPES:
                x, y = dx - step, dy + slope * step
                if x + left < 0 or y + low < 0 or y > high:
                    continue
                if table.crowd.clear_of(shifted(stamp.outline, lying.at.x + x, lying.at.y + y), stamp.slack):
                    dx, dy, goes = x, y, True
                    break
    return dx, dy
