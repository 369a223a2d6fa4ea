"""Path data and basic shapes of SVG as contours, and contours as flat rings.

Terms. A *contour* is one sub-path: a chain of segments, closed when the drawing says so. Method: path data is checked
against the grammar (SVG 2, section 9.3) and bounded before any work is done, because svgpathtools passes over what it
does not understand; each sub-path is then read by svgpathtools, with its numbers written apart. Contours are flattened
last, under the matrix that takes them to millimetres, so that the tolerance holds in millimetres.

Known limits: path data with an error is refused as a whole, where a browser would draw it up to the error; so is an
arc that ends where it begins, which a browser leaves out. svgpathtools takes an arc whose chord is within 5e-9 of its
ellipse's diameter for half the ellipse: up to 1e-4 of the radius aside.
"""

from __future__ import annotations

import math
import re
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from nameplate import tolerances
from nameplate.errors import FaceError
from nameplate.face.drawing.units import IDENTITY, NUMBER, number, numbers_or_none
from nameplate.geometry.curves import flatten
from nameplate.geometry.region import Array

#: Most segments in one drawing. A traced outline has some thousands; reading 50,000 takes a few seconds.
MOST_SEGMENTS = 50_000

#: Most points in one flattened drawing: bounds memory when the segments are few but huge.
MOST_POINTS = 200_000

#: What an arc costs to read against a line, for the limit above.
_ARC_COST = 5

#: How many numbers each path command takes.
_ARITY = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_STEP = re.compile(r"[\s,]*+([MmLlHhVvCcSsQqTtAaZz])([^a-df-zA-DF-Z]*+)")
_GAP = r"[\s,]*+"
_ARC = re.compile("".join(rf"{_GAP}({kind})" for kind in (NUMBER, NUMBER, NUMBER, "[01]", "[01]", NUMBER, NUMBER)))

Segment: TypeAlias = Any  # Line, QuadraticBezier, CubicBezier or Arc of svgpathtools, which has no type information


@dataclass(frozen=True, slots=True)
class Contour:
    """One sub-path: its segments, whether the drawing closes it, and the matrix that takes it to millimetres."""

    segments: tuple[Segment, ...]
    closed: bool
    matrix: Array

    def reach(self) -> Array:
        """Give points, (n, 2), whose box holds the contour: Bezier control points, corners of ellipses."""
        return _placed([p for s in self.segments for p in (_corners(s) if _is_arc(s) else s.bpoints())], self.matrix)

    def ends(self) -> Array:
        """Give its first and its last point, (2, 2)."""
        return _placed([self.segments[0].start, self.segments[-1].end], self.matrix)

    def flat(self, matrix: Array, tolerance: float, *, most: int) -> Array:
        """Give it under a further matrix as an (n, 2) polyline within `tolerance`, both ends kept.

        Raises FaceError when it would take more than `most` points.
        """
        matrix, pieces = matrix @ self.matrix, []
        for segment in self.segments:
            points = (_flat_arc if _is_arc(segment) else _flat_bezier)(segment, matrix, tolerance, most)
            most -= len(points)
            pieces.append(points[:-1])
        return np.vstack([*pieces, points[-1:]])

    @property
    def is_single(self) -> bool:
        """Whether it is one segment, whose ends meet only by being a point."""
        return len(self.segments) < 2


def contours(data: str) -> tuple[Contour, ...]:
    """Read path data into contours; raises FaceError when it is not path data or has too many segments.

    >>> [(len(c.segments), c.closed) for c in contours("M0 0h10v10zm20 0h5")]
    [(3, True), (1, False)]
    >>> contours("")
    ()
    """
    from svgpathtools import parse_path

    found: list[Contour] = []
    here = 0j
    for text in list(_sub_paths(data)):
        try:
            # an arc without a radius is read as a line, as it should be, with a warning
            with warnings.catch_warnings(action="ignore"), np.errstate(divide="raise", over="raise", invalid="raise"):
                segments = tuple(parse_path(text, here))
        except AssertionError:
            raise FaceError(f"the path data {data[:40]!r}... has an arc that ends where it begins; redraw it") from None
        except ArithmeticError:
            raise FaceError(f"the path data {data[:40]!r}... has numbers too large to be drawn") from None
        found.append(Contour(segments, text.endswith("Z"), IDENTITY))
        here = segments[0].start if found[-1].closed else segments[-1].end
    return tuple(found)


# --- grammar --------------------------------------------------------------------------------------------------------


def _commands(data: str) -> Iterator[tuple[str, tuple[float, ...]]]:
    """Give each command with all its numbers; raises FaceError at the first error."""
    position = cost = 0
    end = len(data.rstrip())
    while position < end:
        match = _STEP.match(data, position)
        if match is None:
            raise _broken(data, position)
        command, values, arity = match[1], _values(match[1], match[2]), _ARITY[match[1].upper()]
        if values is None or (len(values) % arity or not values if arity else values):
            raise _broken(data, position)
        if position == 0 and command not in "Mm":
            raise FaceError(f"the path data {data[:20]!r} must begin with a move (M)")
        cost += len(values) // max(arity, 1) * (_ARC_COST if command in "Aa" else 1)
        if cost > MOST_SEGMENTS:
            raise FaceError(f"a path has more than {MOST_SEGMENTS} segments; simplify the outline")
        yield command, values
        position = match.end()


