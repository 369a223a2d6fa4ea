"""Names that come to the page from elsewhere: pasted text or a file, seen first, then added to the list or used as it.

Pasted text is one name a line, unless its first line has headings: then it is delimited text as any list is. Lines with
tabulators and no headings come from the middle of a spreadsheet, and stand under the headings of the list.
"""

from __future__ import annotations

import csv
import io
import threading
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from nameplate.errors import RosterError
from nameplate.findings import Finding
from nameplate.page.edits import NameList
from nameplate.page.opened import version_of
from nameplate.roster.characters import clean
from nameplate.roster.delimited_text import DELIMITERS, CellTable, check_record, read_text_table
from nameplate.roster.header import Header, read_header
from nameplate.roster.headings import heading_key, known_headings
from nameplate.roster.reader import SPREADSHEETS, rows_of, table_of
from nameplate.roster.rewrite import new_list
from nameplate.system.reading import shown

#: What came and was not taken yet is kept up to so many; whoever pastes into more windows pastes again.
MOST_KEPT = 8

#: What pasted text is called in messages.
PASTED = "what was pasted"


@dataclass(frozen=True, slots=True)
class Incoming:
    """Names that came: what they are called, their cells, the bytes of their file (None: they were pasted), and what is
    found out about them. Pasted lines without headings are `bare`, and were given some."""

    said: str
    table: CellTable
    header: Header
    findings: tuple[Finding, ...]
    data: bytes | None = None
    bare: bool = False

    @property
    def key(self) -> str:
        """What stands for it in a form."""
        return version_of(repr((self.said, self.table.rows, self.data)).encode())

    @property
    def rows(self) -> list[tuple[int, tuple[str, ...]]]:
        """The rows that have something in them, by the number that messages call them by."""
        return list(self.table.filled(self.header.row))


class Inbox:
    """Keeps what came until it is taken."""

    def __init__(self) -> None:
        self._kept: dict[str, Incoming] = {}
        self._lock = threading.Lock()

    def put(self, incoming: Incoming) -> None:
        """Keep something."""
        with self._lock:
            self._kept[incoming.key] = incoming
            for key in list(self._kept)[:-MOST_KEPT]:
                del self._kept[key]

    def get(self, key: str) -> Incoming:
        """Give what a form means; raises RosterError where it is not kept any more."""
        with self._lock:
            if key not in self._kept:
                raise RosterError("these names are not kept any more; paste them, or choose the file, once more")
            return self._kept[key]


