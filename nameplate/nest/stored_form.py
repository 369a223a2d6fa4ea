"""The forms of `layout.json` and `offcuts.json`, which anybody may have changed: every field, its kind and its limits.

Nothing in such a file is used before all of it has its form. Lengths are mm, turns degrees.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Annotated, Any, TypeAlias, TypeVar

from msgspec import Meta, Struct

from nameplate.errors import GeometryError, LayoutError
from nameplate.geometry.region import Region, union
from nameplate.geometry.rings import simple_ring
from nameplate.model import PartKind
from nameplate.system.damaged_form import DamagedFieldError, converted, shown_value
from nameplate.system.reading import read_json, shown

Form = TypeVar("Form")
Read = TypeVar("Read")

#: Coordinates and sizes in a stored file lie within this many mm: a kilometre, ten times the longest length of a
#: ticket. Rounding of floats stays under a tenth of a micrometre.
FARTHEST = 1e6

#: Counts in a stored file are at most this.
MOST = 1_000_000

#: Names in a stored file have at most so many characters.
LONGEST_TEXT = 1000

#: Outlines in a stored file have at most so many corners in all; a remainder of a full sheet has some thousands.
MOST_CORNERS = 100_000

Text: TypeAlias = Annotated[str, Meta(min_length=1, max_length=LONGEST_TEXT)]
TextOrNone: TypeAlias = Annotated[str, Meta(max_length=LONGEST_TEXT)]
Side: TypeAlias = Annotated[float, Meta(gt=0, le=FARTHEST)]
FromZero: TypeAlias = Annotated[float, Meta(ge=0, le=FARTHEST)]
Coordinate: TypeAlias = Annotated[float, Meta(ge=-FARTHEST, le=FARTHEST)]
Ordinal: TypeAlias = Annotated[int, Meta(ge=1, le=MOST)]
Ring: TypeAlias = Annotated[tuple[tuple[Coordinate, Coordinate], ...], Meta(min_length=3)]


class SolidForm(Struct, frozen=True, forbid_unknown_fields=True):
    """A solid of an outline, as `region_document` writes it."""

    outer: Ring
    holes: tuple[Ring, ...] = ()


class PlacementForm(Struct, frozen=True, forbid_unknown_fields=True):
    """Where a piece lies."""

    plate: TextOrNone
    kind: PartKind
    copy: Ordinal
    layer: Ordinal
    x: Coordinate
    y: Coordinate
    turn: Annotated[float, Meta(ge=-360, le=360)]


class StoredSheetForm(Struct, frozen=True, forbid_unknown_fields=True):
    """A sheet of a layout, and what lies on it."""

    material: Text
    width: Side
    height: Side
    stock: Annotated[int, Meta(ge=-1, le=MOST)]
    price: FromZero
    number: Ordinal
    placements: tuple[PlacementForm, ...] = ()
    on_hand: bool = False
    offcut: TextOrNone = ""
    outline: tuple[SolidForm, ...] | None = None
    keep_outs: tuple[SolidForm, ...] | None = None
    at: tuple[FromZero, FromZero] | None = None
    cut: bool = False
    face_down: bool = False


class LayoutForm(Struct, frozen=True, forbid_unknown_fields=True):
    """A layout; whatever its findings say is not believed."""

    version: int
    sheets: tuple[StoredSheetForm, ...] = ()
    unplaced: tuple[tuple[TextOrNone, PartKind, Ordinal, Ordinal], ...] = ()
    not_made: tuple[Text, ...] = ()
    findings: tuple[Any, ...] = ()


class OffcutForm(Struct, frozen=True, forbid_unknown_fields=True):
    """A remainder; its rectangle is for people."""

    name: Text
    material: Text
    outline: Annotated[tuple[SolidForm, ...], Meta(min_length=1)]
    rectangle: tuple[Coordinate, ...] = ()
    at: tuple[FromZero, FromZero] | None = None
    face_down: bool = False


class OffcutsForm(Struct, frozen=True, forbid_unknown_fields=True):
    """A list of offcuts."""

    version: int
    offcuts: tuple[OffcutForm, ...]


def read_document(path: Path, largest: int, parse: Callable[[object], Read], *, what: str) -> Read:
    """Read a JSON file of at most `largest` bytes; raises LayoutError, naming the file and what `parse` refuses."""
    document = read_json(path, largest, LayoutError, what=what)
    try:
        return parse(document)
    except LayoutError as error:
        raise LayoutError([f"{shown(path)}: {problem}" for problem in error.problems]) from error


def in_form(document: object, form: type[Form], version: int, refusal: str) -> Form:
    """Give a document in its form; raises LayoutError, with the field that is wrong, where it has another.

    One of another version than the wanted one is refused with `refusal`, into which the one that was found is put.
    """
    found = document.get("version") if isinstance(document, dict) else None
    if found != version:
        raise LayoutError(refusal.format("none" if found is None else shown_value(found)))
    try:
        return converted(document, form)
    except DamagedFieldError as error:
        raise LayoutError(str(error)) from error


def check_corners(outlines: Iterable[Sequence[SolidForm] | None]) -> None:
    """Raise LayoutError where all outlines of a file have more corners than anybody lays parts in."""
    solids = (solid for outline in outlines for solid in outline or ())
    count = sum(len(ring) for solid in solids for ring in (solid.outer, *solid.holes))
    if count > MOST_CORNERS:
        raise LayoutError(f"the outlines have {count} corners in all; expected at most {MOST_CORNERS}")


def stored_region(solids: Iterable[SolidForm], where: str) -> Region:
    """Give the region of an outline; raises LayoutError, saying `where`, for a ring that crosses itself."""
    try:
        return union(*(simple_ring(solid.outer, solid.holes) for solid in solids))
    except GeometryError as error:
        raise LayoutError(f"{where}: {error}") from error
