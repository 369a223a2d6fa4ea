"""Writes drawings of a wall as SVG inside a page, in mm of the wall, y turned down."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

from nameplate.units import trimmed
from nameplate.wall.drawing import DrawnShape, DrawnText, WallPicture

#: Where a text stands by its x.
_ANCHORS = {0.0: "start", 0.5: "middle", 1.0: "end"}

#: Length of a dash on paper, and of the gap after it (mm).
_DASHES = (1.6, 0.8)


def picture_svg(picture: WallPicture) -> str:
    """Give the SVG of a drawing, as large as it is to be on paper."""
    box, scale = picture.box, picture.scale
    size = f'width="{box.width / scale:.2f}mm" height="{box.height / scale:.2f}mm"'
    look = f'viewBox="{_n(box.x0)} {_n(-box.y1)} {_n(box.width)} {_n(box.height)}"'
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label={quoteattr(picture.caption)} {size} {look} '
        'font-family="sans-serif">'
    )
    drawn = (_shape(item, scale) if isinstance(item, DrawnShape) else _text(item) for item in picture.items)
    return "".join([head, *drawn, "</svg>"])


def _shape(shape: DrawnShape, scale: float) -> str:
    lines = (" ".join(f"{_n(x)} {_n(-y)}" for x, y in line.tolist()) for line in shape.lines)
    data = "".join(f"M{line}{'Z' * shape.closed}" for line in lines)
    stroke = f'stroke="{shape.colour}" stroke-width="{_n(shape.width * scale)}"' if shape.width else 'stroke="none"'
    dashes = f' stroke-dasharray="{" ".join(_n(length * scale) for length in _DASHES)}"' if shape.dashed else ""
    return f'<path fill="{shape.fill or "none"}" fill-rule="evenodd" {stroke}{dashes} d="{data}"/>'


def _text(text: DrawnText) -> str:
    weight = ' font-weight="bold"' if text.bold else ""
    where = f'x="{_n(text.x)}" y="{_n(-text.y + 0.35 * text.size)}" text-anchor="{_ANCHORS[text.align]}"'
    look = f'font-size="{_n(text.size)}" fill="{text.colour}"{weight}'
    return f"<text {where} {look}>{escape(text.text)}</text>"


def _n(value: float) -> str:
    return trimmed(value, 2)
