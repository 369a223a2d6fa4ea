"""What `nominal.json` says of a sheet, kept for later runs: entries as a JSON table, and back.

A sheet that was cut is told by the very entries that it was written with, whatever its plates look like now. So that
these are not taken for those of today, they go by the number of the version that they belong to.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from nameplate.cut.nominal_file import PartEntry, Same, SheetEntry
from nameplate.system.writing import Json


@dataclass(frozen=True, slots=True)
class KeptEntries:
    """The entry of a sheet that was cut, by its file, and the entries of its parts."""

    file: str
    sheet: SheetEntry
    parts: tuple[PartEntry, ...]


def needed(parts: Iterable[PartEntry], sheets: Iterable[SheetEntry]) -> tuple[PartEntry, ...]:
    """Give the entries that some sheets or drawings need, those that their windows are derived from among them.

    >>> needed([], [])
    ()
    """
    every = tuple(parts)
    wanted = {same for sheet in sheets for same, *_ in sheet.placed}
    wanted |= {located for part in every if part.same in wanted for located, *_ in part.windows}
    return tuple(part for part in every if part.same in wanted)


def entries_document(sheet: SheetEntry, parts: Mapping[Same, PartEntry]) -> Json:
    """Write the entry of a sheet, and of the parts that it needs, as a JSON table; `parts` has all there are."""
    own = [parts[same] for same in dict.fromkeys(same for same, *_ in sheet.placed)]
    located = dict.fromkeys(of for part in own for of, *_ in part.windows)  # these come before what is derived of them
    every = {part.same: part for part in (*(parts[same] for same in located), *own)}
    return {**asdict(sheet), "parts": [asdict(part) for part in every.values()]}


def entries_from(
    document: Json, file: str, *, version: Callable[[str, str, int], int], stale: Collection[str]
) -> KeptEntries:
    """Read such a table; raises KeyError, TypeError or ValueError where it is none.

    `version` gives the number of the version that a part (plate, kind, layer) is of; pieces of `stale` plates are not
    tried in what was made since.
    """

    def tagged(same: Sequence[Any]) -> Same:
        *rest, fits = same
        return (*rest, fits and same[0] not in stale, version(*same[:3]))

    def part(entry: Json) -> PartEntry:
        same = tagged(entry["same"])
        return PartEntry(
            same,
            {**entry["table"], "fits": same[-2]},
            tuple((str(text), int(count)) for text, count in entry["packs"]),
            tuple(tuple(map(int, solid)) for solid in entry["solids"]),
            tuple((tagged(located), float(by), str(beyond)) for located, by, beyond in entry["windows"]),
        )

    placed = tuple(
        (tagged(same), int(copy), float(x), float(y), float(t)) for same, copy, x, y, t in document["placed"]
    )
    return KeptEntries(file, SheetEntry(dict(document["table"]), placed), tuple(map(part, document["parts"])))
