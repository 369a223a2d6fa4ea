"""Tables for spreadsheet programs, as CSV and as XLSX: every letter right, and no cell that is run as a formula."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime

#: A spreadsheet program takes a cell that begins so for a formula.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")

_PLAIN_NUMBER = re.compile(r"[-+]?[0-9]+(?:[.,][0-9]+| [0-9]+/[0-9]+)?")

#: When every XLSX file says that it was made: the same table is the same bytes on any day. The first date of ZIP files.
_MADE = datetime(1980, 1, 1)

#: Widest column of an XLSX file, in letters.
_WIDEST = 40


def csv_text(headings: Sequence[str], rows: Sequence[Mapping[str, str]]) -> str:
    """Return a table as CSV (RFC 4180) that spreadsheet programs open with every letter right.

    It starts with a byte order mark, by which they see UTF-8; a cell that they would run as a formula gets an
    apostrophe in front, plain numbers do not.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([safe_cell(h) for h in headings])
    writer.writerows([safe_cell(row[h]) for h in headings] for row in rows)
    return "\ufeff" + text.getvalue()


def xlsx_bytes(
    name: str, headings: Sequence[str], rows: Sequence[Mapping[str, str]], *, numbers: Collection[str] = ()
) -> bytes:
    """Return a table as an XLSX file with one sheet called `name`, its headings kept in sight, to filter and sort by.

    The cells are those of :func:`csv_text`, all of them text but those of the columns `numbers` that hold one.
    """
    from xlsxwriter import Workbook

    file = io.BytesIO()
    with Workbook(file, {"in_memory": True}) as book:
        book.set_properties({"created": _MADE})
        sheet = book.add_worksheet(name)
        bold = book.add_format({"bold": True})
        for column, heading in enumerate(headings):
            cells = [safe_cell(row[heading]) for row in rows]
            sheet.set_column(column, column, min(_WIDEST, 2 + max(map(len, (heading, *cells)))))
            sheet.write_string(0, column, safe_cell(heading), bold)
            for line, cell in enumerate(cells, 1):
                if cell and heading in numbers:
                    sheet.write_number(line, column, float(cell))
                elif cell:
                    sheet.write_string(line, column, cell)
        sheet.freeze_panes(1, 0)
        sheet.autofilter(0, 0, max(1, len(rows)), len(headings) - 1)
    return file.getvalue()


def safe_cell(text: str) -> str:
    """Return a cell that no spreadsheet program takes for a formula.

    >>> safe_cell("=1+1"), safe_cell("-Ada"), safe_cell("-2,5"), safe_cell("Ada"), safe_cell("")
    ("'=1+1", "'-Ada", '-2,5', 'Ada', '')
    """
    if text.lstrip(" ").startswith(_FORMULA_STARTS) and not _PLAIN_NUMBER.fullmatch(text):
        return "'" + text
    return text
