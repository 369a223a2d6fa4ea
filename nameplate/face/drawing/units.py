"""Lengths, view boxes and transforms of an SVG document.

Terms. A *matrix* is the 3 x 3 array that takes (x, y, 1) of an element to its parent. The *viewport* is the size, in
user units, to which percentages refer. CSS pixels become millimetres at 96 to the inch (CSS Values 4, section 6.2).

Known limits: lengths relative to a font or a window (em, vw, ...) have no size here and are refused; CSS functions
such as calc() too.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from nameplate.errors import FaceError
from nameplate.findings import brief
from nameplate.geometry.region import Array
from nameplate.units import MM_PER_UNIT

#: User units (CSS pixels) in one unit of an SVG length.
PX_PER_UNIT: dict[str, float] = {
    unit: mm / MM_PER_UNIT["px"]
    for unit, mm in {**{u: MM_PER_UNIT[u] for u in ("mm", "cm", "in", "px", "pt", "pc")}, "q": 0.25}.items()
} | {"": 1.0}

#: Coordinates beyond this many user units are a broken drawing; numbers up to it multiply without overflow.
MOST_COORDINATE = 1e9

#: Longest number (characters) and most functions in one transform: what programs write stays far below.
LONGEST_NUMBER = 100
MOST_FUNCTIONS = 100

#: A number. Its repeats never give back what they took, so that reading is linear whatever follows.
NUMBER = r"[-+]?(?:[0-9]++(?:\.[0-9]*+)?|\.[0-9]++)(?:[eE][-+]?[0-9]++)?"
_NUMBER = re.compile(NUMBER)
_LENGTH = re.compile(rf"({NUMBER})\s*+([a-zA-Z]*+|%)")
_BETWEEN = re.compile(r"[\s,]*+")
_FUNCTION = re.compile(r"([a-zA-Z]++)\s*+\(([^()]*+)\)[\s,]*+")

IDENTITY: Array = np.eye(3)


def number(text: str) -> float:
    """Read one NUMBER; raises FaceError when it is too large to be a coordinate.

    >>> number("-1.5e1")
    -15.0
    """
    if len(text) > LONGEST_NUMBER:
        raise FaceError(f"the number {short(text)} has {len(text)} characters; at most {LONGEST_NUMBER} are read")
    value = float(text)
    if not abs(value) <= MOST_COORDINATE:
        raise FaceError(f"the number {short(text)} is too large for a coordinate (the most is {MOST_COORDINATE:g})")
    return value


def numbers(text: str) -> tuple[float, ...]:
    """Read numbers separated by white space or commas; raises FaceError for anything else.

    >>> numbers("1,2 -3-4")
    (1.0, 2.0, -3.0, -4.0)
    >>> numbers("")
    ()
    """
    found = numbers_or_none(text)
    if found is None:
        raise FaceError(f"{short(text)} is not a list of numbers")
    return found


def numbers_or_none(text: str) -> tuple[float, ...] | None:
    """Read numbers separated by white space or commas, None where anything else stands among them."""
    if not _BETWEEN.fullmatch(_NUMBER.sub("", text)):
        return None
    return tuple(map(number, _NUMBER.findall(text)))


def length(text: str, whole: float) -> float:
    """Read a length in user units; a percentage is of `whole` user units.

    >>> length("1in", 0), length("50%", 30), length("3", 0)
    (96.0, 15.0, 3.0)
    """
    match = _LENGTH.fullmatch(text.strip())
    if match is None:
        raise FaceError(f"{short(text)} is not a length")
    value, unit = number(match[1]), match[2].lower()
    if unit != "%" and unit not in PX_PER_UNIT:
        known = ", ".join(u for u in PX_PER_UNIT if u)
        raise FaceError(f"the length {short(text)} has a unit without a fixed size; use one of {known}")
    size = whole * value / 100 if unit == "%" else value * PX_PER_UNIT[unit]
    if abs(size) > MOST_COORDINATE:
        raise FaceError(f"the length {short(text)} is too large (the most is {MOST_COORDINATE:g} pixels)")
    return size


def unit_of(text: str | None) -> str:
    """Give the unit of a length as written, "" when it has none or there is no length.

    >>> unit_of("21mm"), unit_of("10"), unit_of(None)
    ('mm', '', '')
    """
    match = _LENGTH.fullmatch((text or "").strip())
    return match[2].lower() if match else ""


def translation(dx: float, dy: float) -> Array:
    """Give the matrix of a shift."""
    return np.array([[1, 0, dx], [0, 1, dy], [0, 0, 1]], dtype=float)


def scaling(sx: float, sy: float) -> Array:
    """Give the matrix of a scaling about the origin."""
    return np.diag([sx, sy, 1.0])


def _one_transform(name: str, values: tuple[float, ...]) -> Array | None:
    """Give the matrix of a transform function, None when there is none of that name with so many numbers."""
    from svgpathtools.parser import parse_transform

    try:
        return np.asarray(parse_transform(f"{name}({' '.join(map(repr, values))})", strict=True))
    except ValueError:
        return None


def transform(text: str) -> Array:
    """Read a `transform` attribute (CSS Transforms 1, section 7; the functions apply right to left).

    Raises FaceError for a function that is unknown or has the wrong count of numbers, for too many of them, and for a
    product too large for coordinates.

    >>> transform("translate(2 3) scale(2)") @ (1, 1, 1)
    array([4., 5., 1.])
    >>> bool((transform("") == IDENTITY).all())
    True
    """
    matrix = IDENTITY
    text = text.strip()
    if text in ("", "none"):
        return matrix
    position = count = 0
    while position < len(text):
        match = _FUNCTION.match(text, position)
        values = numbers_or_none(match[2]) if match else None
        step = _one_transform(match[1], values) if match and values else None
        count += 1
        if match is None or step is None:
            raise FaceError(f"the transform {short(text[position:])} is not understood")
        if count > MOST_FUNCTIONS:
            raise FaceError(f"the transform {short(text)} has more than {MOST_FUNCTIONS} functions")
        matrix, position = joined(matrix, step), match.end()
    return matrix


def joined(outer: Array, inner: Array) -> Array:
    """Give the matrix that does `inner`, then `outer`; raises FaceError when it enlarges beyond measure.

    >>> joined(translation(1, 2), scaling(3, 3)) @ (1, 1, 1)
    array([4., 5., 1.])
    """
    # NaN compares as false; both are looked at first, so that the product cannot overflow
    if not ((np.abs(inner) <= MOST_COORDINATE).all() and (np.abs(outer) <= MOST_COORDINATE).all()):
        raise FaceError("the transforms round it enlarge it beyond measure")
    product: Array = outer @ inner
    if not (np.abs(product) <= MOST_COORDINATE).all():
        raise FaceError("the transforms round it enlarge it beyond measure")
    return product


_SHARE: dict[str, float] = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
_ASPECT = re.compile(r"(?:defer )?(?:(none)|x(Min|Mid|Max)Y(Min|Mid|Max))(?: (meet|slice))?")


@dataclass(frozen=True, slots=True)
class ViewBox:
    """The rectangle of user space, in user units, that fills a viewport."""

    x: float
    y: float
    width: float
    height: float


def view_box(text: str | None) -> ViewBox | None:
    """Read a `viewBox`; None when there is none. Raises FaceError when it is not four numbers with positive sizes.

    >>> view_box("0 0 21 10")
    ViewBox(x=0.0, y=0.0, width=21.0, height=10.0)
    """
    if text is None or text.strip() in ("", "none"):
        return None
    values = numbers(text)
    if len(values) != 4 or min(values[2:]) <= 0:
        raise FaceError(f"the viewBox {short(text)} must be four numbers, with a width and height above 0")
    return ViewBox(*values)


def fit_view_box(box: ViewBox, width: float, height: float, aspect: str | None = None) -> Array:
    """Give the matrix that fits a view box to a viewport of `width` x `height` user units at its origin.

    `aspect` is a `preserveAspectRatio` value, by default xMidYMid meet (SVG 2, section 8.2).

    >>> fit_view_box(ViewBox(11, 13, 3, 2), 21, 10) @ (11, 13, 1)
    array([3., 0., 1.])
    """
    match = _ASPECT.fullmatch(" ".join((aspect or "xMidYMid meet").split()))
    if match is None:
        raise FaceError(f"preserveAspectRatio {short(aspect or '')} is not understood; use for example xMidYMid meet")
    sx, sy = width / box.width, height / box.height
    if not max(sx, sy) <= MOST_COORDINATE:
        raise FaceError(f"a viewBox of {box.width:g} x {box.height:g} enlarges the drawing beyond measure")
    if not match[1]:
        sx = sy = max(sx, sy) if match[4] == "slice" else min(sx, sy)
    free_x, free_y = width - box.width * sx, height - box.height * sy
    dx = free_x * _SHARE[match[2] or "Min"] - box.x * sx
    dy = free_y * _SHARE[match[3] or "Min"] - box.y * sy
    return joined(translation(dx, dy), scaling(sx, sy))


def short(text: str, most: int = 40) -> str:
    """Quote text for a message, cut when long.

    >>> short("x" * 50, 10)
    "'xxxxxxx...'"
    """
    return repr(brief(text, most))
