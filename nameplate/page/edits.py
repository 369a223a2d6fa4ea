"""The list of names corrected from the page: single cells written back, every other byte as it was, and undone.

A page sends the version of the list that it was drawn of. Where the list has changed since, nothing is written: the
other change would be lost without anybody having seen it.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from nameplate.errors import NameplateError, RosterError
from nameplate.job.approving import write_list
from nameplate.job.desk import before_of
from nameplate.job.sign_off import read_list
from nameplate.page.opened import OpenJob, list_file, version_of
from nameplate.roster.delimited_text import CellTable
from nameplate.roster.header import Header, read_header
from nameplate.roster.reader import SPREADSHEETS, read_bytes, rows_of, table_of
from nameplate.roster.rewrite import Place, rewritten
from nameplate.system.reading import shown
from nameplate.system.writing import write_bytes_atomic
from nameplate.ticket.schema import Ticket

#: Edits that can be undone; each keeps the bytes of the list before it.
MOST_UNDONE = 50

#: What a row on hold has in the column `hold`, and what that is called where the list has none yet.
HELD, HOLD = "yes", "hold"


class StaleError(NameplateError):
    """The list is not any more what the page shows; nothing was written."""


@dataclass(frozen=True, slots=True)
class NameList:
    """The list as it lies there: its bytes and their version, its cells, and what its headings mean."""

    path: Path
    data: bytes
    table: CellTable
    header: Header

    @property
    def version(self) -> str:
        """The version that a page of it sends back."""
        return version_of(self.data)

    @property
    def is_text(self) -> bool:
        """Whether single cells of it can be written; a spreadsheet's cannot."""
        return self.path.suffix.casefold() not in SPREADSHEETS

    @property
    def hold_column(self) -> int:
        """The column (from 1) that says what is on hold: the list's own, or the next free one."""
        return self.header.columns.get(HOLD, self.header.width) + 1

    def holding(self, row: int, *, release: bool) -> dict[Place, str]:
        """Give the cells that put a row on hold or release it, the heading of the column included where it is new."""
        cells = {(row, self.hold_column): "" if release else HELD}
        if HOLD not in self.header.columns:
            cells[self.header.row, self.hold_column] = HOLD
        return cells

    def cell(self, row: int, column: int) -> str:
        """Give the text of a cell, counted from 1; empty where the row ends before it."""
        cells = self.table.rows[row - 1] if 0 < row <= len(self.table.rows) else ()
        return cells[column - 1] if 0 < column <= len(cells) else ""


def read_names(ticket: Ticket) -> NameList:
    """Read the list of a job; raises RosterError when it is none."""
    path = list_file(ticket)
    data = read_bytes(path)
    file = shown(Path(path.name))
    table = table_of(data, path, file)
    return NameList(path, data, table, read_header(table, file, designs=bool(ticket.designs)))


@dataclass(frozen=True, slots=True)
class _Edit:
    """An edit that was written: what it did in words, the list's version since, and its bytes before."""

    said: str
    after: str
    before: bytes


class Editor:
    """Writes the list of one job, one edit at a time."""

    def __init__(self, job: OpenJob) -> None:
        self._job, self._edits, self._lock = job, list[_Edit](), threading.Lock()

    @property
    def last(self) -> str:
        """What can be undone, in words; empty for nothing."""
        return self._edits[-1].said if self._edits else ""

    def write(self, version: str, cells: Mapping[Place, str], said: str) -> None:
        """Write some cells into the list of this version.

        Raises StaleError where it is another one by now, RosterError where they cannot be written.
        """
        with self._lock:
            ticket, names = self._current(version)
            for (row, column), text in cells.items():
                if row == names.header.row and column != names.header.width + 1:
                    raise RosterError(f"{names.path.name}: headings are not changed here ({text!r})")
            self._put(ticket, names, rewritten(names.data, cells, names.path.name))
            written = read_bytes(names.path)
            self._edits = [*self._edits, _Edit(said, version_of(written), names.data)][-MOST_UNDONE:]

    def undo(self, version: str) -> str:
        """Put back the bytes before the last edit, and say which it was; raises as `write` does."""
        with self._lock:
            ticket, names = self._current(version)
            if not self._edits:
                raise RosterError("there is nothing to undo: nothing was changed on this page since it was opened")
            edit = self._edits[-1]
            if edit.after != names.version:
                raise StaleError(f"{names.path.name} was changed elsewhere since, so “{edit.said}” cannot be undone")
            self._put(ticket, names, edit.before)
            self._edits.pop()
            return edit.said

    def _current(self, version: str) -> tuple[Ticket, NameList]:
        ticket = self._job.ticket()
        names = read_names(ticket)
        if names.version != version:
            raise StaleError(
                f"{names.path.name} was changed elsewhere (another window, a program, the command line) since this "
                "page was drawn; nothing was written, and it is shown now as it is"
            )
        if not names.is_text:
            raise RosterError(f"{names.path.name} is a spreadsheet and is not written; change it in its own program")
        return ticket, names

    def _put(self, ticket: Ticket, names: NameList, data: bytes) -> None:
        """Write the list; plates keep their ids where a record knows them."""
        file = names.path.name
        designs = bool(ticket.designs)
        then = rows_of(names.table, file, designs=designs).rows
        now = rows_of(table_of(data, names.path, file), file, designs=designs).rows
        if [row.number for row in then] != [row.number for row in now]:
            raise RosterError(f"{file}: a row would be left without anything in it; put it on hold to keep it aside")
        if self._job.record.exists():
            write_list(ticket, self._job.record, names.path, data, read_list(ticket, before_of(self._job.record)))
        else:
            write_bytes_atomic(names.path, data)