def _values(command: str, text: str) -> tuple[float, ...] | None:
    """Read the numbers behind a command, None when something else stands there; flags of arcs need no gap."""
    found: list[str] = []
    position = 0
    while command in "Aa" and (match := _ARC.match(text, position)):
        found += match.groups()
        position = match.end()
    plain = numbers_or_none(text[position:])
    if plain is None or (plain and command in "Aa"):
        return None
    return (*map(number, found), *plain)


def _broken(data: str, position: int) -> FaceError:
    near = data[max(0, position - 15) : position + 15].strip()
    return FaceError(f"the path data is broken near {near!r}; draw or export the path again")


def _sub_paths(data: str) -> Iterator[str]:
    """Give each sub-path that draws something, as path data of its own that goes on from the end of the one before."""
    words: list[str] = []
    draws = False
    for command, values in _commands(data):
        if command in "MmZz" and draws:
            yield " ".join([*words, "Z"] if command in "Zz" else words)
            words, draws = ["m0 0"], False
        if command not in "Zz":
            words.append(command + " ".join(f"{v:.17g}" for v in values))
            draws = draws or command not in "Mm" or len(values) > 2
    if draws:
        yield " ".join(words)


# --- basic shapes ---------------------------------------------------------------------------------------------------


def rectangle_data(x: float, y: float, width: float, height: float, rx: float, ry: float) -> str:
    """Give a `rect` as path data (SVG 2, section 10.2), "" when it has no size."""
    if width <= 0 or height <= 0:
        return ""
    rx, ry = min(rx, width / 2), min(ry, height / 2)
    if rx <= 0 or ry <= 0:
        return f"M{x!r} {y!r}h{width!r}v{height!r}h{-width!r}z"
    across, up = width - 2 * rx, height - 2 * ry
    arc = f"a{rx!r} {ry!r} 0 0 1"
    return (
        f"M{x + rx!r} {y!r}h{across!r}{arc} {rx!r} {ry!r}v{up!r}{arc} {-rx!r} {ry!r}"
        f"h{-across!r}{arc} {-rx!r} {-ry!r}v{-up!r}{arc} {rx!r} {-ry!r}z"
    )


def ellipse_data(cx: float, cy: float, rx: float, ry: float) -> str:
    """Give a `circle` or `ellipse` as path data, "" when it has no size."""
    if rx <= 0 or ry <= 0:
        return ""
    return f"M{cx - rx!r} {cy!r}a{rx!r} {ry!r} 0 0 1 {2 * rx!r} 0a{rx!r} {ry!r} 0 0 1 {-2 * rx!r} 0z"


def polygon_data(values: tuple[float, ...], *, closed: bool) -> str:
    """Give a `polygon` or `polyline` as path data, "" with fewer than two points."""
    if len(values) < 4:
        return ""
    pairs = " ".join(repr(v) for v in values[: len(values) // 2 * 2])
    return f"M{pairs}{'z' if closed else ''}"


# --- flattening -----------------------------------------------------------------------------------------------------


def _is_arc(segment: Segment) -> bool:
    return hasattr(segment, "radius")


def _flat_bezier(segment: Segment, matrix: Array, tolerance: float, left: int) -> Array:
    control = _placed(segment.bpoints(), matrix)
    _check_steps(flatten.bezier_steps(control, tolerance), left)
    return flatten.bezier(control, tolerance)


def _flat_arc(segment: Segment, matrix: Array, tolerance: float, left: int) -> Array:
    c, si = segment.rot_matrix.real, segment.rot_matrix.imag
    axes = matrix[:2, :2] @ np.array([[c, -si], [si, c]]) @ np.diag([segment.radius.real, segment.radius.imag])
    # the larger half-axis under the matrix is its largest singular value
    steps = flatten.arc_steps(float(np.linalg.norm(axes, 2)), math.radians(segment.delta), tolerance)
    _check_steps(steps, left)
    points = _placed(segment.point(np.linspace(0.0, 1.0, steps + 1)), matrix)
    points[[0, -1]] = _placed([segment.start, segment.end], matrix)
    return points


def _corners(segment: Segment) -> list[complex]:
    """Give the corners of the box, along its axes, of an arc's ellipse."""
    across, up = segment.rot_matrix * segment.radius.real, segment.rot_matrix * segment.radius.imag * 1j
    return [segment.center + x * across + y * up for x in (-1, 1) for y in (-1, 1)]


def _placed(points: Sequence[complex] | Array, matrix: Array) -> Array:
    plain = np.asarray(points, dtype=complex)
    return np.asarray(np.column_stack([plain.real, plain.imag]) @ matrix[:2, :2].T + matrix[:2, 2])


def _check_steps(steps: float, left: int) -> None:
    if not steps < left:
        raise FaceError(
            f"the outline takes more than {MOST_POINTS} points to draw within {tolerances.FLATTEN} mm; "
            "it is too large or too detailed"
        )
