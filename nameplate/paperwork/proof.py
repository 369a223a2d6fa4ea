"""The proof, for the customer: every name as text beside the plate as it will be, with a place to sign.

Pages are laid out here, not by the browser, so that each is one sheet of A4 or Letter and carries its number. Nothing
on them is about how a plate is made: that is for the workshop (`notes.py`, `cards.py`).
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import TypeAlias

from nameplate.findings import Finding
from nameplate.geometry import region as rg
from nameplate.model import Face, Lettering, Order, Plate
from nameplate.paperwork.looks import looks_of
from nameplate.paperwork.pages import by_design, in_groups, render
from nameplate.paperwork.pictures import (
    BORDER,
    Colours,
    PlatePictures,
    artwork_picture,
    backing_of,
    path_data,
    plate_pictures,
)
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, MaterialKeys
from nameplate.units import MM_PER_UNIT

#: What the cards of a page share (mm), on A4 and on Letter, and what is between them.
PAGE = (186.0, 219.0)
GAP = 3.0

#: Padding of a card on each side (mm), and what its text takes: below the picture, or beside it by columns of cards.
PADDING = 2.5
TEXT_BELOW = 42.0
TEXT_BESIDE = {1: 68.0, 2: 43.0}

#: Cards lower than this (mm) have their text beside the picture.
LOW = 90.0

#: One column is taken in place of two where it draws plates so much larger: long flat ones.
WORTH = 1.2

#: Colours of a plate where the ticket has none: pale wood, and dark letters that every printer tells from it.
FACE_COLOUR = "#efdfc0"
LETTER_COLOUR = "#2b2622"
BACKING_COLOUR = "#b08d5f"

#: Digits of the version: two proofs of one job are the same by chance once in four thousand million.
VERSION_DIGITS = 8

#: The page's only script: the box that shows the plates whose text holds what is typed.
FILTER = """
const box = document.getElementById("find"), said = document.getElementById("found");
const cards = Array.from(document.querySelectorAll("article"));
const plain = text => text.normalize("NFD").replace(/\\p{M}/gu, "").toLowerCase();
box.addEventListener("input", () => {
  const words = plain(box.value).split(/\\s+/);
  const fits = card => words.every(word => plain(card.dataset.text).includes(word));
  cards.forEach(card => { card.hidden = !fits(card); });
  document.querySelectorAll("section").forEach(page => {
    page.hidden = !page.querySelector("article:not([hidden])");
  });
  said.textContent = cards.filter(card => !card.hidden).length + " of " + cards.length + " shown";
});
"""


#: The materials of a design, by role.
Materials: TypeAlias = Mapping[str, MaterialKeys]


@dataclass(frozen=True, slots=True)
class Card:
    """What one card of the proof shows. ``picture`` is safe SVG, or None for a name that is not made (yet)."""

    id: str
    lines: tuple[str, ...]
    copies: int
    picture: object
    facts: tuple[str, ...]
    looks: tuple[str, ...]
    hold: bool = False


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
        return self.beside and self.columns > 1

    @property
    def picture(self) -> tuple[float, float]:
        """Width and height that a picture has on a card (mm)."""
        width, height = self.width - 2 * PADDING, self.height - 2 * PADDING
        return (width - TEXT_BESIDE[self.columns], height) if self.beside else (width, height - TEXT_BELOW)


def grid_for(per_page: int, aspect: float) -> Grid:
    """Choose how ``per_page`` cards share a page, so that plates of an aspect (width by height) are drawn large.

    >>> [(g.columns, g.rows) for g in (grid_for(n, 1.4) for n in (1, 4, 8))], grid_for(4, 5.0).columns
    ([(1, 1), (2, 2), (2, 4)], 1)
    """
    one, two = (_grid(columns, ceil(per_page / columns)) for columns in (1, 2))
    heights = [min(g.picture[0] / aspect, g.picture[1]) for g in (one, two)]
    return one if per_page == 1 or heights[0] > WORTH * heights[1] else two


def _grid(columns: int, rows: int) -> Grid:
    width, height = ((room - GAP * (n - 1)) / n for room, n in zip(PAGE, (columns, rows), strict=True))
    return Grid(columns, rows, width, height, beside=height < LOW)


def proof_html(
    plates: Sequence[Plate],
    faces: Mapping[str, Face],
    findings: Sequence[Finding],
    *,
    title: str,
    materials: Mapping[str, Materials],
    per_page: int = 4,
) -> Iterator[str]:
    """Give, piece by piece, the sign-off sheet of a job as HTML that prints on A4 and on Letter.

    ``faces`` and ``materials`` are by design; each design has pages of its own. Names that are not made and those on
    hold have a card that says so; the reasons are for the workshop.
    """
    from markupsafe import Markup

    boxes = [rg.bounds(face.outline) for face in faces.values()]
    widest, highest = max(box.width for box in boxes), max(box.height for box in boxes)
    grid = grid_for(per_page, (widest + 2 * BORDER) / (highest + 2 * BORDER))
    looks = looks_of([plate.order for plate in plates], (*findings, *(f for p in plates for f in p.findings)))
    groups = by_design(plates, faces)
    pages = [(about, page) for about, own in groups for page in in_groups(own, grid.columns * grid.rows)]
    draw = {name: _pictures(face, grid, materials[name]) for name, face in faces.items()}
    values = {
        "title": title,
        "version": version(plates, faces, materials),
        "pages": (
            (about, [_card(plate, draw, looks, materials, small=grid.small) for plate in page]) for about, page in pages
        ),
        "grid": grid,
        "gap": GAP,
        "padding": PADDING,
        "total": len(pages),
        "names": sum(not p.order.hold for p in plates),
        "made": sum(p.lettering is not None for p in plates),
        "pieces": sum(p.order.copies for p in plates if p.lettering is not None),
        "held": sum(p.order.hold for p in plates),
        "looks": sum(p.order.row in looks and p.lettering is not None for p in plates),
        "script": Markup(FILTER),
        "script_hash": base64.b64encode(hashlib.sha256(FILTER.encode()).digest()).decode(),
    }
    return render("proof.html", values)


def _pictures(face: Face, grid: Grid, materials: Materials) -> PlatePictures:
    return plate_pictures(face, width=grid.picture[0], height=grid.picture[1], colours=colours_of(materials))


def colours_of(materials: Materials) -> Colours:
    """Give the colours of a plate and of what is on it: the materials' own, else sensible ones."""
    own = {key: material.colour for key, material in materials.items()}
    return Colours(
        face=own.get("blank") or FACE_COLOUR,
        lettering=own.get("lettering") or LETTER_COLOUR,
        backing=own.get("backing") or BACKING_COLOUR,
        scored=LETTER_COLOUR,
    )


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
        text = (order.id, order.name, order.texts, order.copies, order.fonts, order.mount, order.hold)
        form = made and (made.lines, made.size, made.origin, made.baselines, made.letters, made.neck, made.pieces)
        more = [order.design] if order.design else []
        scored = [path_data(made.scored)] if made and not made.scored.is_empty else []
        told.update(repr((text, form, *more, *scored)).encode())
    return told.hexdigest()[:VERSION_DIGITS]


