"""Which part lies where on which sheet, as values, and as the JSON that a later run can start from.

Terms. A *piece* is one physical thing to cut: one copy of one part. A *placement* turns a piece counter-clockwise
about the plate's origin and then shifts it; sheet coordinates start at the lower left corner of the sheet, y up, mm.
Numbers in a layout are rounded when it is made, so that what is written is what was used.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, get_args

from nameplate import tolerances
from nameplate.errors import LayoutError
from nameplate.findings import SEVERITIES, Finding
from nameplate.geometry.region import Array, Region, from_ring, hole_rings, moved, outer_rings, union
from nameplate.parts import Part, PartKind
from nameplate.shelf import Later, lays_away, stored

#: Version of the layout file; a reader refuses any other.
VERSION = 1

#: Angles are kept to this many decimals: at 1 m from the origin, half the last digit moves a point by 1e-6 mm.
TURN_DECIMALS = 7


@lays_away("region")
@dataclass(frozen=True, slots=True)
class Piece:
    """One physical piece to cut: nominal, in plate coordinates."""

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


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """One sheet and what lies on it.

    `stock` is the position of its size in the ticket's stock, or -1 for an offcut. `on_hand` sheets cost nothing.
    `outline` is the sheet's own shape where it is not the whole rectangle; `keep_outs` are damaged places on it.
    """

    material: str
    width: float
    height: float
    stock: int
    price: float
    placements: tuple[Placement, ...]
    number: int = 1
    on_hand: bool = False
    offcut: str = ""
    outline: Region | None = None
    keep_outs: Region | None = None

    @property
    def cost(self) -> float:
        """What the sheet costs: nothing when it is on hand."""
        return 0.0 if self.on_hand else self.price


@dataclass(frozen=True, slots=True)
class Layout:
    """A whole nest: sheets by material and number, what was found, and which pieces found no place."""

    sheets: tuple[SheetLayout, ...] = ()
    findings: tuple[Finding, ...] = ()
    unplaced: tuple[PieceKey, ...] = ()


def pieces_of(parts: Iterable[Part]) -> tuple[Piece, ...]:
    """Expand the copies of parts into pieces, copies numbered from 1.

    >>> pieces_of([])
    ()
    """
    return tuple(
        Piece(part.plate, part.kind, copy, part.layer, part.material, stored(part, "region"))
        for part in parts
        for copy in range(1, part.copies + 1)
    )


def placement(piece: Piece, x: float, y: float, turn: float) -> Placement:
    """Make a placement with its numbers rounded to what the layout file holds."""
    return Placement(piece.plate, piece.kind, piece.copy, piece.layer, _mm(x), _mm(y), _degrees(turn))


def placed(piece: Piece, at: Placement) -> Region:
    """Give the piece where it lies, in sheet coordinates."""
    return moved(piece.region, at.x, at.y, turn=at.turn)


@dataclass(frozen=True, slots=True)
class Lying(Later[Region]):
    """A piece where it lies, in sheet coordinates, for a field that is laid away: the piece is moved when looked at."""

    piece: Piece
    at: Placement

    def made(self) -> Region:
        """Give the piece where it lies."""
        return placed(self.piece, self.at)


def _mm(value: float) -> float:
    return round(value, tolerances.DECIMALS) + 0.0


def _degrees(value: float) -> float:
    return round(value % 360, TURN_DECIMALS) % 360 + 0.0


# --- writing --------------------------------------------------------------------------------------------------------


def layout_to_json(layout: Layout) -> str:
    """Write a layout as JSON text: the same layout always gives the same text.

    >>> layout_from_json(layout_to_json(Layout())) == Layout()
    True
    """
    document = {
        "version": VERSION,
        "sheets": [_sheet_document(sheet) for sheet in layout.sheets],
        "unplaced": [list(key) for key in layout.unplaced],
        "findings": [asdict(finding) for finding in layout.findings],
    }
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def _sheet_document(sheet: SheetLayout) -> dict[str, Any]:
    document: dict[str, Any] = {
        "material": sheet.material,
        "number": sheet.number,
        "width": sheet.width,
        "height": sheet.height,
        "stock": sheet.stock,
        "price": sheet.price,
        "on_hand": sheet.on_hand,
        "offcut": sheet.offcut,
    }
    for name, region in (("outline", sheet.outline), ("keep_outs", sheet.keep_outs)):
        if region is not None:
            document[name] = region_document(region)
    document["placements"] = [asdict(p) for p in sheet.placements]
    return document


def region_document(region: Region) -> list[dict[str, Any]]:
    """Write a region as outlines with their holes, rounded to the decimals of a cut file."""
    return [
        {"outer": _ring_document(outer_rings(solid)[0]), "holes": [_ring_document(r) for r in hole_rings(solid)]}
        for solid in region.geoms
    ]


def _ring_document(ring: Array) -> list[list[float]]:
    return [[_mm(float(x)), _mm(float(y))] for x, y in ring]


def region_from_document(document: object) -> Region:
    """Read what `region_document` wrote; raises ValueError, in words, for anything else."""
    if not isinstance(document, list):
        raise ValueError("an outline must be a list of {outer, holes}")
    try:
        return union(*(from_ring(solid["outer"], solid.get("holes", [])) for solid in document))
    except (TypeError, KeyError, AttributeError, ValueError) as error:
        raise ValueError(f"an outline is not a list of {{outer, holes}} rings of [x, y]: {error}") from error


# --- reading --------------------------------------------------------------------------------------------------------


def layout_from_json(text: str, *, pieces: Sequence[Piece] | None = None) -> Layout:
    """Read a layout, and check that it belongs to `pieces` when they are given.

    Raises LayoutError, with every reason found, when the text is no layout of this version or when it does not hold
    each of the pieces exactly once. Whether the pieces still fit where it puts them is for `verify` to say.
    """
    try:
        document = json.loads(text)
    except ValueError as error:
        raise LayoutError(f"the layout file is not JSON: {error}") from error
    if not isinstance(document, dict) or document.get("version") != VERSION:
        found = document.get("version") if isinstance(document, dict) else None
        raise LayoutError(f"the layout file has version {found!r}; this program reads version {VERSION}")
    reader = _Reader()
    layout = reader.layout(document)
    problems = reader.problems or ([] if pieces is None else strangers(layout, pieces))
    if problems:
        raise LayoutError(problems)
    return layout


def strangers(layout: Layout, pieces: Sequence[Piece]) -> list[str]:
    """Say, one sentence each, which pieces the layout lacks, repeats, has too many, or has of another material."""
    wanted = {piece.key: piece for piece in pieces}
    seen: dict[PieceKey, int] = {}
    problems = []
    for sheet in layout.sheets:
        for at in sheet.placements:
            seen[at.key] = seen.get(at.key, 0) + 1
            if at.key in wanted and wanted[at.key].material != sheet.material:
                problems.append(
                    f"{name_of(at.key)} lies on a sheet of {sheet.material}; it is made of {wanted[at.key].material}"
                )
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


class _Reader:
    """Reads the parts of a layout document and collects what is wrong with it."""

    def __init__(self) -> None:
        self.problems: list[str] = []

    def layout(self, document: Mapping[str, Any]) -> Layout:
        sheets = self._list(document, "sheets", "the layout")
        return Layout(
            tuple(self._sheet(sheet, n) for n, sheet in enumerate(sheets, 1) if self._is_table(sheet, f"sheet {n}")),
            tuple(self._finding(f) for f in self._list(document, "findings", "the layout")),
            tuple(self._piece_key(k) for k in self._list(document, "unplaced", "the layout")),
        )

    def _sheet(self, sheet: Mapping[str, Any], n: int) -> SheetLayout:
        where = f"sheet {n}"
        rows = self._list(sheet, "placements", where)
        return SheetLayout(
            material=self._text(sheet, "material", where),
            width=self._number(sheet, "width", where, above=0.0),
            height=self._number(sheet, "height", where, above=0.0),
            stock=int(self._number(sheet, "stock", where)),
            price=self._number(sheet, "price", where),
            placements=tuple(self._placement(row, where) for row in rows if self._is_table(row, where)),
            number=int(self._number(sheet, "number", where)),
            on_hand=bool(sheet.get("on_hand", False)),
            offcut=str(sheet.get("offcut", "")),
            outline=self._region(sheet, "outline", where),
            keep_outs=self._region(sheet, "keep_outs", where),
        )

    def _placement(self, row: Mapping[str, Any], where: str) -> Placement:
        plate = self._text(row, "plate", where)
        where = f"{where}, plate {plate}"
        return Placement(
            plate,
            self._kind(row.get("kind"), where),
            int(self._number(row, "copy", where)),
            int(self._number(row, "layer", where)),
            self._number(row, "x", where),
            self._number(row, "y", where),
            self._number(row, "turn", where),
        )

    def _finding(self, row: Any) -> Finding:  # noqa: ANN401 - anything can stand in a file
        try:
            finding = Finding(**row)
        except TypeError:
            self.problems.append(f"the layout has a finding that is not one: {row!r}")
            return Finding("unreadable", "note", "")
        if finding.severity not in SEVERITIES:
            self.problems.append(f"the layout has a finding of severity {finding.severity!r}")
        return finding

    def _piece_key(self, row: Any) -> PieceKey:  # noqa: ANN401
        if not (isinstance(row, list) and len(row) == 4):
            self.problems.append(f"an unplaced piece must be [plate, kind, copy, layer], not {row!r}")
            return ("", "lettering", 1, 1)
        plate, kind, copy, layer = row
        return (str(plate), self._kind(kind, f"unplaced plate {plate}"), int(copy), int(layer))

    def _kind(self, value: Any, where: str) -> PartKind:  # noqa: ANN401
        if value in get_args(PartKind):
            kind: PartKind = value
            return kind
        self.problems.append(f"{where}: kind {value!r} is none of {', '.join(get_args(PartKind))}")
        return "lettering"

    def _is_table(self, value: object, where: str) -> bool:
        if not isinstance(value, dict):
            self.problems.append(f"{where} holds {value!r} where a table was expected")
        return isinstance(value, dict)

    def _list(self, table: Mapping[str, Any], key: str, where: str) -> list[Any]:
        value = table.get(key, [])
        if isinstance(value, list):
            return value
        self.problems.append(f"{where}: {key} must be a list")
        return []

    def _text(self, table: Mapping[str, Any], key: str, where: str) -> str:
        value = table.get(key)
        if not isinstance(value, str):
            self.problems.append(f"{where}: {key} must be text, not {value!r}")
        return str(value)

    def _number(self, table: Mapping[str, Any], key: str, where: str, *, above: float = -math.inf) -> float:
        value = table.get(key)
        if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value) and value > above:
            return value
        self.problems.append(f"{where}: {key} must be a number{' above 0' if above == 0 else ''}, not {value!r}")
        return 1.0

    def _region(self, table: Mapping[str, Any], key: str, where: str) -> Region | None:
        if key not in table:
            return None
        try:
            return region_from_document(table[key])
        except ValueError as error:
            self.problems.append(f"{where}: {key}: {error}")
            return None
