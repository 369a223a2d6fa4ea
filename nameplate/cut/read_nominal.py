"""Reads the record of a run, field by field: whatever stands in it, the answer is a record or a sentence about it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import fields, replace
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np

from nameplate.cut.axes import Axes
from nameplate.cut.cut_style import CutStyle
from nameplate.cut.expectation import DropIn, ExpectedPart, Owner, SheetExpectation
from nameplate.cut.nominal_file import PART_DEFAULTS, SHEET_DEFAULTS, SLACK, VERSION, Record, derived_window
from nameplate.cut.packing import unpack
from nameplate.cut.pen import CutPen
from nameplate.cut.read_back import KINDS
from nameplate.errors import NameplateError, OutputError
from nameplate.geometry import region
from nameplate.geometry.beam import Kerf, Strip
from nameplate.geometry.lie import Lie
from nameplate.geometry.measure import point_count
from nameplate.geometry.region import Array, Region
from nameplate.model import PartKind
from nameplate.system.reading import read_json, shown
from nameplate.ticket.workshop_schema import ORIGINS, ColourKeys

#: Largest record read (bytes); one of 20,000 names is about 300 MB.
LARGEST = 500_000_000

#: Largest length (mm) and count that a record may state; no machine's bed is a tenth of it.
_FARTHEST, _MOST = 100_000.0, 1_000_000

_COLOUR = re.compile(r"#[0-9a-f]{6}", re.IGNORECASE)

#: Most points that the packs of a record may unfold to and its parts be made of, together, and most that lie on its
#: sheets and jigs: 20,000 names with their templates come to some 110 and 160 million, reckoned from the 2,500 points
#: of a name in script. More would let a small file stand for endless drawings.
MOST_PACKED, MOST_LAID = 120_000_000, 200_000_000

#: Windows that one part may have; a template has one.
MOST_WINDOWS = 10

_T = TypeVar("_T")


class _DamagedError(ValueError):
    """A field that is not what it should be; the message names it."""


class _Points:
    """Counts points, as many as there may be."""

    def __init__(self, most: int) -> None:
        self._most = self._left = most

    def take(self, count: int) -> None:
        """Count so many more; raises _DamagedError where that is too many."""
        self._left -= count
        if self._left < 0:
            raise _DamagedError(f"its drawings have more than {self._most} points in all")


def read_record(path: Path) -> Record:
    """Read a record; raises OutputError, naming the file and the field, when it is missing or not one of ours."""
    data = read_json(path, LARGEST, OutputError, what="the record of a run, in the out folder that it left,")
    if not isinstance(data, dict) or data.get("version") != VERSION:
        raise OutputError(f"{shown(path)} is not a record of version {VERSION}; run `nameplate make` again")
    try:
        return _record(data)
    except (_DamagedError, NameplateError) as error:
        raise OutputError(f"{shown(path)} is damaged: {error}; run `nameplate make` again") from error


def _record(data: dict[str, Any]) -> Record:
    packed, laid = _Points(MOST_PACKED), _Points(MOST_LAID)
    parts = _parts(_list(data, "parts"), packed)
    sizes = [point_count(part.region) + sum(map(len, part.marks or ())) for part in parts]
    for key in ("sheets", "jigs"):  # before anything is laid
        for entry in _each(_list(data, key), key, lambda entry: entry):
            laid.take(sum(sizes[_place(place, parts)["part"]] for place in _list(entry, "placed")))
    sheets, jigs = (
        tuple(_each(_list(data, key), key, lambda entry: _sheet(entry, parts, packed))) for key in ("sheets", "jigs")
    )
    drop_ins = _each(_list(data, "drop_ins"), "drop_ins", lambda entry: drop_in_from(entry, packed))
    return Record(sheets, tuple(drop_ins), jigs)


def _each(entries: Sequence[Any], name: str, read: Callable[[dict[str, Any]], _T]) -> Iterator[_T]:
    """Read every entry of a list, and say of a bad one which it is."""
    for number, entry in enumerate(entries, 1):
        try:
            if not isinstance(entry, dict):
                raise _DamagedError("a table is expected")
            yield read(entry)
        except (_DamagedError, NameplateError) as error:
            raise _DamagedError(f"{name} {number}: {error}") from error


# --- parts ----------------------------------------------------------------------------------------------------------


def _parts(entries: Sequence[Any], packed: _Points) -> list[ExpectedPart]:
    """Read the parts, each in plate coordinates and as its first copy."""
    rings: list[Array] = []
    parts: list[ExpectedPart] = []
    for part in _each(entries, "parts", lambda entry: _part(entry, rings, parts, packed)):
        parts.append(part)
    return parts


def _part(entry: dict[str, Any], rings: list[Array], before: Sequence[ExpectedPart], packed: _Points) -> ExpectedPart:
    """Read a part; `rings` are those of the parts `before` it, and get its own."""
    entry = {**PART_DEFAULTS, **entry}
    rings += [ring for text in _list(entry, "rings") for ring in _unpacked({"rings": text}, "rings", packed)]
    marks = None if entry.get("marks") is None else tuple(_unpacked(entry, "marks", packed))
    shape = _region([_solid(numbers, rings, packed) for numbers in _list(entry, "solids")])
    if any(len(mark) < 2 for mark in marks or ()):
        raise _DamagedError("marks must be lines of two points or more")
    return ExpectedPart(
        plate=_text(entry, "plate"),
        kind=_kind(entry.get("kind"), "kind"),
        copy=1,
        layer=_count(entry, "layer", 1),
        region=_windowed(shape, entry, before, packed),
        pieces=_count(entry, "pieces", 0),
        web=_web(entry),
        marks=marks,
        is_waste=_flag(entry, "is_waste"),
        fits=_flag(entry, "fits"),
    )


def _solid(numbers: Any, rings: Sequence[Array], packed: _Points) -> Region:  # noqa: ANN401 - JSON
    if not isinstance(numbers, list) or not numbers or not all(type(n) is int for n in numbers):
        raise _DamagedError("solids must be lists of ring numbers")
    if not all(0 <= n < len(rings) for n in numbers):
        raise _DamagedError(f"solids names ring {max(numbers)}, and {len(rings)} are known")
    packed.take(sum(len(rings[n]) for n in numbers))
    return region.from_ring(rings[numbers[0]], [rings[n] for n in numbers[1:]])


def _windowed(shape: Region, entry: dict[str, Any], before: Sequence[ExpectedPart], packed: _Points) -> Region:
    """Take the derived windows out of a part."""
    windows = _list(entry, "windows")
    if len(windows) > MOST_WINDOWS:
        raise _DamagedError(f"windows must be at most {MOST_WINDOWS}")
    for window in windows:
        if not isinstance(window, list) or len(window) != 3:
            raise _DamagedError("windows must be lists of a part, a clearance and what lies beyond")
        fields = dict(zip(("part", "clearance", "beyond"), window, strict=True))
        located = before[_count(fields, "part", 0, len(before) - 1)].region
        clearance, beyond = _number(fields, "clearance", 0.0, 10.0), _unpacked(fields, "beyond", packed)
        shape = region.difference(shape, derived_window(located, clearance, beyond))
    return shape


def _region(solids: Sequence[Region]) -> Region:
    return solids[0] if len(solids) == 1 else region.union(*solids)


def _unpacked(entry: dict[str, Any], name: str, packed: _Points) -> list[Array]:
    text = entry.get(name)
    if not isinstance(text, str):
        raise _DamagedError(f"{name} must be a text")
    try:
        lines = unpack(text)
    except ValueError as error:
        raise _DamagedError(f"{name}: {error}") from error
    packed.take(sum(map(len, lines)))
    if any(np.abs(line).max() > _FARTHEST for line in lines):
        raise _DamagedError(f"{name} lies more than {_FARTHEST:g} mm away")
    return lines


# --- sheets and what drops in ---------------------------------------------------------------------------------------


def _sheet(entry: dict[str, Any], parts: Sequence[ExpectedPart], packed: _Points) -> tuple[str, SheetExpectation]:
    entry = {**SHEET_DEFAULTS, **entry}
    over = _flag(entry, "face_down")
    placed = [_placed(place, parts, over=over) for place in _list(entry, "placed")]
    return _file(entry), SheetExpectation(
        material=_text(entry, "material", empty=True),
        width=_number(entry, "width", 0.0, _FARTHEST),
        height=_number(entry, "height", 0.0, _FARTHEST),
        kerf=_kerf(entry),
        gap=_number(entry, "gap", 0.0, _FARTHEST),
        edge_margin=_number(entry, "edge_margin", 0.0, _FARTHEST),
        parts=_labelled(placed, entry, packed),
        pen=CutPen(_colours(entry["colours"]), _number(entry, "stroke", 0.0, 10.0)),
        slack=SLACK,
        room=None if entry["usable"] is None else _packed_region(entry, "usable", packed),
        face_down=over,
        axes=_axes(entry["axes"]),
        style=_style(entry["style"]),
        tabs=_tabs(entry),
    )


def _style(table: Any) -> CutStyle:  # noqa: ANN401 - JSON
    """Read how the parts of a sheet are cut free."""
    names = [f.name for f in fields(CutStyle)]
    if not isinstance(table, dict) or set(table) != set(names):
        raise _DamagedError(f"style must be {', '.join(names)}")
    return CutStyle(
        by_part=_flag(table, "by_part"),
        lead_in=_number(table, "lead_in", 0.0, _FARTHEST),
        tabs=_count(table, "tabs", 0),
        tab_width=_number(table, "tab_width", 0.0, _FARTHEST),
        bed_pitch=None if table["bed_pitch"] is None else _number(table, "bed_pitch", 0.0, _FARTHEST),
    )


def _tabs(entry: dict[str, Any]) -> Array:
    """Read the middles of tabs (n, 2)."""
    pairs = _list(entry, "tabs")
    if not all(isinstance(pair, list) and len(pair) == 2 for pair in pairs):
        raise _DamagedError("tabs must be pairs of numbers")
    named = [dict(zip(("tabs x", "tabs y"), pair, strict=True)) for pair in pairs]
    read = [[_number(own, axis, -_FARTHEST, _FARTHEST) for axis in own] for own in named]
    return np.array(read, dtype=float).reshape(-1, 2)


def _kerf(entry: dict[str, Any]) -> Kerf:
    """Read a kerf: a number, or its strips by operation and axis."""
    table = entry.get("kerf")
    if not isinstance(table, dict):
        return Kerf.of(_number(entry, "kerf", 0.0, 10.0))
    return Kerf(_strip(table.get("inside")), _strip(table.get("outside")))


def _strip(table: Any) -> Strip:  # noqa: ANN401 - JSON
    if not isinstance(table, dict):
        raise _DamagedError("kerf must be a number, or tables called inside and outside")
    return Strip(_number(table, "x", 0.0, 10.0), _number(table, "y", 0.0, 10.0))


def _axes(table: Any) -> Axes:  # noqa: ANN401 - JSON
    """Read how a machine counts."""
    if not isinstance(table, dict) or set(table) != {"origin", "left", "down"}:
        raise _DamagedError("axes must be origin, left and down")
    if table["origin"] not in ORIGINS:
        raise _DamagedError(f"the origin must be one of {', '.join(ORIGINS)}")
    return Axes(table["origin"], _flag(table, "left"), _flag(table, "down"))


def _labelled(placed: list[ExpectedPart], entry: dict[str, Any], packed: _Points) -> tuple[ExpectedPart, ...]:
    """Give the parts of a sheet with the labels that its entry has, each a number in its list and lines."""
    for label in _list(entry, "labels"):
        if not isinstance(label, list) or len(label) != 2:
            raise _DamagedError("labels must be lists of a number and lines")
        fields = dict(zip(("labels", "lines"), label, strict=True))
        number, lines = _count(fields, "labels", 0, len(placed) - 1), tuple(_unpacked(fields, "lines", packed))
        if any(len(line) < 2 for line in lines):
            raise _DamagedError("labels must be lines of two points or more")
        placed[number] = replace(placed[number], labels=lines)
    return tuple(placed)


def _place(place: Any, parts: Sequence[ExpectedPart]) -> dict[str, Any]:  # noqa: ANN401 - JSON
    """Give the fields of a place, whose part there is."""
    if not isinstance(place, list) or len(place) != 5:
        raise _DamagedError("placed must be lists of part, copy, x, y and turn")
    fields = dict(zip(("part", "copy", "x", "y", "turn"), place, strict=True))
    _count(fields, "part", 0, len(parts) - 1)
    return fields


def _placed(place: Any, parts: Sequence[ExpectedPart], *, over: bool) -> ExpectedPart:  # noqa: ANN401 - JSON
    fields = _place(place, parts)
    part = parts[fields["part"]]
    x, y = (_number(fields, axis, -_FARTHEST, _FARTHEST) for axis in ("x", "y"))
    lie = Lie(x, y, _number(fields, "turn", -360.0, 360.0), over)
    return ExpectedPart(
        plate=part.plate,
        kind=part.kind,
        copy=_count(fields, "copy", 1),
        layer=part.layer,
        region=lie.region(part.region),
        pieces=part.pieces,
        web=part.web,
        marks=None if part.marks is None else lie.lines(part.marks),
        is_waste=part.is_waste,
        at=lie,
        fits=part.fits,
    )


def drop_in_from(entry: dict[str, Any], packed: _Points | None = None) -> DropIn:
    """Read what must drop in; raises ValueError, naming the field, where it is not what it should be."""
    packed = packed or _Points(MOST_PACKED)
    return DropIn(
        _text(entry, "what"),
        _owner(entry, "outer"),
        _number(entry, "room", -_FARTHEST, _FARTHEST),
        None if entry.get("inner") is None else _owner(entry, "inner"),
        _packed_region(entry, "solids", packed),
    )


def _packed_region(entry: dict[str, Any], name: str, packed: _Points) -> Region:
    rings = [_unpacked({name: solid}, name, packed) for solid in _list(entry, name)]
    if not all(rings):
        raise _DamagedError(f"{name} must not be empty")
    return _region([region.from_ring(own[0], own[1:]) for own in rings])


def _owner(entry: dict[str, Any], name: str) -> Owner:
    owner = _list(entry, name)
    if len(owner) != 3:
        raise _DamagedError(f"{name} must be a plate, a kind and a layer")
    named = dict(zip(("plate", "kind", "layer"), owner, strict=True))
    return _text(named, "plate"), _kind(named["kind"], name), _count(named, "layer", 1)


# --- single fields --------------------------------------------------------------------------------------------------


def _file(entry: dict[str, Any]) -> str:
    name = _text(entry, "file")
    if not re.fullmatch(r"(?:cut|jigs)/[^/\\\x00-\x1f]{1,250}\.svg", name):
        raise _DamagedError(f"file is {name[:60]!r}, which is no drawing of a run")
    return name


def _list(entry: dict[str, Any], name: str) -> list[Any]:
    value = entry.get(name)
    if not isinstance(value, list):
        raise _DamagedError(f"{name} must be a list")
    return value


def _text(entry: dict[str, Any], name: str, *, empty: bool = False) -> str:
    value = entry.get(name)
    if not isinstance(value, str) or not (value or empty):
        raise _DamagedError(f"{name} must be a text")
    return value


def _kind(value: Any, name: str) -> PartKind:  # noqa: ANN401 - JSON
    if value not in KINDS:
        raise _DamagedError(f"{name} must be one of {', '.join(KINDS)}")
    return cast("PartKind", value)


def _count(entry: dict[str, Any], name: str, least: int, most: int = _MOST) -> int:
    value = entry.get(name)
    if type(value) is not int or not least <= value <= most:
        raise _DamagedError(f"{name} must be a whole number from {least} to {most}")
    return value


def _number(entry: dict[str, Any], name: str, least: float, most: float) -> float:
    value = entry.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
        raise _DamagedError(f"{name} must be a number from {least:g} to {most:g}")
    return float(value)


def _web(entry: dict[str, Any]) -> float | None:
    return None if entry.get("web") is None else _number(entry, "web", 0.0, _FARTHEST)


def _flag(entry: dict[str, Any], name: str) -> bool:
    value = entry.get(name)
    if not isinstance(value, bool):
        raise _DamagedError(f"{name} must be true or false")
    return value


def _colours(table: Any) -> ColourKeys:  # noqa: ANN401 - JSON
    names = [f.name for f in fields(ColourKeys)]
    if not isinstance(table, dict) or set(table) != set(names):
        raise _DamagedError(f"colours must be {', '.join(names)}")
    for name in names:
        if not isinstance(table[name], str) or not _COLOUR.fullmatch(table[name]):
            raise _DamagedError(f"the colour {name} must be like #009e73")
    return ColourKeys(**table)
