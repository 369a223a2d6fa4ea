"""Pictures for paper: outlines as SVG text inside an HTML page. For looking at, never for cutting.

Pictures are drawn in millimetres with y turned down, thinned out to what print can show.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from nameplate.geometry import region as rg
from nameplate.geometry.region import Array, Box, Region
from nameplate.parts import Face, Lettering

#: An outline in a picture may lie this far from the true one (mm of the plate): half of what a printed line is wide.
#: Halving it makes files about 1.4 times as large.
FINE = 0.05

#: The same for the small pictures of a whole sheet.
COARSE = 0.3

#: Blank border round a picture (mm of the plate), so that lines at its edge are not cut.
BORDER = 1.0

_LINE = 'fill="none" stroke="#555" vector-effect="non-scaling-stroke"'


def path_data(region: Region, *, fine: float = FINE) -> str:
    """Return the outlines of a region as SVG path data, y down; fill it by the even-odd rule.

    ``fine`` is how far (mm) a drawn line may lie from the true one.

    >>> path_data(rg.rectangle(0, 0, 2, 1))
    'M2 0L2 -1L0 -1L0 0Z'
    >>> path_data(rg.EMPTY)
    ''
    """
    if region.is_empty:
        return ""
    thin = rg.simplified(region, fine)
    return "".join(_ring(r) for r in (*rg.outer_rings(thin), *rg.hole_rings(thin)))


def _ring(ring: Array) -> str:
    points = "L".join(f"{_number(x)} {_number(-y)}" for x, y in ring.tolist())
    return f"M{points}Z"


def _number(value: float) -> str:
    return f"{round(value, 2) + 0.0:g}"


def _open_svg(box: Box, label: str, *, width: float) -> str:
    """Return the first tag of a picture of a box (mm, y up), ``width`` mm wide on paper."""
    x, y = box.x0 - BORDER, -box.y1 - BORDER
    w, h = box.width + 2 * BORDER, box.height + 2 * BORDER
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label={quoteattr(label)} width="{_number(width)}mm" '
        f'height="{_number(width * h / w)}mm" viewBox="{_number(x)} {_number(y)} {_number(w)} {_number(h)}">'
    )


def fit_width(face: Face, *, width: float, height: float) -> float:
    """Return how wide (mm) the picture of a plate is when it just fits a box of ``width`` by ``height`` mm."""
    box = rg.bounds(face.outline)
    return min(width, height * (box.width + 2 * BORDER) / (box.height + 2 * BORDER))


def plate_picture(face: Face, lettering: Lettering | None, label: str, *, width: float, fine: float = FINE) -> str:
    """Return the SVG of a face with its lettering, ``width`` mm wide on paper; ``label`` is read out to the blind."""
    parts = [_open_svg(rg.bounds(face.outline), label, width=width)]
    parts.append(f'<path {_LINE} stroke-width="0.8" d="{path_data(face.outline, fine=fine)}"/>')
    if not face.keep_outs.is_empty:
        parts.append(f'<path {_LINE} stroke-width="0.5" d="{path_data(face.keep_outs, fine=fine)}"/>')
    if lettering is not None:
        parts.append(f'<path fill="#000" fill-rule="evenodd" d="{path_data(lettering.region, fine=fine)}"/>')
    return "".join([*parts, "</svg>"])


def sheet_picture(
    width: float, height: float, pieces: Sequence[tuple[str, Region]], label: str, *, paper_width: float
) -> str:
    """Return the SVG map of one sheet of ``width`` by ``height`` mm: each piece where it lies, named.

    ``pieces`` are (name, region in sheet coordinates); the map is ``paper_width`` mm wide.
    """
    box = Box(0.0, 0.0, width, height)
    letters = 3.2 * (width + 2 * BORDER) / paper_width  # 3.2 mm on paper
    parts = [_open_svg(box, label, width=paper_width)]
    parts.append(f'<path {_LINE} stroke-width="0.8" d="{path_data(rg.rectangle(*box))}"/>')
    outlines = "".join(path_data(region, fine=COARSE) for _, region in pieces)
    parts.append(f'<path fill="#ddd" fill-rule="evenodd" stroke="#999" stroke-width="0.2" d="{outlines}"/>')
    texts = "".join(_name(name, region, letters) for name, region in pieces)
    font = f'font-family="sans-serif" font-size="{_number(letters)}" font-weight="bold" text-anchor="middle"'
    parts.append(f'<g {font} fill="#fff" stroke="#fff" stroke-width="{_number(letters / 5)}">{texts}</g>')
    parts.append(f'<g {font} fill="#000">{texts}</g>')
    return "".join([*parts, "</svg>"])


def _name(name: str, region: Region, size: float) -> str:
    x, y = rg.bounds(region).centre
    return f'<text x="{_number(x)}" y="{_number(-y + size / 3)}">{escape(name)}</text>'
