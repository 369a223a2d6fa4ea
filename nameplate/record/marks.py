"""What happened to sheets and pieces: cut, spoiled, fitted, hung; and the last of it undone.

Method: what a person names is first turned into *changes*, one a sheet or piece that changes its state; everything that
is wrong with that is told at once and nothing is changed. The steps can be shown before they are taken. Each mark keeps
what was before it, so that the last can be undone, and then the one before that.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from nameplate.errors import RecordError
from nameplate.findings import counted, named
from nameplate.record.clock import now
from nameplate.record.plate_lists import CalledIds, in_ranges, plates_in, several
from nameplate.record.states import OF_THE_PLATE, kind_called, kinds_in_words
from nameplate.record.store import Store, TableRow, well_formed
from nameplate.system.grouping import grouped

#: What can be marked, and from which states of a piece.
FROM: Mapping[str, tuple[str, ...]] = {
    "cut": ("planned",),
    "spoiled": ("cut", "fitted", "hung"),
    "fitted": ("cut",),
    "hung": ("cut", "fitted"),
}


@dataclass(frozen=True, slots=True)
class Change:
    """A change of state: of a sheet (`table` is sheets) or a piece, from what to what; and the sheet it is about."""

    table: str
    number: int
    before: str
    after: str
    sheet: str
    plate: str = ""
    piece: str = ""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person wants marked: things named, or all; a `part` and a `copy` where they say which."""

    state: str
    things: tuple[str, ...] = ()
    every: bool = False
    part: str = ""
    copy: int | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark that was made: when, by whom, what."""

    number: int
    at: str
    who: str
    what: str


def steps_of(store: Store, wanted: Wanted) -> tuple[Change, ...]:
    """Give the steps that a wish comes to, none where all is done; raises RecordError with every reason why not."""
    if not store.rows("SELECT 1 FROM runs WHERE state = 'current'"):
        raise RecordError("the job was not made yet; nothing can be marked before nameplate make")
    there = _There(store, wanted)
    steps = tuple(there.of_sheets() if wanted.state == "cut" else there.of_pieces())
    if there.problems:
        raise RecordError(list(dict.fromkeys(there.problems)))
    return steps


class _There:
    """What there is to mark, and what is wrong with what a person named."""

    def __init__(self, store: Store, wanted: Wanted) -> None:
        self.wanted, self.problems, self.part = wanted, list[str](), kind_called(wanted.part)
        sheets = store.rows(
            "SELECT sheets.* FROM sheets JOIN runs ON runs.id = sheets.run WHERE runs.state = 'current' "
            "ORDER BY material, number"
        )
        self.sheets = {stem_of(row["file"]): row for row in sheets}
        self.pieces = store.rows(
            "SELECT pieces.*, sheets.file, superseded FROM pieces JOIN sheets ON sheets.id = pieces.sheet "
            "JOIN runs ON runs.id = sheets.run JOIN versions ON versions.id = pieces.version "
            "WHERE runs.state = 'current' ORDER BY pieces.plate, kind, layer, copy"
        )
        self.of_plate = grouped((row["plate"], row) for row in self.pieces)
        self.on_sheet = grouped((row["sheet"], row) for row in self.pieces)
        self.ids = CalledIds(self.of_plate)

    def of_sheets(self) -> Iterator[Change]:
        """Yield the steps of marking sheets as cut."""
        for name in self._named_sheets():
            row = self.sheets[name]
            if row["state"] == "planned":
                yield Change("sheets", row["id"], "planned", "cut", name)
                yield from (_step(piece, "cut") for piece in self.on_sheet.get(row["id"], ()))

    def _named_sheets(self) -> Iterator[str]:
        if self.wanted.every:
            yield from self.sheets
        for thing in self.wanted.things:
            if name := sheet_called(thing, self.sheets):
                yield name
            elif thing in self.of_plate:
                lie = sorted({stem_of(piece["file"]) for piece in self.of_plate[thing]})
                self.problems.append(f"{thing} is a plate; sheets are cut: its pieces lie on {', '.join(lie)}")
            else:
                self.problems.append(f"{thing}: there is no such sheet; there are {named(self.sheets) or 'none'}")

    def of_pieces(self) -> Iterator[Change]:
        """Yield the steps of marking pieces."""
        if self.wanted.every and self.wanted.state == "spoiled":
            self.problems.append("spoiled: name what is spoiled, plates or sheets; --all would be everything")
            return
        kinds = {piece["kind"] for piece in self.pieces}
        if self.part and self.part not in kinds:
            there = kinds_in_words(kinds)
            self.problems.append(f"--part {self.wanted.part}: there is no such part; there are {there}")
            return
        pieces = {piece["id"]: piece for piece in self._named_pieces()}
        yield from (_step(piece, self.wanted.state) for piece in pieces.values())

    def _named_pieces(self) -> Iterator[TableRow]:
        if self.wanted.every:
            yield from (piece for piece in self.pieces if self._is_ready(piece))
        for thing in self.wanted.things:
            for name in [thing] if thing in self.of_plate or sheet_called(thing, self.sheets) else plates_in(thing):
                plates = self.ids.called(name)
                if name not in self.of_plate and (sheet := sheet_called(name, self.sheets)):
                    yield from self._of_sheet(sheet)
                elif len(plates) == 1:
                    yield from self._of_plate(plates[0])
                elif plates:
                    self.problems.append(several(name, plates))
                else:
                    self.problems.append(f"{name}: there is no plate of that id, and no such sheet")

    def _is_asked(self, piece: TableRow) -> bool:
        """Tell whether a piece is of a part that the state is asked of."""
        if self.part:
            return bool(piece["kind"] == self.part)
        return self.wanted.state == "spoiled" or piece["kind"] in OF_THE_PLATE

    def _is_meant(self, piece: TableRow) -> bool:
        return not piece["superseded"] and self.wanted.copy in (None, piece["copy"])

    def _is_ready(self, piece: TableRow) -> bool:
        return piece["state"] in FROM[self.wanted.state] and self._is_meant(piece) and self._is_asked(piece)

    def _of_sheet(self, name: str) -> Iterator[TableRow]:
        if self.sheets[name]["state"] != "cut":
            self.problems.append(f"{name} was not marked as cut, so nothing on it can be {self.wanted.state}")
            return
        yield from (piece for piece in self.on_sheet.get(self.sheets[name]["id"], ()) if self._is_ready(piece))

    def _of_plate(self, plate: str) -> Iterator[TableRow]:
        """Yield the pieces of a plate that are meant; what is wrong with that is a problem."""
        asked = self._asked_of([piece for piece in self.of_plate[plate] if self._is_meant(piece)])
        done = [piece for piece in asked if piece["state"] == self.wanted.state]
        ready = [piece for piece in asked if piece["state"] in FROM[self.wanted.state]]
        there, copies = {piece["kind"] for piece in (*ready, *done)}, sorted({piece["copy"] for piece in ready})
        behind = [piece for piece in asked if piece["kind"] not in there]
        is_spoiled = self.wanted.state == "spoiled"
        if not there or (behind and not is_spoiled):
            self.problems.append(_not_yet(plate, self.wanted, behind, self.of_plate[plate]))
        elif is_spoiled and len(copies) > 1 and self.wanted.copy is None:
            which = " or ".join(f"--copy {copy}" for copy in copies)
            self.problems.append(f"plate {plate}: {len(copies)} copies of it were cut; say which is spoiled: {which}")
        else:
            yield from ready

    def _asked_of(self, own: list[TableRow]) -> list[TableRow]:
        """Give the pieces of a plate that a state is asked of; a name is spoiled, unless another part is said."""
        if self.wanted.part or self.wanted.state != "spoiled":
            return [piece for piece in own if self._is_asked(piece)]
        kinds = grouped((piece["kind"], piece) for piece in own)
        return kinds.get("lettering") or kinds.get("blank") or own  # else what the batch shares, such as a carrier


def _step(piece: TableRow, state: str) -> Change:
    layer = f" layer {piece['layer']}" if piece["layer"] > 1 else ""
    name = f"{piece['kind']}{layer}" + (f" (copy {piece['copy']})" if piece["copy"] > 1 else "")
    return Change("pieces", piece["id"], piece["state"], state, stem_of(piece["file"]), piece["plate"], name)


def _not_yet(plate: str, wanted: Wanted, pieces: Iterable[TableRow], own: Iterable[TableRow]) -> str:
    """Say why `pieces` of a plate cannot be marked, and which pieces there are of its `own`."""
    what = sorted({f"{piece['kind']} on {stem_of(piece['file'])}" for piece in pieces if piece["state"] == "planned"})
    none = f"it has no {wanted.part or 'piece'} that was cut"
    none += f"; its parts are {kinds_in_words({piece['kind'] for piece in own})}" if wanted.part else ""
    return f"plate {plate} cannot be {wanted.state}: " + (f"not marked as cut yet: {', '.join(what)}" if what else none)


def passed_over(store: Store, steps: Sequence[Change]) -> tuple[str, ...]:
    """Name the sheets that are not cut, though a later one of their material is about to be; raises RecordError."""
    rows = store.rows("SELECT id, file, material, number FROM sheets WHERE state = 'planned' ORDER BY material, number")
    marked = {step.number for step in steps if step.table == "sheets"}
    last = {row["material"]: row["number"] for row in rows if row["id"] in marked}
    left = (row for row in rows if row["id"] not in marked and row["number"] < last.get(row["material"], 0))
    return tuple(stem_of(row["file"]) for row in left)


def stem_of(thing: str) -> str:
    """Give the name of a sheet, from that or from the path of its file.

    >>> stem_of("out/cut/lettering-01.svg"), stem_of("lettering-01")
    ('lettering-01', 'lettering-01')
    """
    path = PurePosixPath(thing.replace("\\", "/"))
    return path.stem if path.suffix.lower() in (".svg", ".dxf", ".pdf", ".png") else path.name


def sheet_called(thing: str, sheets: Iterable[str]) -> str:
    """Give which of some sheets a person calls so, its number with or without zeros, its material as people call it;
    empty where none is.

    >>> sheet_called("out/cut/lettering-01.svg", ["lettering-01"]), sheet_called("plaque-1", ["blank-01", "blank-10"])
    ('lettering-01', 'blank-01')
    >>> sheet_called("plaque-01", ["blank-01", "plaque-01"]), sheet_called("card-01", []), sheet_called("", ["card-01"])
    ('plaque-01', '', '')
    """
    name, there = stem_of(thing), list(sheets)
    if name in there:
        return name
    material, _, number = name.rpartition("-")
    plain = {_without_zeros(sheet): sheet for sheet in there}
    called = (_without_zeros(f"{own}-{number}") for own in (material, kind_called(material)))
    return next((plain[one] for one in called if one in plain), "")


def _without_zeros(sheet: str) -> str:
    material, _, number = sheet.rpartition("-")
    return f"{material}-{number.lstrip('0')}"


def in_words(steps: Sequence[Change], state: str) -> str:
    """Say in a line what some steps come to."""
    sheets = [step.sheet for step in steps if step.table == "sheets"]
    if sheets:
        return f"{state}: {named(sheets)} ({counted(len(steps) - len(sheets), 'piece')})"
    plates = dict.fromkeys(step.plate for step in steps)
    pieces = dict.fromkeys(step.piece for step in steps)
    return f"{state}: {in_ranges(plates)} ({named(pieces, most=4)})"


def take(store: Store, steps: Sequence[Change], what: str, *, who: str) -> None:
    """Take steps, within a transaction, and keep what was before; raises RecordError when something changed since."""
    for table in ("sheets", "pieces"):
        own = [step for step in steps if step.table == table]
        now_there = {row["id"]: row["state"] for row in store.rows(f"SELECT id, state FROM {table}")}
        if any(now_there.get(step.number) != step.before for step in own):
            raise RecordError("another command changed the record meanwhile; nothing was marked, try again")
        store.change_each(f"UPDATE {table} SET state = ? WHERE id = ?", [(step.after, step.number) for step in own])
    before = json.dumps([[step.table, step.number, step.before, step.after] for step in steps])
    store.change("INSERT INTO marks (at, who, what, before) VALUES (?, ?, ?, ?)", (now(), who, what, before))


def last_mark(store: Store) -> Mark | None:
    """Give the last mark that was not undone."""
    row = store.row("SELECT * FROM marks WHERE NOT undone ORDER BY id DESC LIMIT 1")
    return None if row is None else Mark(row["id"], row["at"], row["who"], row["what"])


def undo(store: Store, mark: Mark) -> int:
    """Put back what was before a mark, within a transaction; gives how many things that are.

    Raises RecordError when it was undone meanwhile, or what it marked is no longer as it left it.
    """
    row = store.row("SELECT * FROM marks WHERE id = ? AND NOT undone", (mark.number,))
    if row is None:
        raise RecordError("that mark was undone by another command meanwhile")
    with well_formed(store.path):
        steps = [(table, number, before, after) for table, number, before, after in json.loads(row["before"])]
    for table, number, before, after in steps:
        table = "sheets" if table == "sheets" else "pieces"
        if not store.rows(f"SELECT 1 FROM {table} WHERE id = ? AND state = ?", (number, after)):
            raise RecordError(f"“{mark.what}” cannot be undone: what it marked was changed since")
        store.change(f"UPDATE {table} SET state = ? WHERE id = ?", (before, number))
    store.change("UPDATE marks SET undone = 1 WHERE id = ?", (mark.number,))
    return len(steps)
