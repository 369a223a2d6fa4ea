"""Plates as people list them: ids, and ranges of ids that end in numbers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from string import digits

#: Most plates that one range may name: a longer one is a slip.
MOST = 10_000

#: Most digits of a number in an id.
LONGEST = 12


def plates_in(text: str) -> Iterator[str]:
    """Yield the ids that a list of plates names, in its order: parted by commas or spaces, ranges with a hyphen.

    A range keeps the form of its first number. What is no range by its form, or goes backwards, is an id.

    >>> list(plates_in("017,020-022 A-9"))
    ['017', '020', '021', '022', 'A-9']
    >>> list(plates_in("K8-K10, 5-3")), list(plates_in(""))
    (['K8', 'K9', 'K10', '5-3'], [])
    """
    for item in filter(None, re.split(r"[,;\s]+", text)):
        yield from _range(item) or (item,)


def _range(item: str) -> list[str]:
    left, mark, right = item.replace("–", "-").rpartition("-")
    (stem, first), (again, last) = _numbered(left), _numbered(right)
    if not (mark and first and last) or again not in ("", stem):
        return []
    if not int(first) <= int(last) < int(first) + MOST:
        return []
    return [f"{stem}{number:0{len(first)}d}" for number in range(int(first), int(last) + 1)]


def _numbered(text: str) -> tuple[str, str]:
    """Part a text into what stands before its last digits, and those; digits that are no number count as none."""
    stem = text.rstrip(digits)
    number = text[len(stem) :]
    return (stem, number) if len(number) <= LONGEST else (text, "")
