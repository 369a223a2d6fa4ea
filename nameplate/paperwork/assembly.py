"""Pictures of what is put together once for a batch: the carrier's layers over one another, the fit ladder.

The carrier is drawn in cabinet projection, taken apart: every layer lies flat, one above the other, each with a number
that the key beside the picture has.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box, around
from nameplate.geometry.region import Region
from nameplate.model import Part
from nameplate.paperwork.pictures import BORDER, UNITS, line_data, open_svg, path_data

#: What depth becomes in the projection: so far aside and so far up, a mm.
_ASIDE, _UP = 0.3, 0.42

#: How far apart layers lie in the picture, of the drawn height of one.
_APART = 0.6

#: Height of the fit ladder's picture on paper (mm): its figures are read, and it stays on a page with what to do.
_LADDER = 62.0

#: Widest and highest a carrier's picture is on paper (mm).
ROOM = (120.0, 85.0)

_LOOK = 'fill-rule="evenodd" stroke="#000" stroke-width="0.7" vector-effect="non-scaling-stroke"'


def stacked(layers: Sequence[tuple[Region, str]], pins: Sequence[tuple[float, float]], label: str) -> str:
    """Return the SVG of flat layers above one another, the lowest first, each a region with its fill; numbered from 1.

    ``pins`` (mm) are drawn as upright dashes through all layers.
    """
    flat = [_flat(region) for region, _ in layers]
    step = max(rg.bounds(region).height for region in flat) * _APART
    boxes = [rg.bounds(rg.moved(region, 0.0, n * step)) for n, region in enumerate(flat)]
    room = 0.06 * max(box.width for box in boxes)
    own = around(boxes)
    page = Box(own.x0 - room, own.y0 - room, own.x1 + 2 * room, own.y1 + room)
    size = max(page.width / ROOM[0], page.height / ROOM[1]) * UNITS
    parts = [open_svg(page, label, width=page.width / size * UNITS)]
    parts.append(f'<g font-family="sans-serif" font-weight="bold" font-size="{3.4 * size:.0f}">')
    for number, (region, (_, fill)) in enumerate(zip(flat, layers, strict=True)):
        lifted = rg.moved(region, 0.0, number * step)
        x, y = page.x1 - 1.6 * room, rg.bounds(lifted).centre[1]
        parts.append(f'<path fill="{fill}" fill-opacity="0.88" {_LOOK} d="{path_data(lifted)}"/>')
        parts.append(f'<text x="{x * UNITS:.0f}" y="{-y * UNITS:.0f}">{number + 1}</text>')
    top = (len(layers) - 1) * step
    feet = ((x + y * _ASIDE, y * _UP) for x, y in pins)
    dashes = "".join(f"M{x * UNITS:.0f} {-y * UNITS:.0f}v{-top * UNITS:.0f}" for x, y in feet)
    dashed = f'fill="none" stroke="#000" stroke-width="{0.35 * size:.0f}" stroke-dasharray="{size:.0f}"'
    parts.append(f'<path {dashed} d="{dashes}"/>')
    return "".join([*parts, "</g></svg>"])


def _flat(region: Region) -> Region:
    """Lay a region down: seen from the front and above."""
    matrix = np.array([[1.0, 0.0], [_ASIDE, _UP]])
    outer, holes = (
        rg.union(*(rg.from_ring(ring @ matrix) for ring in rings(region))) for rings in (rg.outer_rings, rg.hole_rings)
    )
    return rg.difference(outer, holes)


@dataclass(frozen=True, slots=True)
class CarrierPicture:
    """A carrier taken apart, as SVG, and what its numbers mean, from 1."""

    picture: str
    numbers: tuple[str, ...]


def carrier_picture(
    parts: Sequence[Part], names: Sequence[str], plaque: Region, template: Region
) -> CarrierPicture | None:
    """Draw a carrier taken apart: its layers from the floor up, called ``names``, then the plaque and a template.

    None where there is no carrier among the ``parts``; an empty ``template`` is left out.
    """
    layers = sorted((part for part in parts if part.kind == "carrier"), key=lambda part: part.layer)
    if not layers:
        return None
    drawn = [(part.region, "#e8dcc4") for part in layers] + [(plaque, "#fff")]
    called = [*names, "the plaque"]
    if not template.is_empty:
        drawn, called = [*drawn, (template, "#ccd6dd")], [*called, "a template"]
    pins = [rg.bounds(hole).centre for feature, hole in layers[0].features if feature == "pin-hole"]
    return CarrierPicture(stacked(drawn, pins, "the carrier taken apart, its floor at the bottom"), tuple(called))


def ladder_picture(parts: Sequence[Part]) -> str:
    """Return the SVG of a fit ladder lying down, its plug below it; empty where there is none."""
    coupons = sorted((part for part in parts if part.kind == "coupon"), key=lambda part: part.layer)
    if len(coupons) < 2:
        return ""
    strip, plug = coupons
    box = rg.bounds(strip.region)
    at = (box.x0 - 1.2 * rg.bounds(plug.region).width, box.y1 - rg.bounds(plug.region).height)
    lying = rg.moved(plug.region, *at)
    page = Box(rg.bounds(lying).x0, box.y0, box.x1, box.y1)
    marks = "".join(line_data(mark) for mark in strip.marks)
    fill = f"{path_data(strip.region)}{path_data(lying)}"
    width = _LADDER * (page.width + 2 * BORDER) / (page.height + 2 * BORDER)
    return (
        open_svg(page, "the fit ladder, its plug beside it", width=width)
        + f'<path fill="#e4e4e4" {_LOOK} d="{fill}"/>'
        + f'<path fill="none" stroke="#000" stroke-width="30" d="{marks}"/></svg>'
    )
