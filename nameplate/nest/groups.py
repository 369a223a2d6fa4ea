"""Very many pieces: nested in groups side by side, so that time grows with the number of pieces and no faster.

Method: the pieces are dealt into groups of the same mix of sizes; each group is nested on sheets of its own in a
worker process; full sheets stay, the parts of each group's last sheet are pooled and dealt again, until one group is
left, which is nested here. Groups of the same shapes, as copies are, are nested once. A group whose worker fails is
nested by boxes instead, and that is said.

Known limit: a part cannot use room on another group's sheet, which costs less than one sheet in thirty.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from nameplate.findings import Finding
from nameplate.nest.buying.purchase import Buyer, Engine
from nameplate.nest.layout import Piece, Placement, placement
from nameplate.nest.rectangles import Packed, pack_boxes
from nameplate.nest.search.budget import ONE_WAY, SearchBudget
from nameplate.nest.search.by_sheet import pack_shapes
from nameplate.nest.search.orders import largest_first
from nameplate.nest.sheets import Blank, Rules
from nameplate.pool.interface import Failure, Pool
from nameplate.pool.processes import Workers, pool_of, run_all

#: Pieces in a group, unless the sheets are so large that more are needed to fill some. Larger groups nest a little
#: denser; that every sheet is tried with all parts left over makes their time grow with the square of this.
GROUP = 250

#: Sheets a group should fill, so that little of its work is done again with the parts of the last one.
SHEETS = 1.4

#: Density taken for judging how many pieces fill a sheet; names rarely exceed it.
DENSITY = 0.36

#: Groups that keep all cores of a usual machine busy; fewer pieces make smaller groups, if those still fill sheets.
BUSY = 4

#: Seconds a group may take before its worker is given up: twenty times what it takes on a slow machine.
LIMIT_S = 600.0

Rows = list[tuple[Placement, ...]]


def pack_groups(
    pieces: Sequence[Piece], size: Blank, rules: Rules, *, workers: Workers, say: Callable[[Finding], None]
) -> Rows:
    """Nest pieces, each of which fits, on as many sheets of one size as it takes; `say` is told of failures."""
    with pool_of(workers) as pool:
        return _pack(pieces, size, rules, pool, say)


def _pack(pieces: Sequence[Piece], size: Blank, rules: Rules, pool: Pool, say: Callable[[Finding], None]) -> Rows:
    full: Rows = []
    waiting = list(pieces)
    while len(groups := dealt(waiting, size)) > 1:
        by_key = {piece.key: piece for piece in waiting}
        models = {_shapes(group): group for group in reversed(groups)}  # the first of each kind
        found = run_all(nest_group, list(models.values()), (size, rules), workers=pool, limit_s=LIMIT_S)
        outcomes = dict(zip(models, found, strict=True))
        waiting, before = [], len(full)
        for group in groups:
            kind = _shapes(group)
            outcome = outcomes[kind]
            if isinstance(outcome, Failure):
                say(worker_failed(len(group), outcome.reason))
                outcome = sheets_for(group, size, rules, engine=by_boxes)
            else:
                outcome = _laid_alike(group, models[kind], outcome)
            full += outcome[:-1]
            waiting += [by_key[at.key] for at in outcome[-1]]
        if len(full) == before:
            break  # no group filled a sheet
    return full + (sheets_for(waiting, size, rules) if waiting else [])


def worker_failed(count: int, reason: str) -> Finding:
    """Say that a group of so many parts is nested otherwise, and why.

    >>> worker_failed(250, "ended").message[:77]
    'a group of 250 parts was nested by boxes, because its worker ended; that may '
    """
    message = (
        f"a group of {count} parts was nested by boxes, because its worker {reason}; that may take more sheets: run it "
        "again for a closer nest"
    )
    return Finding("nest-worker-failed", "warning", message)


def _shapes(group: Sequence[Piece]) -> tuple[int, ...]:
    """Give what groups have in common whose pieces are copies of the same parts, in the same order."""
    return tuple(piece.shape for piece in group)


def _laid_alike(group: Sequence[Piece], model: Sequence[Piece], rows: Rows) -> Rows:
    """Lay a group as another of the same shapes lies, so that very many copies take no longer than a few."""
    if group is model:
        return rows
    same = {theirs.key: mine for theirs, mine in zip(model, group, strict=True)}
    return [tuple(placement(same[at.key], at.x, at.y, at.turn) for at in row) for row in rows]


def pack_in_turn(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules) -> Packed:
    """Lay very many pieces on given sheets, one after the other, each filled from a hand of as many as a group has.

    The hand has the mix of sizes of all that wait. So the time grows with the number of sheets, not with its square.

    >>> pack_in_turn([], [], Rules(gap=1, edge=5))
    Packed(placements=(), left=())
    """
    waiting = largest_first(pieces)
    rows: Rows = []
    barren: set[int] = set()
    for blank in blanks:
        laid: tuple[Placement, ...] = ()
        if waiting and id(blank) not in barren:
            hand = waiting[:: max(1, len(waiting) // GROUP)]
            packed = pack_shapes([pieces[i] for i in hand], [blank], rules, ONE_WAY)
            laid, over = packed.placements[0], {hand[n] for n in packed.left}
            gone = set(hand) - over
            waiting = [i for i in waiting if i not in gone]
            if not laid:
                barren.add(id(blank))
        rows.append(laid)
    return Packed(tuple(rows), tuple(sorted(waiting)))


def dealt(pieces: Sequence[Piece], size: Blank) -> list[list[Piece]]:
    """Deal pieces into groups with the same mix of sizes, each large enough to fill some sheets.

    >>> dealt([], Blank("lettering", 600, 300, 0))
    []
    """
    if not pieces:
        return []
    order = largest_first(pieces)
    a_sheet = DENSITY * size.usable.area * len(pieces) / sum(p.region.area for p in pieces)
    least = max(1, round(SHEETS * a_sheet))
    count = -(-len(pieces) // max(least, GROUP))
    if count < BUSY:
        count = max(count, min(BUSY, len(pieces) // least))
    return [[pieces[i] for i in order[k::count]] for k in range(count)]


def nest_group(shared: tuple[Blank, Rules], group: list[Piece]) -> Rows:
    """Nest one group (in a worker process)."""
    return sheets_for(group, *shared)


def sheets_for(pieces: Sequence[Piece], size: Blank, rules: Rules, *, engine: Engine = pack_shapes) -> Rows:
    """Nest pieces on as many sheets of one size as it takes."""
    return [rows for _, rows in Buyer([size], rules, engine, ONE_WAY).fill(pieces, size)]


def by_boxes(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules, budget: SearchBudget) -> Packed:
    """Pack by boxes, of which there is one way, whatever the budget."""
    return pack_boxes(pieces, blanks, rules)
