"""Pictures for paper: outlines as SVG text inside an HTML page. For looking at, never for cutting.

Pictures are drawn in hundredths of a millimetre with y turned down, thinned out to what print can show.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.region import Array, Box, Region
from nameplate.geometry.simplify import simplified
from nameplate.model import Face, Lettering, Plate

#: An outline in a picture lies at most this far (mm on paper) from the true one: under half a printer's dot at 600 dpi
#: and the eye's limit at reading distance. Halving it makes files about 1.4 times as large.
FINE = 0.02

#: The same for the map of a whole sheet, where a name is a few millimetres long.
COARSE = 0.1

#: Blank border round a picture (mm of the plate), so that lines at its edge are not cut.
BORDER = 1.0

#: Units of a picture in one mm; whole numbers keep the files small.
UNITS = 100

#: Height of the plates' ids on a map (mm on paper).
_ID_HEIGHT = 3.2

_LINE = 'fill="none" stroke="#555" vector-effect="non-scaling-stroke"'


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
    rings = (np.rint(ring * (UNITS, -UNITS)).astype(int) for ring in (*rg.outer_rings(thin), *rg.hole_rings(thin)))
    return "".join(f"M{' '.join(map(str, ring.ravel().tolist()))}Z" for ring in rings)


def _number(value: float) -> str:
    return f"{round(value, 2) + 0.0:g}"


def _open_svg(box: Box, label: str, *, width: float) -> str:
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

    ``width`` is what a picture takes on paper (mm), ``scale`` how many mm of the plate are one mm on paper.
    """

    box: Box
    width: float
    scale: float
    outline: str
    colours: Colours = PLAIN

    def of(self, lettering: Lettering | None, label: str, *, backing: Region = rg.EMPTY) -> str:
        """Return the SVG of the face with a lettering and what backs it; ``label`` is read out to the blind."""
        parts = [_open_svg(self.box, label, width=self.width), self.outline]
        if not backing.is_empty:
            data = path_data(backing, tolerance=FINE * self.scale)
            parts.append(f'<path fill="{self.colours.backing}" fill-rule="evenodd" d="{data}"/>')
        if lettering is not None:
            data = path_data(lettering.region, tolerance=FINE * self.scale)
            parts.append(f'<path fill="{self.colours.lettering}" fill-rule="evenodd" d="{data}"/>')
            if not lettering.scored.is_empty:
                data = path_data(lettering.scored, tolerance=FINE * self.scale)
                parts.append(f'<path fill="{self.colours.scored}" fill-rule="evenodd" d="{data}"/>')
        return "".join([*parts, "</svg>"])


def backing_of(plate: Plate) -> Region:
    """Give the backing of a plate; empty where it has none."""
    return next((part.region for part in plate.parts if part.kind == "backing"), rg.EMPTY)


def plate_pictures(face: Face, *, width: float, height: float, colours: Colours = PLAIN) -> PlatePictures:
    """Return the drawer of a face's plates, in ``colours``, for boxes of ``width`` by ``height`` mm on paper."""
    box = rg.bounds(face.outline)
    w, h = box.width + 2 * BORDER, box.height + 2 * BORDER
    on_paper = min(width, height * w / h)
    scale = w / on_paper
    outline = _filled(colours.face, 0.8, path_data(face.outline, tolerance=FINE * scale))
    if not face.keep_outs.is_empty:
        hole = "none" if colours.face == "none" else "#fff"
        outline += _filled(hole, 0.5, path_data(face.keep_outs, tolerance=FINE * scale))
    return PlatePictures(box, on_paper, scale, outline + artwork_picture(face, FINE * scale), colours)


def _filled(fill: str, stroke: float, data: str) -> str:
    return f'<path {_LINE.replace("none", fill, 1)} stroke-width="{stroke:g}" d="{data}"/>'


def artwork_picture(face: Face, tolerance: float = FINE) -> str:
    """Return SVG paths of what is on a face besides its outline and holes, dashed; empty where nothing is."""
    lines = "".join(line_data(line) for line in face.scored)
    data = lines + path_data(face.artwork, tolerance=tolerance)
    return f'<path {_LINE} stroke-width="0.4" stroke-dasharray="3 2" d="{data}"/>' if data else ""


def line_data(line: Array) -> str:
    """Return a polyline as SVG path data in hundredths of a mm, y down.

    >>> line_data(np.array([[0.0, 0.0], [2.0, 1.0]]))
    'M0 0 200 -100'
    """
    points = np.rint(line * (UNITS, -UNITS)).astype(int)
    return "M" + " ".join(f"{x} {y}" for x, y in points.tolist())


def sheet_picture(
    width: float, height: float, pieces: Sequence[tuple[str, Region]], label: str, *, paper_width: float
) -> str:
    """Return the SVG map of one sheet of ``width`` by ``height`` mm: each piece where it lies, named.

    ``pieces`` are (name, region in sheet coordinates); the map is ``paper_width`` mm wide.
    """
    box = Box(0.0, 0.0, width, height)
    scale = (width + 2 * BORDER) / paper_width
    letters = _ID_HEIGHT * scale * UNITS
    parts = [_open_svg(box, label, width=paper_width)]
    parts.append(f'<path {_LINE} stroke-width="0.8" d="{path_data(rg.rectangle(*box))}"/>')
    outlines = "".join(path_data(region, tolerance=COARSE * scale) for _, region in pieces)
    look = 'fill="#ddd" fill-rule="evenodd" stroke="#999" stroke-width="0.5" vector-effect="non-scaling-stroke"'
    parts.append(f'<path {look} d="{outlines}"/>')
    texts = "".join(_name(name, region, letters) for name, region in pieces)
    font = f'font-family="sans-serif" font-size="{round(letters)}" font-weight="bold" text-anchor="middle"'
    parts.append(f'<g {font} fill="#fff" stroke="#fff" stroke-width="{round(letters / 5)}">{texts}</g>')
    parts.append(f'<g {font} fill="#000">{texts}</g>')
    return "".join([*parts, "</svg>"])


def _name(name: str, region: Region, size: float) -> str:
    x, y = rg.bounds(region).centre
    return f'<text x="{round(x * UNITS)}" y="{round(-y * UNITS + size / 3)}">{escape(name)}</text>'
