"""Names that come to the page from elsewhere: pasted text or a file, seen first, then added to the list or used as it.

Pasted text, and a file of lines, is one name a line, unless its first line has headings: then it is delimited text as
any list is. Where most lines have a number or a dash, it is asked what these are (`mail_lines.py`). Lines with
tabulators and no headings come from the middle of a spreadsheet, and stand under the headings of the list. Where no
heading is known to be for names, somebody says which column is which (`Unmatched`).
"""

from __future__ import annotations

import csv
import io
import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import TypeVar

from nameplate.errors import RosterError
from nameplate.findings import Finding
from nameplate.page.compared import compared
from nameplate.page.edits import NO_CELLS, NameList
from nameplate.page.mail_lines import Habits, habits_of, rows_of_lines
from nameplate.page.opened import unless_wrong
from nameplate.page.versions import version_of
from nameplate.plates.line_orders import lettered_columns
from nameplate.plates.orders import make_orders
from nameplate.roster.characters import clean
from nameplate.roster.delimited_text import (
    DELIMITERS,
    HEADING_ROWS,
    LONGEST_CELL,
    CellTable,
    check_record,
    read_text_table,
    text_form,
)
from nameplate.roster.header import Header, heading_row, likely_meaning, perhaps_headings, read_header
from nameplate.roster.headings import CHOICE, heading_key, known_headings
from nameplate.roster.reader import SPREADSHEETS, Roster, rows_of, table_of
from nameplate.roster.rewrite import new_list
from nameplate.system.reading import shown
from nameplate.ticket.schema import Ticket

Came = TypeVar("Came")

#: What came and was not taken yet is kept up to so many; whoever pastes into more windows pastes again.
MOST_KEPT = 8

#: What pasted text is called in messages.
PASTED = "what was pasted"

#: The ending of a file that has one name a line unless it has headings.
LINES = ".txt"

#: The finding that says that a row needs a design.
NO_DESIGN = "no-design"

#: What is chosen for a column that keeps its own heading.
OWN = "own"

#: Rows that are too few for saying by their errors that they do not stand under the headings of the list.
FEW_ROWS = 2


@dataclass(frozen=True, slots=True)
class Incoming:
    """Names that came: what they are called, their cells, the bytes of their file (None: they were pasted), and what is
    found out about them. Lines of names alone are kept as `lines` beside the table made of them. Rows without a design
    are `undesigned` where the ticket has designs."""

    said: str
    table: CellTable
    header: Header
    findings: tuple[Finding, ...]
    data: bytes | None = None
    undesigned: frozenset[int] = frozenset()
    lines: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """What stands for it in a form."""
        return version_of(repr((self.said, self.table.rows, self.data)).encode())

    @property
    def needs_design(self) -> bool:
        """Whether rows without a design cannot be made."""
        return any(finding.code == NO_DESIGN for finding in self.findings)

    @property
    def habits(self) -> Habits:
        """How its lines are written."""
        return habits_of(self.lines)

    @property
    def is_whole(self) -> bool:
        """Whether each line stands as it came."""
        return self.table.rows[1:] == tuple((line,) for line in self.lines)

    @property
    def rows(self) -> list[tuple[int, tuple[str, ...]]]:
        """The rows that have something in them, by the number that messages call them by."""
        return list(self.table.filled(self.header.row))


@dataclass(frozen=True, slots=True)
class Unmatched:
    """Rows that came and whose columns somebody must say: `chosen` is by column (from 0) what is thought or was said of
    it, empty where it is left out. `first_is_row`: the row taken for headings has a name, too."""

    said: str
    table: CellTable
    row: int
    problems: tuple[str, ...]
    chosen: Mapping[int, str] = field(default_factory=dict)
    first_is_row: bool = False

    @property
    def key(self) -> str:
        """What stands for it in a form."""
        return version_of(repr((self.said, self.table.rows)).encode())

    @property
    def columns(self) -> list[tuple[int, str, str]]:
        """The columns that have something in them: the number, what stands in the first row, and in the next."""
        rows = self.table.rows[self.row - 1 :]
        used = [at for at in range(max(map(len, rows))) if any(clean(text).text for text in _column(rows, at))]
        return [(at, self.table.cell(self.row, at + 1), next(iter(_column(rows[1:], at)), "")) for at in used]


def _column(rows: Sequence[Sequence[str]], at: int) -> list[str]:
    return [row[at] for row in rows if at < len(row)]


