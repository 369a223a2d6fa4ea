"""Edits of a file from the page: each is of the version that the page was drawn of, and the last ones can be undone."""

from __future__ import annotations

from dataclasses import dataclass

from nameplate.errors import NameplateError
from nameplate.page.opened import version_of

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


class History:
    """The edits of one file that can be undone."""

    def __init__(self) -> None:
        self._edits: list[Edit] = []

    @property
    def last(self) -> str:
        """What can be undone, in words; empty for nothing."""
        return self._edits[-1].said if self._edits else ""

    def wrote(self, said: str, *, before: bytes | None, after: bytes, same_rows: bool = True) -> None:
        """Take down what was written."""
        self._edits = [*self._edits, Edit(said, version_of(after), before, same_rows)][-MOST_UNDONE:]

    def newest(self, file: str, version: str, *, none: NameplateError) -> Edit:
        """Give the edit that is undone next; raises ``none`` without one, StaleError where the file of this version
        was changed since."""
        if not self._edits:
            raise none
        edit = self._edits[-1]
        if edit.after != version:
            raise StaleError(f"{file} was changed elsewhere since, so “{edit.said}” cannot be undone")
        return edit

    def undid(self) -> None:
        """Forget the newest edit, whose bytes before it are back."""
        self._edits.pop()


def check_version(file: str, now: str, drawn_of: str, *, by: str) -> None:
    """Raise StaleError where a file is not of the version that a page was drawn of; ``by`` is who may have changed
    it."""
    if now != drawn_of:
        raise StaleError(
            f"{file} was changed elsewhere ({by}) since this page was drawn; nothing was written, and it is shown now "
            "as it is"
        )
