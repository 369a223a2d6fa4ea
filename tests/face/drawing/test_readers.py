"""Drawings as vector programs write them, against two independent readers: resvg renders them, svgelements parses them.

resvg's picture is measured by counting pixels, so it knows nothing of paths; svgelements gives the box of the outline.
"""

import io
import re

import numpy as np
import pytest

from nameplate.face.drawing.face_outline import read_face_drawing
from nameplate.geometry import region

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
EDITOR = 'xmlns:ed="http://example.org/editor" ed:version="1.2"'
BLOB = "m20,40c5,-30 50,-35 60,0s-8,30 -25,32s-20,-6 -30,-2s-12,-12 -5,-30z"

DRAWINGS = {
    "nested groups with matrices": (
        'width="120mm" height="90mm" viewBox="0 0 120 90"',
        '<g id="layer1" transform="translate(4,-3)"><g transform="matrix(0.9,0.1,-0.12,0.95,5,2)">'
        f'<path style="fill:#000000;stroke:none;stroke-width:0.26" d="{BLOB}"/></g></g>',
    ),
    "inches and a shifted view box": ('width="4.5in" height="3.5in" viewBox="-5 -5 110 95"', f'<path d="{BLOB}"/>'),
    "points, stretched": (
        'width="300pt" height="260pt" viewBox="0 0 100 80" preserveAspectRatio="none"',
        f'<path d="{BLOB}"/>',
    ),
    "cut to the corner": (
        'width="14cm" height="9cm" viewBox="0 0 100 80" preserveAspectRatio="xMinYMax slice" overflow="visible"',
        f'<path d="{BLOB}"/>',
    ),
    "fitted to the right": (
        'width="14cm" height="9cm" viewBox="0 0 100 80" preserveAspectRatio="xMaxYMin meet"',
        f'<path d="{BLOB}"/>',
    ),
    "other namespaces": (
        f'width="100mm" height="80mm" viewBox="0 0 100 80" version="1.1" xml:space="preserve" {EDITOR}',
        '<ed:view ed:zoom="2"/><metadata><ed:rect x="0"/></metadata>'
        f'<g ed:label="Face" ed:mode="layer"><path ed:nodes="cc" d="{BLOB}"/></g>',
    ),
    "style sheet classes": (
        'width="100mm" height="80mm" viewBox="0 0 100 80"',
        f'<defs><style>.a,.b{{fill:#000}}.c{{display:none}}</style></defs><path class="a" d="{BLOB}"/>'
        '<rect class="b c" width="100" height="80"/>',
    ),
    "a used definition": (
        'width="100mm" height="80mm" viewBox="0 0 100 80"',
        f'<defs><path id="p" d="{BLOB}"/></defs><use xlink:href="#p" x="3" y="-2" transform="rotate(12 50 40)"/>',
    ),
    "an inner viewport": (
        'width="100mm" height="80mm" viewBox="0 0 100 80"',
        f'<svg x="10" y="5" width="70" height="72" viewBox="10 0 80 80"><path d="{BLOB}"/></svg>',
    ),
    "skewed": (
        'width="100mm" height="80mm" viewBox="0 0 100 80"',
        f'<g transform="skewX(-14) scale(.9,1)"><path transform="translate(15)" d="{BLOB}"/></g>',
    ),
    "packed arcs": (
        'width="100mm" height="80mm" viewBox="0 0 100 80"',
        '<path d="M20 40a30 20 30 0130-20c9 0 12 3 20 8a16 16 0 110 32h-40a14 10-20 01-10-20z"/>',
    ),
    "quadratics": (
        'width="100mm" height="80mm" viewBox="0 0 100 80"',
        '<path d="M10 40Q30 5 50 15T90 40q-5 30-40 30t-40-30z"/>',
    ),
    "an ellipse turned": (
        'width="100mm" height="80mm" viewBox="0 0 100 80"',
        '<ellipse cx="50" cy="40" rx="38" ry="22" transform="rotate(-25 50 40)"/>',
    ),
    "a rounded rectangle in percent": (
        'width="100mm" height="80mm" viewBox="0 0 100 80"',
        '<rect x="10%" y="10%" width="80%" height="75%" rx="12" ry="8" transform="rotate(5 50 40)"/>',
    ),
    "pixels without a view box": ('width="420px" height="330px"', f'<g transform="scale(3.7)"><path d="{BLOB}"/></g>'),
}

#: Pixels in one millimetre of the rendering.
FINE = 6


def rendered(head, inside):
    """Give area (mm2), width and height (mm) of what resvg draws."""
    from PIL import Image
    from resvg_py import svg_to_bytes

    # resvg draws one CSS pixel as one pixel: put the drawing into a frame that enlarges it
    frame = f'<svg {NS} width="{200 * FINE}" height="{150 * FINE}" viewBox="0 0 {200 / 25.4 * 96} {150 / 25.4 * 96}">'
    png = svg_to_bytes(dpi=96, svg_string=f'{frame}<svg x="100" y="80" {head}>{inside}</svg></svg>')
    cover = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGBA"))[:, :, 3] / 255
    rows, columns = np.nonzero(cover > 0.5)
    return cover.sum() / FINE**2, (np.ptp(columns) + 1) / FINE, (np.ptp(rows) + 1) / FINE


@pytest.mark.parametrize("name", DRAWINGS)
def test_areas_and_boxes_agree_with_a_renderer(write, name):
    head, inside = DRAWINGS[name]
    if "viewBox" not in head:  # inside a frame the units of the outer drawing would be the frame's
        width, height = re.findall(r'"(\d+)px"', head)
        head += f' viewBox="0 0 {width} {height}"'
    outline = read_face_drawing(write(f"<svg {NS} {DRAWINGS[name][0]}>{inside}</svg>")).outline
    area, width, height = rendered(head, inside)
    box = region.bounds(outline)
    assert outline.area == pytest.approx(area, rel=1e-3)
    assert (box.width, box.height) == pytest.approx((width, height), abs=2.5 / FINE)


# svgelements 1.9 does not turn ellipses and rounded rectangles, so these are left to the renderer
PATHS = sorted(n for n in DRAWINGS if "<path" in DRAWINGS[n][1] and n not in ("style sheet classes", "quadratics"))


@pytest.mark.parametrize("name", PATHS)
def test_boxes_agree_with_a_parser(write, name):
    from svgelements import SVG, Path

    path = write(f"<svg {NS} {DRAWINGS[name][0]}>{DRAWINGS[name][1]}</svg>")
    shapes = [e for e in SVG.parse(str(path), ppi=96).elements() if isinstance(e, Path)]
    x0, y0, x1, y1 = max((s.bbox() for s in shapes), key=lambda b: b[2] - b[0])
    box = region.bounds(read_face_drawing(path).outline)
    assert (box.width, box.height) == pytest.approx(((x1 - x0) * 25.4 / 96, (y1 - y0) * 25.4 / 96), abs=0.011)
