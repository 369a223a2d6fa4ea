"""The list of names edited from the page: cells and rows written back, every other byte as it was, and undone.

A page sends the version of the list that it was drawn of. Where the list has changed since, nothing is written: the
other change would be lost without anybody having seen it.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from nameplate.errors import RosterError
from nameplate.job.approving import write_list, write_other_rows
from nameplate.job.desk import before_of
from nameplate.job.sign_off import read_list
from nameplate.page.history import FileEditor, check_version
from nameplate.page.opened import OpenJob, list_file
from nameplate.page.versions import version_of
from nameplate.roster.characters import clean
from nameplate.roster.delimited_text import CellTable
from nameplate.roster.header import Header, read_header
from nameplate.roster.headings import CHOICE
from nameplate.roster.reader import SPREADSHEETS, read_bytes, rows_of, table_of
from nameplate.roster.rewrite import Place, new_list, rewritten, with_rows, without_rows
from nameplate.roster.rules import quoted
from nameplate.system.reading import shown
from nameplate.system.writing import write_bytes_atomic
from nameplate.ticket.schema import Ticket

#: What a row on hold has in the column `hold`, and what that is called where the list has none yet.
HELD, HOLD = "yes", "hold"

#: The cells, and the headings, of a list that is not there yet, or has nothing in it.
NO_CELLS = CellTable(())
NO_HEADINGS = Header(row=0, names=(), columns={}, extra={}, width=0)


@dataclass(frozen=True, slots=True)
class NameList:
    """The list as it lies there: its bytes (None: there is none yet), its cells, and what its headings mean; or the
    problems for which it cannot be read."""

    path: Path
    data: bytes | None
    table: CellTable = NO_CELLS
    header: Header = NO_HEADINGS
    problems: tuple[str, ...] = ()

    @property
    def version(self) -> str:
        """The version that a page of it sends back."""
        return "none" if self.data is None else version_of(self.data)

    def check(self, version: str) -> None:
        """Raise StaleError where it is not of the version that a page was drawn of."""
        by = "another window, a program, the command line"
        check_version(self.path.name, self.version, version, by=by)

    @property
    def is_empty(self) -> bool:
        """Whether it has not even headings: the first rows that come bring them."""
        return self.header is NO_HEADINGS and not self.problems

    @property
    def is_text(self) -> bool:
        """Whether single cells of it can be written; a spreadsheet's cannot."""
        return self.path.suffix.casefold() not in SPREADSHEETS

    @property
    def headings(self) -> list[str]:
        """The headings, by column."""
        return [self.table.cell(self.header.row, at + 1) for at in range(self.header.width)]

    @property
    def rows(self) -> list[int]:
        """The numbers of the rows that have something in them."""
        return [number for number, _ in self.table.filled(self.header.row)]

    def column(self, meaning: str) -> int:
        """Give the column (from 1) of a meaning; 0 where the list has none."""
        return self.header.columns.get(meaning, -1) + 1

    @property
    def of_designs(self) -> int:
        """The column (from 1) of the designs; where the list has none, the next one that it could have."""
        return self.column(CHOICE) or self.header.width + 1

    def headed(self, cells: Mapping[Place, str]) -> dict[Place, str]:
        """Give cells, and where some are designs of a list without a column for them, its heading."""
        is_new = not self.column(CHOICE) and any(column == self.of_designs for _, column in cells)
        return {**({(self.header.row, self.of_designs): CHOICE} if is_new else {}), **cells}

    def setting(self, row: int, values: Mapping[str, str]) -> dict[Place, str]:
        """Give the cells that say these values, by the meanings of their columns, in a row; the headings of columns
        that are new included. What says nothing needs no new column."""
        cells: dict[Place, str] = {}
        new = self.header.width
        for meaning, text in values.items():
            column = self.column(meaning)
            if not column and text:
                column = new = new + 1
                cells[self.header.row, column] = meaning
            if column and text != self.table.cell(row, column):
                cells[row, column] = text
        return cells


def ticket_and_list(job: OpenJob) -> tuple[Ticket | None, NameList]:
    """Read the ticket and the list of a job; where the list is not there yet, no ticket can be read.

    Raises TicketError, and RosterError for what is no ordinary file.
    """
    missing = _missing_list(job)
    if missing is not None:
        return None, NameList(missing, None)
    ticket = job.ticket()
    return ticket, read_names(ticket)


def list_of(job: OpenJob) -> NameList:
    """Read the list of a job; raises as `ticket_and_list`."""
    return ticket_and_list(job)[1]


def _missing_list(job: OpenJob) -> Path | None:
    """Give where the list of a job is to begin: in its folder, where its ticket says so and nothing is there yet."""
    try:
        roster = tomllib.loads(job.ticket_file.read_text(encoding="utf-8"))["job"]["roster"]
        path = job.ticket_file.parent / roster
        is_missing = not os.path.lexists(path) and path.resolve().is_relative_to(job.folder.resolve())
        return path if is_missing and path.parent.is_dir() else None
    except (OSError, ValueError, KeyError, TypeError):  # the ticket's reader says it better
        return None


def read_names(ticket: Ticket) -> NameList:
    """Read the list of a job; raises TicketError where the ticket names none, RosterError for what is no file."""
    path = list_file(ticket)
    data, file = read_bytes(path), shown(Path(path.name))
    try:
        table = table_of(data, path, file)
        if next(table.filled(), None) is None:
            return NameList(path, data)
        return NameList(path, data, table, read_header(table, file, designs=bool(ticket.designs)))
    except RosterError as error:
        return NameList(path, data, problems=error.problems)


