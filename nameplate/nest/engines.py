"""The engines that lay pieces on given sheets: by their boxes, or by their true shape."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from nameplate.findings import Finding
from nameplate.geometry.collision_set import is_plain
from nameplate.nest.buying.purchase import MANY, Engine
from nameplate.nest.groups import by_boxes, pack_groups, pack_in_turn
from nameplate.nest.layout import Piece
from nameplate.nest.rectangles import Packed, pack_boxes
from nameplate.nest.search.budget import SearchBudget
from nameplate.nest.search.by_sheet import pack_shapes
from nameplate.nest.search.part_masks import NestStore
from nameplate.nest.sheets import Blank, Rules
from nameplate.pool.interface import Pool

#: With the shape engine, parts are also packed by boxes when there are at most this many; for plain shapes that can
#: be better. More parts make it slower than it is worth.
ALSO_BOXES = 150


def engine_of(name: str, store: NestStore) -> Engine:
    """Give the engine of a name; the shape engine keeps the better of its own nest and that by boxes.

    What it made once of the same pieces, sheets, rules and budget it takes from the `store`.
    """
    if name == "rectangle":
        return by_boxes

    def pack(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules, budget: SearchBudget) -> Packed:
        which = (tuple(p.key for p in pieces), tuple((b.stock, b.on_hand, b.offcut) for b in blanks), rules, budget)
        if which not in store.packs:
            store.packs[which] = _packed(pieces, blanks, rules, budget, store)
        return store.packs[which]

    return pack


def _packed(
    pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules, budget: SearchBudget, store: NestStore
) -> Packed:
    if len(pieces) > MANY and blanks:
        packed = pack_in_turn(pieces, blanks, rules)
    else:
        packed = pack_shapes(pieces, blanks, rules, budget, store=store)
    if len(pieces) > ALSO_BOXES or not all(is_plain(p.region) for p in pieces):
        return packed
    boxed = pack_boxes(pieces, blanks, rules)
    return min(packed, boxed, key=lambda nest: (len(nest.left), sum(map(bool, nest.placements))))


def by_groups(engine: Engine, pool: Pool | None, say: Callable[[Finding], None]) -> Engine:
    """Give an engine that nests very many pieces for one size in groups, by the `pool`, and anything else as before.

    `say` is told of groups whose worker failed.
    """

    def pack(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules, budget: SearchBudget) -> Packed:
        if len(pieces) <= MANY or len({b.stock for b in blanks}) > 1:
            return engine(pieces, blanks, rules, budget)
        rows = pack_groups(pieces, blanks[0], rules, workers=pool, say=say)
        if len(rows) > len(blanks):
            return Packed((), tuple(range(len(pieces))))
        return Packed((*rows, *((),) * (len(blanks) - len(rows))), ())

    return pack
