"""Taking typed values out of a JSON document that anybody may have changed, and collecting what is wrong with it.

Every value is asked for by the kind it must have and the range it must lie in. A wrong one becomes a sentence with the
path of its field, like `sheets[2].placements[5].x`, and a harmless value is read in its place, so that one reading
finds every fault; whoever reads looks at `problems` before using anything.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from nameplate.errors import GeometryError, LayoutError
from nameplate.geometry.region import Region, union
from nameplate.geometry.rings import simple_ring
from nameplate.system.reading import read_json, shown

Read = TypeVar("Read")

#: Coordinates and sizes in a stored file lie within this many mm: a kilometre, ten times the longest length of a
#: ticket. Rounding of floats stays under a tenth of a micrometre.
FARTHEST = 1e6

#: Counts and prices in a stored file are at most this.
MOST = 1e9

#: Names in a stored file have at most so many characters.
LONGEST_TEXT = 1000

#: Outlines in a stored file have at most so many corners in all; a remainder of a full sheet has some thousands.
MOST_CORNERS = 100_000

#: Faults of one file that are told; more say no more.
MOST_TOLD = 20

#: A wrong value is shown to this many characters.
SHOWN = 60


def read_document(path: Path, largest: int, parse: Callable[[object], Read], *, what: str) -> Read:
    """Read a JSON file of at most `largest` bytes; raises LayoutError, naming the file and all that `parse` refuses."""
    document = read_json(path, largest, LayoutError, what=what)
    try:
        return parse(document)
    except LayoutError as error:
        raise LayoutError([f"{shown(path)}: {problem}" for problem in error.problems]) from error


def check_version(document: object, wanted: int, refusal: str) -> None:
    """Raise LayoutError with a `refusal`, the version that was found put in, for a document of another version."""
    version = document.get("version") if isinstance(document, dict) else None
    if isinstance(version, bool) or version != wanted:
        raise LayoutError(refusal.format(shown_value(version)))


@dataclass
class Fields:
    """Reads fields, each by its table and key, and collects `problems`."""

    problems: list[str] = field(default_factory=list)
    corners: int = 0

    def refuse(self) -> None:
        """Raise LayoutError with the problems found, the first of very many; nothing without any."""
        more = len(self.problems) - MOST_TOLD
        if self.problems:
            raise LayoutError([*self.problems[:MOST_TOLD], *([f"and {more} more faults"] if more > 0 else [])])

    def wrong(self, path: str, expected: str, value: object) -> None:
        """Note that a field holds something else than expected."""
        self.problems.append(f"{path}: expected {expected}, not {shown_value(value)}")

    def table(self, value: object, path: str, known: Sequence[str]) -> Mapping[str, Any]:
        """Give a table, all of whose keys are known; an empty one in place of anything else."""
        if not isinstance(value, dict):
            self.wrong(path, "a table", value)
            return {}
        for key in value:
            if key not in known:
                self.problems.append(f"{path}: unknown key {shown_value(key)}; expected {', '.join(known)}")
        return value

    def rows(self, table: Mapping[str, Any], key: str, path: str) -> Iterator[tuple[str, Any]]:
        """Give the values of a list, none where it is left out, each with its path."""
        value = table.get(key, [])
        where = f"{path}.{key}" if path else key
        if not isinstance(value, list):
            self.wrong(where, "a list", value)
            return
        yield from ((f"{where}[{n}]", row) for n, row in enumerate(value, 1))

    def text(self, value: object, path: str, *, least: int = 1) -> str:
        """Give a text of some length."""
        if isinstance(value, str) and least <= len(value) <= LONGEST_TEXT:
            return value
        self.wrong(path, f"a text of {least} to {LONGEST_TEXT} characters", value)
        return ""

    def number(
        self, value: object, path: str, *, least: float = -FARTHEST, most: float = FARTHEST, above: bool = False
    ) -> float:
        """Give a number from `least`, or `above` it, to `most`."""
        if isinstance(value, int | float) and not isinstance(value, bool) and _within(value, least, most, above):
            return float(value)
        self.wrong(
            path,
            f"a number {'above' if above else 'from'} {least:g} {'and at most' if above else 'to'} {most:g}",
            value,
        )
        return 1.0

    def count(self, value: object, path: str, *, least: int, most: int = int(MOST)) -> int:
        """Give a whole number from `least` to `most`."""
        if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
            return value
        self.wrong(path, f"a whole number from {least} to {most}", value)
        return least

    def flag(self, value: object, path: str) -> bool:
        """Give true or false."""
        if not isinstance(value, bool):
            self.wrong(path, "true or false", value)
        return value is True

    def choice(self, value: object, path: str, choices: Sequence[str]) -> str:
        """Give one of some words."""
        if isinstance(value, str) and value in choices:
            return value
        self.wrong(path, f"one of {', '.join(choices)}", value)
        return choices[0]

    def place(self, table: Mapping[str, Any], key: str, path: str) -> tuple[float, float] | None:
        """Give a place [x, y], neither below 0, None where it is left out."""
        if key not in table:
            return None
        found = [self.number(value, where, least=0) for where, value in self.rows(table, key, path)]
        if len(found) != 2:
            self.wrong(f"{path}.{key}", "a place [x, y]", table[key])
            return None
        return found[0], found[1]

    def region(self, table: Mapping[str, Any], key: str, path: str) -> Region | None:
        """Give a region as `region_document` writes it, None where it is left out; none of its rings crosses itself."""
        if key not in table:
            return None
        before = len(self.problems)
        solids = [
            (where, ring, holes)
            for where, row in self.rows(table, key, path)
            for solid in [self.table(row, where, ("outer", "holes"))]
            for ring in [self._ring(solid.get("outer"), f"{where}.outer")]
            for holes in [[self._ring(hole, inner) for inner, hole in self.rows(solid, "holes", where)]]
        ]
        if self.corners > MOST_CORNERS:
            self.problems.append(
                f"{path}.{key}: the outlines have over {MOST_CORNERS} corners, too many to lay parts in"
            )
        if len(self.problems) > before:
            return None
        try:
            return union(*(self._solid(*solid) for solid in solids))
        except GeometryError as error:
            self.problems.append(str(error))
            return None

    def _solid(self, path: str, ring: list[tuple[float, float]], holes: list[list[tuple[float, float]]]) -> Region:
        try:
            return simple_ring(ring, holes)
        except GeometryError as error:
            raise GeometryError(f"{path}: {error}") from error

    def _ring(self, value: object, path: str) -> list[tuple[float, float]]:
        if not isinstance(value, list) or len(value) < 3:
            self.wrong(path, "at least three corners, each [x, y]", value)
            return []
        self.corners += len(value)
        if self.corners > MOST_CORNERS:
            return []
        return [self._corner(row, f"{path}[{n}]") for n, row in enumerate(value, 1)]

    def _corner(self, value: object, path: str) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            self.wrong(path, "a corner [x, y]", value)
            return 0.0, 0.0
        return self.number(value[0], path), self.number(value[1], path)


def _within(value: float, least: float, most: float, above: bool) -> bool:
    return math.isfinite(value) and least <= value <= most and not (above and value == least)


def shown_value(value: object) -> str:
    """Give a value of a JSON document for a message, a long one cut short.

    >>> shown_value("a" * 100)[-10:]
    'aaaaaa..."'
    >>> shown_value([1, 2]), shown_value({}), shown_value(None)
    ('a list of 2', 'a table of 0', 'nothing')
    """
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return f"a table of {len(value)}"
    if value is None:
        return "nothing"
    if isinstance(value, str) and len(value) > SHOWN:
        value = value[:SHOWN] + "..."
    return json.dumps(value, ensure_ascii=False)
