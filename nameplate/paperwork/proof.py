"""The proof, for the customer: every name as text beside the plate as it will be, with a place to sign.

Here is what it shows and how its pages are shared out; `plate_facts.py` has what it says of a plate, `proof_html.py`
writes it for a browser, `proof_pdf.py` for a printer. Nothing on it is about how a plate is made: that is for the
workshop (`notes.py`, `cards.py`).
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import ceil

from nameplate.findings import Finding, counted
from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.lettering.legibility import ADVISED
from nameplate.model import Face, Order, Plate, in_a_line
from nameplate.paperwork.looks import looks_of
from nameplate.paperwork.pictures import BORDER, Colours, artwork_picture, path_data
from nameplate.paperwork.plate_facts import Materials, facts_of, told_size
from nameplate.record.plate_lists import in_ranges
from nameplate.system.grouping import grouped, in_groups
from nameplate.typesetting.fonts import full_name

#: What the cards of a page share (mm), on A4 and on Letter, and what is between them.
PAGE, GAP = (186.0, 219.0), 3.0

#: Padding of a card on each side (mm), and what its text takes: below the picture, or beside it by columns of cards.
PADDING, TEXT_BELOW, TEXT_BESIDE = 2.5, 42.0, {1: 68.0, 2: 43.0}

#: Cards lower than this (mm) have their text beside the picture.
LOW = 90.0

#: Cards lower than this (mm) have few lines, and so much for them beside the picture.
LOWEST, TEXT_LOWEST = 45.0, 110.0

#: One column is taken in place of two where it draws plates so much larger: long flat ones.
WORTH = 1.2

#: The sign of a plate that is new or was changed since it was last shown or approved.
CHANGED_SIGN = "Δ"

#: Names to be checked that the head of a proof tells by number; of more the others are counted.
MOST_TOLD = 6

#: What every page of a proof asks for.
COMPARE = "Plates are made exactly as shown: please compare every letter, accent, space and capital."

#: The form of pictures where there is none to draw (mm).
NO_BOX = Box(0.0, 0.0, 3.0, 2.0)

#: Colours of a plate where the ticket has none: pale wood, and dark letters that every printer tells from it.
FACE_COLOUR, LETTER_COLOUR, BACKING_COLOUR = "#efdfc0", "#2b2622", "#b08d5f"

#: Digits of the version: two proofs of one job are the same by chance once in four thousand million.
VERSION_DIGITS = 8

#: How it begins what is said of a plate that somebody approved, of one that was cut, or only its jig, before anybody
#: did, and of one that is not made before somebody does.
APPROVED = "Approved"
CUT_ALREADY = "Cut already, and stays as it is"
BEGUN_ALREADY = "Begun already, and stays as it is"
WAITS = "Waits for an approval"

#: Of a plate whose text in the list is another by now; an approval of that is none of what is shown.
CUT_OTHERWISE = "It is cut as shown, and the list has by now"


@dataclass(frozen=True, slots=True)
class Card:
    """What one card of the proof says beside its picture."""

    plate: Plate
    facts: tuple[str, ...]
    looks: tuple[str, ...]
    signed: str = ""

    @property
    def settled(self) -> bool:
        """Whether nobody needs to look at it again: it is approved as it is shown, or cut."""
        return self.signed.startswith((APPROVED, CUT_ALREADY, BEGUN_ALREADY))

    @property
    def has_changed(self) -> bool:
        """Whether it is new, was changed, or its approval was withdrawn, since it was last shown or approved."""
        return bool(self.signed) and not self.settled

    @property
    def made(self) -> bool:
        """Whether there is a plate to show; a name on hold, or one that cannot be made yet, has none."""
        return self.plate.lettering is not None

    @property
    def heading(self) -> str:
        """The text of the plate, line by line."""
        return in_a_line(self.plate.order.texts)

    @property
    def count(self) -> str:
        """The plate's number, and how many there are of it."""
        copies = self.plate.order.copies
        return f"No. {self.plate.order.id}" + (f", {counted(copies, 'piece')}" if self.made else "")

    @property
    def look(self) -> str:
        """What to look at; empty for nothing."""
        return f"Please check: {'; '.join(self.looks[:2])}" if self.looks else ""

    @property
    def instead(self) -> tuple[str, str]:
        """What a card without a plate shows in its place, and why."""
        if self.plate.order.hold:
            return "On hold", "Kept for later, as the list has it."
        return "Not made yet", "It cannot be made as it is. Your workshop will tell you what it needs."


