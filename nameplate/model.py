"""The values that travel between stages: orders, lettering, parts and plates. All frozen; millimetres, y up.

Plate coordinates: the origin is the centre of the face's bounding box. Outlines are laid away (`shelf.py`) once a plate
is finished: whoever looks at one opens it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

from nameplate.findings import Finding
from nameplate.geometry.arc import Arc
from nameplate.geometry.region import EMPTY, Array, Region, moved, union
from nameplate.system.shelf import lays_away

#: What a part is; written to cut files as `data-part`.
PartKind: TypeAlias = Literal["lettering", "template", "carrier", "backing", "blank", "coupon"]

#: What an inner contour of a jig is for; written as `data-feature`.
Feature: TypeAlias = Literal["window", "contact-window", "pocket", "pin-hole", "pin-slot", "release", "check"]


#: The layer of the template that places a name on its backing; the one that places the backing on its face is layer 1.
GUIDE_LAYER = 2


@dataclass(frozen=True, slots=True)
class OrderedLine:
    """A line of a plate in a style of its own.

    `scale` is the height of its small letters against those of the largest line, unless it has a `size`, its em in mm.
    `gap` is its least distance from the line above, in em of the largest line; None where that is left to the program,
    as `align` is. A line that `breaks` may be broken as names are, one that is a `column` alone may go on two lines;
    one whose name is broken in its cell is in these `lines`. One that is `scored` is scored on the plaque, and not cut.
    One without a text is not lettered: it has a size that the scales of the others go by.
    """

    text: str
    fonts: tuple[str, ...]
    axes: tuple[tuple[str, float], ...] = ()
    features: tuple[str, ...] = ()
    scale: float = 1.0
    size: float | None = None
    gap: float | None = None
    align: str | None = None
    breaks: bool = False
    scored: bool = False
    lines: tuple[str, ...] = ()
    column: bool = False


@dataclass(frozen=True, slots=True)
class Order:
    """One row of the roster, checked and completed from the ticket: what to make.

    `stem` is the name of its jig files without their ending, unlike that of any other plate of the batch. `lines`
    are those in which the row wants its name; empty where that is left to the program. Its lettering is moved by
    (dx, dy) mm from where it would stand. An order on `hold` is kept, and not made; one that stands `aside` besides
    is left out of this run alone. Where it has `styled` lines these are lettered, and else `name` and `line2`. It
    is made by the `design` of that name, or without a name by the ticket's own tables. One that stands `free` has
    no face: its mount, `applied`, says that it is a piece of its own.
    """

    id: str
    row: int
    name: str
    line2: str = ""
    lines: tuple[str, ...] = ()
    copies: int = 1
    fonts: tuple[str, ...] = ("Pacifico",)
    position: str = ""
    size: float | None = None
    baseline: float | None = None
    mount: str = "applied"
    dx: float = 0.0
    dy: float = 0.0
    extra: tuple[tuple[str, str], ...] = ()
    stem: str = ""
    hold: bool = False
    design: str = ""
    styled: tuple[OrderedLine, ...] = ()
    free: bool = False
    aside: bool = False

    @property
    def texts(self) -> tuple[str, ...]:
        """What is lettered, line by line as it was ordered."""
        if self.styled:
            return tuple(line.text for line in self.styled if line.text)
        return (self.name, self.line2) if self.line2 else (self.name,)

    @property
    def every_font(self) -> tuple[str, ...]:
        """All fonts that it may be lettered from, each once."""
        return tuple(dict.fromkeys((*self.fonts, *(font for line in self.styled for font in line.fonts))))


def in_a_line(texts: Iterable[str]) -> str:
    """Give what is lettered line by line as one line.

    >>> in_a_line(["Wren", "oak"]), in_a_line([" "])
    ('Wren / oak', '(no name)')
    """
    return " / ".join(texts).strip() or "(no name)"


@dataclass(frozen=True, slots=True)
class Face:
    """The surface a name goes on.

    `outline` is the face without its holes cut out; `zone` is where lettering may lie: inset from the edge and from
    the keep-outs already taken off. `keep_outs` are its holes. `artwork` is what else is on it, in shapes that
    lettering keeps clear of; of it `hatched` is hatched, and `scored` are lines to score, each an (n, 2) array, where
    the plaque itself is `cut` here.

    Where names stand `free` there is no such surface: outline and zone are the rectangle that finished lettering fills,
    as wide or high as it was asked to be, and `ring` is the bore (mm) of the ring that it hangs by, None without one,
    at its `balance` or of two at its `ends`.
    """

    outline: Region
    zone: Region
    keep_outs: Region
    name: str
    artwork: Region = EMPTY
    hatched: Region = EMPTY
    scored: tuple[Array, ...] = field(default=(), compare=False)
    cut: bool = False
    free: bool = False
    ring: float | None = None
    ring_at: str = "balance"


@dataclass(frozen=True, slots=True)
class Neck:
    """The weakest place of a lettering: where, how wide (mm), and the stress there (MPa) under the handling load."""

    x: float
    y: float
    width: float
    lever: float
    stress: float


@dataclass(frozen=True, slots=True)
class LetterBox:
    """The place of one letter of a lettering, mm: the box of what the font draws of it."""

    text: str
    x0: float
    y0: float
    x1: float
    y1: float

    def off(self, x: float, y: float) -> float:
        """Give how far (mm) a point lies from the box; under 0 inside, the less the nearer it is to the middle."""
        aside = max(self.x0 - x, x - self.x1)
        above = max(self.y0 - y, y - self.y1)
        return math.hypot(max(aside, 0.0), max(above, 0.0)) or max(aside, above)


@dataclass(frozen=True, slots=True)
class LinePlace:
    """One line of a lettering: its font, its em (mm), where the middle of its box lies, and whether it is scored."""

    font: str
    size: float
    x: float
    y: float
    scored: bool = False


@dataclass(frozen=True, slots=True)
class HangingRings:
    """The rings that a name hangs by, in plate coordinates (mm).

    `bore` is the diameter of their holes, `rim` the width round it, `at` the middle of each; `aside` is how far the
    centre of mass of the whole piece lies to the right of the middle of the one ring, or of the middle between two;
    `width` and `height` are those of the lettering without them.
    """

    bore: float
    rim: float
    at: tuple[tuple[float, float], ...]
    aside: float
    width: float
    height: float


@lays_away("region", "scored")
@dataclass(frozen=True, slots=True)
class Lettering:
    """The finished, nominal lettering of one plate, in plate coordinates.

    `size` is the em in mm; `letter_height` the height of its capitals; `lines` the text of each line as set;
    `pieces` how many solids it is meant to be (1 unless the words are loose, or stay in the plate);
    `slant` the lean of its font in degrees; `baselines` the y of each line's baseline; `letters` where each letter
    lies; `neck` its weakest place, and `drawn_neck` what that was before it was strengthened; `placed` how
    far (mm) its optical centre is right of and above the middle of its zone; `of_largest` how large it gets where it
    should stand, as a share of the largest anywhere in its zone; `origin` where the origin of its setting came to lie.
    `line_places` has font, size and place of each line. On an arc `arc` is the one that its largest line stands on, and
    `baselines` are those of the arcs' tops, or bottoms where they bow the other way. `legibility` is that of its
    weakest letter, from 0 to 1, once it was judged. `scored` are lines that are scored on the plaque beside it. `rings`
    are those it hangs by, `between_words` the bridges from a word to the next on its line; both are part of its region.
    """

    region: Region
    size: float
    letter_height: float
    lines: tuple[str, ...]
    pieces: int
    neck: Neck | None = None
    drawn_neck: Neck | None = None
    slant: float = 0.0
    baselines: tuple[float, ...] = ()
    letters: tuple[LetterBox, ...] = ()
    placed: tuple[float, float] = (0.0, 0.0)
    of_largest: float = 1.0
    origin: tuple[float, float] = (0.0, 0.0)
    legibility: float | None = None
    weakest_letter: str = ""
    line_places: tuple[LinePlace, ...] = ()
    arc: Arc | None = None
    scored: Region = EMPTY
    rings: HangingRings | None = None
    between_words: Region = EMPTY

    @property
    def whole(self) -> Region:
        """All that has its place on the face: what is cut, and what is scored beside it."""
        return self.region if self.scored.is_empty else union(self.region, self.scored)

    def moved_by(self, dx: float, dy: float) -> Lettering:
        """Give the same, moved by mm."""
        rings = self.rings and replace(self.rings, at=tuple((x + dx, y + dy) for x, y in self.rings.at))
        neck, drawn = (n and replace(n, x=n.x + dx, y=n.y + dy) for n in (self.neck, self.drawn_neck))
        return replace(
            self,
            region=moved(self.region, dx, dy),
            scored=moved(self.scored, dx, dy),
            between_words=moved(self.between_words, dx, dy),
            neck=neck,
            drawn_neck=drawn,
            baselines=tuple(y + dy for y in self.baselines),
            letters=tuple(replace(b, x0=b.x0 + dx, y0=b.y0 + dy, x1=b.x1 + dx, y1=b.y1 + dy) for b in self.letters),
            placed=(self.placed[0] + dx, self.placed[1] + dy),
            origin=(self.origin[0] + dx, self.origin[1] + dy),
            line_places=tuple(replace(line, x=line.x + dx, y=line.y + dy) for line in self.line_places),
            rings=rings,
            arc=None if self.arc is None else self.arc.scaled(1.0, dx, dy),
        )


#: By what a part goes in a batch, whatever its copy: its plate, its kind, its layer.
PartId: TypeAlias = tuple[str, str, int]


@lays_away("region", "marks", "features")
@dataclass(frozen=True, slots=True)
class Part:
    """One flat piece to cut, in plate coordinates.

    `marks` are polylines to score, each an (n, 2) array. `features` names inner contours: a hole belongs to the first
    feature whose region covers it. `material` is the ticket's key of the material. Parts of one plate with the same
    kind are told apart by `layer` (1 unless the part is built of several layers). A part that is `cut_from` another
    kind of its plate lies inside that part and shares its cut; that other part `is_waste`: what is left round it.
    `copies` are to be cut, numbered from `first` on: those before were cut by an earlier run.
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
    first: int = 1

    @property
    def part_id(self) -> PartId:
        """By what the part goes in a batch, whatever its copy."""
        return self.plate, self.kind, self.layer


@dataclass(frozen=True, slots=True)
class Plate:
    """What became of one order: its lettering and its parts, or the reasons why not."""

    order: Order
    lettering: Lettering | None
    parts: tuple[Part, ...] = ()
    findings: tuple[Finding, ...] = ()
    #: figures of the jig for the summary (style, window, play)
    jig: dict[str, object] = field(default_factory=dict)
