"""Lengths as people write them. Inside the program every length is a float in millimetres."""

from __future__ import annotations

import math
import re
import sys
from fractions import Fraction

#: Millimetres in one unit. 1 in = 25.4 mm = 96 px = 72 pt (CSS Values and Units Level 4, section 6.2).
MM_PER_UNIT: dict[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": 25.4,
    '"': 25.4,
    "″": 25.4,
    "px": 25.4 / 96,
    "pt": 25.4 / 72,
    "pc": 25.4 / 6,
}

#: The largest number that is a float.
_LARGEST = sys.float_info.max

#: Tenths of a mm that a float may lack of what was written.
_NOISE = 1e-6

#: No length is written with more characters.
LONGEST = 60

# what is taken is never given back (`++`), so that no text takes more than its own length in steps
_LENGTH = re.compile(
    r"""\s*+(?P<sign>[-+]?+)
    (?:(?P<whole>\d++)[\s-]++)?(?:(?P<top>\d++)\s*+/\s*+(?P<bottom>\d++)|(?P<number>\d++(?:[.,]\d++)?+|[.,]\d++))
    \s*+(?P<unit>[a-zA-Z"″]*+)\s*+""",
    re.VERBOSE,
)


def size_in_words(width: float, height: float) -> str:
    """Write the size of a sheet (mm) for people, rounded down to 0.1 mm, so that what is cut to it is not too large.

    >>> size_in_words(484.802, 300), size_in_words(610, 1220 / 3), size_in_words(304.8, 0.3)
    ('484.8 x 300', '610 x 406.6', '304.8 x 0.3')
    """
    return " x ".join(f"{math.floor(side * 10 + _NOISE) / 10:.10g}" for side in (width, height))


def parse_length(value: object) -> float:
    """Read one length and return millimetres.

    A number is millimetres; a string may carry a unit, a decimal comma or a fraction.

    Raises ValueError, in words fit for a user, for anything else, NaN and infinities included.

    >>> parse_length(3), parse_length("2 mm"), parse_length("3/8in"), parse_length('1 1/2"')
    (3.0, 2.0, 9.525, 38.1)
    >>> parse_length("")
    Traceback (most recent call last):
    ...
    ValueError: '' is not a length; write a number of millimetres or a number with a unit, like "12 mm" or "3/8in"
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise _not_a_length(value)
    if isinstance(value, int | float):
        if not abs(value) <= _LARGEST:  # nor NaN
            raise _not_a_length(value)
        return float(value)
    match = _LENGTH.fullmatch(value) if len(value) <= LONGEST else None
    if match is None:
        raise _not_a_length(value)
    unit = match["unit"].lower() or "mm"
    if unit not in MM_PER_UNIT:
        raise ValueError(f"{value!r} has the unknown unit {match['unit']!r}; write mm, cm, m or in")
    number = _number(match)
    if number is None:
        raise _not_a_length(value)
    # rounded to a billionth of a millimetre, so that 3/8 in is 9.525 and not 9.524999999999999
    return round((-1 if match["sign"] == "-" else 1) * number * MM_PER_UNIT[unit], 9)


def trimmed(value: float, decimals: int) -> str:
    """Write a number rounded to so many decimals, without zeros at its end.

    >>> trimmed(127.5, 3), trimmed(-0.0001, 3), trimmed(100, 2)
    ('127.5', '0', '100')
    """
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def sixteenths(mm: float) -> str:
    """Write a length as a tape shows it: inches to the nearest sixteenth, in lowest terms, halves up in size.

    The whole inches are always there, because a spreadsheet takes 3/8 for a date.

    >>> sixteenths(100), sixteenths(-9.525), sixteenths(0.1), sixteenths(-25.4)
    ('3 15/16', '-0 3/8', '0', '-1')
    """
    count = int(Fraction(f"{abs(mm):.6f}") * 16 / Fraction("25.4") + Fraction(1, 2))
    whole, rest = divmod(count, 16)
    text = f"{whole} {Fraction(rest, 16)}" if rest else str(whole)
    return f"-{text}" if mm < 0 and count else text


def _number(match: re.Match[str]) -> float | None:
    if match["top"] is not None:
        bottom = int(match["bottom"])
        return None if bottom == 0 else int(match["whole"] or 0) + int(match["top"]) / bottom
    if match["whole"] is not None:
        return None
    return float(match["number"].replace(",", "."))


def _not_a_length(value: object) -> ValueError:
    shown = repr(value) if not isinstance(value, int) or abs(value) <= _LARGEST else "a very large number"
    shown = shown if len(shown) <= LONGEST else f"{shown[:LONGEST]}..."
    return ValueError(
        f'{shown} is not a length; write a number of millimetres or a number with a unit, like "12 mm" or "3/8in"'
    )
