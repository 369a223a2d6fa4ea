"""Draws every bundled font with names that are hard to cut, through the whole lettering stage, on one picture.

    python examples/contact_sheet.py contact-sheet.png [--words auto]

Each name fills a zone of 100 x 42 mm with a minimum web of 1.5 mm, or is cut through its plate (pierced) or fills a
zone of 54 x 19 mm (small). Letters that a font has not come from Pacifico.
Needs the test extra (resvg-py) for .png; writes .svg without it.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from nameplate.geometry.engraving_font import label
from nameplate.geometry.region import difference, hole_rings, moved, outer_rings, rectangle
from nameplate.lettering.making import make_lettering
from nameplate.lettering.rules import LetteringRules
from nameplate.lettering.stencil import pierce
from nameplate.model import Lettering
from nameplate.typesetting.block import Block
from nameplate.typesetting.fonts import bundled_fonts, load_fonts
from nameplate.typesetting.ways import ways_to_set

NAMES = (
    "Łukasz",
    "Nguyễn Thị Ánh",
    "Jean-Luc O'Brien",
    "Maximilian",
    "Þórdís",
    "Chloë",
    "Wm. Fitzgerald III",
)
#: A name that shows the counters and gaps of small letters, made the other two ways.
OTHER_NAME = "Familie Held"
CELL_WIDTH, CELL_HEIGHT, MARGIN, WEB = 108.0, 52.0, 4.0, 1.5
PIXELS_PER_MM = 2.0


class Cell(NamedTuple):
    """One name in one font, with its place on the sheet (left, baseline of the cell, mm, y down)."""

    x: float
    y: float
    lettering: Lettering | None


def lettering(font: str, name: str, words: str, way: str = "") -> Lettering | None:
    """Make one name as a plate would have it, applied, "pierced" or "small"; None when it is refused."""
    main, *fallbacks = load_fonts(tuple(dict.fromkeys((font, "Pacifico"))))
    ways = ways_to_set(name, "", main, Block(words), fallbacks=fallbacks)
    zone = rectangle(-27, -9.5, 27, 9.5) if way == "small" else rectangle(-50, -21, 50, 21)
    made = make_lettering(ways, zone, LetteringRules(web=WEB, max_height=30, tied=way != "pierced"))[0]
    if made is None or way != "pierced":
        return made
    blank = rectangle(-54, -25, 54, 25)
    places = {"baselines": made.baselines, "places": made.letters}
    return replace(
        made, region=difference(blank, pierce(blank, made.region, web=WEB, slant=made.slant, **places).blank)
    )


def path_data(cell: Cell) -> str:
    """Give the outlines of a cell's lettering as SVG path data."""
    if cell.lettering is None:
        return ""
    region = moved(cell.lettering.region, cell.x + CELL_WIDTH / 2, -(cell.y + CELL_HEIGHT / 2))
    rings = (*outer_rings(region), *hole_rings(region))
    return "".join("M" + " L".join(f"{x:.3f} {-y:.3f}" for x, y in ring) + "Z" for ring in rings)


def sheet(words: str) -> str:
    """Draw the whole sheet as SVG."""
    fonts = [info.name for info in bundled_fonts()]
    shown = (*((name, "") for name in NAMES), (OTHER_NAME, "pierced"), (OTHER_NAME, "small"))
    width, height = len(shown) * CELL_WIDTH, len(fonts) * CELL_HEIGHT + 8
    body = []
    for row, font in enumerate(fonts):
        for column, (name, way) in enumerate(shown):
            made = lettering(font, name, words, way)
            cell = Cell(column * CELL_WIDTH, row * CELL_HEIGHT + 8, made)
            body.append(f'<path d="{path_data(cell)}" fill="#1b3a4b" fill-rule="evenodd"/>')
            size = "refused" if made is None else f"{made.letter_height:.1f} mm capitals"
            pieces = "" if made is None or len(made.region.geoms) == 1 else f", {len(made.region.geoms)} pieces"
            for stroke in label(f"{font}{way and ', ' + way}: {size}{pieces}", 2.0):
                points = " L".join(f"{x + cell.x + MARGIN:.2f} {cell.y - y:.2f}" for x, y in stroke)
                body.append(f'<path d="M{points}" fill="none" stroke="#888" stroke-width="0.3"/>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width * PIXELS_PER_MM:.0f}"'
        f' height="{height * PIXELS_PER_MM:.0f}" viewBox="0 0 {width:g} {height:g}">'
        f'<rect width="100%" height="100%" fill="#fff"/>{"".join(body)}</svg>'
    )


def main() -> None:
    """Read the command line and write the picture."""
    parser = argparse.ArgumentParser(description="Draw every bundled font with names that are hard to cut.")
    parser.add_argument("picture", type=Path, help="where to write: .png or .svg")
    parser.add_argument("--words", default="auto", choices=("auto", "tie", "stack", "bar", "loose"))
    arguments = parser.parse_args()
    svg = sheet(arguments.words)
    if arguments.picture.suffix.lower() == ".svg":
        arguments.picture.write_text(svg, encoding="utf-8")
        return
    import resvg_py

    arguments.picture.write_bytes(bytes(resvg_py.svg_to_bytes(svg_string=svg)))


if __name__ == "__main__":
    main()
