"""Edits of a file from the page: each is of the version that the page was drawn of, and the last ones can be undone."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from nameplate.errors import NameplateError
from nameplate.page.opened import OpenJob
from nameplate.page.versions import version_of

#: Edits that can be undone; each keeps the bytes of the file before it.
MOST_UNDONE = 50


class StaleError(NameplateError):
    """A file is not any more what the page shows; nothing was written."""


@dataclass(frozen=True, slots=True)
class Edit:
    """An edit that was written: what it did in words, the file's version since, its bytes before (None: there was no
    file); of a list, whether both have the same rows."""

    said: str
    after: str
    before: bytes | None
    same_rows: bool = True


class FileEditor:
    """Writes one file of a job, one edit at a time; the last ones can be undone."""

    def __init__(self, job: OpenJob) -> None:
        self._job, self._edits, self._lock = job, list[Edit](), threading.Lock()

    @property
    def last(self) -> str:
        """What can be undone, in words; empty for nothing."""
        return self._edits[-1].said if self._edits else ""

    def _wrote(self, said: str, *, before: bytes | None, after: bytes, same_rows: bool = True) -> None:
        self._edits = [*self._edits, Edit(said, version_of(after), before, same_rows)][-MOST_UNDONE:]

    @contextmanager
    def _undoing(self, file: str, version: str, *, none: NameplateError) -> Iterator[Edit]:
        """Give the newest edit, and forget it once the block has put the bytes before it back; raises ``none`` without
        one, StaleError where the file of this version was changed since."""
        if not self._edits:
            raise none
        edit = self._edits[-1]
        if edit.after != version:
            raise StaleError(f"{file} was changed elsewhere since, so “{edit.said}” cannot be undone")
        yield edit
        self._edits.pop()


def check_version(file: str, now: str, drawn_of: str, *, by: str) -> None:
    """Raise StaleError where a file is not of the version that a page was drawn of; ``by`` may have changed it."""
    if now != drawn_of:
        raise StaleError(
            f"{file} was changed elsewhere ({by}) since this page was drawn; nothing was written, and it is shown now "
            "as it is"
        )
