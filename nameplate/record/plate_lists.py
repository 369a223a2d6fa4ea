"""Plates as people list them: ids, and ranges of ids that end in numbers."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Iterator, Sequence
from string import digits

from nameplate.roster.reader import fold, id_key
from nameplate.system.grouping import grouped

#: Most plates that one range may name: a longer one is a slip.
MOST = 10_000

_SEPARATOR = re.compile(r"[,;\s]+")

#: Most digits of a number in an id: as many as Python reads whatever it is set to.
LONGEST = sys.int_info.str_digits_check_threshold


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


class CalledIds:
    """The ids of plates, as people call them: a number may lack its leading zeros where it is one plate's alone."""

    def __init__(self, ids: Iterable[str]) -> None:
        every = tuple(dict.fromkeys(ids))
        self._exact = {fold(plate): plate for plate in reversed(every)}  # of two alike the first
        self._loose = grouped((id_key(plate), plate) for plate in every)

    def called(self, name: str) -> tuple[str, ...]:
        """Give the plate that is called so; none where there is none, and several where it could be any of them.

        >>> [CalledIds(["007", "A3", "08", "8"]).called(name) for name in ("7", "a3", "8", "008", "9")]
        [('007',), ('A3',), ('8',), ('08', '8'), ()]
        """
        exact = self._exact.get(fold(name))
        return (exact,) if exact else tuple(self._loose.get(id_key(name), ()))


def several(name: str, plates: Sequence[str]) -> str:
    """Say that a name is that of several plates."""
    return f"{name} may be plate {' or '.join(plates)}; write it with its zeros"


def plates_among(given: Iterable[str], ids: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Give which of all `ids` are meant by some lists of plates, each once, and what is wrong with what means none.

    A number may lack its leading zeros; of a range those plates are meant that there are.

    >>> plates_among(["7", "009-011,x"], ["007", "009", "010", "012"])
    (('007', '009', '010'), ('there is no plate x; there are 007, 009, 010, 012',))
    >>> plates_among(["3"], ["03", "003"])
    ((), ('3 may be plate 03 or 003; write it with its zeros',))
    """
    known = CalledIds(ids)
    found: dict[str, None] = {}
    problems: list[str] = []
    for item in (item for text in given for item in _SEPARATOR.split(text) if item):
        there = [(name, known.called(name)) for name in plates_in(item)]
        found |= {plates[0]: None for _, plates in there if len(plates) == 1}
        problems += [several(name, plates) for name, plates in there if len(plates) > 1]
        if not any(plates for _, plates in there):
            problems.append(f"there is no plate {item}" + (f"; there are {in_ranges(ids)}" if ids else ""))
    return tuple(found), tuple(problems)


def in_ranges(ids: Iterable[str], *, most: int = 12) -> str:
    """List plates as a command takes them, by their numbers: three and more that follow one another as a range.

    At most so many are told.

    >>> in_ranges(["019", "002", "003", "004", "A7"]), in_ranges(["1", "2", "5", "7"], most=1)
    ('002-004, 019, A7', '1, 2 and 2 more')
    >>> in_ranges(["10", "9", "8", "11"]), in_ranges(["099", "100", "101", "8", "9", "010"])
    ('8-11', '8, 9, 010, 099-101')
    """
    runs: list[list[str]] = []
    then = ""
    for stem, number in sorted(map(_numbered, ids), key=lambda part: (part[0], int(part[1] or -1), len(part[1]))):
        if not number or stem + number != then:
            runs.append([])
        runs[-1].append(stem + number)
        then = f"{stem}{int(number) + 1:0{len(_numbered(runs[-1][0])[1])}d}" if number else ""
    told = [f"{run[0]}-{run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs[:most]]
    more = sum(map(len, runs[most:]))
    return ", ".join(told) + (f" and {more} more" if more else "")


def plates_in_words(ids: Sequence[str]) -> str:
    """Name a plate, or some with how many they are.

    >>> plates_in_words(["007"]), plates_in_words(["007", "008", "009"])
    ('plate 007', '3 plates (007-009)')
    """
    return f"plate {ids[0]}" if len(ids) == 1 else f"{len(ids)} plates ({in_ranges(ids)})"


def _range(item: str) -> list[str]:
    left, mark, right = item.replace("–", "-").rpartition("-")
    (stem, first), (again, last) = _numbered(left), _numbered(right)
    is_range = mark and first and last and again in ("", stem) and int(first) <= int(last) < int(first) + MOST
    return [f"{stem}{n:0{len(first)}d}" for n in range(int(first), int(last) + 1)] if is_range else []


def _numbered(text: str) -> tuple[str, str]:
    """Part a text into what stands before its last digits, and those; digits that are no number count as none."""
    stem = text.rstrip(digits)
    number = text[len(stem) :]
    return (stem, number) if len(number) <= LONGEST else (text, "")
