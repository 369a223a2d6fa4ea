"""Writes corrected cells and rows back into a list of names as delimited text; every other byte stays as it is.

Method: the text is cut into cells as the reader cuts it (`delimited_text.py`), each with its place in the text; the new
cells take the places of the old ones; the result is read again, and must be the old table with just that changed.
Known limit: a text whose quotes stand where the reader is lenient is refused, not written.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from nameplate.errors import RosterError
from nameplate.roster.delimited_text import DELIMITERS, TextForm, read_text_table, text_form

#: Row and column of a cell, from 1.
Place = tuple[int, int]

_QUOTE = '"'


@dataclass(frozen=True, slots=True)
class _Record:
    """Where in the text a row lies, the end of its line included, and its cells, their quotation marks included."""

    cells: tuple[slice, ...]
    whole: slice


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
    form, records, rows = _parsed(data, file)
    pieces, at, last = [], 0, (0, 0)
    for (row, column), text in sorted(cells.items()):
        if row > len(records):
            raise _unsafe(file)
        span, new = _replacement(form, records[row - 1], column, text, last[1] if last[0] == row else 0)
        last = row, column
        pieces += [form.text[at : span.start], new]
        at = span.stop
    for (row, column), text in cells.items():
        own = rows[row - 1]
        own += [""] * (column - len(own))
        own[column - 1] = text
    return _checked(form.encoded("".join((*pieces, form.text[at:])), file), rows, file)


def with_rows(data: bytes, rows: Sequence[Sequence[str]], file: str) -> bytes:
    """Return the bytes of a list with some rows more at its end, in its own form; its last line ends as it did.

    ``rows`` are texts by column; each has something in it. Raises as :func:`rewritten` does.

    >>> with_rows(b'id;name\\r\\n7;"Ada"', [["8", "Bo"]], "x.csv")
    b'id;name\\r\\n7;"Ada"\\r\\n8;Bo'
    >>> with_rows(b"name\\nAda\\n", [], "x.csv")
    b'name\\nAda\\n'
    """
    form, records, table = _parsed(data, file)
    end = next((text for record in records if (text := _line_end(form, record))), "\n")
    lines = [_line(form, row) for row in rows]
    is_ended = not records or bool(_line_end(form, records[-1]))
    added = "".join(f"{line}{end}" if is_ended else f"{end}{line}" for line in lines)
    return _checked(form.encoded(form.text + added, file), [*table, *map(list, rows)], file)


def without_rows(data: bytes, numbers: Collection[int], file: str) -> bytes:
    """Return the bytes of a list without the rows of these numbers (from 1). Raises as :func:`rewritten` does.

    >>> without_rows(b"name\\nAda\\nBo\\n", {2}, "x.csv"), without_rows(b"name\\n", (), "x.csv")
    (b'name\\nBo\\n', b'name\\n')
    """
    form, records, table = _parsed(data, file)
    if any(not 1 <= number <= len(records) for number in numbers):
        raise _unsafe(file)
    left = [form.text[record.whole] for at, record in enumerate(records, 1) if at not in numbers]
    rows = [row for at, row in enumerate(table, 1) if at not in numbers]
    return _checked(form.encoded("".join((form.text[: form.start], *left)), file), rows, file)


def new_list(rows: Sequence[Sequence[str]], file: str) -> bytes:
    """Return the bytes of a new list, CSV in UTF-8; the first row has the headings. Raises RosterError.

    >>> new_list([["name", "tree"], ["Abara, Wren", "pear"]], "x.csv")
    b'name,tree\\n"Abara, Wren",pear\\n'
    """
    form = TextForm()
    text = "".join(f"{_line(form, row)}\n" for row in rows)
    return _checked(form.encoded(text, file), [list(row) for row in rows], file)


def _line(form: TextForm, row: Sequence[str]) -> str:
    return form.delimiter.join(_cell(form, text, alone=len(row) == 1) for text in row)


def _parsed(data: bytes, file: str) -> tuple[TextForm, list[_Record], list[list[str]]]:
    """Return how a list is written, its records and what the reader sees in them; raises RosterError where it sees
    others."""
    form = text_form(data, file)
    records = list(_records(form))
    rows = [list(row) for row in read_text_table(data, file).rows]
    if len(records) != len(rows):
        raise _unsafe(file)
    return form, records, rows


def _checked(data: bytes, rows: list[list[str]], file: str) -> bytes:
    """Return the bytes of a list that reads as these rows; raises RosterError where it does not."""
    if [list(row) for row in read_text_table(data, file).rows] != rows:
        raise _unsafe(file)
    return data


def _line_end(form: TextForm, record: _Record) -> str:
    begin = record.cells[-1].stop if record.cells else record.whole.start
    return form.text[begin : record.whole.stop]


def _unsafe(file: str) -> RosterError:
    return RosterError(
        f"{file}: its quotation marks and separators do not let single cells be changed safely; make the changes in "
        "the program that the list comes from"
    )


def _replacement(form: TextForm, record: _Record, column: int, text: str, written: int) -> tuple[slice, str]:
    """Return what is to be replaced so that a column of a record says a text, and what by.

    ``written`` is the column before it that was replaced or added already.
    """
    spans = record.cells
    if column <= len(spans):
        span = spans[column - 1]
        old = form.text[span]
        bare = old.lstrip(" ") if form.spaced else old
        quoted = bare.startswith(_QUOTE)
        return slice(span.stop - len(bare), span.stop), _cell(form, text, quoted=quoted, alone=len(spans) == 1)
    end = spans[-1].stop if spans else record.whole.start
    return slice(end, end), form.delimiter * (column - max(1, len(spans), written)) + _cell(form, text)


def _cell(form: TextForm, text: str, *, quoted: bool = False, alone: bool = False) -> str:
    """Return a cell as it is written: in quotation marks where the old one was, or where it must be.

    One that stands ``alone`` in its row must not be taken for several by another delimiter.
    """
    odd = form.delimiter in text or _QUOTE in text or "\n" in text or "\r" in text or text.startswith(" ")
    odd = odd or (alone and any(mark in text for mark in DELIMITERS))
    doubled = text.replace(_QUOTE, _QUOTE * 2)
    return f"{_QUOTE}{doubled}{_QUOTE}" if quoted or odd else text


def _records(form: TextForm) -> Iterator[_Record]:
    """Yield each record; an empty line has no cells. Line ends are those of the csv module: CR, LF, CR LF."""
    at, size = form.start, len(form.text)
    while at < size:
        start = at
        spans: list[slice] = []
        if form.text[at] not in "\r\n":
            while True:
                end = _end_of_cell(form, at)
                spans.append(slice(at, end))
                at = end
                if at >= size or form.text[at] != form.delimiter:
                    break
                at += 1
        at = min(size, at + (2 if form.text.startswith("\r\n", at) else 1))
        yield _Record(tuple(spans), slice(start, at))


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
