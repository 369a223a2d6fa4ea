"""A single-stroke alphabet for scored labels, drawn for the project from straight strokes.

A letter is drawn on a lattice of unit squares: the baseline is row 1, the top of a capital is row 9 (8 units up), and
row 0 is for commas and tails. A stroke is written as points of two digits, column then row: "01 39 61" goes from the
foot of an A over its apex to the other foot.

Known limits: capitals, digits and common punctuation only. Lower case becomes upper case, accents are dropped, and a
letter that is not in the alphabet is drawn as a small box, so that its absence is seen.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from nameplate.geometry.region import Array
from nameplate.plain_letters import folded

#: Height of a capital in lattice units.
_CAPITAL = 8
_BASELINE = 1

#: Tails of letters reach this part of a capital's height below the baseline: row 0.
TAIL = _BASELINE / _CAPITAL

#: Space between two letters, in lattice units: a quarter of the height keeps 2 mm letters apart after scoring.
_SPACING = 2

#: Each sign: its width, then its strokes.
_DRAWN: dict[str, tuple[int, str]] = {
    "A": (6, "01 39 61|14 54"),
    "B": (5, "05 35 46 48 39 09 01 41 52 54 45 35"),
    "C": (5, "58 49 19 08 02 11 41 52"),
    "D": (5, "09 39 57 53 31 01|11 19"),
    "E": (4, "49 09 01 41|05 35"),
    "F": (4, "49 09 01|05 35"),
    "G": (5, "58 49 19 08 02 11 41 52 55 35"),
    "H": (5, "01 09|51 59|05 55"),
    "I": (2, "09 29|01 21|11 19"),
    "J": (4, "19 49 42 31 11 02 03"),
    "K": (5, "01 09|59 04|26 51"),
    "L": (4, "09 01 41"),
    "M": (6, "01 09 34 69 61"),
    "N": (5, "01 09 51 59"),
    "O": (5, "19 08 02 11 41 52 58 49 19"),
    "P": (5, "01 09 49 58 56 45 05"),
    "Q": (5, "19 08 02 11 41 52 58 49 19|33 50"),
    "R": (5, "01 09 49 58 56 45 05|25 51"),
    "S": (5, "58 49 19 08 06 15 45 54 52 41 11 02"),
    "T": (6, "09 69|39 31"),
    "U": (5, "09 02 11 41 52 59"),
    "V": (6, "09 31 69"),
    "W": (8, "09 21 47 61 89"),
    "X": (5, "01 59|09 51"),
    "Y": (6, "09 35 69|35 31"),
    "Z": (5, "09 59 01 51"),
    "0": (4, "19 08 02 11 31 42 48 39 19|13 37"),
    "1": (4, "07 29 21|01 41"),
    "2": (4, "08 19 39 48 46 02 01 41"),
    "3": (4, "08 19 39 48 46 35 15|35 44 42 31 11 02"),
    "4": (5, "41 49 03 53"),
    "5": (4, "49 09 05 16 36 45 42 31 11 02"),
    "6": (4, "48 39 19 08 02 11 31 42 45 36 16 05"),
    "7": (4, "09 49 48 11"),
    "8": (4, "15 06 08 19 39 48 46 35 15 04 02 11 31 42 44 35"),
    "9": (4, "02 11 31 42 48 39 19 08 05 14 34 45"),
    " ": (3, ""),
    ".": (1, "01 02 12 11 01"),
    ",": (1, "12 11 00"),
    ":": (1, "01 02 12 11 01|06 07 17 16 06"),
    ";": (1, "12 11 00|06 07 17 16 06"),
    "!": (0, "09 04|02 01"),
    "?": (4, "08 19 39 48 46 24 23|22 21"),
    "'": (0, "09 07"),
    '"': (1, "09 07|19 17"),
    "-": (3, "05 35"),
    "_": (5, "01 51"),
    "/": (4, "01 49"),
    "\\": (4, "09 41"),
    "|": (0, "00 09"),
    "(": (2, "29 07 03 21"),
    ")": (2, "09 27 23 01"),
    "[": (2, "29 09 01 21"),
    "]": (2, "09 29 21 01"),
    "<": (4, "48 05 42"),
    ">": (4, "08 45 02"),
    "+": (4, "05 45|27 23"),
    "=": (4, "06 46|04 44"),
    "*": (4, "27 23|06 44|46 04"),
    "#": (6, "11 29|41 59|04 64|06 66"),
    "%": (6, "01 69|07 09 29 27 07|41 43 63 61 41"),
    "&": (5, "51 07 08 19 29 38 37 04 02 11 31 53"),
    "@": (6, "46 26 24 44 47 46|44 64 68 59 19 08 02 11 61"),
    "°": (2, "07 09 29 27 07"),
    "×": (4, "03 47|07 43"),
    "·": (1, "05 06 16 15 05"),
    "•": (1, "05 06 16 15 05"),
    "«": (5, "27 05 23|57 35 53"),
    "»": (5, "07 25 03|37 55 33"),
    "‹": (2, "27 05 23"),
    "›": (2, "07 25 03"),
    "¡": (0, "01 06|08 09"),
    "¿": (4, "42 31 11 02 04 26 27|28 29"),
}

#: What stands for a letter that is not in the alphabet.
_UNKNOWN: tuple[int, str] = (3, "01 07 37 31 01")


def label(text: str, height: float, *, at: tuple[float, float] = (0.0, 0.0)) -> tuple[Array, ...]:
    """Draw text with capitals `height` mm high.

    Gives polylines as (n, 2) arrays in mm, y up; the lower left corner of the first letter is `at`, on the baseline.
    Commas and tails reach an eighth of the height below it.

    >>> [line.tolist() for line in label("l", 8)], [line.tolist() for line in label("l", 8, at=(1, 2))]
    ([[[0.0, 8.0], [0.0, 0.0], [4.0, 0.0]]], [[[1.0, 10.0], [1.0, 2.0], [5.0, 2.0]]])
    >>> label("", 3)
    ()
    """
    unit = height / _CAPITAL
    drawn = ((stroke, column) for column, _, strokes in _laid(text) for stroke in strokes.split("|") if stroke)
    return tuple(_polyline(stroke, column) * unit + at for stroke, column in drawn)


def can_draw(text: str) -> bool:
    """Tell whether every sign of a text has strokes: others are drawn as a box.

    >>> can_draw("010 Zoë Łoś"), can_draw("Ada × «Tom»"), can_draw("010 Ωμέγα")
    (True, True, False)
    """
    return all(sign in _DRAWN for sign in folded(text).upper())


def label_width(text: str, height: float) -> float:
    """Give the width in mm that `label` takes for the same text and height.

    >>> label_width("l", 8), label_width("ll", 8), label_width("", 8)
    (4.0, 10.0, 0.0)
    """
    return height / _CAPITAL * max((at + width for at, width, _ in _laid(text)), default=0)


def _laid(text: str) -> Iterator[tuple[int, int, str]]:
    """Give where each sign of a text begins, its width, both in lattice units, and its strokes."""
    at = 0
    for sign in folded(text).upper():
        width, strokes = _DRAWN.get(sign, _UNKNOWN)
        yield at, width, strokes
        at += width + _SPACING


def _polyline(stroke: str, at: float) -> Array:
    return np.array([(at + int(p[0]), int(p[1]) - _BASELINE) for p in stroke.split()], dtype=float)
