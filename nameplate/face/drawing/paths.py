"""Path data and basic shapes of SVG as contours, and contours as flat rings.

Terms. A *contour* is one sub-path: a chain of segments, closed when the drawing says so. Method: path data is checked
against the grammar (SVG 2, section 9.3) while it is cut into segments, because a misread number must be refused and a
hostile one bounded before any work is done; they are flattened last, under the matrix that takes them to millimetres,
so that the tolerance holds in millimetres.

Known limit: path data with an error is refused as a whole, where a browser would draw it up to the error.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nameplate import tolerances
from nameplate.errors import FaceError
from nameplate.face.drawing.segments import Arc, Bezier, Segment, arc
from nameplate.face.drawing.units import NUMBER, number
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
_TOKEN = re.compile(rf"[\s,]*+(?:([MmLlHhVvCcSsQqTtAaZz])|({NUMBER}))")
_FLAG = re.compile(r"[\s,]*+([01])")


@dataclass(frozen=True, slots=True)
class Contour:
    """One sub-path: its segments, and whether the drawing closes it."""

    segments: tuple[Segment, ...]
    closed: bool


def contours(data: str) -> tuple[Contour, ...]:
    """Read path data into contours; raises FaceError when it is not path data or has too many segments.

    >>> [(len(c.segments), c.closed) for c in contours("M0 0h10v10zm20 0h5")]
    [(3, True), (1, False)]
    >>> contours("")
    ()
    """
    try:
        return tuple(_sub_paths(data))
    except ArithmeticError:
        raise FaceError(f"the path data {data[:40]!r}... has numbers too large to be drawn") from None


# --- grammar --------------------------------------------------------------------------------------------------------


def _commands(data: str) -> Iterator[tuple[str, tuple[float, ...]]]:
    """Give each command with its numbers, repeated ones spelled out; raises FaceError at the first error."""
    position, command, cost = 0, "", 0
    end = len(data.rstrip())
    while position < end:
        match = _TOKEN.match(data, position)
        if match is None or (match[2] and command.upper() in ("", "Z")):
            raise _broken(data, position)
        if match[1]:
            command, position = match[1], match.end()
            if not _ARITY[command.upper()]:
                yield command, ()
                continue
        values, position = _arguments(data, position, command)
        cost += _ARC_COST if command in "Aa" else 1
        if cost > MOST_SEGMENTS:
            raise FaceError(f"a path has more than {MOST_SEGMENTS} segments; simplify the outline")
        yield command, values
        command = {"M": "L", "m": "l"}.get(command, command)


def _arguments(data: str, position: int, command: str) -> tuple[tuple[float, ...], int]:
    values = []
    for index in range(_ARITY[command.upper()]):
        flag = command in "Aa" and index in (3, 4)
        match = (_FLAG if flag else _TOKEN).match(data, position)
        text = match[match.lastindex or 0] if match else ""
        if match is None or text.isalpha():
            raise _broken(data, position)
        values.append(number(text))
        position = match.end()
    return tuple(values), position


def _broken(data: str, position: int) -> FaceError:
    near = data[max(0, position - 15) : position + 15].strip()
    return FaceError(f"the path data is broken near {near!r}; draw or export the path again")


def _sub_paths(data: str) -> Iterator[Contour]:
    """Give each sub-path that draws something."""
    here = start = 0j
    segments: list[Segment] = []
    moved, last = False, ""
    for command, values in _commands(data):
        upper = command.upper()
        if not moved and upper != "M":
            raise FaceError(f"the path data {data[:20]!r} must begin with a move (M)")
        moved = True
        if upper in "MZ":
            if upper == "Z" and segments and here != start:
                segments.append(Bezier((here, start)))
            if segments:
                yield Contour(tuple(segments), upper == "Z")
            segments = []
            here = start = start if upper == "Z" else _points(command, values, here)[-1]
        else:
            segments.append(_segment(command, values, here, segments[-1] if segments else None, last))
            here = segments[-1].end
        last = upper
    if segments:
        yield Contour(tuple(segments), False)


def _points(command: str, values: tuple[float, ...], here: complex) -> list[complex]:
    """Give the points of a command, absolute; for an arc only its end."""
    origin = here if command.islower() else 0j
    match command.upper():
        case "H":
            return [complex(origin.real + values[0], here.imag)]
        case "V":
            return [complex(here.real, origin.imag + values[0])]
        case "A":
            values = values[5:]
    return [origin + complex(x, y) for x, y in zip(values[::2], values[1::2], strict=True)]


def _segment(command: str, values: tuple[float, ...], here: complex, before: Segment | None, last: str) -> Segment:
    """Make the segment of a drawing command; `before` is the one before it, made by the command `last`."""
    points = _points(command, values, here)
    upper = command.upper()
    if upper == "A":
        # an arc between equal points is left out, one without a radius is a line (SVG 2, section 9.5.1)
        if points[0] == here or 0 in values[:2]:
            return Bezier((here, points[0]))
        return arc(here, points[0], (values[0], values[1]), values[2], large=values[3] == 1, positive=values[4] == 1)
    if upper in "ST":  # the first control point mirrors the last one of a curve of the same kind, if that is before
        same = isinstance(before, Bezier) and last in {"S": "CS", "T": "QT"}[upper]
        points.insert(0, 2 * here - before.controls[-2] if same and isinstance(before, Bezier) else here)
    return Bezier((here, *points))


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


def reach(contour: Contour, matrix: Array) -> Array:
    """Give points, (n, 2), whose box holds the contour under a matrix: Bezier control points, corners of ellipses."""
    return np.vstack([_reach(s, matrix) for s in contour.segments])


def ends(contour: Contour, matrix: Array) -> Array:
    """Give the first and the last point of the contour under a matrix, (2, 2)."""
    return _placed([contour.segments[0].start, contour.segments[-1].end], matrix)


def flat(contour: Contour, matrix: Array, tolerance: float = tolerances.FLATTEN, *, most: int = MOST_POINTS) -> Array:
    """Give the contour under a matrix as an (n, 2) polyline within `tolerance`; the last point is kept.

    Raises FaceError when it would take more than `most` points.
    """
    pieces = []
    left = most
    for segment in contour.segments:
        points = _flat_segment(segment, matrix, tolerance, left)
        left -= len(points)
        pieces.append(points[:-1])
    pieces.append(points[-1:])
    return np.vstack(pieces)


def _flat_segment(segment: Segment, matrix: Array, tolerance: float, left: int) -> Array:
    if isinstance(segment, Bezier):
        control = _placed(segment.controls, matrix)
        if not flatten.bezier_steps(control, tolerance) < left:
            raise _too_fine()
        return flatten.bezier(control, tolerance)
    axes = matrix[:2, :2] @ _axes(segment)
    # the larger half-axis under the matrix is its largest singular value
    steps = flatten.arc_steps(float(np.linalg.norm(axes, 2)), segment.delta, tolerance)
    if not steps < left:
        raise _too_fine()
    turn = segment.theta + np.linspace(0.0, segment.delta, steps + 1)
    points: Array = _placed([segment.centre], matrix) + np.column_stack([np.cos(turn), np.sin(turn)]) @ axes.T
    points[[0, -1]] = _placed([segment.start, segment.end], matrix)
    return points


def _reach(segment: Segment, matrix: Array) -> Array:
    if isinstance(segment, Bezier):
        return _placed(segment.controls, matrix)
    corners = np.array([(1, 1), (1, -1), (-1, -1), (-1, 1)]) @ (matrix[:2, :2] @ _axes(segment)).T
    return np.asarray(corners + _placed([segment.centre], matrix))


def _axes(piece: Arc) -> Array:
    """Give the half-axes of an arc's ellipse as the columns of a matrix."""
    c, s = math.cos(piece.tilt), math.sin(piece.tilt)
    return np.array([[c, -s], [s, c]]) @ np.diag(piece.radii)


def _placed(points: Sequence[complex], matrix: Array) -> Array:
    """Give points under a matrix, (n, 2)."""
    flat_points = np.array([(p.real, p.imag) for p in points])
    return np.asarray(flat_points @ matrix[:2, :2].T + matrix[:2, 2])


def _too_fine() -> FaceError:
    return FaceError(
        f"the outline takes more than {MOST_POINTS} points to draw within {tolerances.FLATTEN} mm; "
        "it is too large or too detailed"
    )
