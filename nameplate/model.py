"""The values that travel between stages: orders, lettering, parts and plates. All frozen; millimetres, y up.

Plate coordinates: the origin is the centre of the face's bounding box. Outlines are laid away (`shelf.py`) once a plate
is finished: whoever looks at one opens it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from nameplate.findings import Finding
from nameplate.geometry.region import Array, Region
from nameplate.system.shelf import lays_away

#: What a part is; written to cut files as `data-part`.
PartKind: TypeAlias = Literal["lettering", "template", "carrier", "backing", "blank", "coupon"]

#: What an inner contour of a jig is for; written as `data-feature`.
Feature: TypeAlias = Literal["window", "contact-window", "pocket", "pin-hole", "pin-slot", "release", "check"]


@dataclass(frozen=True, slots=True)
class Order:
    """One row of the roster, checked and completed from the ticket: what to make.

    `stem` is the name of its jig files without their ending, unlike that of any other plate of the batch.
    """

    id: str
    row: int
    name: str
    line2: str = ""
    copies: int = 1
    fonts: tuple[str, ...] = ("Pacifico",)
    position: str = ""
    size: float | None = None
    baseline: float | None = None
    mount: str = "applied"
    extra: tuple[tuple[str, str], ...] = ()
    stem: str = ""


@dataclass(frozen=True, slots=True)
class Face:
    """The surface a name goes on.

    `outline` is the face without its holes cut out; `zone` is where lettering may lie: inset from the edge and from
    the keep-outs already taken off. `keep_outs` are holes and reserved places.
    """

    outline: Region
    zone: Region
    keep_outs: Region
    name: str


@dataclass(frozen=True, slots=True)
class Neck:
    """The weakest place of a lettering: where, how wide (mm), and the stress there (MPa) under the handling load."""

    x: float
    y: float
    width: float
    lever: float
    stress: float


@lays_away("region")
@dataclass(frozen=True, slots=True)
class Lettering:
    """The finished, nominal lettering of one plate, in plate coordinates.

    `size` is the em in mm; `letter_height` the height of its capitals; `lines` the text of each line as set;
    `pieces` how many solids it is meant to be (1 unless the words are loose, or stay in the plate);
    `slant` the lean of its font in degrees; `baselines` the y of each line's baseline; `origin` is where the origin of
    its setting came to lie. `legibility` is that of its weakest letter, from 0 to 1, once it was judged.
    """

    region: Region
    size: float
    letter_height: float
    lines: tuple[str, ...]
    pieces: int
    neck: Neck | None = None
    slant: float = 0.0
    baselines: tuple[float, ...] = ()
    origin: tuple[float, float] = (0.0, 0.0)
    legibility: float | None = None
    weakest_letter: str = ""


@lays_away("region", "marks", "features")
@dataclass(frozen=True, slots=True)
class Part:
    """One flat piece to cut, in plate coordinates.

    `marks` are polylines to score, each an (n, 2) array. `features` names inner contours: a hole belongs to the first
    feature whose region covers it. `material` is the ticket's key of the material. Parts of one plate with the same
    kind are told apart by `layer` (1 unless the part is built of several layers). A part that is `cut_from` another
    kind of its plate lies inside that part and shares its cut; that other part `is_waste`: what is left round it.
    """

    plate: str
    kind: PartKind
    material: str
    region: Region
    marks: tuple[Array, ...] = ()
    features: tuple[tuple[Feature, Region], ...] = ()
    copies: int = 1
    layer: int = 1
    cut_from: str = ""
    is_waste: bool = False


@dataclass(frozen=True, slots=True)
class Plate:
    """What became of one order: its lettering and its parts, or the reasons why not."""

    order: Order
    lettering: Lettering | None
    parts: tuple[Part, ...] = ()
    findings: tuple[Finding, ...] = ()
    #: figures of the jig for the summary (style, window, play)
    jig: dict[str, object] = field(default_factory=dict)
