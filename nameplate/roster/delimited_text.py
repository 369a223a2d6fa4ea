"""Delimited text to a table of cells: encoding, delimiter, quotes.

Encodings tried in turn: what a byte order mark says; UTF-16 without a mark where its start then has a heading for
names; UTF-8; Windows-1252. Known limit: other eight-bit code pages cannot be told from Windows-1252.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import islice

from nameplate.errors import RosterError
from nameplate.roster.cells import Doubt
from nameplate.roster.characters import clean, describe
from nameplate.roster.headings import heading_key, name_options

#: Delimiters tried, in order of preference where several fit equally.
DELIMITERS: tuple[str, ...] = (",", ";", "\t", "|")

#: Limits against files that are not lists of names. Far above any real list; larger ones cost memory and time.
MOST_BYTES = 20_000_000
MOST_ROWS = 20_000
MOST_COLUMNS = 200
LONGEST_CELL = 5_000
MOST_CELLS = 500_000

#: What a byte order mark at the start of a file says of its encoding.
_MARKS: tuple[tuple[bytes, str], ...] = (
    (codecs.BOM_UTF32_LE, "utf-32-le"),  # before UTF-16, whose mark it starts with
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)

#: How far into a file its headings are looked for (bytes), and among how many records that are not blank.
_HEAD = 8_192
HEADING_ROWS = 10


@dataclass(frozen=True, slots=True)
class Merged:
    """Cells shown as one, from the first to the last row and column (from 1); what they hold is in the first."""

    row: int
    column: int
    last_row: int
    last_column: int


@dataclass(frozen=True, slots=True)
class CellTable:
    """The cells of a list as read, blank records included, so that row numbers stay those of a spreadsheet.

    ``rows[0]`` is row 1. ``encoding`` is a name for people; ``guessed`` tells that nothing in the file confirms it.
    Places (row, column) count from 1; ``doubts`` are cells whose text may not be what is meant. ``other_sheets`` of a
    spreadsheet hold something and were not read.
    """

    rows: tuple[tuple[str, ...], ...]
    encoding: str = "UTF-8"
    guessed: bool = False
    doubts: Mapping[tuple[int, int], Doubt] = field(default_factory=dict)
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    merged: tuple[Merged, ...] = ()
    sheet: str = ""
    other_sheets: tuple[str, ...] = ()

    def cell(self, row: int, column: int) -> str:
        """Give the text of a cell, counted from 1; empty where its row ends before it.

        >>> CellTable((("name",),)).cell(1, 1), CellTable((("name",),)).cell(1, 2), CellTable(()).cell(1, 1)
        ('name', '', '')
        """
        cells = self.rows[row - 1] if 0 < row <= len(self.rows) else ()
        return cells[column - 1] if 0 < column <= len(cells) else ""

    def filled(self, after: int = 0) -> Iterator[tuple[int, tuple[str, ...]]]:
        """Yield the rows behind row `after` that have something to see in them, each with its number.

        >>> list(CellTable((("name",), (" ",), ("Ada",))).filled(after=1))
        [(3, ('Ada',))]
        """
        for number, cells in enumerate(self.rows[after:], after + 1):
            if any(clean(cell).text for cell in cells):
                yield number, cells


@dataclass(frozen=True, slots=True)
class TextForm:
    """How delimited text is written: its whole text, where in it the records start, and what it is encoded by.

    ``spaced`` tells that quotation marks behind a space are meant as quotation marks, ``guessed`` that nothing in the
    file confirms its encoding; ``mark`` is the byte order mark in front of it.
    """

    text: str = ""
    start: int = 0
    delimiter: str = ","
    spaced: bool = False
    codec: str = "utf-8"
    mark: bytes = b""
    guessed: bool = False

    @property
    def encoding(self) -> str:
        """The encoding's name for people."""
        return _called(self.codec)

    def encoded(self, text: str, file: str) -> bytes:
        """Return a text in the same encoding, mark included; raises RosterError where that has not a letter."""
        try:
            return self.mark + text.encode(self.codec)
        except UnicodeEncodeError as error:
            raise RosterError(
                f"{file}: {describe(text[error.start])} is not among the letters of its encoding, {self.encoding}; "
                "save the list as CSV in UTF-8 first"
            ) from None


def text_form(data: bytes, file: str) -> TextForm:
    """Return how the bytes of a delimited text file are written; raises RosterError for undecodable text.

    >>> form = text_form(b"sep=;\\nname;id", "x.csv")
    >>> form.text[form.start :], form.delimiter, form.codec
    ('name;id', ';', 'utf-8')
    >>> form = text_form("Zoë".encode("cp1252"), "x.csv")
    >>> form.text, form.encoding, form.guessed
    ('Zoë', 'Windows-1252', True)
    """
    codec, mark, guessed = _coding(data, file)
    text = _strict(data, codec, mark, file)
    delimiter, records = _delimiter(text)
    spaced = _is_spaced(records, delimiter)
    return TextForm(text, len(text) - len(records), delimiter, spaced, codec, mark, guessed)


def read_text_table(data: bytes, file: str) -> CellTable:
    """Return the table in the bytes of a delimited text file.

    ``file`` is the name that messages carry. Raises RosterError for undecodable text, broken quotes, or a file over
    the limits above.

    >>> read_text_table(b"name;id\\nAda;7\\n", "x.csv").rows
    (('name', 'id'), ('Ada', '7'))
    >>> read_text_table(b"", "x.csv").rows
    ()
    """
    form = text_form(data, file)
    records = _records(form.text[form.start :], form.delimiter, file)
    return CellTable(tuple(records), form.encoding, form.guessed)


