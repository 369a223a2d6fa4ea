"""A face drawn for choosing it: outline, holes, the zone for lettering, and how large it is. For looking at only."""

from __future__ import annotations

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.region import Region
from nameplate.model import Face
from nameplate.paperwork.pictures import BORDER, UNITS, artwork_picture, open_svg, path_data

#: The lines of a drawing by what they are for; they differ by their form, too, for those who see no colours.
OUTLINE = 'fill="#fff" stroke="#1d1b18" stroke-width="2"'
HOLE = 'fill="#c9c3b6" stroke="#1d1b18" stroke-width="1.5"'
ZONE = 'fill="#1f5a3c" fill-opacity=".12" stroke="#1f5a3c" stroke-width="1.5" stroke-dasharray="6 4"'
MEASURE = 'fill="none" stroke="#5a554d" stroke-width="1"'

#: Of the larger side of a face: room round it for its measures, and the height of their figures.
ROOM, FIGURES = 0.13, 0.05

#: Curves lie within this share of the larger side.
FINE = 5e-4


def face_picture(face: Face) -> str:
    """Draw a face with its measures (mm), as SVG."""
    box = rg.bounds(face.outline)
    side = max(box.width, box.height)
    room = ROOM * side
    around = Box(box.x0 - room, box.y0 - room, box.x1 + BORDER, box.y1 + BORDER)
    label = f"The face: outline, holes and room for lettering, {box.width:.1f} by {box.height:.1f} mm"
    shapes = ((OUTLINE, face.outline), (HOLE, face.keep_outs), (ZONE, face.zone))
    drawn = [_shape(style, shape, FINE * side) for style, shape in shapes if not shape.is_empty]
    middle, below, beside = ((box.x0 + box.x1) / 2, box.y0 - room / 2, box.x0 - room / 2)
    measures = (
        _line(box.x0, below, box.x1, below, side) + _figure(box.width, middle, below, side),
        _line(beside, box.y0, beside, box.y1, side) + _figure(box.height, beside, (box.y0 + box.y1) / 2, side, -90),
    )
    drawn.insert(2, artwork_picture(face, FINE * side))
    return "".join([open_svg(around, label, width=120), *drawn, *measures, "</svg>"])


def _shape(style: str, shape: Region, fine: float) -> str:
    data = path_data(shape, tolerance=fine)
    return f'<path {style} vector-effect="non-scaling-stroke" fill-rule="evenodd" d="{data}"/>'


def _line(x0: float, y0: float, x1: float, y1: float, side: float) -> str:
    """Draw the line of a measure, with a stop at each end."""
    dx, dy = (0.0, side / 60) if y0 == y1 else (side / 60, 0.0)
    ends = "".join(f"M{_at(x - dx, y - dy)}L{_at(x + dx, y + dy)}" for x, y in ((x0, y0), (x1, y1)))
    return f'<path {MEASURE} vector-effect="non-scaling-stroke" d="M{_at(x0, y0)}L{_at(x1, y1)}{ends}"/>'


def _figure(length: float, x: float, y: float, side: float, turn: int = 0) -> str:
    """Write a length over its line."""
    place = f'transform="translate({_at(x, y)}) rotate({turn})"'
    size = FIGURES * side * UNITS
    halo = 'stroke="#f3efe6" paint-order="stroke"'
    return (
        f'<text {place} {halo} stroke-width="{size / 3:.0f}" font-family="sans-serif" font-size="{size:.0f}" '
        f'fill="#1d1b18" text-anchor="middle" dominant-baseline="central">{length:.1f}</text>'
    )


def _at(x: float, y: float) -> str:
    return f"{x * UNITS:.0f} {-y * UNITS:.0f}"
