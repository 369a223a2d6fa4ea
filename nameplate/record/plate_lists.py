"""Plates as people list them: ids, and ranges of ids that end in numbers."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from string import digits

from nameplate.findings import named
from nameplate.roster.reader import fold, id_key

#: Most plates that one range may name: a longer one is a slip.
MOST = 10_000

_SEPARATOR = re.compile(r"[,;\s]+")

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
    for item in filter(None, _SEPARATOR.split(text)):
        yield from _range(item) or (item,)


def plates_among(given: Iterable[str], ids: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Give which of all `ids` are meant by some lists of plates, each once, and what is wrong with what means none.

    A number may lack its leading zeros; of a range those plates are meant that there are.

    >>> plates_among(["7", "009-011,x"], ["007", "009", "010", "012"])
    (('007', '009', '010'), ('there is no plate x; there are 007, 009, 010, 012',))
    """
    exact = {fold(plate): plate for plate in reversed(ids)}
    loose = {id_key(plate): plate for plate in reversed(ids)}
    found: dict[str, None] = {}
    problems: list[str] = []
    for item in (item for text in given for item in _SEPARATOR.split(text) if item):
        there = [exact.get(fold(plate)) or loose.get(id_key(plate)) for plate in plates_in(item)]
        found |= {plate: None for plate in there if plate}
        problems += [] if any(there) else [f"there is no plate {item}" + (f"; there are {named(ids)}" if ids else "")]
    return tuple(found), tuple(problems)


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