@dataclass(frozen=True, slots=True)
class Grid:
    """How a page is shared out: columns and rows of cards, the size of a card, and the picture's box on it (mm)."""

    columns: int
    rows: int
    width: float
    height: float
    beside: bool

    @property
    def small(self) -> bool:
        """Whether a card has so little room that it says less, in smaller letters."""
        return self.beside and (self.columns > 1 or self.height < LOWEST)

    @property
    def picture(self) -> tuple[float, float]:
        """Width and height that a picture has on a card (mm)."""
        width, height = self.width - 2 * PADDING, self.height - 2 * PADDING
        if not self.beside:
            return width, height - TEXT_BELOW
        lowest = self.columns == 1 and self.height < LOWEST
        return width - (TEXT_LOWEST if lowest else TEXT_BESIDE[self.columns]), height


def grid_for(per_page: int, aspect: float, room: tuple[float, float] = PAGE) -> Grid:
    """Choose how ``per_page`` cards share the ``room`` of a page (mm), so that plates of an aspect (width by height)
    are drawn large.

    >>> [(g.columns, g.rows) for g in (grid_for(n, 1.4) for n in (1, 4, 8))], grid_for(4, 5.0).columns
    ([(1, 1), (2, 2), (2, 4)], 1)
    """
    one, two = (_grid(columns, ceil(per_page / columns), room) for columns in (1, 2))
    heights = [min(g.picture[0] / aspect, g.picture[1]) for g in (one, two)]
    return one if per_page == 1 or heights[0] > WORTH * heights[1] else two


def _grid(columns: int, rows: int, room: tuple[float, float]) -> Grid:
    width, height = ((side - GAP * (n - 1)) / n for side, n in zip(room, (columns, rows), strict=True))
    return Grid(columns, rows, width, height, beside=height < LOW)


@dataclass(frozen=True, slots=True)
class ProofPage:
    """The plates of one page, all of one design, and the words that head it."""

    about: str
    grid: Grid
    plates: tuple[Plate, ...]

    @property
    def design(self) -> str:
        """The design of its plates; unknown where a row names one that the ticket does not have."""
        return self.plates[0].order.design


@dataclass(frozen=True, slots=True)
class CustomerProof:
    """What a proof shows.

    ``groups`` are the plates by design, each with the words that head it; ``looks`` says by row what to look at;
    ``faces`` and ``materials`` are by design; ``signed`` says by id who approved a plate, or what changed since. With
    ``inches`` sizes are told in these, too.
    """

    title: str
    version: str
    groups: tuple[tuple[str, tuple[Plate, ...]], ...]
    faces: Mapping[str, Face]
    materials: Mapping[str, Materials]
    looks: Mapping[int, tuple[str, ...]]
    per_page: int
    signed: Mapping[str, str]
    inches: bool = False

    @property
    def plates(self) -> tuple[Plate, ...]:
        """All plates, design by design."""
        return tuple(plate for _, own in self.groups for plate in own)

    @property
    def counted(self) -> str:
        """How many names there are, of all designs, and pieces of them; and the version."""
        names = sum(not plate.order.hold for plate in self.plates)
        pieces = sum(plate.order.copies for plate in self.plates if plate.lettering is not None)
        every = " in all" if len(self.groups) > 1 else ""
        return f"{counted(names, 'name')}{every}, {counted(pieces, 'piece')}, version {self.version}"

    @property
    def to_look_at(self) -> str:
        """How many names are marked to be checked, and which; empty for none."""
        ids = [p.order.id for p in self.plates if p.order.row in self.looks and p.lettering is not None]
        return f"{len(ids)} need{'s' * (len(ids) == 1)} checking: {in_ranges(ids, most=MOST_TOLD)}." if ids else ""

    @property
    def unlike_before(self) -> str:
        """How many names are new or have changed since they were last shown or approved; empty for none."""
        made = (plate for plate in self.plates if plate.lettering is not None)
        count = sum(Card(plate, (), (), self.signed.get(plate.order.id, "")).has_changed for plate in made)
        return f"{count} new or changed." if count else ""

    @property
    def without_plate(self) -> str:
        """How many names have no plate, and why; empty where all have one."""
        held = sum(plate.order.hold for plate in self.plates)
        missing = sum(plate.lettering is None and not plate.order.hold for plate in self.plates)
        said = f"{missing} cannot be made yet." if missing else ""
        return f"{said} {held} {'is' if held == 1 else 'are'} on hold.".strip() if held else said

    def pages(self, room: tuple[float, float] = PAGE) -> list[ProofPage]:
        """Share out the plates among pages with so much ``room`` for cards (mm), each design's as suits its face."""
        found: list[ProofPage] = []
        for about, own in self.groups:
            face = self.faces.get(own[0].order.design)
            grid = grid_for(self.per_page, 1.0 if face is None else _aspect(face, own), room)
            found += [ProofPage(about, grid, page) for page in in_groups(own, grid.columns * grid.rows)]
        return found

    def card(self, plate: Plate, *, small: bool) -> Card:
        """Give what the card of a plate says; less on a ``small`` one."""
        signed = self.signed.get(plate.order.id, "")
        if plate.lettering is None:
            return Card(plate, (), (), signed)
        design = plate.order.design
        told = partial(told_size, inches=self.inches)
        facts = facts_of(plate, plate.lettering, self.faces[design], self.materials[design], told, small=small)
        return Card(plate, facts, self.looks.get(plate.order.row, ()), signed)

    def colours(self, order: Order) -> Colours:
        """Give the colours of a plate."""
        return colours_on(order, self.materials[order.design])


