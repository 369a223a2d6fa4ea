"""Finds the headings of a roster and says clearly what is missing when there are none."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, count, islice, takewhile

from nameplate.errors import RosterError
from nameplate.findings import Finding, row_ranges
from nameplate.roster.characters import clean
from nameplate.roster.delimited_text import HEADING_ROWS, CellTable
from nameplate.roster.headings import (
    CHOICE,
    COLUMNS,
    WHOLE,
    columns_called,
    heading_key,
    known_headings,
    meaning_of,
    name_options,
)

#: Headings that may be those of a column of names. Never taken for `name`, only pointed at.
PERHAPS_NAMES = frozenset({"sponsor", "sponsors", "person", "people", "donor", "member", "title", "text"})

#: How alike a heading and a known one must be for a hint (0 to 1). Lower would question every ordinary heading; short
#: words are alike by chance ("site" and "size"), so they must be nearer.
ALIKE = 0.7
ALIKE_SHORT = 0.8
_SHORT = 4

#: Columns, and ways to take names from columns, that one message names.
MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class Header:
    """Where the columns are. ``row`` is the row of the headings, ``width`` the number of columns under a heading.

    ``names`` are the columns whose cells are joined to a name; ``columns`` has where each other known column is, and
    ``extra`` by their places the titles of those that mean nothing.
    """

    row: int
    names: tuple[int, ...]
    columns: dict[str, int]
    extra: Mapping[int, str]
    width: int
    findings: tuple[Finding, ...] = ()

    @property
    def meanings(self) -> dict[int, str]:
        """What each column that means something is."""
        return dict.fromkeys(self.names, "name") | {at: column for column, at in self.columns.items()}


def read_header(table: CellTable, file: str, *, designs: bool = False) -> Header:
    """Return the headings of a table: of its first rows the one with most known headings, one of them for names.

    Without `designs` there is nothing to choose, and a column of them means nothing.

    Raises RosterError when the table is empty, has no heading for names, or when two columns could be the same one.
    """
    row = heading_row(table)
    if row is None:
        raise RosterError(f"{file}: the list is empty; its first row must be headings, one of them `name`")
    cells = table.rows[row - 1]
    headings = [clean(c).text for c in cells]
    keys = [heading_key(c) for c in cells]
    options = name_options(keys)
    wanted = [column for column in COLUMNS if column != "name" and (designs or column != CHOICE)]
    columns = {column: columns_called(column, keys) for column in wanted}
    problems = [f"{file}, row {row}: {p}" for p in (*_doubles(columns, headings), *_unclear_names(options, headings))]
    if not options:
        problems.append(_no_name(file, row, headings, keys))
    if problems:
        raise RosterError(problems)
    places = {column: at[0] for column, at in columns.items() if at}
    known = {*options[0], *places.values()}
    used = {at for below in table.rows[row:] for at, cell in enumerate(below) if cell.strip()}
    others = [at for at, key in enumerate(keys) if at not in known and (key or at in used)]
    width = max([*known, *others]) + 1
    findings = (
        *_titles_above(table, row, file),
        *_hints(headings, [c for c in wanted if c not in places], others, row),
    )
    return Header(row, options[0], places, _titles(headings, others), width, findings)


def perhaps_headings(cells: Sequence[str]) -> bool:
    """Whether a row may be one of headings though none is known to be for names: a list seldom has a name like these.

    >>> perhaps_headings(["Tree no.", "Sponsor"]), perhaps_headings(["Sort", "copies"]), perhaps_headings(["Held"])
    (True, True, False)
    """
    known, perhaps, _ = _likeness(cells)
    return not known and perhaps > 0 and (len(cells) > 1 or heading_key(cells[0]) in PERHAPS_NAMES)


def likely_meaning(heading: str) -> str:
    """Return the column that a heading means or may be meant for, empty where there is none.

    >>> likely_meaning("Qty"), likely_meaning("Sponsor"), likely_meaning("Variety")
    ('copies', 'name', '')
    """
    return meaning_of(heading) or ("name" if _may_be_names(heading_key(heading)) else "")


def heading_row(table: CellTable) -> int | None:
    """Return the row that looks most like headings; the first that is not blank when none does; None without any."""
    rows = islice(table.filled(), HEADING_ROWS)
    return max(rows, key=lambda row: _likeness(row[1]), default=(None, ()))[0]


def _likeness(cells: Sequence[str]) -> tuple[int, int, int]:
    """Rate a row: known headings with one for names, what may be meant for headings, cells with anything in them."""
    known, keys = known_headings(cells), [heading_key(c) for c in cells]
    perhaps = sum(key in PERHAPS_NAMES for key in keys) + sum(bool(columns_called(c, keys)) for c in COLUMNS)
    return known, perhaps, sum(bool(c.strip()) for c in cells) if known else 0


def _doubles(columns: dict[str, list[int]], headings: Sequence[str]) -> Iterator[str]:
    for column, at in columns.items():
        if len(at) > 1:
            listed = " and ".join(repr(headings[n]) for n in at[:MOST_NAMED]) + ", ..." * (len(at) > MOST_NAMED)
            yield f"{listed} could each be the column `{column}`; keep one"


def _unclear_names(options: Sequence[tuple[int, ...]], headings: Sequence[str]) -> Iterator[str]:
    """Ask which columns hold the names, where more than one way is possible."""
    if len(options) < 2:
        return
    ways = " or from ".join(" and ".join(repr(headings[at]) for at in option) for option in options[:MOST_NAMED])
    if len(options) > MOST_NAMED:
        ways += f" or in {len(options) - MOST_NAMED} more ways"
    halves = any(len(option) == 1 and heading_key(headings[option[0]]) not in WHOLE for option in options)
    advice = "; where two are first and last name, call them so, and they are joined" if halves else ""
    yield f"which column holds the names? They could be taken from {ways}; keep one, or rename the others{advice}"


def _titles_above(table: CellTable, row: int, file: str) -> Iterator[Finding]:
    """Yield one note about the rows above the headings."""
    above = dict(takewhile(lambda one: one[0] < row, table.filled()))
    if above:
        first = next(filter(None, (clean(c).text for c in next(iter(above.values())))))
        more = ", ..." if len(above) > 1 else ""
        text = (
            f"{file}: the headings are in row {row}; what stands above them was not read: {first[:40]!r}{more} "
            f"({row_ranges(above)})"
        )
        yield Finding("title-rows", "note", text)


def _titles(headings: list[str], others: list[int]) -> dict[int, str]:
    """Return a title of its own for each extra column: a nameless one is called by its number."""
    titles: dict[int, str] = {}
    for at in others:
        base = headings[at] or f"column {at + 1}"
        numbered = (f"{base} {number}" for number in count(2))
        titles[at] = next(title for title in chain([base], numbered) if title not in titles.values())
    return titles


def _hints(headings: list[str], free: list[str], others: list[int], row: int) -> Iterator[Finding]:
    """Yield a warning for each heading that is much like one of the columns that are `free`."""
    for at in others:
        close = difflib.get_close_matches(heading_key(headings[at]), free, n=1, cutoff=ALIKE)
        if close and (len(close[0]) > _SHORT or _ratio(heading_key(headings[at]), close[0]) >= ALIKE_SHORT):
            text = (
                f"the heading {headings[at]!r} means nothing to this program and is only passed on; if it is meant as "
                f"{close[0]!r}, rename it"
            )
            yield Finding("unknown-column", "warning", text, row=row)


def _ratio(a: str, b: str) -> float:
    return difflib.SequenceMatcher(None, a, b).ratio()


def _may_be_names(key: str) -> bool:
    return key in PERHAPS_NAMES or _ratio(key, "name") >= ALIKE


def _no_name(file: str, row: int, headings: list[str], keys: list[str]) -> str:
    shown = ", ".join(repr(h[:40]) for h in headings[:8] if h)
    text = (
        f"{file}, row {row}: no heading is `name` (found: {shown}); the first row must be headings, one of them `name`"
    )
    likely = [h for h, k in zip(headings, keys, strict=True) if k in PERHAPS_NAMES]
    likely += [h for h, k in zip(headings, keys, strict=True) if _may_be_names(k)]
    if likely:
        return f"{text}; if {likely[0]!r} is the column of names, rename it to `name`"
    if len([h for h in headings if h]) == 1:
        return f"{text}; if the file is a plain list of names, add a first line that says: name"
    return text
