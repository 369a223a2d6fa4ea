"""The record of what each file of a run must come to, so that the files can be inspected later: `nominal.json`.

Each part is written once, in plate coordinates, however many copies of it lie on whatever sheets; a ring that several
parts share (the frame of a batch's templates) is written once, too. Rings are thinned out by THIN and packed.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from itertools import chain
from typing import Any

import numpy as np

from nameplate.cut.expectation import DropIn, ExpectedPart, SheetExpectation
from nameplate.cut.order import placed_marks
from nameplate.cut.packing import STEP, pack, pack_whole, whole
from nameplate.geometry import region
from nameplate.geometry.region import Array, Region

#: The record's name in the out folder.
RECORD = "nominal.json"

VERSION = 2

#: How much (mm) the outlines are thinned out: a thirtieth of what the inspection allows. With half, the record is a
#: tenth longer.
THIN = 0.001

#: Farthest (mm) a recorded outline may lie from the one that was judged in the run; the inspection allows as much more.
SLACK = THIN + STEP


@dataclass(frozen=True, slots=True)
class Record:
    """What a run must come to: each cut file and each jig's drawing by its path, and what must drop into what."""

    sheets: tuple[tuple[str, SheetExpectation], ...]
    drop_ins: tuple[DropIn, ...] = ()
    jigs: tuple[tuple[str, SheetExpectation], ...] = ()


def record_lines(
    sheets: Sequence[tuple[str, SheetExpectation]],
    drop_ins: Sequence[DropIn] = (),
    jigs: Iterable[tuple[str, SheetExpectation]] = (),
) -> Iterator[str]:
    """Give the record as JSON piece by piece, so that it is never in memory as a whole; `jigs` are gone through twice.

    Each sheet goes by its file's path in the out folder, like `cut/lettering-01.svg`.
    """
    writer = _Writer()
    yield f'{{"version":{VERSION},"step":{STEP:g},"parts":['
    every = (part for _, sheet in chain(sheets, jigs) for part in sheet.parts)
    yield from _listed(entry for part in every if (entry := writer.part(part)) is not None)
    yield '],"sheets":['
    yield from _listed(writer.sheet(name, sheet) for name, sheet in sheets)
    yield '],"jigs":['
    yield from _listed(writer.sheet(name, sheet) for name, sheet in jigs)
    yield '],"drop_ins":['
    yield from _listed(_drop_in(d) for d in drop_ins)
    yield "]}\n"


def _listed(entries: Iterator[Mapping[str, Any]]) -> Iterator[str]:
    for number, entry in enumerate(entries):
        text = json.dumps(entry, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
        yield f"{',' if number else ''}\n{text}"


@dataclass(slots=True)
class _Writer:
    """Numbers the parts and the rings of a record as they come."""

    rings: dict[bytes, int] = field(default_factory=dict)
    parts: dict[tuple[object, ...], int] = field(default_factory=dict)

    def part(self, part: ExpectedPart) -> dict[str, Any] | None:
        """Give the entry of a part, None where another copy of it has one already."""
        if _same_part(part) in self.parts:
            return None
        self.parts[_same_part(part)] = len(self.parts)
        x, y, turn = part.at or (0.0, 0.0, 0.0)
        own = region.moved(region.moved(part.region, -x, -y), turn=-turn)
        rings, solids = self.numbered(region.simplified(own, THIN) if not own.is_empty else own)
        marks = None if part.marks is None else pack([_back(mark, x, y, turn) for mark in part.marks])
        limits = {name: getattr(part, name) for name in ("plate", "kind", "layer", "pieces", "web", "is_waste", "fits")}
        return {**limits, "marks": marks, "rings": rings, "solids": solids}

    def numbered(self, shape: Region) -> tuple[str, list[list[int]]]:
        """Give the rings of a shape that are new, packed, and the numbers of the rings of each of its solids."""
        new, solids = [], []
        for solid in region.solids(shape) if not shape.is_empty else ():
            numbers = []
            for ring in (region.outer_rings(solid)[0], *region.hole_rings(solid)):
                rounded = whole(ring)
                rounded = rounded[(rounded != np.roll(rounded, 1, axis=0)).any(axis=1)]
                if len(rounded) < 3:
                    continue
                name = rounded.tobytes()
                if name not in self.rings:
                    self.rings[name] = len(self.rings)
                    new.append(rounded)
                numbers.append(self.rings[name])
            if numbers:
                solids.append(numbers)
        return (pack_whole(new) if new else ""), solids

    def sheet(self, name: str, sheet: SheetExpectation) -> dict[str, Any]:
        limits = {n: getattr(sheet, n) for n in ("material", "width", "height", "kerf", "gap", "edge_margin", "web")}
        placed = [[self.parts[_same_part(p)], p.copy, *(p.at or (0.0, 0.0, 0.0))] for p in sheet.parts]
        room = {} if sheet.room is None else {"usable": _packed(sheet.room)}
        return {"file": name, **limits, **room, "colours": asdict(sheet.colours), "placed": placed}


def _same_part(part: ExpectedPart) -> tuple[object, ...]:
    """Give what the copies of a part have in common; a part whose place is unknown is one of its kind."""
    own = part.copy if part.at is None else None
    return (*part.key[:2], part.layer, own, part.pieces, part.web, part.is_waste, part.fits)


def _back(line: Array, x: float, y: float, turn: float) -> Array:
    """Lay a placed line back where it belongs on its plate."""
    return placed_marks(placed_marks([line], -x, -y, 0.0), 0.0, 0.0, -turn)[0]


def _drop_in(drop_in: DropIn) -> dict[str, Any]:
    inner = None if drop_in.inner is None else list(drop_in.inner)
    told = {"what": drop_in.what, "outer": list(drop_in.outer), "room": drop_in.room, "inner": inner}
    return {**told, "solids": _packed(drop_in.shape)}


def _packed(shape: Region) -> list[str]:
    """Give the rings of each solid of a shape, packed."""
    solids = region.solids(shape) if not shape.is_empty else ()
    return [pack([region.outer_rings(solid)[0], *region.hole_rings(solid)]) for solid in solids]
