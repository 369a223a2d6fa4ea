"""The worklist as a page to print: maps of the sheets to cut, what is taken off each, and where each plate hangs."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from nameplate.findings import Finding, counted, enumerated, errors_in
from nameplate.model import Plate
from nameplate.nest.layout import PieceKey, SheetLayout
from nameplate.paperwork.looks import near_names
from nameplate.paperwork.order import called, material_in_words, sheet_words
from nameplate.paperwork.pictures import PlatePictures, plate_pictures
from nameplate.paperwork.sheet_maps import SHARED_HEIGHT, Squares
from nameplate.paperwork.worklist import (
    COLUMNS,
    MORE_COLUMNS,
    NOT_IN_RUN,
    PIECES,
    SLOT,
    USELESS,
    BatchOnPaper,
    MappedSheet,
    ranked,
)
from nameplate.pdf.paper import PAPERS
from nameplate.record.plate_lists import in_ranges
from nameplate.system.grouping import grouped
from nameplate.system.html_pages import render, safe
from nameplate.ticket.cautions import cautions_for
from nameplate.ticket.materials import GLUED
from nameplate.ticket.workshop_schema import MaterialKeys
from nameplate.units import size_in_words, with_inches

#: The margins of an upright page (mm): above and below together, with a hair to spare, and at its sides.
_MARGINS, _SIDE_MARGINS = 31.0, 24.0

#: The first map, which takes what the texts before it leave of their page, has at least this share of its size: else
#: its letters are hard to read, and it follows on a page of its own.
LEAST_SHARE = 0.6

#: A first map that is no higher (mm) over the whole width of its page leaves the rest to what follows.
LOW = 95.0

#: Box of a plate's picture on paper (mm).
_PICTURE = (34.0, 24.0)


def worklist_html(batch: BatchOnPaper, mapped: Sequence[MappedSheet], rows: Sequence[dict[str, str]]) -> Iterator[str]:
    """Give, piece by piece, the worklist as a page to print: cautions, maps of sheets to cut, a picture of every plate.

    ``mapped`` are the `mapped_sheets`, ``rows`` the `worklist_rows`. Findings of refused rows are shown beside them,
    besides the plate's own.
    """
    plates = batch.plates
    draw = {name: plate_pictures(face, width=_PICTURE[0], height=_PICTURE[1]) for name, face in batch.faces.items()}
    by_row = grouped((finding.row, finding) for finding in batch.findings)
    by_id = {p.order.id: p for p in plates if p.lettering is not None}
    sheets = {sheet.file: sheet_name(sheet.layout, sheet.file) for sheet in mapped}
    absent = {row["plate"] for row in rows if row["status"] in (NOT_IN_RUN, "held")}
    left_out = [plate for plate in plates if plate.lettering is None or plate.order.id in absent]
    made = _finished(rows, by_id, list(sheets))
    to_do = [plate for plate in made if not plate.together]
    hanging = sorted((p for p in made if p.position and not p.spare), key=lambda p: natural(p.position))
    values = {
        "title": batch.title,
        "paper": batch.paper,
        "zero": batch.zero,
        "tabs": batch.tabs,
        "cautions": cautions_for(
            glued=bool(batch.carriers) or any(plate.glued for plate in made), wall=batch.slots is not None
        ),
        "bed": batch.bed,
        "maps": [_map(s, batch) for s in sorted(mapped, key=lambda s: s.layout.cut) if s.picture],
        "cut": _cut_already([sheet.layout for sheet in mapped if not sheet.picture]),
        "page_height": PAPERS[batch.paper].height - _MARGINS,
        "low": LOW,
        "sheets": sheets,
        "made": to_do,
        "placed": any(plate.position for plate in made),
        "has_more": any(plate.extra for plate in to_do),
        "together": _listed(made, lambda plate: plate.together),
        "to_hang": _listed(made, lambda plate: plate.together and not (plate.hung or plate.position or plate.spare)),
        "hanging": [plate for plate in hanging if not plate.hung],
        "hung": _listed(hanging, lambda plate: plate.hung),
        "alike": dict(near_names([plate.order for plate in by_id.values()])),
        "names": PIECES,
        "ways": _ways(to_do, by_id, batch.faces) if to_do or not made else [],
        "picture": lambda plate: safe(_picture(by_id[plate], draw)),
        "refused": [(p.order, _why_not(p, by_row.get(p.order.row, ()))) for p in left_out],
    }
    return render("worklist.html", values, room="paperwork")


def sheet_name(sheet: SheetLayout, file: str) -> str:
    """Name a sheet as people do: by its material and its number, and what is said of its cut file."""
    return f"{sheet_words(sheet.material)} sheet {sheet.number}{file.partition('.svg')[2]}"


def sheet_in_words(sheet: SheetLayout, batch: BatchOnPaper) -> str:
    """Say what is laid into the machine: material, thickness, size."""
    inches = PAPERS[batch.paper].inches
    size = f"{size_in_words(sheet.width, sheet.height)}\N{NO-BREAK SPACE}mm"
    size = with_inches(size, sheet.width, sheet.height, inches=inches)
    if sheet.material not in batch.materials:
        return size
    return f"{material_in_words(batch.materials, sheet.material, inches=inches)}, {size}"


def natural(text: str) -> tuple[tuple[int, str, int], ...]:
    """Give what to sort a text by so that A2 comes before A10.

    >>> sorted(["B1", "A10", "A2", "7"], key=natural)
    ['7', 'A2', 'A10', 'B1']
    """
    found = re.findall(r"(\d{1,9})|(\D+)", text.casefold())
    return tuple((1, "", int(number)) if number else (2, words, 0) for number, words in found)


@dataclass(frozen=True, slots=True)
class FinishedPlate:
    """One of a plate on paper: its number, the rows of its pieces, what the list has besides; whether it is glued."""

    number: int
    design: str
    pieces: tuple[Mapping[str, str], ...]
    extra: tuple[tuple[str, str], ...]
    glued: bool

    @property
    def position(self) -> str:
        """Where it hangs: its place on the wall, or what the list says; empty where neither does."""
        return self.pieces[0].get(SLOT) or self.pieces[0]["position"]

    @property
    def spare(self) -> bool:
        """Whether it was cut in reserve: one more than were ordered."""
        return self.number > int(self.pieces[0]["copies"])

    @property
    def hung(self) -> bool:
        """Whether it is marked as hung."""
        return all(piece["status"] == "hung" for piece in self.pieces)

    @property
    def together(self) -> bool:
        """Whether it is marked as fitted, or hung by now: nothing of it is looked for on a sheet any more."""
        return all(piece["status"] in ("fitted", "hung") for piece in self.pieces)


def _finished(rows: Sequence[dict[str, str]], by_id: Mapping[str, Plate], files: Sequence[str]) -> list[FinishedPlate]:
    """Put the rows of what is made into one plate together, sheet by sheet and in each from square to square."""
    found = grouped(((row["plate"], number), row) for number, row in ranked(rows) if number)
    ranks = {file: rank for rank, file in enumerate(files)}
    ordered = sorted(found.items(), key=lambda item: (ranks[item[1][0]["sheet"]], natural(item[1][0]["square"])))
    plates = [(by_id[plate].order, number, own) for (plate, number), own in ordered]
    return [
        FinishedPlate(number, o.design, tuple(own), _from_the_list(own[0]), o.mount in GLUED and not o.free)
        for o, number, own in plates
    ]


def _listed(plates: Iterable[FinishedPlate], wanted: Callable[[FinishedPlate], bool]) -> str:
    """List the ids of the plates that are wanted, and single copies where others of the plate are not."""
    by_id = grouped((plate.pieces[0]["plate"], plate) for plate in plates)
    parted = {name: own for name, own in by_id.items() if not all(map(wanted, own))}
    whole = [name for name in by_id if name not in parted]
    others = [f"{name} copy {one.number}" for name, own in parted.items() for one in own if wanted(one)]
    return ", ".join([*([in_ranges(whole, most=len(whole))] if whole else []), *others])


def _cut_already(sheets: Sequence[SheetLayout]) -> str:
    """Name sheets, those of one material together.

    >>> _cut_already([SheetLayout("blank", 600, 300, 0, 1.0, (), number=n) for n in (1, 2, 3)]), _cut_already([])
    ('plaque sheets 1-3', '')
    """
    numbers = grouped((sheet_words(sheet.material), str(sheet.number)) for sheet in sheets)
    return "; ".join(
        f"{key} sheet{'s' * (len(own) > 1)} {in_ranges(own, most=len(own))}" for key, own in numbers.items()
    )


#: What is done with a plate on which a name is glued, by the style of its jig: before the glue, and after it.
_GLUED = {
    "template": (
        "Cut the templates, then the lettering. Lay each template on its plate edge to edge, the arrow up; try the "
        "name in its window dry",
        "set it in, wait, lift the template",
    ),
    "carrier": (
        "Cut the carrier and build it up once, as cards.html shows; cut the templates, then the lettering. For each "
        "plate lay the plaque in the pocket, its top to the arrow, and drop its template on the three pins: it goes on "
        "one way only. Try the name in its window dry",
        "set it in, wait, lift the template",
    ),
    "skeleton": (
        "Cut the names; what is left of the blank of each is its template, so keep the two together. Lay it on its "
        "plate edge to edge, the arrow up; try the name in it dry",
        "set it in, wait, lift the rest of the blank",
    ),
    "print": (
        "Cut the lettering. Print jigs/all.pdf at its true size, measure its line of 100 mm, and cut the windows out "
        "by hand. Lay each print on its plate edge to edge and tape it; try the name in its window dry",
        "set it in, wait, take the print off",
    ),
    "none": ("Cut the lettering. Try each name on its plate dry", "set it down and wait"),
}


@dataclass(frozen=True, slots=True)
class WayOfMaking:
    """How plates are made: by the mounts of names that are glued (empty where none is), with which jig, on what."""

    free: bool
    glued: frozenset[str]
    style: str
    plaques: bool

    @property
    def sentences(self) -> str:
        """The work on such plates, from the laser to the glue."""
        if not self.glued:
            what = "names" if self.free else "plates"
            return f"Cut the {what}; take each out of its sheet, and compare it with the proof."
        before, after = _GLUED.get(self.style, _GLUED["none"])
        plaques = "Cut the plaques. " * self.plaques
        backings = "Glue each name on its backing first, as its card shows. " * ("backed" in self.glued)
        glue = "put small dots of glue on the back of the name, away from its edge"
        return f"{plaques}{backings}{before}; {glue}; {after}."


def _ways(
    made: Sequence[FinishedPlate], by_id: Mapping[str, Plate], faces: Iterable[str]
) -> list[tuple[str, WayOfMaking]]:
    """Give the ways in which designs that have a plate are made, each below which heading; that of the ticket alone
    where none has."""
    of_designs: dict[str, list[FinishedPlate]] = {name: [] for name in faces}
    for plate in made:
        of_designs[plate.design].append(plate)
    used = {name: own for name, own in of_designs.items() if own} or {"": []}
    alike = grouped((_way(own, by_id), name) for name, own in used.items())
    alone = list(used) == [""]
    return [("" if alone else _headed(names), way) for way, names in alike.items()]


def _way(own: Sequence[FinishedPlate], by_id: Mapping[str, Plate]) -> WayOfMaking:
    plates = [by_id[plate.pieces[0]["plate"]] for plate in own]
    glued = [p for p, one in zip(plates, own, strict=True) if one.glued]
    styles = {str(p.jig.get("style", "none")) for p in glued} - {"none"}
    plaques = any(row["piece"] == "blank" for plate in own for row in plate.pieces)
    free = bool(plates) and all(p.order.free for p in plates)
    return WayOfMaking(free, frozenset(p.order.mount for p in glued), min(styles, default="none"), plaques)


def _headed(designs: Sequence[str]) -> str:
    """Name some designs, rows without one last.

    >>> _headed(["gold"]), _headed(["gold", "silver"]), _headed(["", "gold"]), _headed([""])
    ('design gold', 'designs gold and silver', 'design gold and rows without a design', 'rows without a design')
    """
    named = [name for name in designs if name]
    called = [f"design{'s' * (len(named) > 1)} {enumerated(named)}"] if named else []
    return enumerated([*called, *(["rows without a design"] if "" in designs else [])])


def _picture(plate: Plate, draw: Mapping[str, PlatePictures]) -> str:
    assert plate.lettering is not None
    return draw[plate.order.design].of(plate.lettering, plate.order.name)


def _from_the_list(row: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Return the roster's extra columns that say something about a row."""
    own = {*COLUMNS, *MORE_COLUMNS}
    return tuple((heading, value) for heading, value in row.items() if value and heading not in own)


