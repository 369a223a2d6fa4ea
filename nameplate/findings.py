"""What the tool found out about a job: problems and remarks, each with the row and the numbers it speaks of."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, islice
from typing import Literal

Severity = Literal["error", "warning", "note"]

#: Most urgent first; the order in which findings are shown.
SEVERITIES: tuple[Severity, ...] = ("error", "warning", "note")


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a person should know.

    ``error``: something asked for was not made. ``warning``: made, but look at it before cutting. ``note``: something
    to do or to decide. What asks nothing of anybody is a figure of the summary and no finding.
    ``code`` is a stable kebab-case word; ``row`` the line of the roster as the user's program numbers it
    (the header is row 1); ``measured`` and ``allowed`` are in the unit the message names.
    """

    code: str
    severity: Severity
    message: str
    plate: str | None = None
    row: int | None = None
    measured: float | None = None
    allowed: float | None = None


def sort_findings(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Order findings for reading: errors first, then by row; the order within one row is kept.

    >>> [f.code for f in sort_findings([Finding("b", "note", ""), Finding("a", "error", "")])]
    ['a', 'b']
    >>> sort_findings([])
    ()
    """
    return tuple(sorted(findings, key=lambda f: (SEVERITIES.index(f.severity), f.row or 0)))


def has_errors(findings: Iterable[Finding]) -> bool:
    """Tell whether any finding is an error.

    >>> has_errors([])
    False
    """
    return any(f.severity == "error" for f in findings)


def errors_in(findings: Iterable[Finding]) -> tuple[str, ...]:
    """Give what the errors among findings say, each once.

    >>> errors_in([Finding("a", "error", "torn"), Finding("b", "note", "old"), Finding("c", "error", "torn")])
    ('torn',)
    """
    return tuple(dict.fromkeys(f.message for f in findings if f.severity == "error"))


def kinds_of(findings: Iterable[Finding], *, worst_first: bool = True) -> tuple[tuple[Finding, ...], ...]:
    """Gather findings by their codes, in the order in which each first appears.

    Within a kind the worst comes first: whose figure is farthest from what is allowed, in either direction. Those
    without figures keep their order; so do all when not ``worst_first``.

    >>> [len(kind) for kind in kinds_of(Finding(code, "note", "") for code in "aba")]
    [2, 1]
    >>> kinds_of([])
    ()
    """
    by_code: dict[str, list[Finding]] = {}
    for finding in findings:
        by_code.setdefault(finding.code, []).append(finding)
    return tuple(
        tuple(sorted(found, key=lambda f: -_excess(f)) if worst_first else found) for found in by_code.values()
    )


def _excess(finding: Finding) -> float:
    """Tell how far a figure is from what is allowed: the size of their ratio's logarithm."""
    if not finding.measured or not finding.allowed or finding.measured * finding.allowed <= 0:
        return 0.0
    return abs(math.log(finding.measured / finding.allowed))


def row_ranges(rows: Iterable[int], *, most: int = 12) -> str:
    """Name rows compactly, in their order, runs as ranges, at most so many of them.

    >>> row_ranges([2, 3, 4, 7]), row_ranges([5]), row_ranges([2, 4, 6], most=2)
    ('rows 2-4, 7', 'row 5', 'rows 2, 4, ...')
    >>> row_ranges([])
    ''
    """
    ahead = groupby(enumerate(rows), key=lambda at: at[1] - at[0])  # a row is as far ahead of its place all along a run
    runs = [[row for _, row in run] for _, run in ahead]
    if not runs:
        return ""
    named = [str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs[:most]]
    word = "row" if len(runs) == len(runs[0]) == 1 else "rows"
    return f"{word} {', '.join(named)}{', ...' * (len(runs) > most)}"


def counted(count: int, what: str, one: str = "", many: str = "") -> str:
    """Say how many there are of something; and what `one` of them, or `many`, do or are.

    >>> counted(1, "sheet"), counted(2, "sheet"), counted(1, "name", "is", "are"), counted(2, "name", "is", "are")
    ('1 sheet', '2 sheets', '1 name is', '2 names are')
    """
    ending, does = ("", one) if count == 1 else ("s", many)
    return f"{count} {what}{ending} {does}".rstrip()


def brief(text: str, most: int = 60) -> str:
    """Cut a text to so many characters, so that it fits a message.

    >>> brief("width"), brief("x" * 1000, 9), len(brief("x" * 1000))
    ('width', 'xxxxxx...', 60)
    """
    return text if len(text) <= most else f"{text[: most - 3]}..."


def enumerated(things: Sequence[str], word: str = "and") -> str:
    """Name all of some things, the last behind a word.

    >>> enumerated(["a", "b", "c"], "or"), enumerated(["a"]), enumerated([])
    ('a, b or c', 'a', '')
    """
    return f" {word} ".join(filter(None, (", ".join(things[:-1]), *things[-1:])))


def named(names: Collection[str], *, most: int = 12) -> str:
    """List some names, at most so many, and how many more there are.

    >>> named(["a", "b"]), named(["a", "b", "c", "d"], most=3)
    ('a, b', 'a, b, c and 1 more')
    """
    return ", ".join(islice(names, most)) + (f" and {len(names) - most} more" if len(names) > most else "")
