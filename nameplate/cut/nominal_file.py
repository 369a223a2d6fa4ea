"""The record of what each file of a run must come to, so that the files can be inspected later: `nominal.json`.

Terms. A part's *entry* says what must be left of it, in plate coordinates, however many copies lie on whatever sheets.
A *derived window* is not written down: it is another part of its plate, filled and grown by the clearance; the entry
names that part and the clearance, and has only what lies *beyond*, where tips of the template were cut off. A *pack* of
rings that several parts share (the frame of a batch's templates) is written once.

Rings are rounded to COARSE steps and packed. What is as it is by default (`nominal_form.py`) is not written.
Entries are made wherever the pool is; this module puts them together.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from itertools import chain, compress, count, islice
from operator import not_
from typing import Any, TypeAlias

import numpy as np
from msgspec import Struct

from nameplate import tolerances
from nameplate.cut.expectation import DropIn, ExpectedPart, SheetExpectation
from nameplate.cut.nominal_form import VERSION, PartForm, SheetForm, defaults_of
from nameplate.cut.packing import COARSE, Whole, pack, pack_region, pack_whole, region_of, whole
from nameplate.geometry import region
from nameplate.geometry.compare import agree
from nameplate.geometry.lie import UNMOVED
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import simplified
from nameplate.model import PartKind
from nameplate.system.digests import digest
from nameplate.system.shelf import lays_away

#: The record's name in the out folder.
RECORD = "nominal.json"

#: Farthest (mm) a recorded outline may lie from the one that was judged in the run; the inspection allows as much more.
#: A derived window differs by the rounded outline that it is grown from, and by the chords of both its rounds.
SLACK = COARSE + tolerances.ARC

#: How far (mm) what lies beyond a derived window reaches into it, so that rounding leaves no slit between them.
REACH = 0.05

#: Kinds of parts that a window may be derived from: what is glued, and what it is glued to.
LOCATED: frozenset[PartKind] = frozenset({"lettering", "backing"})

#: What the copies of a part have in common.
Same: TypeAlias = tuple[object, ...]

#: A derived window: the part that it is of, the clearance (mm), the packed rings beyond it.
Window: TypeAlias = tuple[Same, float, str]


@dataclass(frozen=True, slots=True)
class Record:
    """What a run must come to: each cut file and each jig's drawing by its path, and what must drop into what."""

    sheets: tuple[tuple[str, SheetExpectation], ...]
    drop_ins: tuple[DropIn, ...] = ()
    jigs: tuple[tuple[str, SheetExpectation], ...] = ()


# --- made in a worker -----------------------------------------------------------------------------------------------


@lays_away("table", "packs")
@dataclass(frozen=True, slots=True, eq=False)
class PartEntry:
    """A part's entry: its fields but the rings; these as packs, with the number of rings in each; which of them bound
    each solid (the outline, then holes); and its derived windows."""

    same: Same
    table: Mapping[str, Any]
    packs: tuple[tuple[str, int], ...]
    solids: tuple[tuple[int, ...], ...]
    windows: tuple[Window, ...] = ()


@lays_away("table")
@dataclass(frozen=True, slots=True, eq=False)
class SheetEntry:
    """The entry of a sheet or a jig's drawing: its fields but the parts; each part, with its copy, x, y and turn."""

    table: Mapping[str, Any]
    placed: tuple[tuple[Same, int, float, float, float], ...]


def part_entries(
    parts: Iterable[ExpectedPart], clearance: float = 0.0, *, drawn: Iterable[ExpectedPart] = ()
) -> tuple[PartEntry, ...]:
    """Give the entries of the parts of one plate, once each; windows of this clearance (mm) are derived.

    Parts that are only `drawn` have the shape of their curves, which are within tolerances.CURVE of what they show.
    """
    entries: dict[Same, PartEntry] = {}
    located: dict[Same, Region] = {}
    every = [*((part, SLACK) for part in parts), *((part, SLACK + tolerances.CURVE) for part in drawn)]
    for part, within in every:
        same = _same(part)
        if same not in entries:
            solids = _whole_rings(_of_plate(part))
            windows: list[Window] = []
            if part.kind in LOCATED:
                as_read = [[np.asarray(ring * COARSE, dtype=float) for ring in own] for own in solids]
                located[same] = region_of(as_read)
            elif not part.is_waste:
                solids, windows = _without_windows(solids, located, clearance, within)
            entries[same] = _entry(part, solids, tuple(windows))
    return tuple(entries.values())