def pasted(text: str, names: NameList, *, designs: bool) -> Incoming:
    """Read pasted text; raises RosterError with what is wrong with it as a whole."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").strip("\n")
    if not clean(text).text:
        raise RosterError("nothing was pasted: write one name a line, or copy rows from your spreadsheet")
    cells = ([cell.strip(' "') for cell in text.partition("\n")[0].split(mark)] for mark in DELIMITERS)
    if any(map(known_headings, cells)):  # the first line has headings, one of them for names
        return _incoming(PASTED, read_text_table(text.encode(), PASTED), None, designs=designs)
    if "\t" in text:
        if names.header.row == 0:
            raise RosterError(f"{PASTED} has several columns and no headings; copy the row of headings, too")
        rows = [names.headings, *csv.reader(io.StringIO(text, newline=""), delimiter="\t")]
    else:
        rows = [["name"], *([line] for line in text.split("\n"))]
    for number, row in enumerate(rows, 1):
        check_record(tuple(row), number, PASTED)
    return _incoming(PASTED, CellTable(tuple(map(tuple, rows))), None, designs=designs, bare=True)


def dropped(file_name: str, data: bytes, *, designs: bool) -> Incoming:
    """Read a file that came; raises RosterError with what is wrong with it as a whole."""
    path = Path(file_name)
    file = shown(Path(path.name))
    return _incoming(file, table_of(data, path, file), data, designs=designs)


def _incoming(said: str, table: CellTable, data: bytes | None, *, designs: bool, bare: bool = False) -> Incoming:
    findings = rows_of(table, said, designs=designs).findings
    return Incoming(said, table, read_header(table, said, designs=designs), findings, data, bare)


def as_list(incoming: Incoming, names: NameList) -> tuple[bytes, bool]:
    """Give the bytes of the job's list when what came is used as it, and whether its file can have them: one that is a
    spreadsheet cannot have text. They are those of the file that came, where it is of the kind of the list."""
    is_spreadsheet = Path(incoming.said).suffix.casefold() in SPREADSHEETS
    if incoming.data is not None and is_spreadsheet != names.is_text:
        return incoming.data, True
    every = [incoming.header.row, *(number for number, _ in incoming.rows)]
    return as_text([incoming.table.rows[number - 1] for number in every], incoming.said), names.is_text


def as_text(rows: Sequence[Sequence[str]], said: str) -> bytes:
    """Give rows as a new list, CSV in UTF-8, the headings first; raises RosterError where they would not be read so."""
    width = max(map(len, rows))
    return new_list([[*row, *([""] * (width - len(row)))] for row in rows], said)


def as_rows(incoming: Incoming, names: NameList) -> tuple[list[str], list[list[str]]]:
    """Give the headings that the list lacks for what came, and its rows by the columns of the list and those.

    Raises RosterError where there is no list to add to, cells stand under no heading, or names cannot be told apart as
    the list has them.
    """
    if not names.header.row:
        raise RosterError(names.problems or ["there is no list yet that they could be added to: use them as the list"])
    if spilled := [f"row {f.row}: {f.message}" for f in incoming.findings if f.code == "too-many-cells"]:
        raise RosterError(spilled)
    to, new = _columns_for(incoming, names)
    rows = []
    for row, _ in incoming.rows:
        cells = dict(_name_cells([incoming.table.cell(row, at + 1) for at in incoming.header.names], names))
        cells |= {column: incoming.table.cell(row, at + 1) for at, column in to.items()}
        rows.append([cells.get(column, "") for column in range(names.header.width + len(new))])
    return new, rows


def _columns_for(incoming: Incoming, names: NameList) -> tuple[dict[int, int], list[str]]:
    """Give by column of what came, but for the names, the column of the list that it goes into, both from 0; and the
    headings of those that the list lacks, which come behind its own. Columns without anything in them are left out."""
    header = incoming.header
    to: dict[int, int] = {}
    new: list[str] = []
    for at in (*header.columns.values(), *header.extra):
        if not any(incoming.table.cell(row, at + 1).strip() for row, _ in incoming.rows):
            continue
        title = header.extra.get(at) or incoming.table.cell(header.row, at + 1)
        column = _column_for(header.meanings.get(at, ""), title, names)
        to[at] = names.header.width + len(new) if column is None else column
        new += [title] if column is None else []
    return to, new


def _column_for(meaning: str, heading: str, names: NameList) -> int | None:
    """Give the column of the list (from 0) that a column that came belongs to; None where the list has none."""
    if meaning in names.header.columns:
        return names.header.columns[meaning]
    keys = [heading_key(text) for text in names.headings]
    others = [at for at in names.header.extra if keys[at] and keys[at] == heading_key(heading)]
    return others[0] if others and not meaning else None


def _name_cells(parts: Sequence[str], names: NameList) -> Iterator[tuple[int, str]]:
    """Yield by column what a name that came is written as; raises RosterError where it cannot be parted."""
    own = names.header.names
    if len(own) == len(parts):
        yield from zip(own, parts, strict=True)
    elif len(own) == 1:
        yield own[0], " ".join(part.strip() for part in parts if part.strip())
    else:
        titles = " and ".join(repr(names.headings[at]) for at in own)
        raise RosterError(
            f"the list has its names in the columns {titles}: copy rows with these headings, or use them as the list"
        )
