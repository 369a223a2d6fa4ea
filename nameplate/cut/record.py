"""The record of what each sheet of a run must burn to, so that its files can be inspected later.

Coordinates are whole numbers of 1e-4 mm; each ring is its first point and then the steps from point to point, which
are short numbers.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from nameplate import tolerances
from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.errors import OutputError
from nameplate.geometry import region
from nameplate.geometry.region import Array, Region

VERSION = 1

_SCALE = 10**tolerances.DECIMALS
_LIMITS = ("material", "width", "height", "kerf", "gap", "edge_margin", "web")
_PART = ("plate", "kind", "copy", "layer", "pieces", "web", "marks", "is_waste")


def record(sheets: Sequence[tuple[str, SheetExpectation]]) -> str:
    """Give the record as JSON; each sheet goes by its file's path in the out folder, like `cut/lettering-01.svg`."""
    data = {"version": VERSION, "sheets": [{"file": name, **_sheet(expected)} for name, expected in sheets]}
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")) + "\n"


def _sheet(expected: SheetExpectation) -> dict[str, Any]:
    limits = {name: getattr(expected, name) for name in _LIMITS}
    return {**limits, "parts": [_part(p) for p in expected.parts]}


def _part(part: ExpectedPart) -> dict[str, Any]:
    solids = [
        [_steps(region.outer_rings(solid)[0]), *(_steps(hole) for hole in region.hole_rings(solid))]
        for solid in region.solids(part.region)
    ]
    return {**{name: getattr(part, name) for name in _PART}, "solids": solids}


def _steps(ring: Array) -> list[int]:
    whole = np.round(ring * _SCALE).astype(np.int64)
    return [int(v) for v in np.diff(whole, axis=0, prepend=np.zeros((1, 2), dtype=np.int64)).ravel()]


def read_record(path: Path) -> tuple[tuple[str, SheetExpectation], ...]:
    """Read a record; raises OutputError, naming the file, when it is missing or not one of ours."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise OutputError(f"{path} cannot be read ({error.strerror}); it is the record that a run leaves") from error
    except ValueError as error:
        raise OutputError(f"{path} is not a record of a run: {error}") from error
    if not isinstance(data, dict) or data.get("version") != VERSION:
        raise OutputError(f"{path} is not a record of version {VERSION}; run `nameplate make` again")
    try:
        return tuple((str(s["file"]), _expectation(s)) for s in data["sheets"])
    except (KeyError, TypeError, ValueError, IndexError) as error:
        raise OutputError(f"{path} is damaged ({type(error).__name__}: {error}); run `nameplate make` again") from error


def _expectation(sheet: dict[str, Any]) -> SheetExpectation:
    parts = tuple(
        ExpectedPart(**{name: p[name] for name in _PART}, region=_region(p["solids"])) for p in sheet["parts"]
    )
    return SheetExpectation(**{name: sheet[name] for name in _LIMITS}, parts=parts)


def _region(solids: Sequence[Sequence[Sequence[int]]]) -> Region:
    return region.union(*(region.from_ring(_ring(s[0]), [_ring(hole) for hole in s[1:]]) for s in solids))


def _ring(steps: Sequence[int]) -> Array:
    ring: Array = np.cumsum(np.asarray(steps, dtype=np.int64).reshape(-1, 2), axis=0) / float(_SCALE)
    return ring