class Inbox:
    """Keeps what came until it is taken."""

    def __init__(self) -> None:
        self._kept: dict[str, Incoming | Unmatched] = {}
        self._lock = threading.Lock()

    def put(self, came: Incoming | Unmatched) -> None:
        """Keep something."""
        with self._lock:
            self._kept[came.key] = came
            for key in list(self._kept)[:-MOST_KEPT]:
                del self._kept[key]

    def get(self, key: str) -> Incoming:
        """Give what a form means; raises RosterError where it is not kept any more."""
        return self._of_kind(Incoming, key)

    def unmatched(self, key: str) -> Unmatched:
        """Give the rows whose columns a form says; raises RosterError where they are not kept any more."""
        return self._of_kind(Unmatched, key)

    def _of_kind(self, kind: type[Came], key: str) -> Came:
        with self._lock:
            if isinstance(came := self._kept.get(key), kind):
                return came
        raise RosterError("these names are not kept any more; paste them, or choose the file, once more")


def pasted(
    text: str, names: NameList, ticket: Ticket | None, said: str = PASTED, like: CellTable = NO_CELLS
) -> Incoming | Unmatched:
    """Read text that was pasted, or is that of a file of lines, for the job of a ticket; `like` has its encoding.

    Raises RosterError with what is wrong with it as a whole."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").strip("\n")
    if not clean(text).text:
        raise RosterError(
            "nothing was pasted, and no file chosen: write one name a line, copy rows from your spreadsheet, or choose "
            "a list (.csv, .txt or .xlsx)"
        )
    first, _, more = text.partition("\n")
    cells = [[cell.strip(' "') for cell in first.split(mark)] for mark in DELIMITERS]
    if any(map(known_headings, cells)) or (more and any(map(perhaps_headings, cells))):
        return _read(said, read_text_table(text.encode(), said), None, names, ticket)
    if "\t" not in text:
        lines = tuple(text.split("\n"))
        table = _checked([["name"], *([line] for line in lines)], said, like)
        return replace(_incoming(said, table, None, names, ticket), lines=lines)
    records = csv.reader(io.StringIO(text, newline=""), delimiter="\t")
    try:
        rows = list(records)
    except csv.Error:  # the only one of a reader that is not strict
        too_long = f'a cell is longer than {LONGEST_CELL} characters; perhaps a quotation mark (") is not closed'
        raise RosterError(f"{said}, line {records.line_num}: {too_long}") from None
    if names.header.row == 0:
        why = f"{said} has several columns and no headings; copy the row of headings, too, or say which is which"
        return _unmatched(said, _checked(rows, said, like), 1, [why], first_is_row=True)
    incoming = _incoming(said, _checked([names.headings, *rows], said, like), None, names, ticket)
    wrong = {f.row for f in incoming.findings if f.severity == "error" and f.code != "too-many-cells"}
    if len(incoming.rows) > FEW_ROWS and 2 * len(wrong) > len(incoming.rows):
        why = f"{said} has no headings that are known, and most of its rows do not fit under those of the list"
        return _unmatched(said, _checked(rows, said, like), 1, [why])
    return incoming


def dropped(file_name: str, data: bytes, names: NameList, ticket: Ticket | None) -> Incoming | Unmatched:
    """Read a file that came for the job of a ticket; raises RosterError with what is wrong with it as a whole."""
    path = Path(file_name)
    file = shown(Path(path.name))
    table = table_of(data, path, file)
    first = [row for _, row in islice(table.filled(), HEADING_ROWS)]
    if path.suffix.casefold() == LINES and not any(known_headings(row) or perhaps_headings(row) for row in first):
        return pasted(text_form(data, file).text, names, ticket, file, table)
    return _read(file, table, data, names, ticket)


def of_lines(
    incoming: Incoming, names: NameList, ticket: Ticket | None, *, numbers: bool, numbered_only: bool, heading: str
) -> Incoming:
    """Read lines as is said of them, as `rows_of_lines` does; raises RosterError where that leaves no names."""
    rows = rows_of_lines(incoming.lines, numbers=numbers, numbered_only=numbered_only, heading=heading)
    read = _incoming(incoming.said, _checked(rows, incoming.said, incoming.table), None, names, ticket)
    return replace(read, lines=incoming.lines)


def matched(
    unmatched: Unmatched, chosen: Mapping[int, str], names: NameList, ticket: Ticket | None, *, first_is_row: bool
) -> Incoming | Unmatched:
    """Read rows by what was chosen for their columns (from 0): a heading that is known, `OWN`, or nothing."""
    taken = [(at, chosen[at], title) for at, title, _ in unmatched.columns if chosen.get(at)]
    headings = [(f"column {at + 1}" if first_is_row else title) if what == OWN else what for at, what, title in taken]
    table = _picked(unmatched.table, unmatched.row - (1 if first_is_row else 0), [at for at, _, _ in taken], headings)
    try:
        if "name" not in headings and not known_headings(headings):
            raise RosterError("no column is said to have the names: choose name for one of them")
        return _incoming(unmatched.said, table, None, names, ticket)
    except RosterError as error:
        return replace(unmatched, problems=error.problems, chosen=chosen, first_is_row=first_is_row)


def _picked(table: CellTable, row: int, columns: Sequence[int], headings: Sequence[str]) -> CellTable:
    """Give some columns (from 0) of a table under other headings, which stand in a row of it, or above it (0), and what
    is known of their cells; rows keep their numbers unless the headings came above them."""
    below = [tuple(cells[at] if at < len(cells) else "" for at in columns) for cells in table.rows[row:]]
    more = 0 if row else 1
    return replace(
        table,
        rows=(*[()] * (row - 1), tuple(headings), *below),
        doubts={
            (at + more, columns.index(column - 1) + 1): doubt
            for (at, column), doubt in table.doubts.items()
            if column - 1 in columns
        },
        hidden_rows=frozenset(number + more for number in table.hidden_rows),
        hidden_columns=frozenset(columns.index(at - 1) + 1 for at in table.hidden_columns if at - 1 in columns),
        merged=(),
    )


def _read(
    said: str, table: CellTable, data: bytes | None, names: NameList, ticket: Ticket | None
) -> Incoming | Unmatched:
    """Read a table with headings of its own."""
    try:
        return _incoming(said, table, data, names, ticket)
    except RosterError as error:
        row = heading_row(table)
        if row is None or known_headings(table.rows[row - 1]) or next(table.filled(row), None) is None:
            raise
        return _unmatched(said, table, row, error.problems)


def _unmatched(
    said: str, table: CellTable, row: int, problems: Sequence[str], *, first_is_row: bool = False
) -> Unmatched:
    unmatched = Unmatched(said, table, row, tuple(problems), first_is_row=first_is_row)
    chosen: dict[int, str] = {}
    for at, title, _ in unmatched.columns:
        what = likely_meaning(title)
        chosen[at] = what if what and what not in chosen.values() else OWN
    return replace(unmatched, chosen=chosen)


def _checked(rows: Sequence[Sequence[str]], said: str, like: CellTable) -> CellTable:
    for number, row in enumerate(rows, 1):
        check_record(tuple(row), number, said)
    return replace(like, rows=tuple(map(tuple, rows)))


def _incoming(said: str, table: CellTable, data: bytes | None, names: NameList, ticket: Ticket | None) -> Incoming:
    designs = ticket is not None and bool(ticket.designs)
    lettered = () if ticket is None else lettered_columns(ticket)
    roster = rows_of(table, said, designs=designs, lettered=lettered)
    found = (*compared(roster, names), *(() if ticket is None else _of_orders(roster, names, ticket)))
    header = read_header(table, said, designs=designs)
    undesigned = frozenset(row.number for row in roster.rows if designs and not row.design)
    return Incoming(said, table, header, (*roster.findings, *found), data, undesigned=undesigned)


def _of_orders(roster: Roster, names: NameList, ticket: Ticket) -> tuple[Finding, ...]:
    """Give why rows could not be made by the ticket, like one without a design; columns of the list are there, too."""
    own = replace(roster, extra_columns=(*roster.extra_columns, *names.header.extra.values()))
    none: tuple[Finding, ...] = ()
    found = unless_wrong(lambda: make_orders(own, ticket).findings, none)  # of the ticket others tell
    return tuple(finding for finding in found if finding.row is not None and finding.severity == "error")


def of_design(incoming: Incoming, design: str) -> Incoming:
    """Give what came with a design for all rows that have none, in its own column of designs, or one more.

    >>> from nameplate.roster.delimited_text import CellTable
    >>> table = CellTable((("name",), ("Ida",), ("Bo",)))
    >>> header = read_header(table, "a list", designs=True)
    >>> came = Incoming("a list", table, header, (), undesigned=frozenset((3,)))
    >>> of_design(came, "oak").table.rows
    (('name', 'design'), ('Ida', ''), ('Bo', 'oak'))
    """
    header = incoming.header
    column = header.columns.get(CHOICE, header.width)
    cells = dict.fromkeys(incoming.undesigned, design)
    if column == header.width:
        cells[header.row] = CHOICE
    rows = [list(row) for row in incoming.table.rows]
    for number, row in enumerate(rows, 1):
        if number in cells or (row and column == header.width and number > header.row):
            row += [""] * (column + 1 - len(row))
            row[column] = cells.get(number, "")
    table = replace(incoming.table, rows=tuple(map(tuple, rows)))
    return replace(incoming, table=table, header=read_header(table, incoming.said, designs=True), data=None)


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
