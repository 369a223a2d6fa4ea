"""A plate as PNG, in the colours of its proof, to look at or to send: nothing is cut by it.

Method: what is on the plate is painted region by region, each through a mask of its own, at twice the size and then
made smaller, so that edges are smooth.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.region import Region
from nameplate.model import Face, Lettering, Order
from nameplate.paperwork.pictures import BORDER, Colours, ground_of, painted

if TYPE_CHECKING:
    from PIL import Image

#: Pixels of a mm, where that leaves the picture smaller than the most along its longer side.
DENSITY, MOST = 8.0, 2_000

#: So many times as large it is painted.
_FINER = 2

#: Width of the lines that are scored on a face as its drawing has them, mm.
_LINE = 0.3


@dataclass(frozen=True, slots=True)
class PlatePicture:
    """What a plate's picture shows, and its file under the out folder."""

    file: str
    face: Face
    lettering: Lettering
    backing: Region
    colours: Colours

    def png(self) -> bytes:
        """Give the picture."""
        from PIL import Image

        ground = ground_of(self.face, self.lettering)
        box = rg.bounds(ground.outline).grown(BORDER)
        scale = min(DENSITY, MOST / max(box.width, box.height))
        size = (round(box.width * scale), round(box.height * scale))
        image = Image.new("RGB", (size[0] * _FINER, size[1] * _FINER), "white")
        for shape, colour in self._painted(ground):
            image.paste(colour, mask=_mask(shape, box, scale * _FINER, image.size))
        data = io.BytesIO()
        image.resize(size, Image.Resampling.BOX).save(data, "PNG")
        return data.getvalue()

    def _painted(self, ground: Face) -> Iterator[tuple[Region, str]]:
        """Yield what is painted, from the lowest up."""
        if not self.face.free:
            yield ground.outline, self.colours.face
            yield ground.keep_outs, "#fff"
            yield ground.artwork, self.colours.scored
            yield rg.union(*(rg.capsule(line, _LINE) for line in ground.scored)), self.colours.scored
        yield from painted(self.lettering, self.backing, self.colours)


def picture_file(order: Order) -> str:
    """Name the picture of a plate, under the out folder."""
    return f"plates/{order.stem}.png"


def _mask(shape: Region, box: Box, scale: float, size: tuple[int, int]) -> Image.Image:
    """Give the picture of a region, white on black: its rings, the largest first, so that what lies in a hole shows."""
    from PIL import Image, ImageDraw

    mask = Image.new("L", size, 0)
    draw = ImageDraw.Draw(mask)
    rings = [*((ring, 255) for ring in rg.outer_rings(shape)), *((ring, 0) for ring in rg.hole_rings(shape))]
    for ring, tone in sorted(rings, key=lambda one: -rg.from_ring(one[0]).area):
        places = (ring * (1, -1) + (-box.x0, box.y1)) * scale - 0.5  # the middle of a pixel is half a pixel in
        draw.polygon([tuple(place) for place in places.tolist()], fill=tone)
    return mask