def derived_window(located: Region, clearance: float, beyond: Sequence[Array]) -> Region:
    """Give the window for a part: filled, grown by the clearance (mm) with round corners, joined with the rings
    `beyond` it, and filled again.

    >>> round(derived_window(region.rectangle(0, 0, 4, 2), 0.5, ()).area, 2)  # 8 + 12 * 0.5 + pi * 0.25
    14.78
    """
    return _joined(region.offset(region.filled(located), clearance), beyond)


def _joined(grown: Region, beyond: Sequence[Array]) -> Region:
    return region.filled(region.union(grown, *map(region.from_ring, beyond)))


def _same(part: ExpectedPart) -> Same:
    """Tell a part by what its copies have in common; a part whose place is unknown is one of its kind."""
    own = part.copy if part.at is None else None
    return (*part.key[:2], part.layer, own, part.pieces, part.web, part.is_waste, part.fits)


def _of_plate(part: ExpectedPart) -> Region:
    """Give the region to record, in plate coordinates: of waste its outline alone, since the rest is not its own."""
    shape = region.filled(part.region) if part.is_waste else part.region
    lie = part.at or UNMOVED
    return shape if lie == UNMOVED else lie.region_back(shape)


def _whole_rings(shape: Region) -> list[list[Whole]]:
    """Give the rings of each solid in whole COARSE steps, the outline first; those that rounding leaves are kept."""
    solids = []
    for solid in region.solids(shape) if not shape.is_empty else ():
        rings = [whole(ring) for ring in region.all_rings(solid)]
        rings = [ring[(ring != np.roll(ring, 1, axis=0)).any(axis=1)] for ring in rings]
        if len(rings[0]) >= 3:
            solids.append([ring for ring in rings if len(ring) >= 3])
    return solids


def _without_windows(
    solids: Sequence[Sequence[Whole]], located: Mapping[Same, Region], clearance: float, within: float
) -> tuple[list[list[Whole]], list[Window]]:
    """Leave out the holes that are, to `within` mm, a window as it would be derived; give those windows."""
    kept, windows = [list(own) for own in solids], []
    for same, part in located.items():
        grown = region.offset(region.filled(part), clearance)
        bare = _joined(grown, ())
        gone = [[False, *(region.intersects(_of_ring(ring), bare) for ring in own[1:])] for own in kept]
        hole = region.union(*map(_of_ring, compress(chain(*kept), chain(*gone))))
        beyond = _beyond(hole, bare, within)
        made = _joined(grown, [np.asarray(ring * COARSE, dtype=float) for ring in beyond]) if beyond else bare
        if len(region.solids(made)) == len(region.solids(hole)) and agree(made, hole, within):
            windows.append((same, clearance, pack_whole(beyond) if beyond else ""))
            kept = [list(compress(own, map(not_, there))) for own, there in zip(kept, gone, strict=True)]
    return kept, windows


def _of_ring(ring: Whole) -> Region:
    return region.from_ring(ring * COARSE)


def _beyond(hole: Region, grown: Region, within: float) -> list[Whole]:
    """Give what of a hole lies beyond a window by more than `within` mm, reaching a little into the window."""
    far = region.difference(hole, region.offset(grown, within))
    if far.is_empty:
        return []
    reaching = region.intersection(hole, region.offset(far, REACH))
    return [own[0] for own in _whole_rings(simplified(reaching, COARSE))]


def _entry(part: ExpectedPart, solids: Sequence[Sequence[Whole]], windows: tuple[Window, ...]) -> PartEntry:
    limits = {name: getattr(part, name) for name in ("plate", "kind", "layer", "pieces", "web", "is_waste", "fits")}
    marks = None if part.marks is None else pack((part.at or UNMOVED).lines_back(part.marks), COARSE)
    outlines, holes = [own[0] for own in solids], [ring for own in solids for ring in own[1:]]
    of_holes = count(len(outlines))
    numbered = tuple((number, *islice(of_holes, len(own) - 1)) for number, own in enumerate(solids))
    packs = tuple((pack_whole(rings), len(rings)) for rings in (outlines, holes) if rings)
    table = _written({**limits, "marks": marks}, PartForm)
    return PartEntry(_same(part), table, packs, numbered, windows)