def _card(
    plate: Plate,
    pictures: Mapping[str, PlatePictures],
    looks: Mapping[int, tuple[str, ...]],
    materials: Mapping[str, Materials],
    *,
    small: bool,
) -> Card:
    from markupsafe import Markup

    order, lettering = plate.order, plate.lettering
    picture, facts = None, tuple[str, ...]()
    if lettering is not None:
        draw = pictures[order.design]
        facts = _facts(plate, lettering, draw, materials[order.design], small=small)
        stays = order.mount in ("pierced", "marked")
        drawn = replace(draw, colours=replace(draw.colours, lettering=LETTER_COLOUR)) if stays else draw
        picture = Markup(drawn.of(lettering, f"plate with the name {order.name}", backing=backing_of(plate)))
    return Card(
        id=order.id,
        lines=order.texts,
        copies=order.copies,
        picture=picture,
        facts=facts,
        looks=() if lettering is None else looks.get(order.row, ()),
        hold=order.hold,
    )


def _facts(
    plate: Plate, lettering: Lettering, draw: PlatePictures, materials: Materials, *, small: bool
) -> tuple[str, ...]:
    """Give size, font and material, each a paragraph; all in one, without the lettering's size, on a `small` card."""
    box = rg.bounds(lettering.region)
    size = f"Plate {in_both(draw.box.width, draw.box.height)}"
    made = f"{_fonts(plate.order)} · {_made_of(plate.order.mount, materials)}"
    if scored := sum(bool(line.text) and line.scored for line in plate.order.styled):
        made += f"; {scored} line{'' if scored == 1 else 's'} engraved"
    return (f"{size} · {made}",) if small else (size, f"Lettering {in_both(box.width, box.height)}", made)


def _fonts(order: Order) -> str:
    """Name the fonts of an order: those of its lines, where these have their own.

    >>> _fonts(Order("1", 2, "Wren", fonts=("Lobster", "Pacifico")))
    'Lobster and Pacifico'
    """
    own = tuple(dict.fromkeys(font for line in order.styled if line.text for font in line.fonts)) or order.fonts
    return " and ".join(filter(None, (", ".join(own[:-1]), own[-1])))


def in_both(width: float, height: float) -> str:
    """Say a size in millimetres and in inches.

    >>> in_both(110, 80.04)
    '110 × 80 mm (4.33 × 3.15 in)'
    """
    inches = " × ".join(f"{v / MM_PER_UNIT['in']:.2f}" for v in (width, height))
    return f"{round(width, 1):g} × {round(height, 1):g} mm ({inches} in)"


def _made_of(mount: str, materials: Materials) -> str:
    """Say what a plate of a mount is made of.

    >>> _made_of("marked", {"blank": MaterialKeys(name="oak", thickness=4)})
    'oak, 4 mm, name engraved'
    """
    sheets = {key: f"{m.name}, {m.thickness:g} mm" for key, m in {**DEFAULT_MATERIALS, **materials}.items()}
    match mount:
        case "pierced":
            return f"{sheets['blank']}, name cut through"
        case "marked":
            return f"{sheets['blank']}, name engraved"
        case "backed":
            return f"{sheets['lettering']}, on {sheets['backing']}"
        case _:
            return f"{sheets['lettering']}, glued on"
