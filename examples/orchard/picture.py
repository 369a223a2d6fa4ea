"""Draws the README's picture from a finished run of the orchard job.

    python examples/orchard/picture.py OUT examples/orchard/result.png

Needs resvg-py (in the extra `test`).
"""

import json
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import resvg_py

from nameplate.face.making import make_face
from nameplate.geometry.region import bounds, outer_rings
from nameplate.ticket.reader import read_ticket

SVG = "{http://www.w3.org/2000/svg}"

#: Size of the picture in mm of the drawing, and pixels per mm.
WIDTH, HEIGHT, SCALE = 600, 375, 2.2

#: Which plates are shown, by their place in the list.
SHOWN = (0, 1, 6, 9)

#: Colours of the picture: paper, plaque, lettering, line work.
PAPER, PLAQUE, LETTERS = "#f7f5ef", "#9c2f2f", "#fbf3d9"
LINES = {"score": "#009e73", "cut-inside": "#d55e00", "cut-outside": "#0072b2"}


def drawing(path: Path) -> tuple[list[tuple[str, str, str, str]], float, float]:
    """Give (operation, plate, part, path data) of every path of a cut file, and its size in mm."""
    root = ElementTree.parse(path).getroot()
    _, _, width, height = (float(v) for v in root.attrib["viewBox"].split())
    paths = [
        (group.attrib["data-operation"], p.attrib["data-plate"], p.attrib["data-part"], p.attrib["d"])
        for group in root.iter(f"{SVG}g")
        for p in group.iter(f"{SVG}path")
    ]
    return paths, width, height


def face() -> tuple[str, float, float]:
    """Give the plaque's outline as path data about its centre, y down, and its width and height in mm."""
    outline = make_face(read_ticket(Path(__file__).with_name("job.toml")).face)[0].outline
    box = bounds(outline)
    rings = outer_rings(outline)
    data = "".join("M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in ring) + "Z" for ring in rings)
    return data, box.width, box.height


def plaque(out: Path, plate: dict[str, Any], x: float, y: float, scale: float) -> str:
    """Draw a plaque with its name: the face filled, the cut lettering laid back on it."""
    outline, width, height = face()
    return (
        f'<g transform="translate({x} {y}) scale({scale}) translate({width / 2} {height / 2})">'
        f'<path d="{outline}" fill="{PLAQUE}"/>{name(out, plate)}</g>'
    )


def name(out: Path, plate: dict[str, Any]) -> str:
    """Draw the lettering of a plate as cut, about the face's centre: its place on the sheet undone."""
    paths, _, height = drawing(out / plate["sheet"])
    number = json.loads((out / "summary.json").read_text(encoding="utf-8"))["sheets"]
    index = [sheet["file"] for sheet in number].index(plate["sheet"])
    sheet = json.loads((out / "layout.json").read_text(encoding="utf-8"))["sheets"][index]
    at = next(p for p in sheet["placements"] if p["plate"] == plate["id"] and p["kind"] == "lettering")
    data = "".join(d for _, owner, part, d in paths if owner == plate["id"] and part == "lettering")
    undo = f"rotate({at['turn']}) translate({-at['x']} {at['y'] - height})"
    return f'<path transform="{undo}" d="{data}" fill="{LETTERS}" fill-rule="evenodd"/>'


def lines(path: Path, x: float, y: float, scale: float) -> str:
    """Draw a cut file as it is, with lines thick enough to see."""
    paths, width, height = drawing(path)
    body = "".join(f'<path d="{d}" fill="none" stroke="{LINES[operation]}"/>' for operation, *_, d in paths)
    sheet = f'<rect width="{width}" height="{height}" fill="#fff" stroke="#bbb"/>'
    return f'<g transform="translate({x} {y}) scale({scale})" stroke-width="{0.35 / scale}">{sheet}{body}</g>'


def picture(out: Path) -> str:
    """Compose four plaques, the first sheet of lettering, and one template."""
    plates = [p for p in json.loads((out / "summary.json").read_text(encoding="utf-8"))["plates"] if p["jig"]]
    chosen = [plates[k] for k in SHOWN]
    body = [plaque(out, plate, 8 + 148 * k, 8, 1.25) for k, plate in enumerate(chosen)]
    body.append(lines(out / "cut" / "lettering-01.svg", 8, 150, 0.72))
    body.append(lines(out / chosen[0]["jig"]["file"], 452, 200, 1.25))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH * SCALE}" height="{HEIGHT * SCALE}" '
        f'viewBox="0 0 {WIDTH} {HEIGHT}"><rect width="{WIDTH}" height="{HEIGHT}" fill="{PAPER}"/>{"".join(body)}</svg>'
    )


if __name__ == "__main__":
    source, target = Path(sys.argv[1]), Path(sys.argv[2])
    target.write_bytes(bytes(resvg_py.svg_to_bytes(svg_string=picture(source))))
