"""Pictures for paper: outlines as SVG text inside an HTML page. For looking at, never for cutting.

Pictures are drawn in hundredths of a millimetre with y turned down, thinned out to what print can show.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from xml.sax.saxutils import quoteattr

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import simplified
from nameplate.model import Face, Lettering, Plate

#: An outline in a picture lies at most this far (mm on paper) from the true one: under half a printer's dot at 600 dpi
#: and the eye's limit at reading distance. Halving it makes files about 1.4 times as large.
FINE = 0.02

#: Blank border round a picture (mm of the plate), so that lines at its edge are not cut.
BORDER = 1.0

#: Units of a picture in one mm; whole numbers keep the files small.
UNITS = 100

THIN_LINE = 'fill="none" stroke="#555" vector-effect="non-scaling-stroke"'


def path_data(region: Region, *, tolerance: float = FINE) -> str:
    """Return the outlines of a region as SVG path data in hundredths of a mm, y down; fill by the even-odd rule.

    ``tolerance`` is how far (mm) a drawn line may lie from the true one.

    >>> path_data(rg.rectangle(0, 0, 2, 1))
    'M200 0 200 -100 0 -100 0 0Z'
    >>> path_data(rg.EMPTY)
    ''
    """
    if region.is_empty:
        return ""
    thin = simplified(region, tolerance)
    rings = (np.rint(ring * (UNITS, -UNITS)).astype(int) for ring in rg.all_rings(thin))
    return "".join(f"M{' '.join(map(str, ring.ravel().tolist()))}Z" for ring in rings)


def _number(value: float) -> str:
    return f"{round(value, 2) + 0.0:g}"


def open_svg(box: Box, label: str, *, width: float) -> str:
    """Return the first tag of a picture of a box (mm, y up), ``width`` mm wide on paper."""
    w, h = box.width + 2 * BORDER, box.height + 2 * BORDER
    view = " ".join(str(round(v * UNITS)) for v in (box.x0 - BORDER, -box.y1 - BORDER, w, h))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label={quoteattr(label)} width="{_number(width)}mm" '
        f'height="{_number(width * h / w)}mm" viewBox="{view}">'
    )


@dataclass(frozen=True, slots=True)
class Colours:
    """What fills the parts of a plate in its picture; holes in the face are the paper's white.

    What is `scored` looks alike in every proof, and is left out of the digest of how one looks.
    """

    face: str = "none"
    lettering: str = "#000"
    backing: str = "#bbb"
    scored: str = field(default="#555", repr=False)


#: For print in black and white: a backing is lighter than what lies on it, darker than the paper.
PLAIN = Colours()


@dataclass(frozen=True, slots=True)
class PlatePictures:
    """Draws plates of one face, all at the same scale: as large as fits the paper's box.

    ``width`` is what a picture takes on paper (mm), ``scale`` how many mm of the plate are one mm on paper. Of names
    that stand free each is as large as it can be in the ``room`` on paper: width and height (mm).
    """

    box: Box
    width: float
    scale: float
    outline: str
    colours: Colours = PLAIN
    room: tuple[float, float] | None = None

    def of(self, lettering: Lettering, label: str, *, backing: Region = rg.EMPTY) -> str:
        """Return the SVG of the face with a lettering and what backs it; ``label`` is read out to the blind."""
        if self.room is not None:
            box = rg.bounds(lettering.region)
            width, scale = _on_paper(box, *self.room)
            return replace(self, box=box, width=width, scale=scale, room=None).of(lettering, label)
        paths = (
            f'<path fill="{fill}" fill-rule="evenodd" d="{path_data(shape, tolerance=FINE * self.scale)}"/>'
            for shape, fill in painted(lettering, backing, self.colours)
        )
        return "".join([open_svg(self.box, label, width=self.width), self.outline, *paths, "</svg>"])


def painted(lettering: Lettering, backing: Region, colours: Colours) -> Iterator[tuple[Region, str]]:
    """Yield what is painted on a face, from the lowest up, each in its colour."""
    layers = (backing, colours.backing), (lettering.region, colours.lettering), (lettering.scored, colours.scored)
    return ((shape, colour) for shape, colour in layers if not shape.is_empty)


def backing_of(plate: Plate) -> Region:
    """Give the backing of a plate; empty where it has none."""
    return next((part.region for part in plate.parts if part.kind == "backing"), rg.EMPTY)


def plate_pictures(face: Face, *, width: float, height: float, colours: Colours = PLAIN) -> PlatePictures:
    """Return the drawer of a face's plates, in ``colours``, for boxes of ``width`` by ``height`` mm on paper."""
    box = rg.bounds(face.outline)
    on_paper, scale = _on_paper(box, width, height)
    if face.free:
        return PlatePictures(box, on_paper, scale, "", colours, (width, height))
    outline = _filled(colours.face, 0.8, path_data(face.outline, tolerance=FINE * scale))
    if not face.keep_outs.is_empty:
        hole = "none" if colours.face == "none" else "#fff"
        outline += _filled(hole, 0.5, path_data(face.keep_outs, tolerance=FINE * scale))
    return PlatePictures(box, on_paper, scale, outline + artwork_picture(face, FINE * scale), colours)


def _on_paper(box: Box, width: float, height: float) -> tuple[float, float]:
    """Return how wide a box is drawn so that it fits ``width`` by ``height`` mm, and how many mm are one mm then."""
    w, h = box.width + 2 * BORDER, box.height + 2 * BORDER
    on_paper = min(width, height * w / h)
    return on_paper, w / on_paper


def ground_of(face: Face, lettering: Lettering) -> Face:
    """Return what a name is drawn on: its face, or of one that stands free the box round it.

    >>> face = Face(rg.rectangle(0, 0, 9, 6), rg.EMPTY, rg.EMPTY, "rectangle")
    >>> ground_of(face, Lettering(rg.rectangle(1, 1, 3, 2), 9.0, 6.0, ("I",), 1)) is face
    True
    """
    return replace(face, outline=rg.rectangle(*rg.bounds(lettering.region))) if face.free else face


def _filled(fill: str, stroke: float, data: str) -> str:
    return f'<path {THIN_LINE.replace("none", fill, 1)} stroke-width="{stroke:g}" d="{data}"/>'


def artwork_picture(face: Face, tolerance: float = FINE) -> str:
    """Return SVG paths of what is on a face besides its outline and holes, dashed; empty where nothing is."""
    lines = "".join(line_data(line) for line in face.scored)
    data = lines + path_data(face.artwork, tolerance=tolerance)
    return f'<path {THIN_LINE} stroke-width="0.4" stroke-dasharray="3 2" d="{data}"/>' if data else ""


def line_data(line: Array) -> str:
    """Return a polyline as SVG path data in hundredths of a mm, y down.

    >>> line_data(np.array([[0.0, 0.0], [2.0, 1.0]]))
    'M0 0 200 -100'
    """
    points = np.rint(line * (UNITS, -UNITS)).astype(int)
    return "M" + " ".join(f"{x} {y}" for x, y in points.tolist())
