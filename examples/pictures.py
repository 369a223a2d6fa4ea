"""Draws the README's pictures of each way to make a plate and of each jig, from what the program makes of one name.

    python examples/pictures.py examples

It writes ways.svg and jigs.svg there.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from nameplate.face.making import make_face
from nameplate.geometry.region import Region, bounds
from nameplate.model import Order, Part
from nameplate.paperwork.assembly import stacked
from nameplate.paperwork.pictures import UNITS, line_data, path_data
from nameplate.plates.batch_parts import make_shared_work
from nameplate.plates.make import PlateContext, PlateWork, make_work
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import FaceKeys, JigKeys, Ticket

#: The plaque of all pictures (mm), the name on it, and how many pixels are one mm.
FACE, NAME, PIXELS = FaceKeys(shape="ellipse", width=90, height=50), "Wren", 2.2

#: Room of one picture and of its caption (mm).
CELL_WIDTH, CELL_HEIGHT, CAPTION = 112.0, 66.0, 9.0

#: How far (mm) a drawn line may lie from the true one.
FINE = 0.05

PLAQUE, BLANK, LETTERS, TEMPLATE, BACKING = "#c8a06a", "#d9bf94", "#7b2433", "#b9c4cc", "#f2e4c4"

WAYS = {
    "applied": "applied: glued on the plaque",
    "backed": "backed: glued on with a backing",
    "pierced": "pierced: cut through the plate",
    "marked": "marked: engraved on it",
}
JIGS = {
    "template": "template: of the face's own outline",
    "carrier": "carrier: pocket and pins, taken apart",
    "skeleton": "skeleton: the rest of the name's blank",
    "print": "print: paper, with a line to check it by",
    "none": "none: by eye",
}


def made(mount: str = "applied", style: str = "none") -> tuple[PlateContext, PlateWork]:
    """Make the plate of one way and jig."""
    lettering = LetteringKeys(font=("Pacifico",), mount=mount, hatch=0.6)
    ticket = Ticket(face=FACE, lettering=lettering, jig=JigKeys(style=style))
    context = PlateContext.of(ticket, make_face(FACE)[0])
    return context, make_work(context, Order("1", 2, NAME, mount=mount))


def filled(region: Region, fill: str) -> str:
    """Draw a region."""
    look = 'fill-rule="evenodd" stroke="#333" stroke-width="25"'
    return f'<path fill="{fill}" {look} d="{path_data(region, tolerance=FINE)}"/>'


def scored(part: Part) -> str:
    """Draw the marks of a part."""
    return f'<path fill="none" stroke="{LETTERS}" stroke-width="25" d="{"".join(map(line_data, part.marks))}"/>'


def way(mount: str) -> str:
    """Draw a finished plate of one mount."""
    context, work = made(mount)
    parts = {part.kind: part for part in work.plate.parts}
    if mount == "pierced":
        return filled(parts["blank"].region, BLANK)
    if mount == "marked":
        return filled(parts["blank"].region, BLANK) + scored(parts["blank"])
    under = filled(parts["backing"].region, BACKING) if mount == "backed" else ""
    return filled(context.face.outline, PLAQUE) + under + filled(parts["lettering"].region, LETTERS)


def jig(style: str) -> str:
    """Draw a jig of one style on its plaque, with the name beside or in it."""
    context, work = made(style=style)
    name = work.plate.lettering
    assert name is not None
    plaque = filled(context.face.outline, PLAQUE)
    if style == "none":
        return plaque + filled(name.region, LETTERS)
    if style == "print":
        assert work.jig is not None
        drawn = filled(context.face.outline, "#fff") + filled(name.region, "none")
        lines = f'<path fill="none" stroke="#333" stroke-width="25" d="{"".join(map(line_data, work.jig.marks))}"/>'
        return f'<g transform="translate(0 -700) scale(0.84)">{drawn}{lines}</g>'  # its line is longer than the plaque
    [template] = [part for part in work.plate.parts if part.kind == "template"]
    if style != "carrier":
        return plaque + filled(template.region, TEMPLATE)
    layers = sorted(make_shared_work(context, [work.plate.order], title="").parts, key=lambda p: p.layer)
    pins = [bounds(hole).centre for feature, hole in layers[0].features if feature == "pin-hole"]
    drawn = [*((part.region, BLANK) for part in layers), (context.face.outline, PLAQUE), (template.region, TEMPLATE)]
    return stacked(drawn, pins, "carrier")


def sheet(cells: Sequence[tuple[str, str]], columns: int) -> str:
    """Put pictures with their captions in rows."""
    rows = -(-len(cells) // columns)
    w, h = columns * CELL_WIDTH, rows * (CELL_HEIGHT + CAPTION)
    body = "".join(cell(picture, caption, n % columns, n // columns) for n, (picture, caption) in enumerate(cells))
    size = f'width="{w * PIXELS:.0f}" height="{h * PIXELS:.0f}" viewBox="0 0 {w * UNITS:.0f} {h * UNITS:.0f}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}><rect width="100%" height="100%" fill="#fff"/>{body}</svg>\n'
    )


def cell(picture: str, caption: str, column: int, row: int) -> str:
    """Put one picture in the middle of its cell, its caption below; one that is an SVG of its own is fitted into it."""
    x, y = (column + 0.5) * CELL_WIDTH * UNITS, (row * (CELL_HEIGHT + CAPTION) + CELL_HEIGHT / 2) * UNITS
    text = f'<text x="{x:.0f}" y="{y + (CELL_HEIGHT / 2 + 4) * UNITS:.0f}" font-family="sans-serif" font-size="480" '
    if picture.startswith("<svg"):
        w, h = (CELL_WIDTH - 4) * UNITS, (CELL_HEIGHT - 2) * UNITS
        view = picture.partition('viewBox="')[2].partition('"')[0]
        inner = picture.partition(">")[2]
        place = f'x="{x - w / 2:.0f}" y="{y - h / 2:.0f}" width="{w:.0f}" height="{h:.0f}"'
        drawn = f'<svg {place} viewBox="{view}">{inner}'
    else:
        drawn = f'<g transform="translate({x:.0f} {y:.0f})">{picture}</g>'
    return f'{drawn}{text}text-anchor="middle" fill="#222">{caption}</text>'


def pictures() -> dict[str, str]:
    """Give both pictures by the names of their files."""
    return {
        "ways.svg": sheet([(way(mount), caption) for mount, caption in WAYS.items()], 4),
        "jigs.svg": sheet([(jig(style), caption) for style, caption in JIGS.items()], 3),
    }


if __name__ == "__main__":
    for file, text in pictures().items():
        (Path(sys.argv[1]) / file).write_text(text, encoding="utf-8", newline="\n")
