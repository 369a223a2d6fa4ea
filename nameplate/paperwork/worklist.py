"""The worklist: which piece lies where, which template sets it, and where the plate hangs - as a table and on paper."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from nameplate.findings import Finding
from nameplate.geometry import region as rg
from nameplate.model import Face, Order, Part, PartId, PartKind, Plate
from nameplate.nest.layout import Layout, PieceKey, Placement, SheetLayout
from nameplate.paperwork.order import sheet_words
from nameplate.paperwork.sheet_maps import ROOM, SHARED_HEIGHT, map_of
from nameplate.record.states import CALLED, OF_THE_PLATE
from nameplate.system.grouping import grouped
from nameplate.system.spreadsheets import csv_text, xlsx_bytes
from nameplate.ticket.workshop_schema import MaterialKeys

#: The table's own columns. `x_mm` and `y_mm` are the middle of the piece on its sheet, from the lower left corner;
#: `turn_deg` is how far it lies turned counter-clockwise; `square` and `jig_square` are where the ids of the
#: piece and its template stand on the maps of their sheets.
COLUMNS: tuple[str, ...] = (
    "plate",
    "name",
    "line2",
    "copy",
    "copies",
    "status",
    "sheet",
    "x_mm",
    "y_mm",
    "turn_deg",
    "jig",
    "jig_sheet",
    "position",
    "row",
    "piece",
    "square",
    "jig_square",
)

#: Columns whose cells are numbers.
NUMBERS = frozenset({"copy", "copies", "x_mm", "y_mm", "turn_deg", "row"})

#: What is said of a plate that only this run leaves out.
NOT_IN_RUN = "not in this run"

#: What `status` says of pieces that were cut and are thrown away.
USELESS = ("spoiled", "made anew")

#: What `status` says of pieces that no plate is put together from.
UNUSABLE = frozenset({"held", NOT_IN_RUN, "refused", *USELESS})

#: What the pieces of a plate are called on paper, where it has several.
PIECES: Mapping[PartKind, str] = {"lettering": CALLED["lettering"], "blank": CALLED["blank"]}

#: Columns that not every table has: all lines of a plate, where any plate has lines of their own style; those of them
#: that are scored on its plaque; the place of each copy on the wall.
MORE_COLUMNS = LINES, SCORED, SLOT = "lines", "scored", "wall_slot"

#: The places of plates on the wall, by id and copy; None where the ticket has no wall.
Slots: TypeAlias = Mapping[tuple[str, int], str] | None


@dataclass(frozen=True, slots=True)
class BatchOnPaper:
    """A batch as its workshop pages tell of it.

    `materials` say what the sheets of the layout are, and `files` names the cut file of each, in its order. `faces`,
    the records of `carriers` and the parts that are `shared` (carriers, ladders) are by design. `slots` are the places
    of plates on the wall; `bed` are sentences about how sheets lie on the machine, and `zero` names the corner of a
    sheet that it counts from, where that is another than that of x and y. `tabs` are counted by the cut files that have
    any, and `rests` name what is left of a sheet once it is cut. Plates that are `ready` need no card any more. On the
    faces of designs that are `turning` jigs may turn.

    `states` says what became of pieces that were cut already; `as_cut` has the plates of pieces that were cut before
    their plate was made anew, as they were then.
    """

    plates: Sequence[Plate]
    faces: Mapping[str, Face]
    title: str
    paper: str = "a4"
    cards_per_page: int = 6
    materials: Mapping[str, MaterialKeys] = field(default_factory=dict)
    layout: Layout = field(default_factory=Layout)
    files: Sequence[str] = ()
    findings: Sequence[Finding] = ()
    carriers: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    shared: Mapping[str, Sequence[Part]] = field(default_factory=dict)
    slots: Slots = None
    bed: Sequence[str] = ()
    zero: str = ""
    tabs: Mapping[str, int] = field(default_factory=dict)
    rests: Mapping[str, str] = field(default_factory=dict)
    ready: Collection[str] = ()
    states: Mapping[PieceKey, str] = field(default_factory=dict)
    as_cut: Mapping[PieceKey, Plate] = field(default_factory=dict)
    turning: Collection[str] = ()


#: Where the ids of pieces are scored, by the key `label` of the ticket; "back" holds for what lies face down.
_ID_PLACES = {
    "waste": "The id of each name, backing and plaque is scored beside it, on the waste.",
    "back": "The id of each name, backing and plaque is scored on the back of what lies show side down; where that is "
    "too small, and for the rest, beside it on the waste.",
}


def on_the_bed(layout: Layout, *, label: str) -> tuple[str, ...]:
    """Say how sheets still to be cut go on the machine's bed, and where their pieces' ids are (`files.label`).

    >>> on_the_bed(Layout(), label="none")
    ()
    """
    uncut = layout.uncut.sheets
    down = dict.fromkeys(sheet_words(sheet.material) for sheet in uncut if sheet.face_down)
    up = dict.fromkeys(sheet_words(sheet.material) for sheet in uncut if not sheet.face_down)
    turned = (
        f"Lay the {' and '.join(down)} sheets show side down, the masking left on: they are cut from behind, and their "
        "files are mirrored."
    )
    others = f"The {' and '.join(up)} sheets lie show side up; their files are not mirrored."
    ids = _ID_PLACES["back" if label == "back" and down else "waste"]
    told = ((turned, down), (others, down and up), (ids, uncut and label != "none"))
    return tuple(sentence for sentence, holds in told if holds)


@dataclass(frozen=True, slots=True)
class Lying:
    """A piece on its sheet: the sheet's cut file, the middle of the piece (mm), and its square on the map."""

    file: str
    at: Placement
    middle: tuple[float, float]
    square: str