def _map(mapped: MappedSheet, batch: BatchOnPaper) -> dict[str, object]:
    """Give the map of one sheet, and what is said of it."""
    sheet, file, paper = mapped.layout, mapped.file, PAPERS[batch.paper]
    squares, inches = Squares(sheet.width, sheet.height), paper.inches
    width, height = squares.on_paper
    tall = height / width * (paper.width - _SIDE_MARGINS)
    upright = sheet.height > sheet.width
    over = "; lies show side down, seen from behind" if sheet.face_down else ""
    return {
        "name": sheet_name(sheet, file),
        "file": file,
        "about": f"{sheet_in_words(sheet, batch)}, {counted(len(sheet.placements), 'piece')}{over}",
        "square": squares.side,
        "upright": upright,
        "most": round(tall, 1),
        "least": round(LEAST_SHARE * (min(height, SHARED_HEIGHT) if upright else height), 1),
        "picture": safe(mapped.picture),
        "left_of": left_of_sentence(sheet, batch.layout.sheets, inches=inches),
        "rest": "" if sheet.cut else batch.rests.get(sheet.file, ""),
        "grain": "" if sheet.cut else grain_sentence(sheet, batch.materials),
        "cut": sheet.cut,
        "useless": _useless(sheet, batch.states) if sheet.cut else "",
    }