def _written(table: Mapping[str, Any], form: type[Struct]) -> dict[str, Any]:
    """Leave out what is as it is by default."""
    defaults = defaults_of(form)
    return {name: value for name, value in table.items() if name not in defaults or value != defaults[name]}


def sheet_entry(sheet: SheetExpectation) -> SheetEntry:
    """Give the entry of a sheet or of a jig's drawing; no part's region is opened for that."""
    lies = ((part, part.at or UNMOVED) for part in sheet.parts)
    placed = tuple((_same(part), part.copy, lie.x, lie.y, lie.turn) for part, lie in lies)
    same = ("material", "width", "height", "gap", "edge_margin", "face_down")
    table = {
        **{name: getattr(sheet, name) for name in same},
        "kerf": sheet.kerf.plain,
        "usable": None if sheet.room is None else pack_region(sheet.room),
        "labels": [[number, pack(part.labels, COARSE)] for number, part in enumerate(sheet.parts) if part.labels],
        "axes": asdict(sheet.axes),
        "stroke": sheet.pen.width,
        "colours": asdict(sheet.pen.colours),
        "style": asdict(sheet.style),
        "tabs": sheet.tabs.round(tolerances.DECIMALS).tolist(),
    }
    return SheetEntry(_written(table, SheetForm), placed)


# --- put together ---------------------------------------------------------------------------------------------------


def record_lines(
    parts: Iterable[PartEntry],
    sheets: Iterable[tuple[str, SheetEntry]],
    jigs: Iterable[tuple[str, SheetEntry]],
    drop_ins: Iterable[DropIn],
) -> Iterator[str]:
    """Give the record of these entries as JSON piece by piece, so that it is never in memory as a whole.

    Each sheet and jig goes by its file's path in the out folder, like `cut/lettering-01.svg`.

    Parts come before what refers to them: a located part before its window, and all before sheets and jigs.
    """
    writer = _Writer()
    yield f'{{"version":{VERSION},"parts":['
    yield from _listed(map(writer.part, parts))
    yield '],"sheets":['
    yield from _listed(writer.sheet(name, sheet) for name, sheet in sheets)
    yield '],"jigs":['
    yield from _listed(writer.sheet(name, sheet) for name, sheet in jigs)
    yield '],"drop_ins":['
    yield from _listed(map(drop_in_document, drop_ins))
    yield "]}\n"


def _listed(entries: Iterator[Mapping[str, Any]]) -> Iterator[str]:
    for number, entry in enumerate(entries):
        text = json.dumps(entry, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
        yield f"{',' if number else ''}\n{text}"


@dataclass(slots=True)
class _Writer:
    """Numbers the parts and the rings of a record as they come; packs are told by their digests, which are short."""

    packs: dict[str, int] = field(default_factory=dict)
    parts: dict[Same, int] = field(default_factory=dict)
    rings: int = 0

    def part(self, part: PartEntry) -> dict[str, Any]:
        self.parts[part.same] = len(self.parts)
        new: list[str] = []
        numbers: list[int] = []
        for text, rings in part.packs:
            name = digest(text.encode())
            if name not in self.packs:
                self.packs[name] = self.rings
                self.rings += rings
                new.append(text)
            numbers += range(self.packs[name], self.packs[name] + rings)
        solids = [[numbers[n] for n in own] for own in part.solids]
        windows = [[self.parts[of], *how] for of, *how in part.windows]
        return {**part.table, **_written({"rings": new, "solids": solids, "windows": windows}, PartForm)}

    def sheet(self, name: str, sheet: SheetEntry) -> dict[str, Any]:
        return {"file": name, **sheet.table, "placed": [[self.parts[same], *at] for same, *at in sheet.placed]}


def drop_in_document(drop_in: DropIn) -> dict[str, Any]:
    """Write what must drop in as a JSON table."""
    inner = None if drop_in.inner is None else list(drop_in.inner)
    told = {"what": drop_in.what, "outer": list(drop_in.outer), "room": drop_in.room, "inner": inner}
    return {**told, "solids": pack_region(drop_in.shape)}
