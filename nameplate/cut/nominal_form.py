"""The form of `nominal.json`: every field with its kind, its limits and what it is where it is not written.

What writes the record leaves out defaults by it, and what reads it refuses all else by it. Lengths are mm, turns are
degrees; rings and lines are packs (`packing.py`); parts and rings are named by their numbers, from 0.
"""

from __future__ import annotations

from dataclasses import asdict
from functools import cache
from typing import Annotated, Any, Literal, TypeAlias

from msgspec import NODEFAULT, Meta, Struct, json, structs

from nameplate.cut.machine import BOTTOM_LEFT, PLAIN, PLAIN_PEN
from nameplate.model import PartKind

#: The version of the form; a reader refuses any other.
VERSION = 4

#: Largest length (mm) and count that a record may state; no machine's bed is a tenth of it.
FARTHEST, MOST = 100_000.0, 1_000_000

#: Windows that one part may have; a template has one.
MOST_WINDOWS = 10

Text: TypeAlias = Annotated[str, Meta(min_length=1)]
Colour: TypeAlias = Annotated[str, Meta(pattern=r"\A#[0-9a-fA-F]{6}\Z", description="a colour like #0072b2")]
Corner: TypeAlias = Literal["bottom-left", "bottom-right", "top-left", "top-right"]
Length: TypeAlias = Annotated[float, Meta(ge=0, le=FARTHEST)]
Narrow: TypeAlias = Annotated[float, Meta(ge=0, le=10)]
Along: TypeAlias = Annotated[float, Meta(ge=-FARTHEST, le=FARTHEST)]
Turn: TypeAlias = Annotated[float, Meta(ge=-360, le=360)]
Number: TypeAlias = Annotated[int, Meta(ge=0, le=MOST)]
FromOne: TypeAlias = Annotated[int, Meta(ge=1, le=MOST)]

#: The outline of a solid, then its holes, by the numbers of their rings.
Solid: TypeAlias = Annotated[tuple[Number, ...], Meta(min_length=1)]

#: The part that a window is of, the clearance, and the rings beyond it.
Windows: TypeAlias = Annotated[tuple[tuple[Number, Narrow, str], ...], Meta(max_length=MOST_WINDOWS)]

#: Plate, kind, layer.
OwnerForm: TypeAlias = tuple[Text, PartKind, FromOne]


class PartForm(Struct, frozen=True):
    """What must be left of a part; `rings` are its own packs, `solids` may name those of parts before it."""

    plate: Text
    kind: PartKind
    rings: tuple[str, ...]
    solids: tuple[Solid, ...]
    layer: FromOne = 1
    pieces: Number = 1
    web: Length | None = None
    is_waste: bool = False
    fits: bool = True
    marks: str | None = None
    windows: Windows = ()


class StripForm(Struct, frozen=True):
    """The width of a strip by axis."""

    x: Narrow
    y: Narrow


class KerfForm(Struct, frozen=True):
    """A kerf that differs by operation or axis."""

    inside: StripForm
    outside: StripForm


class AxesForm(Struct, frozen=True, forbid_unknown_fields=True):
    """How a machine counts."""

    origin: Corner
    left: bool
    down: bool


class ColoursForm(Struct, frozen=True, forbid_unknown_fields=True):
    """The colours of the operations."""

    score: Colour
    cut_inside: Colour
    cut_outside: Colour


class StyleForm(Struct, frozen=True, forbid_unknown_fields=True):
    """How parts are cut free."""

    by_part: bool
    lead_in: Length
    tabs: Number
    tab_width: Length
    bed_pitch: Length | None


class SheetForm(Struct, frozen=True):
    """A sheet, or a jig's drawing; each of its parts is `placed` as a number, copy, x, y and turn, and may have a label
    by its place in that list."""

    file: Text
    width: Length
    height: Length
    placed: tuple[tuple[Number, FromOne, Along, Along, Turn], ...]
    material: str = ""
    kerf: Narrow | KerfForm = 0.0
    gap: Length = 0.0
    edge_margin: Length = 0.0
    usable: tuple[str, ...] | None = None
    face_down: bool = False
    labels: tuple[tuple[Number, str], ...] = ()
    axes: AxesForm = AxesForm(**asdict(BOTTOM_LEFT))
    stroke: Narrow = PLAIN_PEN.width
    colours: ColoursForm = ColoursForm(**asdict(PLAIN_PEN.colours))
    style: StyleForm = StyleForm(**asdict(PLAIN))
    tabs: tuple[tuple[Along, Along], ...] = ()


class DropInForm(Struct, frozen=True):
    """What must drop into what."""

    what: Text
    outer: OwnerForm
    room: Along
    solids: tuple[str, ...]
    inner: OwnerForm | None = None


class RecordForm(Struct, frozen=True):
    """The whole file."""

    parts: tuple[PartForm, ...]
    sheets: tuple[SheetForm, ...]
    jigs: tuple[SheetForm, ...]
    drop_ins: tuple[DropInForm, ...]


@cache
def defaults_of(form: type[Struct]) -> dict[str, Any]:
    """Give what stands for the fields of a form that are not written, as in JSON.

    >>> defaults_of(DropInForm)
    {'inner': None}
    """
    return {f.name: json.decode(json.encode(f.default)) for f in structs.fields(form) if f.default is not NODEFAULT}
