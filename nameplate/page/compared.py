"""Names that come to the page compared with one another and with those of the list, before they are taken."""

from __future__ import annotations

from collections.abc import Iterator

from nameplate.findings import Finding, counted
from nameplate.model import Order
from nameplate.page.edits import NameList
from nameplate.paperwork.looks import near_names
from nameplate.roster.characters import clean
from nameplate.roster.reader import Roster, fold
from nameplate.roster.rules import quoted
from nameplate.ticket.starter import is_sample

#: Names that are on the list already and that one message names.
MOST_NAMED = 6


def compared(roster: Roster, names: NameList) -> Iterator[Finding]:
    """Yield which rows are nearly the same as another, and how many are the same as one of the list; the invented names
    of a new job are no list to compare with."""
    there: list[str] = []
    if not is_sample(names.data):
        there = [clean(" ".join(names.table.cell(row, at + 1) for at in names.header.names)).text for row in names.rows]
    listed = [Order("", -1, name) for name in there]
    came = {row.number: Order("", row.number, row.name) for row in roster.rows}
    for row, text in dict.fromkeys(near_names([*listed, *came.values()])):
        if row in came:
            yield Finding("near-name", "warning", f"{quoted(came[row].name)}: {text}", row=row)
    known = set(map(fold, there))
    if again := list(dict.fromkeys(row.name for row in roster.rows if row.name and fold(row.name) in known)):
        shown = ", ".join(map(quoted, again[:MOST_NAMED])) + ", ..." * (len(again) > MOST_NAMED)
        text = f"{counted(len(again), 'name', 'is', 'are')} on the list already: {shown}"
        yield Finding("listed-already", "warning", text)
