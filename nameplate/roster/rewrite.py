"""Writes corrected cells back into a list of names as delimited text; every other byte stays as it is.

Method: the text is cut into cells as the reader cuts it (`delimited_text.py`), each with its place in the text; the new
cells take the places of the old ones; the result is read again, and must be the old table with those cells changed.
Known limit: a text whose quotes stand where the reader is lenient is refused, not written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from nameplate.errors import RosterError
from nameplate.roster.delimited_text import TextForm, read_text_table, text_form

#: Row and column of a cell, from 1.
Place = tuple[int, int]

_QUOTE = '"'


@dataclass(frozen=True, slots=True)
class _Span:
    """Where a cell lies in a text, its quotation marks included."""

    start: int
    end: int


def rewritten(data: bytes, cells: Mapping[Place, str], file: str) -> bytes:
    """Return the bytes of a list with some cells changed: same encoding, marks, separators, quotes and line ends.

    ``cells`` gives the new texts by row and column as :func:`read_text_table` counts them; a row that ends before the
    column is filled up with separators. ``file`` is the name that messages carry.

    Raises RosterError when the list cannot be read, when its encoding has not a letter, or when the list could not be
    read back as it was meant.

    >>> rewritten(b'id;name\\r\\n7;"Ada"\\r\\n', {(2, 2): "Ada; Bo"}, "x.csv")
    b'id;name\\r\\n7;"Ada; Bo"\\r\\n'
    >>> rewritten(b"name\\nAda", {}, "x.csv")
    b'name\\nAda'
    """
    form = text_form(data, file)
    spans = list(_records(form))
    table = read_text_table(data, file)
    if len(spans) != len(table.rows):
        raise _unsafe(file)
    pieces, at = [], 0
    for (row, column), text in sorted(cells.items()):
        if row > len(spans):
            raise _unsafe(file)
        span, new = _replacement(form, spans[row - 1], column, text)
        pieces += [form.text[at : span.start], new]
        at = span.end
    written = form.encoded("".join((*pieces, form.text[at:])), file)
    rows = [list(row) for row in table.rows]
    for (row, column), text in cells.items():
        own = rows[row - 1]
        own += [""] * (column - len(own))
        own[column - 1] = text
    if [list(row) for row in read_text_table(written, file).rows] != rows:
        raise _unsafe(file)
    return written


def _unsafe(file: str) -> RosterError:
    return RosterError(
        f"{file}: its quotation marks and separators do not let single cells be changed safely; make the changes in "
        "the program that the list comes from"
    )


def _replacement(form: TextForm, spans: list[_Span], column: int, text: str) -> tuple[_Span, str]:
    """Return what is to be replaced so that a column of a record says a text, and what by."""
    if column <= len(spans):
        span = spans[column - 1]
        old = form.text[span.start : span.end]
        bare = old.lstrip(" ") if form.spaced else old
        return _Span(span.end - len(bare), span.end), _cell(form, text, quoted=bare.startswith(_QUOTE))
    end = spans[-1].end if spans else 0
    return _Span(end, end), form.delimiter * (column - len(spans)) + _cell(form, text, quoted=False)


def _cell(form: TextForm, text: str, *, quoted: bool) -> str:
    """Return a cell as it is written: in quotation marks where the old one was, or where it must be."""
    odd = form.delimiter in text or _QUOTE in text or "\n" in text or "\r" in text or text.startswith(" ")
    doubled = text.replace(_QUOTE, _QUOTE * 2)
    return f"{_QUOTE}{doubled}{_QUOTE}" if quoted or odd else text


def _records(form: TextForm) -> Iterator[list[_Span]]:
    """Yield the cells of each record; an empty line has none. Line ends are those of the csv module: CR, LF, CR LF."""
    at, size = form.start, len(form.text)
    while at < size:
        spans: list[_Span] = []
        if form.text[at] not in "\r\n":
            while True:
                end = _end_of_cell(form, at)
                spans.append(_Span(at, end))
                at = end
                if at >= size or form.text[at] != form.delimiter:
                    break
                at += 1
        yield spans
        at += 2 if form.text.startswith("\r\n", at) else 1


def _end_of_cell(form: TextForm, at: int) -> int:
    """Return where the cell that begins at a place ends: at a separator or a line's end outside quotation marks."""
    text, size = form.text, len(form.text)
    while form.spaced and text.startswith(" ", at):
        at += 1
    if text.startswith(_QUOTE, at):
        at += 1
        while at < size and (text[at] != _QUOTE or text.startswith(_QUOTE * 2, at)):
            at += 2 if text[at] == _QUOTE else 1
        at += 1
    while at < size and text[at] != form.delimiter and text[at] not in "\r\n":
        at += 1
    return min(at, size)
