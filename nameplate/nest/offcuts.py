"""What is left of sheets: the usable remainder of each as its largest rectangle and as an outline, kept in a file.

Terms. The *remainder* of a sheet is its outline less the parts and a strip round each (the kerf and the gap), less
damaged places, opened so that slivers between parts do not count. Its *largest rectangle* is the largest upright
one in it, found on a grid.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nameplate.errors import LayoutError
from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.region import Region
from nameplate.geometry.simplify import cleaned, simplified
from nameplate.nest.layout import REST_OF, SheetLayout, region_document
from nameplate.nest.search.free_rectangle import largest_rectangle
from nameplate.nest.sheets import Offcut
from nameplate.nest.stored_form import OffcutForm, OffcutsForm, check_corners, in_form, read_document, stored_region
from nameplate.system.writing import json_text

#: A remainder must take a square of this side (mm) to be worth keeping.
LEAST_SIDE = 40.0

#: An offcuts file is at most this large (bytes), and holds so many offcuts: each is tried with every part. A shelf of a
#: hundred remainders takes 1 MB.
LARGEST, MOST_OFFCUTS = 10_000_000, 2000

#: Version of the offcuts file; a reader refuses any other.
VERSION = 1


@dataclass(frozen=True, slots=True)
class Remainder:
    """What is left of one sheet, in its coordinates, as it lay. `rectangle` lies within `outline`."""

    material: str
    number: int
    sheet: str
    outline: Region
    rectangle: Box
    face_down: bool = False

    @property
    def name(self) -> str:
        """Name it for people."""
        return REST_OF + self.sheet


#: Parts are drawn this coarsely (mm), and given as much more room, where a remainder's outline is looked for.
COARSE = 0.1


def remainder(sheet: SheetLayout, parts: Iterable[Region], gap: float) -> Remainder | None:
    """Give the largest usable remainder of one sheet with these parts, or None when it is not worth keeping.

    >>> remainder(SheetLayout("m", 40, 30, 0, 1.0, ()), [], 1.5) is None
    True
    """
    gone = [rg.offset(simplified(part, COARSE), gap + COARSE) for part in parts]
    left = rg.difference(sheet.whole, rg.union(*gone, *([] if sheet.keep_outs is None else [sheet.keep_outs])))
    # what a disc of that size can reach, square corners kept
    reach = LEAST_SIDE / 4
    left = rg.intersection(left, rg.offset(rg.offset(left, -reach), reach, join="mitre"))
    if left.is_empty:
        return None
    largest = cleaned(rg.as_region(rg.largest(rg.solids(left))), step=0.05)
    box = largest_rectangle(largest)
    if box is None or min(box.width, box.height) < LEAST_SIDE:
        return None
    return Remainder(sheet.material, sheet.number, sheet.name, largest, box, sheet.face_down)


# --- the file -------------------------------------------------------------------------------------------------------


def offcut_document(rest: Remainder) -> dict[str, Any]:
    """Write a remainder as a JSON table."""
    rectangle = [round(v, 4) for v in rest.rectangle]
    outline = region_document(rest.outline)
    return remainder_table(rest.name, rest.material, rectangle, outline, face_down=rest.face_down)


def remainder_table(
    name: str, material: str, rectangle: list[float], outline: Sequence[Mapping[str, Any]], *, face_down: bool = False
) -> dict[str, Any]:
    """Put the JSON table of a remainder together: `at` is the lower left corner of its outline, on its sheet."""
    corners = [corner for solid in outline for corner in solid["outer"]]
    at = [min(x for x, _ in corners), min(y for _, y in corners)]
    side = {"face_down": True} if face_down else {}
    return {"name": name, "material": material, "at": at, **side, "rectangle": rectangle, "outline": outline}


def offcuts_to_json(found: Sequence[Remainder], kept: Sequence[Mapping[str, Any]] = ()) -> str:
    """Write remainders as JSON text, for another ticket's `nest.offcuts`; `kept` ones are written already."""
    document = {"version": VERSION, "offcuts": [*kept, *map(offcut_document, found)]}
    return json_text(document)


def offcuts_from(found: Sequence[Mapping[str, Any]]) -> tuple[Offcut, ...]:
    """Give the offcuts of such tables; raises LayoutError, naming the field that is wrong."""
    return _offcuts({"version": VERSION, "offcuts": list(found)})


def read_offcuts(path: Path) -> tuple[Offcut, ...]:
    """Read an offcuts file as sheets to lay parts on, each moved so that its box starts at (0, 0).

    Raises LayoutError, naming the file and the field that is wrong.
    """
    return read_document(path, LARGEST, _offcuts, what="a list of offcuts (offcuts.json of an earlier run)")


def _offcuts(document: object) -> tuple[Offcut, ...]:
    expected = "expected is the one that a run left in its out folder"
    refusal = f"it is no offcuts.json of version {VERSION} (its version: {{}}); {expected}"
    found = in_form(document, OffcutsForm, VERSION, refusal).offcuts
    if len(found) > MOST_OFFCUTS:
        raise LayoutError(f"offcuts: {len(found)} are more than the {MOST_OFFCUTS} that are looked through")
    check_corners(form.outline for form in found)
    return tuple(_offcut(form, f"offcuts {number}") for number, form in enumerate(found, 1))


def _offcut(form: OffcutForm, where: str) -> Offcut:
    outline = stored_region(form.outline, f"{where}, outline")
    box = rg.bounds(outline)
    there = rg.moved(outline, -box.x0, -box.y0)
    return Offcut(form.material, form.name, box.width, box.height, there, form.at, form.face_down)
