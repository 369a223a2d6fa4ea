"""What a record tells at a glance: every sheet, every piece that still counts; and what is on the shelf."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from nameplate.record.kept import STANDING, Kept
from nameplate.record.marks import stem_of
from nameplate.record.states import OF_THE_PLATE, state_of_pieces
from nameplate.record.store import Store, well_formed
from nameplate.system.grouping import grouped
from nameplate.system.writing import Json


@dataclass(frozen=True, slots=True)
class PieceState:
    """A piece of the version of a plate that counts: what it is and what became of it."""

    kind: str
    layer: int
    state: str


@dataclass(frozen=True, slots=True)
class SheetState:
    """A sheet: its name as `mark cut` knows it, whether it is cut, its pieces, and what it costs."""

    name: str
    cut: bool
    pieces: int
    cost: float


@dataclass(frozen=True, slots=True)
class ShelfRest:
    """What is left of a sheet that was cut: its name, its material, the largest rectangle in it and its box (mm)."""

    name: str
    material: str
    width: float
    height: float
    box_width: float
    box_height: float


@dataclass(frozen=True, slots=True)
class Overview:
    """A record at a glance; `pieces` and `parts` (kind, layer) are by plate, `names` of all plates there ever were."""

    sheets: tuple[SheetState, ...] = ()
    pieces: Mapping[str, tuple[PieceState, ...]] = field(default_factory=dict)
    parts: Mapping[str, frozenset[tuple[str, int]]] = field(default_factory=dict)
    names: Mapping[str, tuple[str, str]] = field(default_factory=dict)


def read_overview(store: Store) -> Overview:
    """Read a record at a glance; raises RecordError."""
    rows = store.rows(
        "SELECT pieces.plate, kind, layer, state FROM pieces JOIN versions ON versions.id = pieces.version "
        "WHERE NOT superseded ORDER BY pieces.id"
    )
    pieces = grouped((row["plate"], PieceState(row["kind"], row["layer"], row["state"])) for row in rows)
    with well_formed(store.path):
        parts = {
            row["plate"]: frozenset((kind, layer) for kind, layer in json.loads(row["parts"]))
            for row in store.rows("SELECT plate, parts FROM versions WHERE NOT superseded ORDER BY id")
        }
    return Overview(
        sheet_states(store),
        {plate: tuple(own) for plate, own in pieces.items()},
        parts,
        {row["id"]: (row["name"], row["design"]) for row in store.rows("SELECT id, name, design FROM plates")},
    )


def sheet_states(store: Store) -> tuple[SheetState, ...]:
    """Read every sheet that is planned or cut; raises RecordError."""
    rows = store.rows(
        "SELECT file, state, json_extract(layout, '$.sheets[0].price') AS price, "
        "json_extract(layout, '$.sheets[0].on_hand') AS on_hand, "
        "(SELECT count(*) FROM pieces WHERE pieces.sheet = sheets.id) AS pieces FROM sheets ORDER BY material, number"
    )
    costs = (0.0 if row["on_hand"] else float(row["price"] or 0) for row in rows)
    return tuple(
        SheetState(stem_of(row["file"]), row["state"] == "cut", row["pieces"], cost)
        for row, cost in zip(rows, costs, strict=True)
    )


def shelf_of(kept: Kept) -> tuple[ShelfRest, ...]:
    """Give what is left of the sheets that were cut."""
    return tuple(map(_shelf_rest, kept.rests))


def _shelf_rest(rest: Json) -> ShelfRest:
    x0, y0, x1, y1 = rest["rectangle"]
    xs, ys = zip(*(corner for solid in rest["outline"] for corner in solid["outer"]), strict=True)
    free, box = (round(x1 - x0, 1), round(y1 - y0, 1)), (max(xs) - min(xs), max(ys) - min(ys))
    return ShelfRest(str(rest["name"]), str(rest["material"]), *free, *box)


def state_of_plate(pieces: tuple[PieceState, ...], copies: int, parts: frozenset[tuple[str, int]] = frozenset()) -> str:
    """Give what a plate comes to: `new` (nothing of it is laid), `begun` (something was cut, the rest is not laid),
    `spoiled` (what was spoiled is not laid again), or the state of its piece that is farthest behind: `planned`, `cut`,
    `fitted`, `hung`. `parts` are all that it has.

    >>> state_of_plate((), 1), state_of_plate((PieceState("lettering", 1, "spoiled"),), 1)
    ('new', 'spoiled')
    >>> spoiled, again = PieceState("lettering", 1, "spoiled"), PieceState("lettering", 1, "planned")
    >>> state_of_plate((spoiled, again), 1), state_of_plate((PieceState("lettering", 1, "cut"),), 1)
    ('planned', 'cut')
    >>> state_of_plate((PieceState("template", 1, "cut"),), 1, frozenset({("lettering", 1), ("template", 1)}))
    'begun'
    """
    if not pieces:
        return "new"
    laid = {(piece.kind, piece.layer) for piece in pieces if piece.state != "spoiled"}
    if parts - laid or any(count < copies for count in there(pieces, planned=True).values()):
        return "spoiled" if any(piece.state == "spoiled" for piece in pieces) else "begun"
    return state_of_pieces((piece.kind, piece.state) for piece in pieces if piece.state != "spoiled")


def there(pieces: tuple[PieceState, ...], *, planned: bool) -> dict[tuple[str, int], int]:
    """Count by kind and layer the pieces of a plate that end up on it, those that are not cut yet only if `planned`."""
    counted = {*STANDING, "planned"} if planned else STANDING
    own = grouped(((p.kind, p.layer), p.state in counted) for p in pieces if p.kind in OF_THE_PLATE)
    return {part: sum(found) for part, found in own.items()}


def pieces_by_kind(pieces: Mapping[str, tuple[PieceState, ...]]) -> dict[str, dict[str, int]]:
    """Count all pieces by kind and state.

    >>> pieces_by_kind({"1": (PieceState("lettering", 1, "cut"),), "2": (PieceState("lettering", 1, "cut"),)})
    {'lettering': {'cut': 2}}
    """
    by_kind = grouped((piece.kind, piece.state) for own in pieces.values() for piece in own)
    return {kind: dict(Counter(states)) for kind, states in by_kind.items()}