@dataclass(frozen=True, slots=True)
class MappedSheet:
    """A sheet, its cut file, its pieces where they lie, and its map as SVG: empty where it is cut, and all that was on
    it is put together."""

    file: str
    layout: SheetLayout
    pieces: tuple[Lying, ...]
    picture: str


def mapped_sheets(batch: BatchOnPaper) -> tuple[MappedSheet, ...]:
    """Lay the pieces of a batch on the maps of its sheets."""
    every = (*(plate.parts for plate in batch.plates), *batch.shared.values())
    parts = {part.part_id: part for own in every for part in own}
    sheets = list(zip(batch.files, batch.layout.sheets, strict=True))
    drawn = sorted((sheet for _, sheet in sheets if _is_drawn(sheet, batch)), key=lambda sheet: sheet.cut)
    first = drawn[0] if drawn else None
    return tuple(_mapped(file, sheet, parts, batch, first=sheet is first) for file, sheet in sheets)


def _is_drawn(sheet: SheetLayout, batch: BatchOnPaper) -> bool:
    """Tell whether a sheet has a map: it is to be cut, or a piece on it is to be put together."""
    loose = any(batch.states.get(at.key) == "cut" and at.kind in OF_THE_PLATE for at in sheet.placements)
    return loose or not sheet.cut


def _mapped(
    file: str, sheet: SheetLayout, parts: Mapping[PartId, Part], batch: BatchOnPaper, *, first: bool
) -> MappedSheet:
    """Lay pieces on the map of a sheet; the `first` of all shares its page, and an upright one is drawn for that."""
    known = [(at, part) for at in sheet.placements if (part := _part(at, parts, batch.as_cut))]
    rests = {(at.plate, at.copy, at.x, at.y, at.turn) for at in sheet.placements if at.kind == "template"}
    shapes = [(_label(at, rests), at.lie(over=sheet.face_down).region(part.region)) for at, part in known]
    shared = first and sheet.height > sheet.width
    there = map_of(sheet.width, sheet.height, shapes, tallest=SHARED_HEIGHT if shared else ROOM[0])
    pieces = tuple(
        Lying(file, at, rg.bounds(region).centre, square)
        for (at, _), (_, region), square in zip(known, shapes, there.found(), strict=True)
    )
    crossed = {n for n, (at, _) in enumerate(known) if sheet.cut and batch.states.get(at.key) in USELESS}
    picture = there.drawn(f"map of {file}", sheet.outline, crossed=crossed) if _is_drawn(sheet, batch) else ""
    return MappedSheet(file, sheet, pieces, picture)


def _part(at: Placement, parts: Mapping[PartId, Part], as_cut: Mapping[PieceKey, Plate]) -> Part | None:
    """Give the part that lies there, as it was cut where its plate was made anew since; some are on the list no
    more."""
    then = as_cut.get(at.key)
    return (parts if then is None else {part.part_id: part for part in then.parts}).get(at.part_id)


def _label(at: Placement, rests: Collection[tuple[str, int, float, float, float]]) -> str:
    """Give what a piece is called on a map; nothing where it lies in what is left of its blank, which says so."""
    if at.kind == "lettering" and (at.plate, at.copy, at.x, at.y, at.turn) in rests:
        return ""
    return f"{at.plate} {at.layer}" if at.kind in ("carrier", "coupon") else at.plate


def worklist_rows(batch: BatchOnPaper, sheets: Sequence[MappedSheet]) -> list[dict[str, str]]:
    """Return one row for every piece of lettering and every plaque, and one for every plate that could not be made.

    Columns of the roster that mean nothing to the program follow the table's own; one of the same heading gets
    "(list)" behind it. Where there are designs, one of the table's own, `design`, follows the others; so does
    `wall_slot` where there is a wall. What became of a piece that was cut already is told in the column `status`, in
    place of "made"; one that was cut before its plate was made anew has the spelling and the shape of that time, and
    no jig.
    """
    places = _places(sheets)
    headings = _extra_headings(batch.plates)
    told = _told_of(batch.plates)
    found: list[dict[str, str]] = []
    for plate in batch.plates:
        values = dict(plate.order.extra)
        extras = {heading: values.get(name, "") for name, heading in headings.items()}
        for rank, row in ranked(_rows(plate, places, batch, told)):
            slot = {} if batch.slots is None else {SLOT: batch.slots.get((plate.order.id, rank or 1), "")}
            found.append({**row, **slot, **extras})
    return found


