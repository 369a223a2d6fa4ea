"""Reads a roster: the table of names, from delimited text or a spreadsheet, with every problem of every row at once.

The columns are those of :mod:`nameplate.roster.headings`, in any order; all others are kept for the worklist. A bad row
is a finding; only a file that is no list of names is an error.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from nameplate.errors import RosterError
from nameplate.findings import Finding, row_ranges
from nameplate.roster.characters import clean, describe, joined_lines, lines_of
from nameplate.roster.delimited_text import MOST_BYTES, CellTable, read_text_table
from nameplate.roster.doubts import doubts_of, without_piles
from nameplate.roster.header import Header, read_header
from nameplate.roster.headings import WHOLE, heading_key
from nameplate.roster.rules import LEFT_OUT, MOST_PIECES, SPACES, check_words, quoted, read_values
from nameplate.roster.spreadsheet import read_xlsx_table
from nameplate.system.reading import read_regular, shown

#: Endings of file names that are read as spreadsheets; all others are read as text.
SPREADSHEETS: tuple[str, ...] = (".xlsx", ".xlsm")

#: By how a file begins: what is certainly no list of names as text.
_NO_TEXTS: dict[bytes, str] = {
    b"PK\x03\x04": "a spreadsheet or another packed document",
    b"\xd0\xcf\x11\xe0": "a spreadsheet or another document",
    b"%PDF-": "a PDF file",
    b"{\\rtf": "a document with fonts and styles",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
}

#: Endings of spreadsheets in other formats, refused with advice.
OTHER_SPREADSHEETS: tuple[str, ...] = (".xls", ".xlsb", ".ods", ".numbers", ".gsheet")


#: The finding about a row that says the same as another one.
DUPLICATE = "duplicate-name"


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the roster, cleaned. ``number`` is its row in the user's program; what was left out is empty.

    ``lines`` are those of the name where its cell breaks it. A row on ``hold`` is kept and not made.
    """

    number: int
    name: str
    id: str = ""
    copies: int = 1
    line2: str = ""
    font: str = ""
    position: str = ""
    size: float | None = None
    mount: str = ""
    design: str = ""
    dx: float = 0.0
    dy: float = 0.0
    hold: bool = False
    extra: tuple[tuple[str, str], ...] = ()
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Roster:
    """All rows that are not blank, refused ones included, with what was found out about them.

    A row with an error among ``findings`` (same ``row`` number) must not be made; rows on hold have none.
    ``extra_columns`` are the headings that mean nothing to the program, in the order of the file.
    """

    rows: tuple[Row, ...]
    findings: tuple[Finding, ...] = ()
    extra_columns: tuple[str, ...] = ()


def read_roster(path: Path, *, designs: bool = False, lettered: Iterable[str] = ()) -> Roster:
    """Return the rows of a list of names and everything that is wrong with them; `designs` may be chosen in it.

    ``lettered`` are the headings of further columns whose cells are cut into material.

    Raises RosterError when the file cannot be read as a list of names at all: missing, too large, undecodable, broken
    quotes, no heading `name`, or no row.
    """
    file = shown(Path(path.name))
    return rows_of(table_of(read_bytes(path), path, file), file, designs=designs, lettered=lettered)


def read_bytes(path: Path) -> bytes:
    """Return the bytes of a list of names; raises RosterError when it is no ordinary file, or too large a one."""
    return read_regular(path, MOST_BYTES, RosterError, what="a list of names", larger="is it the right file?")


def table_of(data: bytes, path: Path, file: str) -> CellTable:
    """Return the table in the bytes of a list of names; the path's ending says what it is.

    ``file`` is the name that messages carry. Raises RosterError when they cannot be read.
    """
    ending = path.suffix.casefold()
    if ending in OTHER_SPREADSHEETS:
        raise RosterError(f"{file}: spreadsheets are read as .xlsx only; save it as .xlsx, or as CSV in UTF-8")
    if ending in SPREADSHEETS:
        return read_xlsx_table(data, file)
    kind = next((what for start, what in _NO_TEXTS.items() if data.startswith(start)), "")
    if kind:
        raise RosterError(f"{file}: this is {kind}, not text; save the list as .xlsx, or as CSV in UTF-8")
    return read_text_table(data, file)


