"""Reads the record of a run: whatever stands in it, the answer is a record or a sentence about it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
from msgspec import structs

from nameplate.cut.expectation import DropIn, ExpectedPart, SheetExpectation
from nameplate.cut.machine import Axes, CutPen, CutStyle
from nameplate.cut.nominal_file import SLACK, Record, derived_window
from nameplate.cut.nominal_form import FARTHEST, VERSION, DropInForm, PartForm, RecordForm, SheetForm
from nameplate.cut.packing import region_of, unpack
from nameplate.errors import NameplateError, OutputError
from nameplate.geometry import region
from nameplate.geometry.beam import Kerf, Strip
from nameplate.geometry.box import Box
from nameplate.geometry.lie import Lie
from nameplate.geometry.measure import point_count
from nameplate.geometry.region import Array, Region
from nameplate.system.damaged_form import DamagedFieldError, converted
from nameplate.system.reading import read_json, shown
from nameplate.system.shelf import changed
from nameplate.ticket.workshop_schema import ColourKeys

#: Largest record read (bytes); one of 20,000 names is about 300 MB.
LARGEST = 500_000_000

#: Most points that the packs of a record may unfold to and its parts be made of, together, and most that lie on its
#: sheets and jigs: 20,000 names with their templates come to some 110 and 160 million, reckoned from the 2,500 points
#: of a name in script. More would let a small file stand for endless drawings.
MOST_PACKED, MOST_LAID = 120_000_000, 200_000_000

#: A shape of more corners than SIMPLE has at most so many to a mm of its outline, and so many mm of outline to a mm2 of
#: the rectangle round it: letters of a run have 7, and less than one; with strokes and gaps of 0.4 mm there would be
#: five. Finer ones take minutes to burn.
SIMPLE, MOST_TO_A_MM, MOST_TO_A_MM2 = 5_000, 30.0, 5.0

#: Letters of what is said of a damaged field, which may be as long as its file.
MOST_SAID = 300

#: What to do about a record that is damaged.
_AGAIN = "put back a copy of it, or run `nameplate make` again"

_T = TypeVar("_T")
_F = TypeVar("_F")


class _Points:
    """Counts points, as many as there may be."""

    def __init__(self, most: int) -> None:
        self._most = self._left = most

    def take(self, count: int) -> None:
        """Count so many more; raises DamagedFieldError where that is too many."""
        self._left -= count
        if self._left < 0:
            raise DamagedFieldError(f"its drawings have more than {self._most} points in all")


def read_record(path: Path) -> Record:
    """Read a record; raises OutputError, naming the file and the field, when it is missing or not one of ours."""
    data = read_json(path, LARGEST, OutputError, what="the record of a run, in the out folder that it left,")
    if not isinstance(data, dict) or data.get("version") != VERSION:
        raise OutputError(f"{shown(path)} is not a record of version {VERSION}; run `nameplate make` again")
    try:
        form = converted(data, RecordForm)
        del data  # of a large record it takes as much memory again
        return _record(form)
    except (DamagedFieldError, NameplateError) as error:
        raise OutputError(f"{shown(path)} is damaged: {str(error)[:MOST_SAID]}; {_AGAIN}") from error


def drop_in_from(entry: Mapping[str, Any]) -> DropIn:
    """Read what must drop in; raises ValueError, naming the field, where it is not what it should be."""
    return _drop_in(converted(entry, DropInForm), _Points(MOST_PACKED))


def _record(form: RecordForm) -> Record:
    packed, laid = _Points(MOST_PACKED), _Points(MOST_LAID)
    parts = _parts(form.parts, packed)
    sizes = [point_count(part.region) + sum(map(len, part.marks or ())) for part in parts]
    for sheet in (*form.sheets, *form.jigs):  # before anything is laid
        laid.take(sum(_known(sizes, part, f"{sheet.file[:60]!r}: part") for part, *_ in sheet.placed))
    sheets, jigs = (
        tuple(_each(forms, name, lambda one: (_file(one), _sheet(one, parts, packed))))
        for name, forms in (("sheets", form.sheets), ("jigs", form.jigs))
    )
    drop_ins = _each(form.drop_ins, "drop_ins", lambda one: _drop_in(one, packed))
    return Record(sheets, tuple(drop_ins), jigs)


def _each(forms: Sequence[_F], name: str, read: Callable[[_F], _T]) -> Iterator[_T]:
    """Read every entry of a list, and say of a bad one which it is."""
    for number, form in enumerate(forms, 1):
        try:
            yield read(form)
        except (DamagedFieldError, NameplateError) as error:
            raise DamagedFieldError(f"{name} {number}: {error}") from error


def _known(things: Sequence[_T], number: int, what: str) -> _T:
    """Give the thing of a number that a record states."""
    if number >= len(things):
        raise DamagedFieldError(f"{what} {number} is named, and {len(things)} are known")
    return things[number]


# --- parts ----------------------------------------------------------------------------------------------------------


def _parts(forms: Sequence[PartForm], packed: _Points) -> list[ExpectedPart]:
    """Read the parts, each in plate coordinates and as its first copy."""
    rings: list[Array] = []
    parts: list[ExpectedPart] = []
    for part in _each(forms, "parts", lambda form: _part(form, rings, parts, packed)):
        parts.append(part)
    return parts


def _part(form: PartForm, rings: list[Array], before: Sequence[ExpectedPart], packed: _Points) -> ExpectedPart:
    """Read a part; `rings` are those of the parts `before` it, and get its own."""
    rings += [ring for text in form.rings for ring in _unpacked(text, "rings", packed)]
    solids = [[_known(rings, number, "ring") for number in numbers] for numbers in form.solids]
    packed.take(sum(len(ring) for own in solids for ring in own))
    _check_fineness("rings", [ring for own in solids for ring in own])
    return ExpectedPart(
        plate=form.plate,
        kind=form.kind,
        copy=1,
        layer=form.layer,
        region=_windowed(region_of(solids), form, before, packed),
        pieces=form.pieces,
        web=form.web,
        marks=None if form.marks is None else _lines(form.marks, "marks", packed),
        is_waste=form.is_waste,
        fits=form.fits,
    )


def _check_fineness(name: str, rings: Sequence[Array]) -> None:
    """Refuse a shape that is finer than any that is cut: what makes, grows or compares it would take minutes."""
    count = sum(map(len, rings))
    if count <= SIMPLE:
        return
    length = sum(float(np.hypot(*np.diff(ring, axis=0, append=ring[:1]).T).sum()) for ring in rings)
    box = Box(*np.concatenate(rings).min(axis=0).tolist(), *np.concatenate(rings).max(axis=0).tolist())
    if count > MOST_TO_A_MM * length or length > MOST_TO_A_MM2 * box.width * box.height:
        raise DamagedFieldError(
            f"{name}: found {count} corners on {length:.0f} mm of outline in {box.width:.0f} x {box.height:.0f} mm, "
            f"finer than a laser cuts; expected at most {MOST_TO_A_MM:g} corners a mm and {MOST_TO_A_MM2:g} mm a mm2"
        )


def _windowed(shape: Region, form: PartForm, before: Sequence[ExpectedPart], packed: _Points) -> Region:
    for number, clearance, beyond in form.windows:
        located = _known(before, number, "the located part").region
        shape = region.difference(shape, derived_window(located, clearance, _unpacked(beyond, "windows", packed)))
    return shape


def _unpacked(text: str, name: str, packed: _Points) -> list[Array]:
    try:
        lines = unpack(text)
    except ValueError as error:
        raise DamagedFieldError(f"{name}: {error}") from error
    packed.take(sum(map(len, lines)))
    if any(np.abs(line).max() > FARTHEST for line in lines):
        raise DamagedFieldError(f"{name} lies more than {FARTHEST:g} mm away")
    return lines


def _lines(text: str, name: str, packed: _Points) -> tuple[Array, ...]:
    lines = tuple(_unpacked(text, name, packed))
    if any(len(line) < 2 for line in lines):
        raise DamagedFieldError(f"{name} must be lines of two points or more")
    return lines


# --- sheets and what drops in ---------------------------------------------------------------------------------------


def _sheet(form: SheetForm, parts: Sequence[ExpectedPart], packed: _Points) -> SheetExpectation:
    placed = [
        _placed(_known(parts, number, "part"), copy, Lie(x, y, turn, form.face_down))
        for number, copy, x, y, turn in form.placed
    ]
    for number, text in form.labels:
        own = _known(placed, number, "the place of a label")
        placed[number] = changed(own, labels=_lines(text, "labels", packed))
    return SheetExpectation(
        material=form.material,
        width=form.width,
        height=form.height,
        kerf=_kerf(form),
        gap=form.gap,
        edge_margin=form.edge_margin,
        parts=tuple(placed),
        pen=CutPen(ColourKeys(**structs.asdict(form.colours)), form.stroke),
        slack=SLACK,
        room=None if form.usable is None else _packed_region(form.usable, "usable", packed),
        face_down=form.face_down,
        axes=Axes(**structs.asdict(form.axes)),
        style=CutStyle(**structs.asdict(form.style)),
        tabs=np.array(form.tabs, dtype=float).reshape(-1, 2),
    )


def _file(form: SheetForm) -> str:
    if not re.fullmatch(r"(?:cut|jigs)/[^/\\\x00-\x1f]{1,250}\.svg", form.file):
        raise DamagedFieldError(f"file is {form.file[:60]!r}, which is no drawing of a run")
    return form.file


def _kerf(form: SheetForm) -> Kerf:
    kerf = form.kerf
    if isinstance(kerf, float):
        return Kerf.of(kerf)
    return Kerf(Strip(kerf.inside.x, kerf.inside.y), Strip(kerf.outside.x, kerf.outside.y))


def _placed(part: ExpectedPart, copy: int, lie: Lie) -> ExpectedPart:
    marks = None if part.marks is None else lie.lines(part.marks)
    return replace(part, copy=copy, region=lie.region(part.region), marks=marks, at=lie)


def _drop_in(form: DropInForm, packed: _Points) -> DropIn:
    return DropIn(form.what, form.outer, form.room, form.inner, _packed_region(form.solids, "solids", packed))


def _packed_region(texts: Sequence[str], name: str, packed: _Points) -> Region:
    solids = [_unpacked(text, name, packed) for text in texts]
    if not all(solids):
        raise DamagedFieldError(f"{name} must not be empty")
    _check_fineness(name, [ring for own in solids for ring in own])
    return region_of(solids)