#: Gives the new bytes of a list.
Change: TypeAlias = Callable[[NameList, str], bytes]


class Editor(FileEditor):
    """Writes the list of one job, one edit at a time.

    Each edit is of the list of a version, and raises StaleError where it is another one by now, RosterError where it
    cannot be written.
    """

    def write(
        self, version: str, cells: Mapping[Place, str], said: str, *, then: Mapping[Place, str] | None = None
    ) -> None:
        """Write some cells. With the texts that they had `then`, on the page, they are also written into a list where
        nothing but other cells was written, and here, since it was of the version."""

        def change(names: NameList, file: str) -> bytes:
            _check_cells(names, cells, file)
            return rewritten(names.data or b"", cells, file)

        self._edit(version, change, said, same_rows=True, then=then)

    def add(self, version: str, headings: Sequence[str], rows: Sequence[Sequence[str]], said: str) -> None:
        """Add rows at the end, and columns with these headings behind those of the list."""

        def change(names: NameList, file: str) -> bytes:
            if names.is_empty:
                return new_list([headings, *rows], file)
            first, width = names.header.row, names.header.width
            data = rewritten(names.data or b"", {(first, width + n): text for n, text in enumerate(headings, 1)}, file)
            return with_rows(data, rows, file)

        self._edit(version, change, said)

    def delete(self, version: str, row: int, said: str) -> None:
        """Take a row out."""

        def change(names: NameList, file: str) -> bytes:
            if row not in names.rows:
                raise RosterError(f"{file}: there is no row {row} to take out")
            return without_rows(names.data or b"", {row}, file)

        self._edit(version, change, said)

    def replace(self, version: str, data: bytes, said: str) -> None:
        """Put another list in the place of the list."""
        self._edit(version, lambda names, file: data, said, whole=True)

    def undo(self, version: str) -> str:
        """Put back the bytes before the last edit, and say which it was."""
        with self._lock:
            ticket, names = self._current(version)
            none = RosterError("there is nothing to undo: nothing was changed on this page since it was opened")
            with self._undoing(names.path.name, names.version, none=none) as edit:
                if edit.before is None:
                    names.path.unlink()
                else:
                    self._put(ticket, names, edit.before, same_rows=edit.same_rows)
            return edit.said

    def _edit(
        self,
        version: str,
        change: Change,
        said: str,
        *,
        same_rows: bool = False,
        whole: bool = False,
        then: Mapping[Place, str] | None = None,
    ) -> None:
        with self._lock:
            ticket, names = self._current(version, then)
            file = shown(Path(names.path.name))
            if names.problems and not whole:
                raise RosterError(names.problems)
            if not (names.is_text or whole):
                raise RosterError(f"{file} is a spreadsheet and is not written; change it in its own program")
            data = change(names, file)
            designs = ticket is not None and bool(ticket.designs)
            rows_of(table_of(data, names.path, file), file, designs=designs)  # raises where it is no list with names
            self._put(ticket, names, data, same_rows=same_rows)
            self._wrote(said, before=names.data, after=data, same_rows=same_rows)

    def _current(self, version: str, then: Mapping[Place, str] | None = None) -> tuple[Ticket | None, NameList]:
        ticket, names = ticket_and_list(self._job)
        is_as_then = then is not None and all(names.table.cell(*at) == text for at, text in then.items())
        if not (is_as_then and self._only_cells_since(version, names.version)):
            names.check(version)
        return ticket, names

    def _only_cells_since(self, version: str, now: str) -> bool:
        """Tell whether all that was written between two versions are cells, and all of it here."""
        for edit in reversed(self._edits):
            if edit.after != now or edit.before is None or not edit.same_rows:
                return False
            now = version_of(edit.before)
            if now == version:
                return True
        return False

    def _put(self, ticket: Ticket | None, names: NameList, data: bytes, *, same_rows: bool) -> None:
        """Write the list; plates keep their ids where a record knows them."""
        record = self._job.record
        if ticket is None or not record.exists():
            write_bytes_atomic(names.path, data)
        elif (job := read_list(ticket, before_of(record)) if names.rows else None) and same_rows:
            write_list(ticket, record, names.path, data, job)
        else:
            write_other_rows(ticket, record, names.path, data, job)


def change_in_words(old: str, new: str) -> str:
    """Say how the text of a cell was changed; spaces alone, which nobody sees, are named.

    >>> change_in_words("Ada", "Ida"), change_in_words("Ada  Pell", "Ada Pell"), change_in_words("", "oak")
    ('“Ada” to “Ida”', 'spaces in “Ada Pell”', 'nothing to “oak”')
    """
    only_spaces = old != new and old.split() == new.split()
    before, after = (quoted(text) if text else "nothing" for text in (old, new))
    return f"spaces in {quoted(new)}" if only_spaces else f"{before} to {after}"


def _check_cells(names: NameList, cells: Mapping[Place, str], file: str) -> None:
    """Raise RosterError where cells are not those of rows that stay, or change headings that are there."""
    rows = frozenset(names.rows)
    for (row, column), text in cells.items():
        if row == names.header.row and column <= names.header.width:
            raise RosterError(f"{file}: headings are not changed here ({text!r})")
        if row != names.header.row and row not in rows:
            raise RosterError(f"{file}: there is no row {row}")
    for row in {row for row, _ in cells if row != names.header.row}:
        own = dict(enumerate(names.table.rows[row - 1], 1))
        own |= {column: text for (number, column), text in cells.items() if number == row}
        if not any(clean(text).text for text in own.values()):
            raise RosterError(f"{file}: row {row} would be left without anything in it; delete it, or put it on hold")
