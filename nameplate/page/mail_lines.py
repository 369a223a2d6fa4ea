"""Lines of a mail read as rows: a number in front is left out, what stands behind a dash gets a column of its own.

Nothing of this is done unless somebody says so: a name may begin with a number, and have a dash in it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

#: A number or a mark in front of a line, as mail programs and people count: "1. ", "12) ", "- ", "• ".
_NUMBER = re.compile(r"\(?[0-9]{1,4} ?[.):]{1,2}|[-–—•*·](?=\s)")

#: A dash between spaces; one without them joins two names.
_DASH = re.compile(r"\s[-–—]+\s")


@dataclass(frozen=True, slots=True)
class Habits:
    """How many of some lines have a number in front, and how many a dash; `bare` are those without the number that most
    others have, by their places from 0."""

    lines: int
    numbered: int
    dashed: int
    bare: tuple[int, ...]

    def __bool__(self) -> bool:
        """Whether there is anything to ask: most lines have one of them."""
        return self.has_numbers or self.has_dashes

    @property
    def has_numbers(self) -> bool:
        """Whether most lines have a number."""
        return self.lines > 1 and 2 * self.numbered > self.lines

    @property
    def has_dashes(self) -> bool:
        """Whether most lines have a dash."""
        return self.lines > 1 and 2 * self.dashed > self.lines


def habits_of(lines: Sequence[str]) -> Habits:
    """Tell how lines are written; blank ones do not count.

    >>> habits = habits_of(["Hello!", "", "1. Ida Quill - Bardsey", "2.Bo Pell – Discovery"])
    >>> habits.lines, habits.numbered, habits.dashed, habits.bare
    (3, 2, 2, (0,))
    >>> bool(habits_of(["Ida Quill-Pell", "3 Oaks"]))
    False
    """
    filled = [at for at, line in enumerate(lines) if line.strip()]
    bare = tuple(at for at in filled if not _behind_number(lines[at]))
    dashed = sum(bool(_DASH.search(_behind_number(lines[at]) or lines[at])) for at in filled)
    return Habits(len(filled), len(filled) - len(bare), dashed, bare)


def _behind_number(line: str) -> str:
    """Give what stands behind the number of a line; nothing where it has none."""
    text = line.strip()
    number = _NUMBER.match(text)
    return text[number.end() :].strip() if number else ""


def rows_of_lines(lines: Sequence[str], *, numbers: bool, numbered_only: bool, heading: str) -> list[list[str]]:
    """Give lines as rows, headings first: without `numbers`, or those alone that have one, and where there is a heading
    for it, what stands behind the last dash of each in a column of its own. Rows that are left out are blank.

    >>> lines = ["Hello!", "1. Ida Quill - Bardsey", "2) Bo"]
    >>> rows_of_lines(lines, numbers=True, numbered_only=True, heading="tree")
    [['name', 'tree'], [], ['Ida Quill', 'Bardsey'], ['Bo', '']]
    >>> rows_of_lines(lines[1:], numbers=False, numbered_only=False, heading="")
    [['name'], ['1. Ida Quill - Bardsey'], ['2) Bo']]
    """
    rows = [["name", heading] if heading else ["name"]]
    for line in lines:
        behind = _behind_number(line)
        text = (behind or line) if numbers else line
        dashes = list(_DASH.finditer(text)) if heading else []
        if numbered_only and not behind:
            rows.append([])
        elif heading:
            cut = dashes[-1].span() if dashes else (len(text), len(text))
            rows.append([text[: cut[0]].strip(), text[cut[1] :].strip()])
        else:
            rows.append([text])
    return rows
