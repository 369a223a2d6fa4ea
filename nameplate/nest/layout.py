"""Which part lies where on which sheet, as values, and as the JSON that a later run can start from.

Terms. A *piece* is one physical thing to cut: one copy of one part. A *placement* turns a piece counter-clockwise
about the plate's origin and then shifts it; sheet coordinates start at the lower left corner of the sheet, y up, mm.
Numbers in a layout are rounded when it is made, so that what is written is what was used.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import KW_ONLY, asdict, dataclass, fields, replace
from typing import Any

from nameplate import tolerances
from nameplate.findings import Finding
from nameplate.geometry.lie import Lie
from nameplate.geometry.region import Array, Region, hole_rings, mirrored, moved, outer_rings, rectangle
from nameplate.geometry.simplify import rounded
from nameplate.model import Part, PartId, PartKind
from nameplate.system.shelf import Later, lays_away, opened, stored
from nameplate.system.writing import json_text

#: Version of the layout file; a reader refuses any other.
VERSION = 1

#: What is left of a sheet is called by this and the sheet's name.
REST_OF = "rest of "

#: Angles are kept to this many decimals: at 1 m from the origin, half the last digit moves a point by 1e-6 mm.
TURN_DECIMALS = 7


@lays_away("region")
@dataclass(frozen=True, slots=True)
class Piece:
    """One physical piece to cut: nominal, in plate coordinates, and turned over where its sheet lies face down."""

    plate: str
    kind: PartKind
    copy: int
    layer: int
    material: str
    region: Region

    @property
    def key(self) -> PieceKey:
        """What tells this piece from all others of a job."""
        return (self.plate, self.kind, self.copy, self.layer)

    @property
    def shape(self) -> int:
        """What copies of one part have in common, as long as they are there: their region, which is not opened."""
        return id(stored(self, "region"))


#: plate, kind, copy, layer
PieceKey = tuple[str, PartKind, int, int]


@dataclass(frozen=True, slots=True)
class Placement:
    """Where one piece lies: turned by `turn` degrees about the plate's origin, then shifted by (x, y) mm."""

    plate: str
    kind: PartKind
    copy: int
    layer: int
    x: float
    y: float
    turn: float

    @property
    def key(self) -> PieceKey:
        """What tells this piece from all others of a job."""
        return (self.plate, self.kind, self.copy, self.layer)

    @property
    def part_id(self) -> PartId:
        """By what the part goes in a batch, whatever its copy."""
        return self.plate, self.kind, self.layer

    def lie(self, *, over: bool) -> Lie:
        """Say how it lies; a piece of a sheet that lies face down is turned `over` first."""
        return Lie(self.x, self.y, self.turn, over)


@dataclass(frozen=True, slots=True)
class StockSheet:
    """One sheet, whatever lies on it.

    `stock` is the position of its size in the ticket's stock, or -1 for an offcut. `on_hand` sheets cost nothing.
    `outline` is the sheet's own shape where it is not the whole rectangle; `keep_outs` are damaged places on it. What
    is left of another sheet has its lower left corner `at` (x, y) mm from that sheet's; None where nobody knows.
    """

    material: str
    width: float
    height: float
    stock: int
    price: float = 0.0
    _: KW_ONLY
    on_hand: bool = False
    offcut: str = ""
    outline: Region | None = None
    keep_outs: Region | None = None
    at: tuple[float, float] | None = None

    @property
    def cost(self) -> float:
        """What the sheet costs: nothing when it is on hand."""
        return 0.0 if self.on_hand else self.price

    @property
    def plain(self) -> bool:
        """Whether it is a whole rectangle, without damaged places."""
        return self.outline is None and self.keep_outs is None

    @property
    def whole(self) -> Region:
        """All of it, damaged places among that."""
        return rectangle(0, 0, self.width, self.height) if self.outline is None else self.outline

    @property
    def of_stock(self) -> dict[str, Any]:
        """The fields of the sheet by itself, to make another kind of it."""
        return {f.name: getattr(self, f.name) for f in fields(StockSheet)}


@dataclass(frozen=True, slots=True)
class SheetLayout(StockSheet):
    """One sheet and what lies on it.

    One that is `cut` was cut after an earlier run, and nothing about it changes any more. One that lies `face_down` has
    its show side below: all parts on it are turned over, left for right.
    """

    placements: tuple[Placement, ...] = ()
    number: int = 1
    cut: bool = False
    face_down: bool = False

    @property
    def name(self) -> str:
        """Name it as what is left of it does."""
        return f"{self.material} {self.number:02d}"

    @property
    def file(self) -> str:
        """Its cut file, under the out folder."""
        return f"cut/{self.material}-{self.number:02d}.svg"

    @property
    def left_of(self) -> str:
        """Name the sheet that it is left of; empty where it is none of which the place is known."""
        return "" if self.at is None else self.offcut.removeprefix(REST_OF)


@dataclass(frozen=True, slots=True)
class Layout:
    """A whole nest: sheets by material and number, what was found, which pieces found no place, and the ids of the
    plates that were not made, so that nobody knows their pieces."""

    sheets: tuple[SheetLayout, ...] = ()
    findings: tuple[Finding, ...] = ()
    unplaced: tuple[PieceKey, ...] = ()
    not_made: tuple[str, ...] = ()

    @property
    def uncut(self) -> Layout:
        """The same without the sheets that were cut already: what is still to be bought and burned."""
        return replace(self, sheets=tuple(sheet for sheet in self.sheets if not sheet.cut))