def _called(codec: str) -> str:
    """Return an encoding's name for people."""
    return "Windows-1252" if codec == "cp1252" else codec.removesuffix("-le").removesuffix("-be").upper()


def _coding(data: bytes, file: str) -> tuple[str, bytes, bool]:
    """Return an encoding as Python calls it, the byte order mark in front of the text, and whether that is a guess.

    Raises RosterError naming the first byte that fits no encoding.
    """
    for mark, codec in _MARKS:
        if data.startswith(mark):
            return codec, mark, False
    if b"\0" in data[:_HEAD]:
        for codec in ("utf-16-le", "utf-16-be"):
            if _has_names(re.split(r"[,;\t|\r\n]", data[:_HEAD].decode(codec, errors="ignore"))):
                return codec, b"", False
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as broken:
        try:
            data.decode("cp1252")
        except UnicodeDecodeError as error:
            line = data.count(b"\n", 0, error.start) + 1
            raise RosterError(
                f"{file}, line {line}: byte {error.start + 1} (0x{data[error.start]:02X}) is neither UTF-8 (broken at "
                f"byte {broken.start + 1}) nor Windows-1252; save the list again as CSV in UTF-8"
            ) from None
        return "cp1252", b"", True
    return "utf-8", b"", False


def _strict(data: bytes, codec: str, mark: bytes, file: str) -> str:
    try:
        return data[len(mark) :].decode(codec)
    except UnicodeDecodeError as error:
        raise RosterError(
            f"{file}: byte {len(mark) + error.start + 1} is not {_called(codec)}, which its start promises; save the "
            "list again as CSV in UTF-8"
        ) from None


def _has_names(cells: Sequence[str]) -> bool:
    return bool(name_options([heading_key(c.strip('\ufeff" ')) for c in cells if len(c) < _HEAD]))


def _delimiter(text: str) -> tuple[str, str]:
    """Return the delimiter and the text to read: the one that gives the header most columns, `name` among them."""
    first, _, rest = text.partition("\n")
    declared = first.strip().casefold()
    if declared.startswith("sep=") and len(declared) == 5 and declared[4] in DELIMITERS:
        return declared[4], rest  # a line for spreadsheet programs, which do not count it as a row
    if declared == "sep=":
        return "\t", rest
    return max(DELIMITERS, key=lambda d: _fitness(text, d)), text


def _fitness(text: str, delimiter: str) -> tuple[int, int, int]:
    """Rate a delimiter: whether a first row then has a heading for names, how many columns, how often it occurs."""
    best = max(((_likeness(r), len(r)) for r in _first_records(text, delimiter)), default=(0, 0))
    loose = text.count(delimiter) - (text.count(" | ") if delimiter == "|" else 0)  # that breaks a name
    return (*best, loose if best[1] == 1 else 0)


def _likeness(record: Sequence[str]) -> int:
    return 2 * _has_names(record) + any("name" in c.casefold() for c in record)


def _first_records(text: str, delimiter: str) -> Iterator[list[str]]:
    """Give the first records that are not blank, as far as they can be read, each only as wide as a list may be."""
    records = _reader(text[: MOST_COLUMNS * LONGEST_CELL], delimiter)
    filled = (record[:MOST_COLUMNS] for record in records if any(c.strip() for c in record))
    with suppress(csv.Error):
        yield from islice(filled, HEADING_ROWS)


def _reader(text: str, delimiter: str) -> Iterator[list[str]]:
    spaced = _is_spaced(text, delimiter)
    return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True, skipinitialspace=spaced)


def _is_spaced(text: str, delimiter: str) -> bool:
    """Tell whether quotation marks behind a space are meant as quotation marks."""
    return f'{delimiter} "' in text


def _records(text: str, delimiter: str, file: str) -> Iterator[tuple[str, ...]]:
    number = cells = 0
    try:
        for number, record in enumerate(_reader(text, delimiter), 1):
            check_record(record, number, file)
            cells += len(record)
            if cells > MOST_CELLS:
                raise RosterError(f"{file}: more than {MOST_CELLS} cells; is it a list of names?")
            yield tuple(record)
    except csv.Error as error:
        raise _broken(file, number + 1, error) from None


def check_record(record: list[str] | tuple[str, ...], number: int, file: str) -> None:
    """Raise RosterError when one record passes the limits on rows, columns and cells.

    >>> check_record([], 1, "x.csv")
    """
    if number > MOST_ROWS:
        raise RosterError(f"{file}: more than {MOST_ROWS} rows; make the job in parts")
    if len(record) > MOST_COLUMNS:
        raise RosterError(f"{file}, row {number}: more than {MOST_COLUMNS} columns; is it a list of names?")
    for column, cell in enumerate(record, 1):
        if len(cell) > LONGEST_CELL:
            raise RosterError(
                f"{file}, row {number}, column {column}: a cell of {len(cell)} characters, more than {LONGEST_CELL}; "
                'perhaps a quotation mark (") is not closed'
            )


def _broken(file: str, number: int, error: csv.Error) -> RosterError:
    """Put the parser's complaint about a record into a user's words."""
    reason = str(error)
    known = {
        "unexpected end": 'a quotation mark (") is opened in this row and never closed',
        "expected after": 'there is text behind a closing quotation mark ("); inside quotes write a quotation mark '
        'twice ("")',
        "field larger": f'a cell is longer than {LONGEST_CELL} characters; perhaps a quotation mark (") is not closed',
    }
    what = next((words for part, words in known.items() if part in reason), reason)
    return RosterError(f"{file}, row {number}: {what}")
