"""A spreadsheet file to a table of cells, as its program shows them as far as a list of names needs it.

The first visible sheet is read. The file is looked at before it is unpacked in memory: a few bytes can claim a table
of a thousand million cells.
"""

from __future__ import annotations

import datetime
import re
import zipfile
from pathlib import Path

from nameplate.errors import RosterError
from nameplate.roster_text import MOST_COLUMNS, MOST_ROWS, Table, check_record

#: Most bytes the parts of a spreadsheet file may unpack to; more is no list of names.
MOST_UNPACKED = 200_000_000

#: A filled cell in a sheet's XML: its column letters and row.
_CELL = re.compile(rb"""<(?:\w+:)?c\b[^<>]*?\br=["']([A-Z]{1,3})(\d{1,7})["'][^<>]*>\s*<""")


def read_xlsx_table(path: Path) -> Table:
    """Return the table on the first visible sheet of an .xlsx file.

    Whole numbers lose their `.0`, dates are written year-month-day. Raises RosterError for a file that is no
    spreadsheet, is protected, or passes the limits of :mod:`nameplate.roster_text`.
    """
    import python_calamine as calamine

    check_archive(path)
    try:
        with calamine.load_workbook(path) as book:
            visible = [s.name for s in book.sheets_metadata if s.visible == calamine.SheetVisibleEnum.Visible]
            if not visible:
                raise RosterError(f"{path.name}: no sheet of this spreadsheet is visible")
            values = book.get_sheet_by_name(visible[0]).to_python(skip_empty_area=False)
    except calamine.PasswordError:
        raise RosterError(f"{path.name}: protected by a password; save it without one, or as CSV in UTF-8") from None
    except (calamine.CalamineError, OSError, ValueError) as error:
        raise _unreadable(path, str(error)) from None
    except BaseException as error:
        if type(error).__name__ != "PanicException":  # the reader's native code gave up; not an Exception
            raise
        raise _unreadable(path, "its contents are damaged") from None
    rows = tuple(tuple(cell_text(v) for v in row) for row in values)
    for number, row in enumerate(rows, 1):
        check_record(row, number, path.name)
    return Table(rows, "a spreadsheet")


def _unreadable(path: Path, reason: str) -> RosterError:
    return RosterError(f"{path.name}: cannot be read as an .xlsx spreadsheet: {reason}; save it as CSV in UTF-8")


def check_archive(path: Path) -> None:
    """Raise RosterError when a spreadsheet file is no zip archive or holds far more than a list of names."""
    try:
        with zipfile.ZipFile(path) as archive:
            if sum(i.file_size for i in archive.infolist()) > MOST_UNPACKED:
                raise RosterError(
                    f"{path.name}: unpacks to more than {MOST_UNPACKED // 1_000_000} MB; is it a list of names?"
                )
            for info in archive.infolist():
                if info.filename.startswith("xl/worksheets/") and info.filename.endswith(".xml"):
                    _check_extent(archive.read(info), path)
    except RosterError:
        raise
    except (zipfile.BadZipFile, OSError, ValueError, RuntimeError, EOFError) as error:
        raise _unreadable(path, str(error)) from None
    except Exception as error:  # a damaged deflate stream has an exception type of its own
        raise _unreadable(path, f"its contents are damaged ({error})") from None


def _check_extent(xml: bytes, path: Path) -> None:
    for match in _CELL.finditer(xml):
        if int(match[2]) > MOST_ROWS or column_number(match[1].decode("ascii")) > MOST_COLUMNS:
            raise RosterError(
                f"{path.name}: cell {match[1].decode('ascii')}{match[2].decode('ascii')} is filled, beyond {MOST_ROWS} "
                f"rows or {MOST_COLUMNS} columns; delete what does not belong to the list"
            )


def column_number(letters: str) -> int:
    """Return the number of a spreadsheet column.

    >>> column_number("A"), column_number("Z"), column_number("AA"), column_number("")
    (1, 26, 27, 0)
    """
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def cell_text(value: object) -> str:
    """Return a cell's value as text; a number that is whole has no decimals.

    >>> cell_text(7.0), cell_text(2.5), cell_text(True), cell_text(datetime.date(2026, 5, 1)), cell_text("")
    ('7', '2.5', 'TRUE', '2026-05-01', '')
    """
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, datetime.datetime):
        midnight = value.time() == datetime.time()
        return value.date().isoformat() if midnight else value.isoformat(" ", "seconds")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return str(value)