def pieces_of(parts: Iterable[Part], face_down: Collection[str] = ()) -> tuple[Piece, ...]:
    """Expand the copies of parts that are to be cut into pieces; sheets of the materials `face_down` lie so.

    >>> pieces_of([])
    ()
    """
    return tuple(piece for part in parts for piece in _copies(part, over=part.material in face_down))


def _copies(part: Part, *, over: bool) -> Iterator[Piece]:
    """Yield the copies of a part, turned `over` or not; they share its region, which is not opened for that."""
    region = stored(part, "region")
    lying: Any = _TurnedOver(region) if over else region
    for copy in range(part.first, part.first + part.copies):
        yield Piece(part.plate, part.kind, copy, part.layer, part.material, lying)


@dataclass(frozen=True, slots=True)
class _TurnedOver(Later[Region]):
    """A region turned over, left for right, when it is looked at."""

    held: Region | Later[Region]

    def made(self) -> Region:
        """Turn it over."""
        return mirrored(opened(self.held))


def placement(piece: Piece, x: float, y: float, turn: float) -> Placement:
    """Make a placement with its numbers rounded to what the layout file holds."""
    return Placement(piece.plate, piece.kind, piece.copy, piece.layer, mm(x), mm(y), degrees(turn))


def placed(piece: Piece, at: Placement) -> Region:
    """Give the piece where it lies, in sheet coordinates."""
    return moved(piece.region, at.x, at.y, turn=at.turn)


@dataclass(frozen=True, slots=True)
class PlacedRegion(Later[Region]):
    """A piece where it lies, in sheet coordinates, for a field that is laid away: the piece is moved when looked at."""

    piece: Piece
    at: Placement

    def made(self) -> Region:
        """Give the piece where it lies."""
        return placed(self.piece, self.at)


def mm(value: float) -> float:
    """Round a length to the decimals of a layout."""
    return round(value, tolerances.DECIMALS) + 0.0


def degrees(value: float) -> float:
    """Give a turn from 0 to under 360 degrees, rounded as a layout has it."""
    return round(value % 360, TURN_DECIMALS) % 360 + 0.0


# --- writing --------------------------------------------------------------------------------------------------------


def layout_to_json(layout: Layout) -> str:
    """Write a layout as JSON text: the same layout always gives the same text.

    >>> layout_to_json(Layout()).splitlines()[1]
    ' "version": 1,'
    """
    document = {
        "version": VERSION,
        "sheets": [_sheet_document(sheet) for sheet in layout.sheets],
        "unplaced": [list(key) for key in layout.unplaced],
        **({"not_made": list(layout.not_made)} if layout.not_made else {}),
        "findings": [asdict(finding) for finding in layout.findings],
    }
    return json_text(document)


def _sheet_document(sheet: SheetLayout) -> dict[str, Any]:
    always = ("material", "number", "width", "height", "stock", "price", "on_hand", "offcut")
    document: dict[str, Any] = {name: getattr(sheet, name) for name in always}
    if sheet.at is not None:
        document["at"] = list(sheet.at)
    document |= {name: True for name in ("cut", "face_down") if getattr(sheet, name)}
    shapes = (("outline", sheet.outline), ("keep_outs", sheet.keep_outs))
    document |= {name: region_document(shape) for name, shape in shapes if shape is not None}
    return {**document, "placements": [asdict(at) for at in sheet.placements]}


def region_document(region: Region) -> list[dict[str, Any]]:
    """Write a region as outlines with their holes, rounded to the decimals of a cut file; no ring crosses itself."""
    return [
        {"outer": _ring_document(outer_rings(solid)[0]), "holes": [_ring_document(r) for r in hole_rings(solid)]}
        for solid in rounded(region, tolerances.DECIMALS).geoms
    ]


def _ring_document(ring: Array) -> list[list[float]]:
    return [[mm(float(x)), mm(float(y))] for x, y in ring]


# --- whose layout it is ---------------------------------------------------------------------------------------------


def strangers(layout: Layout, pieces: Sequence[Piece]) -> list[str]:
    """Say, one sentence each, which pieces the layout lacks, repeats, has too many, or has of another material."""
    wanted = {piece.key: piece for piece in pieces}
    every = [(at.key, sheet.material) for sheet in layout.sheets for at in sheet.placements]
    seen = Counter(key for key, _ in every)
    problems = [
        f"{name_of(key)} lies on a sheet of {material}; it is made of {wanted[key].material}"
        for key, material in every
        if key in wanted and wanted[key].material != material
    ]
    problems += [f"{name_of(key)} lies in the layout {n} times" for key, n in seen.items() if n > 1]
    problems += [f"{name_of(key)} is in the layout but not in this job" for key in seen if key not in wanted]
    absent = (key for key in wanted if key not in seen and key not in layout.unplaced)
    problems += [f"{name_of(key)} is in this job but not in the layout" for key in absent]
    return problems


def name_of(key: PieceKey) -> str:
    """Name a piece for a message.

    >>> name_of(("007", "lettering", 2, 1))
    'plate 007 lettering (copy 2)'
    """
    plate, kind, copy, layer = key
    return f"plate {plate} {kind}" + (f" layer {layer}" if layer > 1 else "") + (f" (copy {copy})" if copy > 1 else "")


def same_places(a: Layout, b: Layout) -> bool:
    """Tell whether every piece lies in the same place, on the same sheet, in two layouts of the same sheets.

    >>> same_places(Layout(), Layout())
    True
    """
    return [set(sheet.placements) for sheet in a.sheets] == [set(sheet.placements) for sheet in b.sheets]
