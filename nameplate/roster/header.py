"""Finds the headings of a roster and says clearly what is missing when there are none."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass

from nameplate.errors import RosterError
from nameplate.findings import Finding
from nameplate.roster.characters import clean
from nameplate.roster.delimited_text import CellTable

#: The headings that mean something, as they are documented.
COLUMNS: tuple[str, ...] = ("name", "id", "copies", "line2", "font", "position", "size", "mount", "dx", "dy")

#: Headings that people give a column of names. Never taken for `name`, only pointed at.
SYNONYMS = frozenset(
    {"names", "fullname", "displayname", "sponsor", "sponsors", "person", "people", "firstname", "givenname", "donor"}
    | {"nom", "nombre", "nome", "naam", "navn", "namn", "nimi", "imie", "nazwisko", "jmeno", "member", "title", "text"}
)

#: How alike a heading and a known one must be for a hint (0 to 1). Lower would question every ordinary heading; short
#: words are alike by chance ("site" and "size"), so they must be nearer.
ALIKE = 0.7
ALIKE_SHORT = 0.8
_SHORT = 4


@dataclass(frozen=True, slots=True)
class Header:
    """Where the columns are. ``row`` is the row of the headings, ``width`` the number of columns under a heading."""

    row: int
    columns: dict[str, int]
    extra: tuple[str, ...]
    extra_at: tuple[int, ...]
    width: int
    findings: tuple[Finding, ...] = ()


def heading_key(heading: str) -> str:
    """Return a heading for comparison: no case, spaces, underscores or hyphens.

    >>> heading_key(" Line_2 "), heading_key("")
    ('line2', '')
    """
    return re.sub(r"[\s_\-]+", "", clean(heading).text).casefold()


def read_header(table: CellTable, file: str) -> Header:
    """Return the headings of a table: its first row that is not blank.

    Raises RosterError when the table is empty, has no heading `name`, or has a known heading twice.
    """
    row = next((n for n, cells in enumerate(table.rows, 1) if any(clean(c).text for c in cells)), None)
    if row is None:
        raise RosterError(f"{file}: the list is empty; its first row must be headings, one of them `name`")
    cells = table.rows[row - 1]
    headings = [clean(c).text for c in cells]
    keys = [heading_key(c) for c in cells]
    problems = [
        f"{file}, row {row}: the heading {column!r} is there {keys.count(column)} times; keep one"
        for column in COLUMNS
        if keys.count(column) > 1
    ]
    if "name" not in keys:
        problems.append(_no_name(file, row, headings, keys))
    if problems:
        raise RosterError(problems)
    columns = {key: at for at, key in enumerate(keys) if key in COLUMNS}
    others = [at for at, key in enumerate(keys) if key not in COLUMNS and (key or _used(table, at, row))]
    width = max([*columns.values(), *others], default=0) + 1
    return Header(row, columns, _titles(headings, others), tuple(others), width, _hints(headings, columns, others, row))


def _used(table: CellTable, column: int, header: int) -> bool:
    return any(column < len(cells) and cells[column].strip() for cells in table.rows[header:])


def _titles(headings: list[str], others: list[int]) -> tuple[str, ...]:
    """Return a title of its own for each extra column: a nameless one is called by its number."""
    titles: list[str] = []
    for at in others:
        title = headings[at] or f"column {at + 1}"
        base, number = title, 2
        while title in titles:
            title, number = f"{base} {number}", number + 1
        titles.append(title)
    return tuple(titles)


def _hints(headings: list[str], columns: dict[str, int], others: list[int], row: int) -> tuple[Finding, ...]:
    found = []
    for at in others:
        free = [c for c in COLUMNS if c not in columns]
        close = difflib.get_close_matches(heading_key(headings[at]), free, n=1, cutoff=ALIKE)
        if close and (len(close[0]) > _SHORT or _ratio(heading_key(headings[at]), close[0]) >= ALIKE_SHORT):
            text = (
                f"the heading {headings[at]!r} means nothing to this program and is only passed on; if it is meant as "
                f"{close[0]!r}, rename it"
            )
            found.append(Finding("unknown-column", "warning", text, row=row))
    return tuple(found)


def _ratio(a: str, b: str) -> float:
    return difflib.SequenceMatcher(None, a, b).ratio()


def _no_name(file: str, row: int, headings: list[str], keys: list[str]) -> str:
    shown = ", ".join(repr(h[:40]) for h in headings[:8] if h)
    text = (
        f"{file}, row {row}: no heading is `name` (found: {shown}); the first row must be headings, one of them `name`"
    )
    likely = [h for h, k in zip(headings, keys, strict=True) if k in SYNONYMS]
    likely += [h for h, k in zip(headings, keys, strict=True) if _ratio(k, "name") >= ALIKE]
    if likely:
        return f"{text}; if {likely[0]!r} is the column of names, rename it to `name`"
    if len([h for h in headings if h]) == 1:
        return f"{text}; if the file is a plain list of names, add a first line that says: name"
    return text