def ranked(rows: Iterable[dict[str, str]]) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield rows, each with the number of its piece among those of its plate and kind that one can use; else 0.

    >>> [rank for rank, _ in ranked({"plate": "7", "piece": "blank", "status": s} for s in ("spoiled", "cut", "made"))]
    [0, 1, 2]
    """
    found: Counter[tuple[str, str]] = Counter()
    for row in rows:
        key = (row["plate"], row["piece"])
        found[key] += (usable := row["status"] not in UNUSABLE)
        yield found[key] if usable else 0, row


def _told_of(plates: Sequence[Plate]) -> Callable[[Order], dict[str, str]]:
    """Give what gives a plate's cells of what is on it, among them those that not every batch has: lines, design."""
    orders = [plate.order for plate in plates]
    styled, designs = any(order.styled for order in orders), any(order.design for order in orders)
    scored = any(line.scored for order in orders for line in order.styled)

    def cells(order: Order) -> dict[str, str]:
        found = {"name": order.name, "line2": order.line2}
        if styled:
            found[LINES] = " / ".join(order.texts)
        if scored:
            found[SCORED] = " / ".join(line.text for line in order.styled if line.text and line.scored)
        return found | ({"design": order.design} if designs else {})

    return cells


def _places(sheets: Sequence[MappedSheet]) -> Mapping[tuple[str, PartKind], list[Lying]]:
    """Return where the pieces of each plate and kind lie, copies in order."""
    every = sorted((p for sheet in sheets for p in sheet.pieces), key=lambda p: (p.at.copy, p.at.layer))
    return grouped(((p.at.plate, p.at.kind), p) for p in every)


def _rows(
    plate: Plate,
    places: Mapping[tuple[str, PartKind], list[Lying]],
    batch: BatchOnPaper,
    told: Callable[[Order], dict[str, str]],
) -> Iterator[dict[str, str]]:
    order = plate.order
    empty = dict.fromkeys(COLUMNS, "")
    listed = {"plate": order.id, "copies": str(order.copies), "position": order.position, "row": str(order.row)}
    parts = {part.part_id for part in plate.parts}
    lying = [(kind, p) for kind in PIECES for p in places.get((order.id, kind), [])]
    pieces = [(kind, p) for kind, p in lying if p.at.part_id in parts]
    if plate.lettering is None or not pieces:
        status = NOT_IN_RUN if order.aside else "held" if order.hold else "refused"
        yield {**empty, **listed, **told(order), "status": status}
        return
    templates = [p for p in places.get((order.id, "template"), []) if p.at.key not in batch.as_cut]
    jig = _jig(plate, [p for p in templates if p.at.part_id in parts])
    for kind, piece in pieces:
        own = batch.as_cut.get(piece.at.key, plate)
        x, y = piece.middle
        where = {"sheet": piece.file, "x_mm": f"{x:.1f}", "y_mm": f"{y:.1f}", "turn_deg": f"{piece.at.turn:g}"}
        there = {**where, "square": piece.square, **(jig if own is plate else {})}
        which = {"copy": str(piece.at.copy), "status": batch.states.get(piece.at.key, "made"), "piece": kind}
        yield {**empty, **listed, **told(own.order), **which, **there}


def _jig(plate: Plate, templates: Sequence[Lying]) -> dict[str, str]:
    """Return the cells about the jig of a plate; its templates, where there are several, one after another."""
    return {
        "jig": str(plate.jig.get("file", "")),
        "jig_sheet": " ".join(dict.fromkeys(one.file for one in templates)),
        "jig_square": " ".join(one.square for one in templates),
    }


def _extra_headings(plates: Sequence[Plate]) -> dict[str, str]:
    """Return the table's heading for each extra column of the roster."""
    headings: dict[str, str] = {}
    for name in dict.fromkeys(heading for plate in plates for heading, _ in plate.order.extra):
        heading = name
        while heading in (*COLUMNS, *MORE_COLUMNS, *headings.values()):
            heading += " (list)"
        headings[name] = heading
    return headings


def worklist_csv(rows: Sequence[Mapping[str, str]]) -> str:
    """Return the worklist as CSV."""
    return csv_text(list(rows[0]) if rows else COLUMNS, rows)


def worklist_xlsx(rows: Sequence[Mapping[str, str]]) -> bytes:
    """Return the worklist as XLSX."""
    return xlsx_bytes("worklist", list(rows[0]) if rows else COLUMNS, rows, numbers=NUMBERS)
