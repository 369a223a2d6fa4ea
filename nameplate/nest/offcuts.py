"""What is left of sheets: the usable remainder of each as its largest rectangle and as an outline, kept in a file.

Terms. The *remainder* of a sheet is its outline less the parts and a strip round each (the kerf and the gap), less
damaged places, opened so that slivers between parts do not count. Its *largest rectangle* is the largest upright
one in it, found on a grid.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nameplate.errors import LayoutError
from nameplate.geometry.region import (
    Box,
    Region,
    as_region,
    bounds,
    cleaned,
    difference,
    intersection,
    moved,
    offset,
    rectangle,
    simplified,
    solids,
    union,
)
from nameplate.nest.free import largest_rectangle
from nameplate.nest.layout import Layout, Piece, PieceKey, SheetLayout, placed, region_document, region_from_document
from nameplate.nest.sheets import Offcut

#: A remainder must take a square of this side (mm) to be worth keeping.
LEAST_SIDE = 40.0

#: Version of the offcuts file; a reader refuses any other.
VERSION = 1


@dataclass(frozen=True, slots=True)
class Remainder:
    """What is left of one sheet, in its coordinates. `rectangle` lies within `outline`."""

    material: str
    number: int
    sheet: str
    outline: Region
    rectangle: Box

    @property
    def name(self) -> str:
        """Name it for people."""
        return f"rest of {self.sheet}"


#: Parts are drawn this coarsely (mm), and given as much more room, where a remainder's outline is looked for.
COARSE = 0.1


def remainders(
    layout: Layout, pieces: Sequence[Piece], gap: float, kerf: Mapping[str, float] | None = None
) -> tuple[Remainder, ...]:
    """Give the usable remainder of every sheet that has one, in the order of the sheets.

    >>> remainders(Layout(), [], 1.5)
    ()
    """
    by_key = {piece.key: piece for piece in pieces}
    kerfs = kerf or {}
    found = (remainder(sheet, by_key, max(gap, kerfs.get(sheet.material, 0.0))) for sheet in layout.sheets)
    return tuple(r for r in found if r is not None)


def remainder(sheet: SheetLayout, by_key: Mapping[PieceKey, Piece], gap: float) -> Remainder | None:
    """Give the largest usable remainder of one sheet, or None when it is not worth keeping."""
    whole = rectangle(0, 0, sheet.width, sheet.height) if sheet.outline is None else sheet.outline
    gone = [offset(simplified(placed(by_key[at.key], at), COARSE), gap + COARSE) for at in sheet.placements]
    left = difference(whole, union(*gone, *([] if sheet.keep_outs is None else [sheet.keep_outs])))
    # what a disc of that size can reach, square corners kept
    reach = LEAST_SIDE / 4
    left = intersection(left, offset(offset(left, -reach), reach, join="mitre"))
    if left.is_empty:
        return None
    largest = cleaned(as_region(max(solids(left), key=lambda s: float(s.area))), step=0.05)
    box = largest_rectangle(largest)
    if box is None or min(box.width, box.height) < LEAST_SIDE:
        return None
    return Remainder(sheet.material, sheet.number, f"{sheet.material} {sheet.number:02d}", largest, box)


# --- the file -------------------------------------------------------------------------------------------------------


def offcuts_to_json(found: Sequence[Remainder]) -> str:
    """Write remainders as JSON text, for the next ticket's `nest.offcuts`."""
    document = {
        "version": VERSION,
        "offcuts": [
            {
                "name": r.name,
                "material": r.material,
                "rectangle": [round(v, 4) for v in r.rectangle],
                "outline": region_document(r.outline),
            }
            for r in found
        ],
    }
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def read_offcuts(path: Path) -> tuple[Offcut, ...]:
    """Read an offcuts file; raises LayoutError when it cannot be read or is not one."""
    try:
        return offcuts_from_json(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise LayoutError(f"{path} cannot be read: {error}") from error
    except LayoutError as error:
        raise LayoutError([f"{path}: {problem}" for problem in error.problems]) from error


def offcuts_from_json(text: str) -> tuple[Offcut, ...]:
    """Read offcuts as sheets to lay parts on, each moved so that its box starts at (0, 0).

    Raises LayoutError, with every problem found, when the text is not such a file.

    >>> offcuts_from_json('{"version": 1, "offcuts": []}')
    ()
    """
    try:
        document = json.loads(text)
    except ValueError as error:
        raise LayoutError(f"the offcuts file is not JSON: {error}") from error
    rows = document.get("offcuts") if isinstance(document, dict) and document.get("version") == VERSION else None
    if not isinstance(rows, list):
        raise LayoutError(f"the offcuts file is not one of version {VERSION}: it must hold version and offcuts")
    found, problems = [], []
    for number, row in enumerate(rows, 1):
        try:
            found.append(_offcut(row))
        except ValueError as error:
            problems.append(f"the offcuts file, offcut {number}: {error}")
    if problems:
        raise LayoutError(problems)
    return tuple(found)


def _offcut(row: Any) -> Offcut:  # noqa: ANN401 - anything can stand in a file
    if not isinstance(row, dict) or not isinstance(row.get("material"), str) or not isinstance(row.get("name"), str):
        raise ValueError("expected name, material and outline")
    outline = region_from_document(row.get("outline"))
    if outline.is_empty:
        raise ValueError(f"{row['name']!r} has an empty outline")
    box = bounds(outline)
    return Offcut(row["material"], row["name"], box.width, box.height, moved(outline, -box.x0, -box.y0))