def rows_of(table: CellTable, file: str, *, designs: bool = False, lettered: Iterable[str] = ()) -> Roster:
    """Return the roster in a table of cells. Raises RosterError when it has no heading `name` or no row."""
    lettered = frozenset(map(heading_key, lettered))
    table = without_piles(table)
    header = read_header(table, file, designs=designs)
    read = [_read_row(header, table, number, lettered) for number, _ in table.filled(header.row)]
    if not read:
        raise RosterError(f"{file}: the list has a heading and no names; write one name a row below it")
    rows = tuple(row for row, _ in read)
    pieces = sum(row.copies for row in rows)
    if pieces > MOST_PIECES:
        raise RosterError(
            f"{file}: the copies add up to {pieces} pieces, more than {MOST_PIECES}; make the job in parts"
        )
    findings = [*header.findings, *_joined_names(header, table, rows, file)]
    if table.guessed and any(not cell.isascii() for row in table.rows for cell in row):
        text = f"{file} is not UTF-8 and was read as {table.encoding}: check the accented letters"
        findings.append(Finding("guessed-encoding", "warning", text))
    found = _spaces_at_once([f for _, own in read for f in own], file)
    findings += _named((*doubts_of(table, header, file), *found), rows)
    findings += _invisible_rows(header, table)
    findings += _duplicates(rows, lettered)
    on_hold = {row.number for row in rows if row.hold}
    said = (replace(f, severity="warning") if f.severity == "error" and f.row in on_hold else f for f in findings)
    return Roster(rows, tuple(sorted(said, key=lambda f: f.row or 0)), tuple(header.extra.values()))


def _spaces_at_once(findings: list[Finding], file: str) -> list[Finding]:
    """Tell of spaces that are left out in one note where several rows have them: each alone would hide the others."""
    spaced = sorted({f.row or 0 for f in findings if f.code == SPACES})
    if len(spaced) < 2:
        return findings
    note = Finding("trimmed-spaces", "note", f"{file}: {LEFT_OUT} ({row_ranges(spaced)})")
    return [*(f for f in findings if f.code != SPACES), note]


def _joined_names(header: Header, table: CellTable, rows: Sequence[Row], file: str) -> Iterator[Finding]:
    """Yield one note where the names are not in a column of their own."""
    titles = [clean(table.rows[header.row - 1][at]).text for at in header.names]
    if len(titles) > 1 or heading_key(titles[0]) not in WHOLE:
        like = next((f", like {quoted(row.name)}" for row in rows if row.name), "")
        joined = "joined from the columns" if len(titles) > 1 else "taken from the column"
        text = f"{file}: the names are {joined} {' and '.join(map(repr, titles))}{like}"
        yield Finding("names-from", "note", text)


def _named(findings: Iterable[Finding], rows: tuple[Row, ...]) -> Iterator[Finding]:
    """Put the name of its row in front of each finding."""
    names = {row.number: row.name for row in rows}
    for f in findings:
        name = names.get(f.row or 0)
        yield replace(f, message=f"{quoted(name)}: {f.message}") if name else f


def _invisible_rows(header: Header, table: CellTable) -> Iterator[Finding]:
    """Yield a warning for each row that looks blank but is not empty."""
    for number, cells in enumerate(table.rows, 1):
        tidy = [clean(c) for c in cells]
        odd = tuple(dict.fromkeys(c for cell in tidy for c in cell.invisible))
        if number > header.row and odd and not any(cell.text for cell in tidy):
            text = f"there is nothing to see in it but {'; '.join(map(describe, odd[:6]))}; it was taken as a blank row"
            yield Finding("invisible-row", "warning", text, row=number)


