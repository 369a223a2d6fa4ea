"""Errors that say the same of many rows, put into one sentence.

Two errors are alike if they have one code and the same words, but for the row, the plate, the name it speaks of and
figures: lengths, sizes and shares, of which the sentence says from where to where they go.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from nameplate.findings import Finding, row_ranges
from nameplate.system.grouping import grouped

#: From so many rows on errors that are alike become one sentence: with fewer each may as well tell its own name.
LEAST_ALIKE = 3

#: A name where sentences begin with it, or speak of it.
_OPENING = re.compile(r"^“[^”]*+”: ")
_NAME = re.compile(r"^“[^”]*+”|(?<=\bof )“[^“”]*+”|(?<=\bfor )“[^“”]*+”")

#: What is quoted, kept as it is, or a figure: a size, a number with decimals, a length in mm or a share.
_NUMBER = r"-?\b\d{1,9}+(?:\.\d{1,9}+)?+"
_FIGURE = re.compile(rf"(“[^“”]*+”|{_NUMBER} x {_NUMBER}|-?\b\d{{1,9}}+\.\d{{1,9}}+|-?\b\d{{1,9}}+(?= mm\b|%))")


def part_alike(errors: Iterable[Finding]) -> tuple[list[tuple[Finding, ...]], list[Finding]]:
    """Part errors on rows into those that are alike on at least LEAST_ALIKE rows, together, and all others.

    >>> some = [Finding("small", "error", f"“{n}”: {h} mm is too low", n, r) for r, n, h in ((2, "A", 1), (3, "B", 2))]
    >>> [len(found) for found in part_alike([*some, Finding("small", "error", "“C”: 7 mm is too low", "C", 9)])[0]]
    [3]
    >>> len(part_alike(some)[1]), part_alike([])
    (2, ([], []))
    """
    kinds = grouped((_words(error), error) for error in errors)
    many = {words: tuple(alike) for words, alike in kinds.items() if len({f.row for f in alike}) >= LEAST_ALIKE}
    return list(many.values()), [f for words, alike in kinds.items() if words not in many for f in alike]


def in_one(alike: Sequence[Finding], *, most: int) -> str:
    """Say once what errors that are alike say, and of which rows, at most so many runs of them.

    >>> in_one([Finding("small", "error", f"“A”: {h} mm is too low", "1", h) for h in (2, 4, 3)], most=9)
    '3 names: 2 to 4 mm is too low: rows 2-4'
    """
    pieces = [_FIGURE.split(_plain(finding)) for finding in alike]
    said = "".join(_range(texts) for texts in zip(*pieces, strict=True))
    rows = sorted({finding.row for finding in alike if finding.row is not None})
    return f"{len(rows)} {'names' if alike[0].plate else 'rows'}: {said}: {row_ranges(rows, most=most)}"


def _words(finding: Finding) -> tuple[str, ...]:
    """Give what errors that are alike have in common."""
    pieces = _FIGURE.split(_plain(finding))
    figures = [text if text.startswith("“") else "size" if " x " in text else "number" for text in pieces[1::2]]
    return (finding.code, "" if finding.plate is None else "plate", *pieces[::2], *figures)


def _plain(finding: Finding) -> str:
    """Give what an error says without the plate and without the name it speaks of."""
    text = finding.message.removeprefix(f"plate {finding.plate} ") if finding.plate else finding.message
    return _NAME.sub("each", _OPENING.sub("", text), count=1)


def _range(texts: Sequence[str]) -> str:
    """Say from where to where texts go that are all the same, or figures.

    >>> _range(["3.5", "3", "4.2"]), _range(["70 x 20", "30 x 40"]), _range(["so", "so"])
    ('3 to 4.2', '30 x 40 to 70 x 20', 'so')
    """
    if len(set(texts)) == 1:
        return texts[0]
    least, most = (way(texts, key=_size) for way in (min, max))
    return f"{least} to {most}"


def _size(text: str) -> float:
    """Give a number, or the product of two."""
    first, _, second = text.partition(" x ")
    return float(first) * float(second or 1)
