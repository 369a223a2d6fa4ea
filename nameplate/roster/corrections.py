"""Corrections that came back with a proof: a table of ids and new texts, and what they change in the list of names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from nameplate.errors import RosterError
from nameplate.roster.characters import clean
from nameplate.roster.delimited_text import CellTable
from nameplate.roster.header import Header, read_header
from nameplate.roster.headings import heading_key, name_options
from nameplate.roster.reader import SPREADSHEETS, Row, fold, id_key, read_bytes, table_of
from nameplate.roster.rewrite import Place, rewritten
from nameplate.roster.rules import check_words, quoted
from nameplate.system.reading import shown

#: What the column of new texts may be called besides what a column of names is.
TEXT_HEADINGS = frozenset({"text", "newtext", "newname", "correction", "correctedname", "correctedtext"})


@dataclass(frozen=True, slots=True)
class Correction:
    """One row of a table of corrections: the plate's id, its new name and its new second line; empty is unchanged."""

    row: int
    id: str
    name: str = ""
    line2: str = ""


@dataclass(frozen=True, slots=True)
class CellChange:
    """What a correction changes in the list: the text of one column of a row, before and after."""

    id: str
    row: int
    column: str
    old: str
    new: str

    @property
    def sentence(self) -> str:
        """The change in words.

        >>> CellChange("007", 8, "line2", "oak", "elm").sentence
        'plate 007, row 8, line2: “oak” -> “elm”'
        """
        column = "" if self.column == "name" else f", {self.column}"
        return f"plate {self.id}, row {self.row}{column}: {quoted(self.old)} -> {quoted(self.new)}"


@dataclass(frozen=True, slots=True)
class CorrectedList:
    """What corrections change in a list of names, and the bytes that its file then has (None: a spreadsheet's)."""

    changes: tuple[CellChange, ...]
    data: bytes | None


def read_corrections(path: Path) -> tuple[Correction, ...]:
    """Return the corrections in a file: columns `id`, `text` (or `name`) and, if there is one, `line2`.

    Raises RosterError with every problem when it is no such table, or a row lacks an id or says nothing new.
    """
    file = shown(Path(path.name))
    table = table_of(read_bytes(path), path, file)
    header, headings = next(table.filled(), (0, ()))
    keys = [heading_key(cell) for cell in headings]
    names = [at for at, key in enumerate(keys) if key in TEXT_HEADINGS]
    names = names or [own[0] for own in name_options(keys) if len(own) == 1]
    if "id" not in keys or len(names) != 1:
        raise RosterError(
            f"{file}: the first row must be the headings id and text, and line2 where second lines are corrected"
        )
    places = {"id": keys.index("id"), "name": names[0], **({"line2": keys.index("line2")} if "line2" in keys else {})}
    found = [
        Correction(number, **{column: table.cell(number, at + 1).strip() for column, at in places.items()})
        for number, _ in table.filled(header)
    ]
    problems = [f"{file}, row {one.row}: {problem}" for one in found for problem in _problems(one)]
    problems += [f"{file}, row {b.row}: plate {b.id} was corrected in row {a.row} already" for a, b in _twice(found)]
    if not found:
        problems = [f"{file}: there is no correction in it; write one a row: the plate's id and its new text"]
    if problems:
        raise RosterError(problems)
    return tuple(found)


def _problems(one: Correction) -> Iterator[str]:
    if not one.id:
        yield f"{quoted(one.name or one.line2)} has no id; write that of the plate, as on the proof"
    elif not one.name and not one.line2:
        yield f"plate {one.id} has no new text"
    for column, text in (("name", one.name), ("line2", one.line2)):
        if text:
            said = check_words(column, text, clean(text), one.row)
            yield from (f"{quoted(text)}: {f.message}" for f in said if f.severity == "error")


def _twice(found: Sequence[Correction]) -> Iterator[tuple[Correction, Correction]]:
    first: dict[str, Correction] = {}
    for one in found:
        if one.id and fold(one.id) in first:
            yield first[fold(one.id)], one
        first.setdefault(fold(one.id), one)


def corrected(path: Path, data: bytes, corrections: Sequence[Correction], rows: Mapping[str, Row]) -> CorrectedList:
    """Work out what corrections change in the list of names at a path, whose bytes are `data`.

    ``rows`` gives the row of each plate by its id. A text that stands there already changes nothing. Raises
    RosterError with every correction that cannot be made.
    """
    file = shown(Path(path.name))
    table = table_of(data, path, file)
    header = read_header(table, file)
    by_id = {key(plate): (plate, row) for key in (id_key, fold) for plate, row in rows.items()}
    changes: list[CellChange] = []
    cells: dict[Place, str] = {}
    problems: list[str] = []
    for one in corrections:
        found = by_id.get(fold(one.id)) or by_id.get(id_key(one.id))
        if found is None:
            problems.append(f"{file}: there is no plate {one.id} in it; its id is the number on the proof")
            continue
        plate, row = found
        for column, new in (("name", one.name), ("line2", one.line2)):
            old = row.name if column == "name" else row.line2
            if not new or clean(new).text == old:
                continue
            try:
                place, text = _cell_for(table, header, row, column, new)
            except ValueError as problem:
                problems.append(f"{file}, row {row.number}: plate {plate}: {problem}")
            else:
                changes.append(CellChange(plate, row.number, column, old, clean(new).text))
                cells[place] = text
    if problems:
        raise RosterError(problems)
    is_text = path.suffix.casefold() not in SPREADSHEETS
    return CorrectedList(tuple(changes), rewritten(data, cells, file) if is_text else None)


def _cell_for(table: CellTable, header: Header, row: Row, column: str, new: str) -> tuple[Place, str]:
    """Return which cell a new text goes into, and what the cell then says; raises ValueError when none can be told."""
    if column == "line2":
        if "line2" not in header.columns:
            raise ValueError(f"the list has no column line2 for {quoted(new)}; add one")
        return (row.number, header.columns["line2"] + 1), new
    if len(header.names) == 1:
        return (row.number, header.names[0] + 1), new
    parts = [clean(table.cell(row.number, at + 1)).text for at in header.names]
    found = list(_parts_for(parts, clean(new).text))
    if len(found) != 1:
        titles = " and ".join(repr(clean(table.cell(header.row, at + 1)).text) for at in header.names)
        raise ValueError(
            f"which part of {quoted(new)} goes into which of the columns {titles}? Write it there yourself"
        )
    at, text = found[0]
    return (row.number, header.names[at] + 1), text


def _parts_for(parts: Sequence[str], new: str) -> Iterator[tuple[int, str]]:
    """Yield the ways to get a new name by changing one of the parts that the old one is joined from.

    >>> list(_parts_for(["Wren", "Abara"], "Wren Abbara")), list(_parts_for(["Wren", "Abara"], "Ada Pell"))
    ([(1, 'Abbara')], [])
    """
    for at in range(len(parts)):
        before = "".join(f"{part} " for part in parts[:at] if part)
        after = "".join(f" {part}" for part in parts[at + 1 :] if part)
        middle = new[len(before) : len(new) - len(after)]
        if middle and f"{before}{middle}{after}" == new:
            yield at, middle