def _useless(sheet: SheetLayout, states: Mapping[PieceKey, str]) -> str:
    """Say which pieces of a sheet that is cut are thrown away, and why; empty where none is."""
    plates = grouped((states.get(at.key, ""), at.plate) for at in sheet.placements)
    told = ((why, list(dict.fromkeys(plates[why]))) for why in USELESS if why in plates)
    return ", ".join(f"{in_ranges(own, most=len(own))} ({why})" for why, own in told)


def grain_sentence(sheet: SheetLayout, materials: Mapping[str, MaterialKeys]) -> str:
    """Say along which side of a sheet the lines of its pieces run, where its material has a grain and all lie alike.

    The grain itself is laid by hand: nothing else says along which side of a sheet it runs.
    """
    turns = {at.turn % 180 for at in sheet.placements}
    if sheet.material not in materials or not materials[sheet.material].grain or len(turns) != 1:
        return ""
    (turn,) = turns
    ways = {0.0: "from left to right on this map", 90.0: "up and down on this map"}
    way = ways.get(turn, f"turned by {turn:g}° on this map")
    return f"Grain or brushing: the lines of all pieces run {way}; see that it runs there as you want it on the plates."


def left_of_sentence(sheet: SheetLayout, sheets: Sequence[SheetLayout], *, inches: bool = False) -> str:
    """Say which offcut a sheet is laid on, and where its corner is on the sheet that this is left of.

    Where that one of the job's own `sheets` was what is left of another, the place on the first of all is told too.
    With `inches` places are in these, too.
    """
    if not sheet.offcut or sheet.stock >= 0:
        return ""
    if sheet.at is None:
        return f"Laid on {called(sheet.offcut)}."
    cut = {(one.material, one.name): one for one in sheets if one.cut}
    parent, (x, y) = cut.get((sheet.material, sheet.left_of)), sheet.at
    if parent is None:
        return f"Laid on {called(sheet.offcut)} of an earlier job: {_corner(x, y, inches=inches)} that sheet's."
    here = f"Laid on {called(sheet.offcut)}: {_corner(x, y, inches=inches)} that of {sheet_name(parent, '')}"
    first: SheetLayout = parent
    while first.at is not None and (before := cut.get((first.material, first.left_of))):
        if before.number >= first.number:  # left of itself: no run writes that
            break
        x, y, first = x + first.at[0], y + first.at[1], before
    there = f" ({_place(x, y, inches=inches)} that of {sheet_name(first, '')})"
    return here + (there if first is not parent else "") + "."


def _corner(x: float, y: float, *, inches: bool) -> str:
    return f"this sheet's lower left corner is {_place(x, y, inches=inches)}"


def _place(x: float, y: float, *, inches: bool) -> str:
    """Say where a corner is by another, mm to the right of it and above it; a way in which it is as far is left out.

    >>> _place(12, 3.5, inches=False), _place(0, 0, inches=False)
    ('12 mm to the right of and 3.5 mm above', 'the same as')
    >>> _place(12, 0.04, inches=False), _place(0, 3.5, inches=False)
    ('12 mm to the right of', '3.5 mm above')
    """
    ways = ((x, "to the right of"), (y, "above"))
    told = [
        f"{with_inches(f'{round(length, 1):g} mm', length, inches=inches)} {way}"
        for length, way in ways
        if round(length, 1) != 0
    ]
    return " and ".join(told) or "the same as"


def _why_not(plate: Plate, findings: Sequence[Finding]) -> tuple[str, ...]:
    """Say why a plate is not made: it is left out on purpose, or has errors, its own or those of its row."""
    if plate.order.aside:
        return (NOT_IN_RUN,)
    if plate.order.hold:
        return ("on hold, as the list has it",)
    return errors_in((*plate.findings, *findings))