def _aspect(face: Face, plates: Sequence[Plate]) -> float:
    """Give the form of the pictures of plates: that of their face, of names that stand free that of the largest."""
    shapes = [plate.lettering.region for plate in plates if plate.lettering] if face.free else [face.outline]
    boxes = [rg.bounds(shape) for shape in shapes] or [NO_BOX]
    widest, highest = max(box.width for box in boxes), max(box.height for box in boxes)
    return (widest + 2 * BORDER) / (highest + 2 * BORDER)


def proof_of(
    plates: Sequence[Plate],
    faces: Mapping[str, Face],
    findings: Sequence[Finding],
    *,
    title: str,
    materials: Mapping[str, Materials],
    per_page: int = 4,
    signed: Mapping[str, str] = {},
    inches: bool = False,
    beside: Sequence[Order] = (),
) -> CustomerProof:
    """Give the proof of a job, or of some of its plates `beside` the others: each design has pages of its own.

    ``faces`` and ``materials`` are by design; ``signed`` says by id who approved a plate, or what changed since, where
    there is something to say; with ``inches`` sizes are told in these, too. Names that are not made and those on hold
    have a card that says so; the reasons are for the workshop.
    """
    found = grouped((plate.order.design, plate) for plate in plates)
    designs = [name for name in dict.fromkeys((*faces, *found)) if name in found]
    groups = tuple((f"design {name}" if name else "", tuple(found[name])) for name in designs)
    every = (*findings, *(f for p in plates for f in p.findings))
    listed = {order.row: order for order in (*beside, *(plate.order for plate in plates))}
    looks = looks_of([listed[row] for row in sorted(listed)], every, unclear_of(plates))
    return CustomerProof(
        title, version(plates, faces, materials), groups, faces, materials, looks, per_page, signed, inches
    )


def unclear_of(plates: Sequence[Plate]) -> dict[int, str]:
    """Name by row the weakest letter of every plate that reads less clearly than one would advise."""
    judged = ((plate.order.row, plate.lettering) for plate in plates if plate.lettering is not None)
    return {
        row: own.weakest_letter or "a letter"
        for row, own in judged
        if own.legibility is not None and own.legibility < ADVISED
    }


def colours_of(materials: Materials) -> Colours:
    """Give the colours of a plate and of what is on it: the materials' own, else sensible ones."""
    own = {key: material.colour for key, material in materials.items()}
    return Colours(
        face=own.get("blank") or FACE_COLOUR,
        lettering=own.get("lettering") or LETTER_COLOUR,
        backing=own.get("backing") or BACKING_COLOUR,
        scored=LETTER_COLOUR,
    )


def colours_on(order: Order, materials: Materials) -> Colours:
    """Give the colours of a plate by its order; letters that stay in it are drawn as dark openings."""
    own = colours_of(materials)
    return replace(own, lettering=LETTER_COLOUR) if order.mount in ("pierced", "marked") else own


def version(plates: Sequence[Plate], faces: Mapping[str, Face], materials: Mapping[str, Materials]) -> str:
    """Give a short digest of all texts and of how they look; another text, size, place or colour is another version."""
    told = hashlib.sha256()
    for design, face in faces.items():
        own = materials[design]
        seen = [(role, own[role]) for role in ("lettering", "backing", "blank") if role in own]
        names = [(role, material.name, material.thickness) for role, material in seen]
        ground = (path_data(face.outline), path_data(face.keep_outs), artwork_picture(face))
        told.update(repr((ground, colours_of(own), names)).encode())
    for plate in plates:
        order, made = plate.order, plate.lettering
        fonts = tuple(map(full_name, order.fonts))
        text = (order.id, order.name, order.texts, order.copies, fonts, order.mount, order.hold)
        widened = made and made.drawn_neck and made.neck
        form = made and (made.lines, made.size, made.origin, made.baselines, made.letters, widened, made.pieces)
        more = [order.design] if order.design else []
        hung = [made.rings] if made and made.rings else []
        scored = [path_data(made.scored)] if made and not made.scored.is_empty else []
        told.update(repr((text, form, *hung, *more, *scored)).encode())
    return told.hexdigest()[:VERSION_DIGITS]
