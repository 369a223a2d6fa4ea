"""What a record knows when a run begins: the sheets that were cut, what stands of every plate, the offcuts there are.

Terms. A version is *begun* when any of its pieces lies on a sheet that was cut; it is made as it was recorded until it
is superseded. A piece *stands* when it was cut and is not spoiled.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from nameplate.cut.kept_entries import KeptEntries, entries_from
from nameplate.nest.layout import REST_OF, PieceKey, SheetLayout
from nameplate.nest.offcuts import offcuts_from, remainder_table
from nameplate.nest.sheets import USED_UP, Offcut, kind_count
from nameplate.nest.stored import layout_from
from nameplate.record.plate_json import spread, whole
from nameplate.record.states import OF_THE_PLATE
from nameplate.record.store import Store, TableRow, well_formed
from nameplate.system.grouping import grouped
from nameplate.system.writing import Json
from nameplate.ticket.workshop_schema import StockKeys

#: States of a piece that is there to be used.
STANDING: frozenset[str] = frozenset({"cut", "fitted", "hung"})

#: Offcuts of one name whose sides differ by less (mm) are one and the same.
SAME = 0.01


@dataclass(frozen=True, slots=True)
class KeptPiece:
    """A piece on a sheet that was cut: which, of which version, and what became of it."""

    key: PieceKey
    version: int
    state: str

    @property
    def stands(self) -> bool:
        """Whether it is there to be used."""
        return self.state in STANDING


@dataclass(frozen=True, slots=True)
class KeptSheet:
    """A sheet that was cut. `figures` are its entry in the summary, `nominal` packed entries of the run's record.

    `on_hand` is how many of its kind the ticket had on hand then, 0 for one that was bought.
    """

    number: int
    file: str
    layout: SheetLayout
    figures: Json
    nominal: bytes
    pieces: tuple[KeptPiece, ...]
    files: tuple[str, ...]
    rest: Json | None = None
    on_hand: int = 0

    def entries(self, stale: Collection[str]) -> KeptEntries:
        """Give what the run's record says of it; `stale` plates were made anew since. Raises RecordError."""
        numbers: dict[tuple[str, str, int], int] = {(*p.key[:2], p.key[3]): p.version for p in self.pieces}
        oldest = {plate: min(own) for plate, own in grouped((key[0], n) for key, n in numbers.items()).items()}

        def version(plate: str, kind: str, layer: int) -> int:
            return numbers.get((plate, kind, layer), oldest[plate])

        with whole(self.file):
            return entries_from(spread(self.nominal), self.file, version=version, stale=stale)


@dataclass(frozen=True, slots=True)
class KeptVersion:
    """A version of which pieces were cut: by what it was made (`look`), the bytes of it, those pieces, and the parts
    (kind, layer) that it has; none where an older version of the program wrote it."""

    number: int
    plate: str
    look: Json
    made: bytes
    superseded: bool
    pieces: tuple[KeptPiece, ...]
    parts: tuple[tuple[str, int], ...] = ()

    @property
    def texts(self) -> tuple[str, ...]:
        """The text that it was made with, line by line; none where that is not known any more."""
        return tuple(self.look.get("text", ()))

    @property
    def is_named(self) -> bool:
        """Whether a piece with the name on it is there to be used: the name itself where that is a piece by itself."""
        kinds = {*(kind for kind, _ in self.parts), *(piece.key[1] for piece in self.pieces)}
        named = {"lettering"} if "lettering" in kinds else OF_THE_PLATE
        return any(piece.stands and piece.key[1] in named for piece in self.pieces)

    def lacks_name(self, texts: tuple[str, ...]) -> bool:
        """Tell whether it was made with another text than it is to have, and no name of it is there to be used."""
        return bool(self.texts) and self.texts != texts and not self.is_named

    def standing(self, kind: str, layer: int) -> int:
        """Count the pieces of a part that stand."""
        return sum(p.stands and (p.key[1], p.key[3]) == (kind, layer) for p in self.pieces)


@dataclass(frozen=True, slots=True)
class Kept:
    """All that was cut of a job. `state` tells whether a record is still as it was when this was read."""

    sheets: tuple[KeptSheet, ...] = ()
    versions: tuple[KeptVersion, ...] = ()
    state: tuple[int, ...] = ()

    @property
    def begun(self) -> dict[str, KeptVersion]:
        """The version that each plate goes on with, by plate."""
        return {version.plate: version for version in self.versions if not version.superseded}

    @property
    def last_numbers(self) -> dict[str, int]:
        """The highest number of a sheet that was cut, by material."""
        numbers = grouped((sheet.layout.material, sheet.layout.number) for sheet in self.sheets)
        return {material: max(own) for material, own in numbers.items()}

    @property
    def last_copies(self) -> dict[tuple[str, str, int], int]:
        """The highest number of a copy that was cut, by plate, kind and layer, whatever its version."""
        keys = (piece.key for sheet in self.sheets for piece in sheet.pieces)
        copies = grouped(((plate, kind, layer), copy) for plate, kind, copy, layer in keys)
        return {part: max(own) for part, own in copies.items()}

    @property
    def rests(self) -> tuple[Json, ...]:
        """The remainders of sheets that were cut, as an offcuts file has them, without those used up since."""
        used = {(sheet.layout.material, sheet.layout.offcut) for sheet in self.sheets if sheet.layout.offcut}
        rests = (sheet.rest for sheet in self.sheets if sheet.rest is not None)
        return tuple(rest for rest in rests if (rest["material"], rest["name"]) not in used)

    def left_of(self, stock: Sequence[StockKeys]) -> tuple[StockKeys, ...]:
        """Give the sizes that a ticket knows, with what is on hand of them but for the sheets that were cut."""
        return tuple(_left(keys, self.sheets) for keys in stock)

    def offcuts(self, listed: Iterable[Offcut]) -> tuple[Offcut, ...]:
        """Give the offcuts on the shelf: those of a list, and the remainders of what was cut, each once.

        What a list has of this job's own is left out: the record knows better what became of it. Where one of another
        job is called like one of this, nobody could tell which sheet its place is on.
        """
        ours = {(sheet.layout.material, REST_OF + sheet.layout.name) for sheet in self.sheets}
        own = offcuts_from([sheet.rest for sheet in self.sheets if sheet.rest is not None])
        others = (offcut for offcut in listed if not any(_same(offcut, mine) for mine in own))
        placeless = (replace(o, at=None) if (o.material, o.name) in ours else o for o in others)
        return (*offcuts_from(self.rests), *placeless)