def _read_row(header: Header, table: CellTable, number: int, lettered: frozenset[str]) -> tuple[Row, list[Finding]]:
    def cell(at: int) -> str:
        return table.cell(number, at + 1)

    cells = table.rows[number - 1]
    lines = _lines([cells[at] for at in header.names if at < len(cells)])
    raw = {key: cell(at) for key, at in header.columns.items()} | {"name": joined_lines(lines)}
    tidy = {key: clean(text) for key, text in raw.items()}
    text = {key: c.text for key, c in tidy.items()}
    found = [f for key in raw for f in check_words(key, raw[key], tidy[key], number)]
    if any(clean(c).text for c in cells[header.width :]):
        found.append(_spilled(cells, header, number))
    values, wrong = read_values(text, number)
    found += wrong
    extra = tuple((title, unicodedata.normalize("NFC", cell(at)).strip()) for at, title in header.extra.items())
    for heading, own in extra:
        if heading_key(heading) in lettered:
            found += check_words(heading, own, clean(own), number, lettered=True)
    plain = {key: text.get(key, "") for key in ("name", "id", "line2", "font", "position", "mount", "design")}
    wanted = tuple(clean(line).text for line in lines) if len(lines) > 1 else ()
    return Row(number, extra=extra, lines=wanted, **plain | values), found


def _lines(cells: Sequence[str]) -> list[str]:
    """Return the lines of a name whose parts are in these cells; a single line keeps its spaces, which are told.

    >>> _lines(["Ada", "Pell"]), _lines(["In memory of | Ada"]), _lines(["", "Bo "]), _lines([])
    (['Ada Pell'], ['In memory of', 'Ada'], ['Bo '], [''])
    """
    joined = cells[0] if len(cells) == 1 else " ".join(c for c in cells if c.strip())
    lines = lines_of(joined)
    seen = [line for line in lines if clean(line).text]
    return seen if len(seen) > 1 or (seen and lines != (joined.strip(" \t"),)) else [joined]


def _spilled(cells: tuple[str, ...], header: Header, number: int) -> Finding:
    shown = next(c for c in cells[header.width :] if c.strip())
    text = (
        f"the row has more cells than there are headings ({len(cells)} for {header.width}; {shown.strip()[:40]!r} "
        "has none); put quotation marks round a text with a comma or semicolon in it, or give the column a heading"
    )
    return Finding("too-many-cells", "error", text, row=number, measured=len(cells), allowed=header.width)


def _duplicates(rows: tuple[Row, ...], lettered: Collection[str]) -> Iterator[Finding]:
    """Yield a warning for every row with which all is written as on one before, and an error for every such id.

    Rows of one name are told apart by their design, and by what else is `lettered`: they are plates of their own.
    """
    written: dict[tuple[str, ...], Row] = {}
    ids: dict[str, Row] = {}
    for row in rows:
        own, key = _written(row, lettered), fold(row.id)
        if row.name and own in written:
            first = written[own].number
            text = (
                f"{quoted(row.name)} is also in row {first}; for several pieces use the column copies; where both are "
                "meant, approve it"
            )
            yield Finding("duplicate-name", "warning", text, plate=row.id or None, row=row.number)
        if key and key in ids:
            first = ids[key].number
            text = f"{quoted(row.name)}: the id {quoted(row.id)} is taken by row {first}; give each plate its own"
            yield Finding("duplicate-id", "error", text, row=row.number)
        written.setdefault(own, row)
        ids.setdefault(key, row)


def _written(row: Row, lettered: Collection[str]) -> tuple[str, ...]:
    """Give the texts by which one plate is told from another, for comparison; its design comes first.

    >>> _written(Row(2, "Ada", design="Tag", extra=(("Tree", "Quince"), ("Paid", "yes"))), ["tree"])
    ('tag', 'ada', '', 'quince')
    """
    shown = [getattr(row, key) for key in ("id", "position") if key in lettered]
    more = [clean(text).text for heading, text in row.extra if heading_key(heading) in lettered]
    return tuple(map(fold, (row.design, row.name, row.line2, *shown, *more)))


def fold(text: str) -> str:
    """Return a text for comparison: without case, in NFC.

    >>> fold("ÉVA") == fold("E" + chr(0x301) + "va"), fold("")
    (True, '')
    """
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", text).casefold())


def id_key(plate_id: str) -> str:
    """Return an id for comparison: without case, and a number without its leading zeros.

    >>> id_key("007") == id_key("7"), id_key("A7") == id_key("a7"), id_key("000")
    (True, True, '0')
    """
    key = fold(plate_id)
    return (key.lstrip("0") or "0") if key.isdecimal() and key.isascii() else key
