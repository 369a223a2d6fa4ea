"""The record of what each sheet of a run must burn to, so that its files can be inspected later.

Coordinates are whole numbers of 1e-4 mm; each ring is its first point and then the steps from point to point, which
are short numbers.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from nameplate import tolerances
from nameplate.cut.expectation import DropIn, ExpectedPart, Owner, SheetExpectation
from nameplate.errors import OutputError
from nameplate.geometry import region
from nameplate.geometry.region import Array, Region

VERSION = 1

_SCALE = 10**tolerances.DECIMALS
_LIMITS = ("material", "width", "height", "kerf", "gap", "edge_margin", "web")
_PART = ("plate", "kind", "copy", "layer", "pieces", "web", "marks", "is_waste")


@dataclass(frozen=True, slots=True)
class Record:
    """What a run must burn to: each sheet by its file's path in the out folder, and what must drop into what."""

    sheets: tuple[tuple[str, SheetExpectation], ...]
    drop_ins: tuple[DropIn, ...] = ()


def record(sheets: Sequence[tuple[str, SheetExpectation]], drop_ins: Sequence[DropIn] = ()) -> Iterator[str]:
    """Give the record as JSON, a sheet at a time; each goes by its path in the out folder (`cut/lettering-01.svg`)."""
    yield f'{{"version":{VERSION},"sheets":['
    for number, (name, expected) in enumerate(sheets):
        yield f"{',' if number else ''}{_json({'file': name, **_sheet(expected)})}"
    yield f"],{_json({'drop_ins': [_drop_in(d) for d in drop_ins]})[1:-1]}}}\n" if drop_ins else "]}\n"


def _json(data: object) -> str:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def _sheet(expected: SheetExpectation) -> dict[str, Any]:
    limits = {name: getattr(expected, name) for name in _LIMITS}
    room = {} if expected.room is None else {"usable": _solids(expected.room)}
    return {**limits, **room, "parts": [_part(p) for p in expected.parts]}


def _part(part: ExpectedPart) -> dict[str, Any]:
    fields = {name: getattr(part, name) for name in _PART}
    return {**fields, **({} if part.at is None else {"at": list(part.at)}), "solids": _solids(part.region)}


def _drop_in(drop_in: DropIn) -> dict[str, Any]:
    inner = None if drop_in.inner is None else list(drop_in.inner)
    shape = {"solids": _solids(drop_in.shape)} if not drop_in.shape.is_empty else {}
    return {"what": drop_in.what, "outer": list(drop_in.outer), "room": drop_in.room, "inner": inner, **shape}


def _solids(shape: Region) -> list[list[list[int]]]:
    return [
        [_steps(region.outer_rings(solid)[0]), *(_steps(hole) for hole in region.hole_rings(solid))]
        for solid in region.solids(shape)
    ]


def _steps(ring: Array) -> list[int]:
    whole = np.round(ring * _SCALE).astype(np.int64)
    return [int(v) for v in np.diff(whole, axis=0, prepend=np.zeros((1, 2), dtype=np.int64)).ravel()]


def read_record(path: Path) -> Record:
    """Read a record; raises OutputError, naming the file, when it is missing or not one of ours."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise OutputError(
            f"{path} cannot be read ({error.strerror}); give the out folder of an earlier run, which holds it"
        ) from error
    except ValueError as error:
        raise OutputError(f"{path} is not a record of a run: {error}") from error
    if not isinstance(data, dict) or data.get("version") != VERSION:
        raise OutputError(f"{path} is not a record of version {VERSION}; run `nameplate make` again")
    try:
        sheets = tuple((str(s["file"]), _expectation(s)) for s in data["sheets"])
        return Record(sheets, tuple(_read_drop_in(d) for d in data.get("drop_ins", ())))
    except (KeyError, TypeError, ValueError, IndexError) as error:
        raise OutputError(f"{path} is damaged ({type(error).__name__}: {error}); run `nameplate make` again") from error


def _expectation(sheet: dict[str, Any]) -> SheetExpectation:
    parts = tuple(
        ExpectedPart(**{name: p[name] for name in _PART}, region=_region(p["solids"]), at=_at(p.get("at")))
        for p in sheet["parts"]
    )
    room = _region(sheet["usable"]) if "usable" in sheet else None
    return SheetExpectation(**{name: sheet[name] for name in _LIMITS}, parts=parts, room=room)


def _at(place: Sequence[float] | None) -> tuple[float, float, float] | None:
    if place is None:
        return None
    x, y, turn = place
    return float(x), float(y), float(turn)


def _read_drop_in(data: dict[str, Any]) -> DropIn:
    inner = None if data["inner"] is None else _owner(data["inner"])
    shape = _region(data.get("solids", ()))
    return DropIn(str(data["what"]), _owner(data["outer"]), float(data["room"]), inner, shape)


def _owner(parts: Sequence[Any]) -> Owner:
    plate, kind, layer = parts
    return str(plate), str(kind), int(layer)


def _region(solids: Sequence[Sequence[Sequence[int]]]) -> Region:
    return region.union(*(region.from_ring(_ring(s[0]), [_ring(hole) for hole in s[1:]]) for s in solids))


def _ring(steps: Sequence[int]) -> Array:
    ring: Array = np.cumsum(np.asarray(steps, dtype=np.int64).reshape(-1, 2), axis=0) / float(_SCALE)
    return ring
