"""What is said about a list whose cells, rows or sheets may not be what they seem: nothing is lost silently."""

from __future__ import annotations

import dataclasses
import unicodedata
from collections.abc import Iterator

from nameplate.findings import Finding, row_ranges
from nameplate.roster.cells import Doubt, error_doubt, is_error, is_shortened
from nameplate.roster.delimited_text import CellTable
from nameplate.roster.header import Header

#: More marks in a row than any script puts on one letter (UAX #15, 12, Stream-Safe Text Format); sorting them takes
#: the square of their number.
MOST_MARKS_IN_A_ROW = 30

#: Doubtful cells of one row that are told one by one, in columns that mean nothing to the program.
MOST_OTHERS = 2

#: Columns in which digits have a meaning of their own; elsewhere a shortened number does no harm.
_CODES = ("name", "id", "line2", "position")


def without_piles(table: CellTable) -> CellTable:
    """Return the table with every pile of accents cut to MOST_MARKS_IN_A_ROW, and a doubt about each such cell."""
    rows = tuple(tuple(map(_cut, cells)) for cells in table.rows)
    doubt = Doubt(
        "stray-mark", f"more than {MOST_MARKS_IN_A_ROW} accents on one letter; they are cut off in what follows"
    )
    piles = {
        (number, column): doubt
        for number, (cells, cut) in enumerate(zip(table.rows, rows, strict=True), 1)
        for column, (before, after) in enumerate(zip(cells, cut, strict=True), 1)
        if before != after
    }
    return dataclasses.replace(table, rows=rows, doubts={**table.doubts, **piles})


def _cut(cell: str) -> str:
    if len(cell) <= MOST_MARKS_IN_A_ROW or cell.isascii():
        return cell
    kept: list[str] = []
    run = 0
    for c in cell:
        run = run + 1 if unicodedata.combining(c) else 0
        if run <= MOST_MARKS_IN_A_ROW:
            kept.append(c)
    return "".join(kept)


def doubts_of(table: CellTable, header: Header, file: str) -> Iterator[Finding]:
    """Yield what is to be said about the cells, the hidden places and the other sheets of a table."""
    filled = [n for n, cells in enumerate(table.rows, 1) if n > header.row and any(c.strip() for c in cells)]
    yield from _cells(table, header)
    yield from _merged(table, header, filled)
    hidden = [n for n in filled if n in table.hidden_rows]
    if hidden:
        text = (
            f"{file}: {'a hidden row was' if len(hidden) == 1 else f'{len(hidden)} hidden rows were'} read like all "
            f"others ({row_ranges(hidden)}); delete what is not to be made"
        )
        yield Finding("hidden-rows", "warning", text)
    out_of_sight = dict.fromkeys(name for at, name in header.meanings.items() if at + 1 in table.hidden_columns)
    if out_of_sight:
        text = f"{file}: hidden columns were read like all others: {', '.join(out_of_sight)}"
        yield Finding("hidden-columns", "warning", text)
    if table.other_sheets:
        shown = ", ".join(table.other_sheets[:6]) + (", ..." if len(table.other_sheets) > 6 else "")
        text = f"{file}: only the first visible sheet, {table.sheet!r}, was read; not read: {shown}"
        yield Finding("other-sheets", "warning", text)


def _cells(table: CellTable, header: Header) -> Iterator[Finding]:
    used = header.meanings
    titles = {**header.extra, **used}
    others: dict[int, int] = {}
    for (row, column), doubt in sorted(_all_doubts(table, header, used).items()):
        means = row > header.row and column - 1 in used
        if means and used[column - 1] == "hold" and doubt.code == "not-a-text":
            continue  # a truth value is what that column is for
        severity = doubt.used if means else doubt.extra
        if severity is None or (row > header.row and column > header.width):
            continue
        others[row] = others.get(row, 0) + (not means)
        if means or others[row] <= MOST_OTHERS:
            place = "in the headings" if row <= header.row else f"column {titles.get(column - 1, column)}"
            yield Finding(doubt.code, severity, f"{place}: {doubt.message}", row=row)
    for row, count in others.items():
        if count > MOST_OTHERS:
            left = count - MOST_OTHERS
            text = (
                f"{left} more cell{' of this row has' if left == 1 else 's of this row have'} something wrong; look at "
                "the row in your spreadsheet"
            )
            yield Finding("more-cells", "warning", text, row=row)


def _all_doubts(table: CellTable, header: Header, used: dict[int, str]) -> dict[tuple[int, int], Doubt]:
    """Return the doubts of the reader and those that the texts themselves raise."""
    found = {}
    for number, cells in enumerate(table.rows, 1):
        if number > header.row:
            for column, cell in enumerate(cells):
                if cell[:1] in "#E" and is_error(cell.strip()):
                    found[number, column + 1] = error_doubt(cell.strip())
                elif "+" in cell and used.get(column) in _CODES and is_shortened(cell.strip()):
                    message = f"{cell.strip()} looks like a long number whose digits a spreadsheet has cut off"
                    found[number, column + 1] = Doubt("long-number", message, "warning")
    return found | dict(table.doubts)


def _merged(table: CellTable, header: Header, filled: list[int]) -> Iterator[Finding]:
    """Yield an error for each row that shows the content of a row above in a column that means something."""
    known = set(filled)
    for merged in table.merged:
        here = [name for at, name in header.meanings.items() if merged.column <= at + 1 <= merged.last_column]
        columns = list(dict.fromkeys(here))
        rows = range(max(merged.row, header.row) + 1, min(merged.last_row, len(table.rows)) + 1)
        for row in (r for r in rows if columns and r in known):
            text = (
                f"{' and '.join(columns)}: the cell is merged with that of row {merged.row}, which alone has the "
                "content; unmerge the cells and fill each"
            )
            yield Finding("merged-cells", "error", text, row=row)
