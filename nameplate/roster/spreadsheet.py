"""A spreadsheet file to a table of cells, as its program shows them as far as a list of names needs it.

The first visible sheet is read, as a stream and within limits: a few bytes can claim a table of a thousand million
cells. What could be mistaken (errors, formulas without a value, merged, hidden and other places) is noted in the table.
Section numbers are those of ECMA-376 part 1.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from nameplate.errors import RosterError
from nameplate.roster.cells import BUILT_IN, Doubt, Raw, bad_cell, cell_text
from nameplate.roster.delimited_text import MOST_CELLS, MOST_COLUMNS, MOST_ROWS, CellTable, Merged, check_record
from nameplate.roster.xml_parts import Package, continued, unreadable

#: How a workbook that is protected by a password begins, and every spreadsheet of before 2007.
_OLD = b"\xd0\xcf\x11\xe0"

#: Columns with a letter: XFD is the last one.
_MOST_COLUMNS = 16_384

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def read_xlsx_table(data: bytes, file: str) -> CellTable:
    """Return the table on the first visible sheet of an .xlsx file.

    ``file`` is the name that messages carry. Raises RosterError for bytes that are no spreadsheet, are protected, or
    pass the limits of :mod:`nameplate.roster.delimited_text` and :mod:`nameplate.roster.xml_parts`.
    """
    if data.startswith(_OLD):
        raise RosterError(
            f"{file}: protected by a password, or in the format of before 2007; save it as .xlsx without a password, "
            "or as CSV in UTF-8"
        )
    package = Package(data, file)
    book = _read_book(package)
    shown = [s for s in book.sheets if not s.hidden]
    if not shown:
        raise RosterError(f"{file}: no sheet of this spreadsheet is visible")
    grid = _Grid(package, book)
    package.read(shown[0].part, grid.start, end=grid.end)
    others = tuple(
        f"{s.name!r}{' (hidden)' if s.hidden else ''}"
        for s in book.sheets
        if s is not shown[0] and _has_cells(package, s.part)
    )
    return grid.table(shown[0].name, others)


@dataclass(frozen=True, slots=True)
class _Sheet:
    name: str
    hidden: bool
    part: str


@dataclass(slots=True)
class _Book:
    """What the cells of a workbook refer to: shared texts and the number formats by style."""

    sheets: list[_Sheet] = field(default_factory=list)
    since_1904: bool = False
    texts: list[str] = field(default_factory=list)
    formats: list[str] = field(default_factory=list)


def _read_book(package: Package) -> _Book:
    main = next((part for kind, part in package.related("").values() if kind == "officeDocument"), "xl/workbook.xml")
    related = package.related(main)
    book = _Book()

    def start(path: list[str], attributes: dict[str, str]) -> None:
        if path[1:] == ["workbookPr"]:
            book.since_1904 = attributes.get("date1904", "").casefold() in ("1", "true")
        if path[1:] == ["sheets", "sheet"]:
            kind, part = related.get(attributes.get("id", ""), ("", ""))
            hidden = attributes.get("state", "visible") != "visible"
            if kind == "worksheet":
                book.sheets.append(_Sheet(attributes.get("name", "")[:40], hidden, part))

    package.read(main, start)
    if not book.sheets:
        raise unreadable(package.file, "it has no sheet")
    for kind, part in related.values():
        if kind == "sharedStrings":
            _read_texts(package, part, book.texts)
        if kind == "styles":
            _read_formats(package, part, book.formats)
    return book


def _is_shown_text(path: list[str]) -> bool:
    """Tell whether an element holds text that is shown: a `t`, in a run or not, but no phonetic aid (18.4.6)."""
    return path[-1] == "t" and "rPh" not in path


def _read_texts(package: Package, part: str, texts: list[str]) -> None:
    """Read the shared texts (18.4.9); one of several runs, each in a format of its own, is their text together."""
    together = ""

    def end(path: list[str], text: str) -> None:
        nonlocal together
        if _is_shown_text(path):
            together = continued(together, text)
        if path[1:] == ["si"]:
            texts.append(together)
            together = ""

    package.read(part, end=end)


def _read_formats(package: Package, part: str, formats: list[str]) -> None:
    """Read the number format of each style that cells have (18.8.10, 18.8.30)."""
    own: dict[str, str] = {}

    def start(path: list[str], attributes: dict[str, str]) -> None:
        if path[1:] == ["numFmts", "numFmt"]:
            own[attributes.get("numFmtId", "")] = attributes.get("formatCode", "")[:255]
        if path[1:] == ["cellXfs", "xf"]:
            number = attributes.get("numFmtId", "0")
            formats.append(own.get(number) or BUILT_IN.get(_whole(number), "General"))

    package.read(part, start)


class _Grid:
    """The cells of one sheet while they are read (18.3)."""

    def __init__(self, package: Package, book: _Book) -> None:
        self.file, self.book = package.file, book
        self.rows: dict[int, dict[int, str]] = {}
        self.doubts: dict[tuple[int, int], Doubt] = {}
        self.hidden_rows: set[int] = set()
        self.hidden_columns: set[int] = set()
        self.merged: list[Merged] = []
        self.count = self.claimed = 0
        self.row = self.column = 0  # of the cell being read; without a reference it is the next one
        self.attributes: dict[str, str] = {}
        self.value: str | None = None
        self.formula: str | None = None

    def start(self, path: list[str], attributes: dict[str, str]) -> None:
        name = path[-1]
        if path[1:2] == ["sheetData"]:
            if len(path) == 3 and name == "row":
                self._row(attributes)
            elif len(path) == 4 and name == "c":
                self._cell(attributes)
            elif path[4:] == ["is"]:
                self.value = ""
        elif path[1:] == ["cols", "col"] and _is_hidden(attributes, "width"):
            self._claim(MOST_COLUMNS)
            first, last = (_whole(attributes.get(end, "")) for end in ("min", "max"))
            self.hidden_columns.update(range(max(first, 1), min(last, MOST_COLUMNS) + 1))
        elif path[1:] == ["mergeCells", "mergeCell"]:
            self._merge(attributes.get("ref", ""))

    def end(self, path: list[str], text: str) -> None:
        if path[1:2] != ["sheetData"]:
            return
        if path[4:] == ["f"]:
            self.formula = text
        elif path[4:] == ["v"]:
            self.value = text
        elif path[4:5] == ["is"] and _is_shown_text(path):
            self.value = continued(self.value or "", text)
        elif path[3:] == ["c"]:
            self._keep()

    def _row(self, attributes: dict[str, str]) -> None:
        self.row, self.column = _whole(attributes["r"]) if "r" in attributes else self.row + 1, 0
        if self.row < 1:
            raise unreadable(self.file, f"{attributes['r'][:20]!r} is no row")
        if _is_hidden(attributes, "ht"):
            self.hidden_rows.add(self.row)

    def _cell(self, attributes: dict[str, str]) -> None:
        self.attributes, self.value, self.formula = attributes, None, None
        place = place_of(attributes["r"]) if "r" in attributes else (self.row, self.column + 1)
        if place is None:
            raise unreadable(self.file, f"{attributes['r'][:20]!r} is no cell")
        self.row, self.column = place

    def _keep(self) -> None:
        """Take in the cell that has ended, if there is anything in it."""
        text, doubt = self._content()
        if not text and doubt is None:
            return
        place = f"{column_letters(self.column)}{self.row}"
        if self.row > MOST_ROWS or self.column > MOST_COLUMNS:
            raise RosterError(
                f"{self.file}: cell {place} is filled, beyond {MOST_ROWS} rows or {MOST_COLUMNS} columns; delete what "
                "does not belong to the list"
            )
        row = self.rows.setdefault(self.row, {})
        if self.column in row:
            raise unreadable(self.file, f"cell {place} is there twice")
        row[self.column] = text
        self.count += 1
        if self.count > MOST_CELLS:
            raise RosterError(f"{self.file}: more than {MOST_CELLS} filled cells; is it a list of names?")
        if doubt is not None:
            self.doubts[self.row, self.column] = doubt

    def _content(self) -> tuple[str, Doubt | None]:
        kind = self.attributes.get("t", "n")
        value = self.value
        if kind == "s" and value is not None and value.strip():
            at = _whole(value.strip())
            if not 0 <= at < len(self.book.texts):
                return "?", bad_cell(f"its text, number {value.strip()[:20]}, is not in the file")
            value = self.book.texts[at]
        style = _whole(self.attributes.get("s", "0"))
        formats = self.book.formats
        code = formats[style] if 0 <= style < len(formats) else "General"
        return cell_text(Raw(kind, code, value, self.formula), since_1904=self.book.since_1904)

    def _claim(self, cells: int) -> None:
        """Refuse a sheet that speaks of the same places over and over: each costs time."""
        self.claimed += cells
        if self.claimed > 2 * MOST_ROWS * MOST_COLUMNS:
            raise unreadable(self.file, "its merged or hidden cells lie over one another")

    def _merge(self, reference: str) -> None:
        first, _, last = reference.partition(":")
        corner, opposite = place_of(first), place_of(last or first)
        if corner is None or opposite is None:
            raise unreadable(self.file, f"{reference[:20]!r} are no merged cells")
        self._claim(max(0, min(opposite[0], MOST_ROWS) - corner[0]) + 1)
        self.merged.append(Merged(*corner, *opposite))

    def table(self, name: str, others: tuple[str, ...]) -> CellTable:
        """Return what was read; `name` is that of the sheet, `others` are those that were not read."""
        rows = []
        for number in range(1, max(self.rows, default=0) + 1):
            row = self.rows.get(number, {})
            rows.append(tuple(row.get(column, "") for column in range(1, max(row, default=0) + 1)))
            check_record(rows[-1], number, self.file)
        return CellTable(
            tuple(rows),
            "a spreadsheet",
            doubts=self.doubts,
            hidden_rows=frozenset(self.hidden_rows),
            hidden_columns=frozenset(self.hidden_columns),
            merged=tuple(self.merged),
            sheet=name,
            other_sheets=others,
        )


class _CellFoundError(Exception):
    """Ends the reading of a sheet at its first filled cell."""


def _has_cells(package: Package, part: str) -> bool:
    def start(path: list[str], _: dict[str, str]) -> None:
        if len(path) == 5 and path[3] == "c" and path[-1] in ("v", "f", "is"):
            raise _CellFoundError

    try:
        package.read(part, start)
    except _CellFoundError:
        return True
    return False


def _is_hidden(attributes: dict[str, str], measure: str) -> bool:
    return attributes.get("hidden", "").casefold() in ("1", "true") or attributes.get(measure) in ("0", "0.0")


def _whole(text: str) -> int:
    """Return a whole number of at most seven digits, -1 for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 7 else -1


def place_of(reference: str) -> tuple[int, int] | None:
    """Return row and column of a cell's reference, None where it is none (18.18.7).

    >>> place_of("B7"), place_of("xfd1048576"), place_of("$AA$1"), place_of("A0"), place_of("A-1"), place_of("")
    ((7, 2), (1048576, 16384), (1, 27), None, None, None)
    """
    plain = reference.replace("$", "").upper()
    letters = plain[:4].rstrip("0123456789")
    row, column = _whole(plain[len(letters) :]), 0
    for letter in letters:
        column = column * 26 + _LETTERS.find(letter) + 1
    known = set(letters) <= set(_LETTERS)
    return (row, column) if known and row > 0 and 0 < column <= _MOST_COLUMNS else None


def column_letters(number: int) -> str:
    """Return the letters of a spreadsheet column.

    >>> column_letters(1), column_letters(26), column_letters(27), column_letters(16_384)
    ('A', 'Z', 'AA', 'XFD')
    """
    letters = ""
    while number > 0:
        number, rest = divmod(number - 1, 26)
        letters = _LETTERS[rest] + letters
    return letters
