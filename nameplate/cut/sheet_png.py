"""Draws a sheet as PNG to look at, each operation in its colour, and tells whether a picture is of some lines.

Known limit: a picture is judged by its pixels, so what is off by less than two of them is not seen; what is cut is the
SVG's business.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt

from nameplate.cut.machine import PLAIN_PEN, CutPen
from nameplate.cut.order import Step, operation_colours
from nameplate.errors import OutputError
from nameplate.geometry.region import Array, Flags
from nameplate.system.reading import read_regular

#: Pixels of a mm, where that leaves the picture smaller than the most along its longer side.
DENSITY, MOST = 8.0, 6_000

#: Width of a line in pixels.
LINE = 2

#: A pixel may be drawn so many beside its line, and a line run so many beside its pixels: half of LINE, and rounding.
BESIDE = 2

#: Largest file that is read (bytes).
LARGEST = 100_000_000

Pixels = npt.NDArray[np.uint8]


def density(width: float, height: float) -> float:
    """Give the pixels of a mm in the picture of a sheet.

    >>> density(600, 300), density(3000, 100)
    (8.0, 2.0)
    """
    return min(DENSITY, MOST / max(width, height))


def steps_png(width: float, height: float, steps: Sequence[Step], pen: CutPen = PLAIN_PEN) -> bytes:
    """Give the picture of one sheet of `width` by `height` mm, the origin of its lines at its lower left corner."""
    from PIL import Image, ImageDraw

    of, scale = operation_colours(pen.colours), density(width, height)
    image = Image.new("RGB", _size(width, height), "white")
    draw = ImageDraw.Draw(image)
    for step in steps:
        points = _placed(step.drawn(), height, scale)
        draw.line([tuple(p) for p in points.tolist()], fill=of[step.operation], width=LINE)
    data = io.BytesIO()
    image.save(data, "PNG")
    return data.getvalue()


def _size(width: float, height: float) -> tuple[int, int]:
    scale = density(width, height)
    return math.ceil(width * scale), math.ceil(height * scale)


def _placed(points: Array, height: float, scale: float) -> Array:
    """Give points (n, 2) in pixels from the upper left corner."""
    placed: Array = (points * (1, -1) + (0, height)) * scale
    return placed


def read_png(path: Path) -> Pixels:
    """Give the pixels of a picture, as (height, width, 3); raises OutputError, naming the file, where it is none."""
    from PIL import Image

    data = read_regular(path, LARGEST, OutputError, what="the picture of a sheet")
    try:
        with Image.open(io.BytesIO(data), formats=["PNG"]) as image:
            if max(image.size) > MOST:
                raise ValueError(f"it is {image.size[0]} x {image.size[1]} pixels")
            return np.asarray(image.convert("RGB"))
    except (OSError, SyntaxError, ValueError) as error:
        raise OutputError(f"{path.name} is not the picture of a sheet: {error}") from error


def unlike(pixels: Pixels, width: float, height: float, lines: Sequence[Array]) -> str:
    """Say why a picture is not of these lines (each (n, 2) in mm, y up) on a sheet of this size; empty where it is."""
    from scipy.ndimage import binary_dilation

    scale, (columns, rows) = density(width, height), _size(width, height)
    if pixels.shape != (rows, columns, 3):
        return f"it is {pixels.shape[1]} x {pixels.shape[0]} pixels, not {columns} x {rows}"
    drawn: Flags = np.asarray(np.any(pixels < 255, axis=2))
    wanted = _mask(drawn.shape, [_placed(line, height, scale) for line in lines])
    square = np.ones((3, 3), dtype=bool)
    missing = wanted & ~binary_dilation(drawn, square, iterations=BESIDE)
    added = drawn & ~binary_dilation(wanted, square, iterations=BESIDE)
    for wrong, what in ((missing, "a line is missing"), (added, "something is drawn")):
        if wrong.any():
            row, column = np.argwhere(wrong)[0].tolist()
            return f"{what} near ({column / scale:.1f}, {height - row / scale:.1f})"
    return ""


def _mask(shape: tuple[int, ...], lines: Sequence[Array]) -> Flags:
    """Mark the pixels that lines (each (n, 2) in pixels) run through, looked at every half pixel."""
    mask = np.zeros(shape, dtype=bool)
    for line in lines:
        along = np.append(0.0, np.cumsum(np.hypot(*np.diff(line, axis=0).T)))
        at = np.linspace(0.0, along[-1], int(2 * along[-1]) + 2)
        columns, rows = (np.interp(at, along, line[:, axis]).astype(np.intp) for axis in (0, 1))
        mask[np.clip(rows, 0, shape[0] - 1), np.clip(columns, 0, shape[1] - 1)] = True
    return mask