def _left(keys: StockKeys, cut: Iterable[KeptSheet]) -> StockKeys:
    """Give a size without those of its sheets that were cut since they were counted: another count is of later."""
    count = kind_count(keys)
    kind = (count, keys.material, keys.width, keys.height, keys.offcut)
    kinds = ((s.on_hand, s.layout.material, s.layout.width, s.layout.height, bool(s.layout.offcut)) for s in cut)
    if count <= 0 or not (taken := sum(kind == own for own in kinds)):
        return keys
    return replace(keys, on_hand=max(0, count - taken) or (USED_UP if keys.offcut else 0))


def _same(one: Offcut, other: Offcut) -> bool:
    alike = max(abs(one.width - other.width), abs(one.height - other.height)) < SAME
    return alike and (one.material, one.name) == (other.material, other.name)


NOTHING_KEPT = Kept()


def read_kept(store: Store) -> Kept:
    """Read all that was cut; raises RecordError where the record is damaged."""
    rows = store.rows(
        "SELECT pieces.* FROM pieces JOIN sheets ON sheets.id = pieces.sheet "
        "WHERE sheets.state = 'cut' ORDER BY pieces.id"
    )
    pieces = grouped(
        (r["sheet"], KeptPiece((r["plate"], r["kind"], r["copy"], r["layer"]), r["version"], r["state"])) for r in rows
    )
    with well_formed(store.path):
        sheets = tuple(_sheets(store, pieces))
        return Kept(sheets, tuple(_versions(store, sheets)), state_of(store))


def read_planned(store: Store) -> tuple[SheetLayout, ...]:
    """Read the sheets that the last run planned and that are not cut; raises RecordError where that is damaged."""
    rows = store.rows("SELECT * FROM sheets WHERE state = 'planned' ORDER BY material, number")
    with well_formed(store.path):
        return tuple(map(_layout, rows))


def state_of(store: Store) -> tuple[int, ...]:
    """Give numbers that change with every run, every mark, every approval and every one that is withdrawn."""
    (row,) = store.rows(
        "SELECT (SELECT ifnull(max(id), 0) FROM runs), (SELECT ifnull(max(id), 0) FROM marks), "
        "(SELECT count(*) FROM marks WHERE undone), (SELECT ifnull(max(id), 0) FROM approvals), "
        "(SELECT count(*) FROM approvals WHERE withdrawn IS NOT NULL)"
    )
    return tuple(row)


def _sheets(store: Store, pieces: Mapping[int, Sequence[KeptPiece]]) -> Iterator[KeptSheet]:
    names = store.rows("SELECT sheet, name FROM files ORDER BY sheet, name")
    files = grouped((row["sheet"], row["name"]) for row in names)
    rests = {row["sheet"]: row for row in store.rows("SELECT * FROM offcuts")}
    for row in store.rows("SELECT * FROM sheets WHERE state = 'cut' ORDER BY material, number"):
        number, layout = row["id"], _layout(row)
        own, named = tuple(pieces.get(number, ())), tuple(files.get(number, ()))
        rest = _rest(rests[number], layout) if number in rests else None
        figures, nominal = _json(row, "figures"), row["nominal"]
        yield KeptSheet(number, row["file"], layout, figures, nominal, own, named, rest, row["on_hand"])


def _layout(row: TableRow) -> SheetLayout:
    (sheet,) = layout_from(_json(row, "layout")).sheets
    return replace(sheet, cut=row["state"] == "cut")


def _rest(row: TableRow, sheet: SheetLayout) -> Json:
    outline, rectangle = (_json(row, name, list) for name in ("outline", "rectangle"))
    sides = [side for solid in outline for corner in solid["outer"] for side in corner]
    if len(rectangle) != 4 or not {type(side) for side in (*rectangle, *sides)} <= {int, float}:
        raise ValueError("a rectangle has four numbers, a corner two")
    return remainder_table(row["name"], sheet.material, rectangle, outline, face_down=sheet.face_down)


def _json(row: TableRow, name: str, kind: type = dict) -> Any:  # noqa: ANN401 - JSON
    value = json.loads(row[name])
    if not isinstance(value, kind):
        raise ValueError(f"{name} is no {kind.__name__}")
    return value


def _versions(store: Store, sheets: Sequence[KeptSheet]) -> Iterator[KeptVersion]:
    """Yield the versions of which something was cut, in their order."""
    pieces = grouped((piece.version, piece) for sheet in sheets for piece in sheet.pieces)
    for row in store.rows("SELECT * FROM versions ORDER BY id"):
        if row["id"] in pieces:
            own = tuple(pieces[row["id"]])
            look, parts = _json(row, "look"), tuple((kind, layer) for kind, layer in _json(row, "parts", list))
            yield KeptVersion(row["id"], row["plate"], look, row["made"], bool(row["superseded"]), own, parts)
