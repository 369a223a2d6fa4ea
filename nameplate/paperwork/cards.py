"""Work cards: how plates of each kind are put together, once; then a small card a plate, to tick off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import ceil
from typing import Any

import numpy as np

from nameplate.findings import enumerated
from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.region import Array, Region
from nameplate.jig.steps import glue_dots
from nameplate.model import Face, Lettering, Order, Plate
from nameplate.paperwork.assembly import CarrierPicture, carrier_picture, ladder_picture
from nameplate.paperwork.labels import ems
from nameplate.paperwork.pictures import BORDER, UNITS, artwork_picture, backing_of, ground_of, path_data
from nameplate.paperwork.plate_facts import unbroken
from nameplate.paperwork.work_kinds import SNAP_STEP, WorkKind, kind_of
from nameplate.paperwork.worklist import BatchOnPaper, MappedSheet, Slots
from nameplate.paperwork.worklist_page import sheet_in_words, sheet_name
from nameplate.pdf.paper import PAPERS
from nameplate.record.plate_lists import in_ranges
from nameplate.system.grouping import grouped, in_groups
from nameplate.system.html_pages import render, safe
from nameplate.ticket.cautions import cautions_for
from nameplate.units import sentence_with_inches


@dataclass(frozen=True, slots=True)
class CardGrid:
    """How cards stand on a page of A4 or Letter: in how many columns, how large (mm) each, and its picture at most.

    A plate larger than that is drawn smaller, as its card says; so is one whose texts take many lines.
    """

    columns: int
    width: float
    height: float
    largest: tuple[float, float]

    def room(self, texts: Sequence[tuple[str, float]]) -> tuple[float, float]:
        """Give the width and height (mm) that a picture has beside texts, each with the size of its letters (pt).

        >>> GRIDS[6].room([]), GRIDS[6].room([("a word " * 60, 8.0)])[1] < 58.0
        ((85.0, 58.0), True)
        """
        inner = self.width - 2 * PADDING - 1.0
        lines = (AIR + _lines(text, inner / (size * PT)) * size * PT * LEADING for text, size in texts)
        return self.largest[0], max(LEAST_PICTURE, min(self.largest[1], self.height - 2 * PADDING - 1.0 - sum(lines)))


#: By the number of cards on a page: the part that both papers have, 186 x 249 mm, less gaps.
GRIDS: Mapping[int, CardGrid] = {
    1: CardGrid(1, 186.0, 249.0, (178.0, 215.0)),
    2: CardGrid(1, 186.0, 123.0, (178.0, 98.0)),
    6: CardGrid(2, 91.0, 81.0, (85.0, 58.0)),
}

#: Letters of a card's heading, of what it says of its plate, and of its boxes (pt); height of a line of these, in
#: letters; and what is kept free round a card's content and above a text (mm).
HEADING, TOLD, TICKED = 11.0, 8.0, 9.0
LEADING = 1.2
PADDING, AIR = 2.5, 0.5

#: Millimetres in a point.
PT = 25.4 / 72

#: A picture keeps so much height (mm), however long the texts are; then the card grows.
LEAST_PICTURE = 20.0

#: Most boxes to tick on a card, one a copy.
MOST_BOXES = 12

_LINE = 'fill="none" stroke="#000" stroke-width="20"'

#: How a name is drawn, what backs it, and letters that are scored.
_NAME = 'fill="#ccc" fill-rule="evenodd" stroke="#000" stroke-width="10"'
_BACKING = 'fill="#eee" fill-rule="evenodd" stroke="#000"'
_ENGRAVED = 'fill="#888" fill-rule="evenodd"'

#: Diameter of a dot of glue in the picture (mm of the plate).
_DOT = 2.0


def cards_html(batch: BatchOnPaper, mapped: Sequence[MappedSheet] = ()) -> Iterator[str]:
    """Give, piece by piece, a page to print with a card for each made plate; `mapped` are the `mapped_sheets`."""
    grid, grounds = GRIDS[batch.cards_per_page], {name: _ground(face) for name, face in batch.faces.items()}
    made = [plate for plate in batch.plates if plate.lettering is not None and plate.order.id not in batch.ready]
    of_kinds = grouped((kind_of(plate, batch.turning), plate) for plate in made)
    kinds = {kind: len(own) for kind, own in of_kinds.items()}
    jigs = _jigs_on(mapped, batch)
    tabbed = {at.plate for sheet in batch.layout.sheets if sheet.file in batch.tabs for at in sheet.placements}
    values = {
        "title": batch.title,
        "ready": in_ranges([plate.order.id for plate in batch.plates if plate.order.id in batch.ready]),
        "paper": batch.paper,
        "grid": grid,
        "letters": {"heading": HEADING, "told": TOLD, "ticked": TICKED, "leading": LEADING},
        "padding": PADDING,
        "air": AIR,
        "cautions": cautions_for(
            glued=bool(batch.carriers) or any(kind.glued for kind in kinds), wall=batch.slots is not None
        ),
        "bed": batch.bed,
        "sheets": [
            (sheet_name(s.layout, s.file), f"{sheet_in_words(s.layout, batch)}, {s.file}")
            for s in mapped
            if not s.layout.cut
        ],
        "in_inches": partial(sentence_with_inches, inches=PAPERS[batch.paper].inches),
        "carriers": batch.carriers,
        "taken_apart": _taken_apart(made, batch),
        "ladder": safe(next(filter(None, map(ladder_picture, batch.shared.values())), "")),
        "kinds": kinds,
        "scored": {kind: kind.scored(own) for kind, own in of_kinds.items()},
        "snapped": {kind_of(plate, batch.turning) for plate in made if plate.order.id in tabbed},
        "snap": SNAP_STEP,
        "rows": (
            [_card(p, batch, grounds, jigs.get(p.order.id, ""), several=len(kinds) > 1) for p in row]
            for row in in_groups(made, grid.columns)
        ),
    }
    return render("cards.html", values, room="paperwork")


def _jigs_on(mapped: Sequence[MappedSheet], batch: BatchOnPaper) -> dict[str, str]:
    """Say by plate where the templates that are cut for it lie: their sheet and their square on its map."""
    every = [(sheet, piece) for sheet in mapped for piece in sheet.pieces if piece.at.kind == "template"]
    found = grouped(
        ((piece.at.plate, sheet_name(sheet.layout, sheet.file)), piece.square)
        for sheet, piece in every
        if piece.at.key not in batch.as_cut
    )
    told = grouped((plate, f"{name}, {enumerated(squares)}") for (plate, name), squares in found.items())
    return {plate: f"its template: {enumerated(places)}" for plate, places in told.items()}


def _card(plate: Plate, batch: BatchOnPaper, grounds: Mapping[str, str], jig: str, *, several: bool) -> dict[str, Any]:
    """Give what a card says: where its template lies (empty where none is cut), the kind of work where there are
    `several`."""
    order, lettering, grid = plate.order, plate.lettering, GRIDS[batch.cards_per_page]
    kind = kind_of(plate, batch.turning)
    assert lettering is not None
    face, ground = ground_of(batch.faces[order.design], lettering), grounds[order.design]
    heading = " / ".join((f"{order.id} {order.name}", *_other_lines(order)))
    what, hangs = kind.heading.lower() if several else "", _hangs(plate, batch.slots)
    told, check = _told(plate, kind, what, hangs, jig), _to_check(plate)
    texts = [(heading, HEADING), (f"{told}{_drawn(0.99)}", TOLD), ("boxes", TICKED)]
    scale = _scale(face, grid.room([*texts, (check, TOLD)] if check else texts))
    nubs = np.array(plate.jig.get("nubs", []), dtype=float).reshape(-1, 2)
    picture = plate_picture(lettering, face, nubs, ground, scale=scale, backing=backing_of(plate), glued=kind.glued)
    return {
        "heading": heading,
        "told": told + _drawn(scale),
        "copies": order.copies,
        "boxes": min(order.copies, MOST_BOXES),
        "done": "glued" if kind.glued else "done",
        "picture": safe(picture),
        "check": check,
    }


def _told(plate: Plate, kind: WorkKind, what: str, hangs: str, jig: str) -> str:
    """Say where a plate hangs, how true its jig holds, and `what` it is, each ended by a semicolon.

    How a template is turned by eye is no play of its window; that of a plaque in its pocket is counted.
    """
    play = None if plate.jig.get("style") == "print" else plate.jig.get("play")  # paper is as true as the hand
    off = f"{play['far']:.2f} mm" if isinstance(play, Mapping) else ""
    turned = ", a turn of its template not counted" if kind.lined_up and kind.style != "carrier" else ""
    said = (
        f"hangs at {hangs}" if hangs else "",
        f"can end up {unbroken(off)} off at most{turned}" if off else "",
        f"design {plate.order.design}" if plate.order.design else "",
        what,
        jig or str(plate.jig.get("file", "")),
    )
    return "".join(f"{words}; " for words in said if words)


def _drawn(scale: float) -> str:
    return "picture true to size" if scale == 1.0 else f"picture at {scale:.0%} of true size"


def _lines(text: str, ems_wide: float) -> int:
    """Count the lines that a text takes, broken between words; a longer word is broken wherever a line ends.

    >>> _lines("", 10.0), _lines("a word", 10.0), _lines("a word or two more", 5.0), _lines("M" * 20, 5.0)
    (0, 1, 2, 3)
    """
    count, left = 0, 0.0
    for word in text.split():
        wide = ems(word)
        if not count or ems(" ") + wide > left:
            count += max(1, ceil(wide / ems_wide))
            left = ems_wide * max(1, ceil(wide / ems_wide)) - wide
        else:
            left -= ems(" ") + wide
    return count


def _to_check(plate: Plate) -> str:
    """Say what to look at before the work begins, and how much more notes.html has; empty for nothing.

    >>> from nameplate.findings import Finding
    >>> thin = Finding("thin", "warning", "“Wren”: thin spot between W and r, 0.4 mm: may snap; a sturdier font helps")
    >>> _to_check(Plate(Order("1", 2, "Wren"), None, findings=(thin,)))
    'thin spot between W and r, 0.4 mm: may snap'
    """
    told = [finding.message for finding in plate.findings if finding.severity == "warning"]
    if not told:
        return ""
    first = told[0].partition("; ")[0].removeprefix(f"“{plate.order.name}”").removeprefix(" is").lstrip(": ")
    more = f" (and {len(told) - 1} more in notes.html)" if told[1:] else ""
    return first + more


def _hangs(plate: Plate, slots: Slots) -> str:
    """Say where a plate hangs: its places on the wall, or what the list says."""
    own = ((slots or {}).get((plate.order.id, copy), "") for copy in range(1, min(plate.order.copies, MOST_BOXES) + 1))
    return ", ".join(filter(None, own)) or plate.order.position


def _other_lines(order: Order) -> list[str]:
    """Give the lines of a plate besides its name, and say which are scored.

    >>> _other_lines(Order("1", 2, "Wren", line2="1931"))
    ['1931']
    """
    scored = {line.text for line in order.styled if line.scored}
    return [f"{text} (scored)" if text in scored else text for text in order.texts if text != order.name]


def _scale(face: Face, room: tuple[float, float]) -> float:
    box = rg.bounds(face.outline)
    return min(1.0, room[0] / (box.width + 2 * BORDER), room[1] / (box.height + 2 * BORDER))


def _taken_apart(made: Sequence[Plate], batch: BatchOnPaper) -> dict[str, CarrierPicture]:
    """Draw the carrier of each design that has one, with the template of one of its plates."""
    found = {}
    for design, record in batch.carriers.items():
        parts = (part for plate in made if plate.order.design == design for part in plate.parts)
        template = next((part.region for part in parts if part.kind == "template"), rg.EMPTY)
        names = [str(layer["what"]) for layer in record["layers"]]
        outline = rg.difference(batch.faces[design].outline, batch.faces[design].keep_outs)
        if picture := carrier_picture(batch.shared.get(design, ()), names, outline, template):
            found[design] = picture
    return found


def _ground(face: Face) -> str:
    """Return what all pictures share: the face, its keep-outs and what is on it."""
    if face.free:
        return ""
    outlines = "".join(f'<path {_LINE} d="{path_data(region)}"/>' for region in (face.outline, face.keep_outs))
    return outlines + artwork_picture(face)


def plate_picture(
    lettering: Lettering,
    face: Face,
    nubs: Array,
    ground: str,
    *,
    scale: float = 1.0,
    backing: Region = rg.EMPTY,
    glued: bool = True,
) -> str:
    """Return the SVG of a plate, true to size at scale 1: face, name, an arrow up, nubs (x) and dots of glue (o).

    ``ground`` is the face as drawn, the same for all plates; a ``backing`` lies under the name. What is not
    ``glued`` on a face has neither dots nor arrow: nothing is lined up with it.
    """
    box = rg.bounds(face.outline)
    w, h = box.width + 2 * BORDER, box.height + 2 * BORDER
    view = " ".join(str(round(v * UNITS)) for v in (box.x0 - BORDER, -box.y1 - BORDER, w, h))
    up = _arrow(box) if glued else ""
    glue = [dot * (UNITS, -UNITS) for dot in glue_dots(lettering.region, nubs)] if glued else []
    dots = "".join(f'<circle cx="{x:.0f}" cy="{y:.0f}" r="{_DOT / 2 * UNITS:.0f}"/>' for x, y in glue)
    layers = (backing, _BACKING), (lettering.region, _NAME), (lettering.scored, _ENGRAVED)
    painted = "".join(f'<path {look} d="{path_data(shape)}"/>' for shape, look in layers if not shape.is_empty)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="plate with its name" '
        f'width="{w * scale:.2f}mm" height="{h * scale:.2f}mm" viewBox="{view}">'
        f"{ground}{painted}<g {_LINE}>{up}{dots}{''.join(_cross(nub) for nub in nubs)}</g></svg>"
    )


def _cross(at: Array) -> str:
    x, y = at[0] * UNITS, -at[1] * UNITS
    return f'<path d="M{x - 80:.0f} {y - 80:.0f}l160 160m0 -160l-160 160"/>'


def _arrow(box: Box) -> str:
    x, y = box.centre[0] * UNITS, -box.y1 * UNITS + 150
    return f'<path d="M{x:.0f} {y + 500:.0f}v-500m-150 200l150 -200l150 200"/>'
