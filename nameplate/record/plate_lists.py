"""Plates as people list them: ids, and ranges of ids that end in numbers."""

from __future__ import annotations

import re
from collections.abc import Iterator

#: Most plates that one range may name: a longer one is a slip.
MOST = 10_000

_RANGE = re.compile(r"(?P<stem>.*?)(?P<first>\d+)\s*(?:-|–|\.\.)\s*(?P<again>.*?)(?P<last>\d+)")


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
    found = _RANGE.fullmatch(item)
    if found is None or found["again"] not in ("", found["stem"]):
        return []
    first, last = int(found["first"]), int(found["last"])
    if not first <= last < first + MOST:
        return []
    return [f"{found['stem']}{number:0{len(found['first'])}d}" for number in range(first, last + 1)]
