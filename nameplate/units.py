"""Lengths as people write them. Inside the program every length is a float in millimetres."""

from __future__ import annotations

import math
import re
import sys
from fractions import Fraction

#: Inches by all their names; behind feet stand fewer than make a foot.
_INCHES, _IN_A_FOOT = ("in", '"', "″"), 12

#: Millimetres in one unit. 1 in = 25.4 mm = 96 px = 72 pt (CSS Values and Units Level 4, section 6.2); 1 ft = 12 in,
#: the international foot of 1959.
MM_PER_UNIT: dict[str, float] = {
    **{"mm": 1.0, "cm": 10.0, "m": 1000.0},
    **dict.fromkeys(_INCHES, 25.4),
    **dict.fromkeys(("ft", "'", "′"), 304.8),
    **{"px": 25.4 / 96, "pt": 25.4 / 72, "pc": 25.4 / 6},
}

#: The largest number that is a float.
_LARGEST = sys.float_info.max

#: Tenths of a mm that a float may lack of what was written.
_NOISE = 1e-6

#: A length that is no farther (mm) from a whole number of 64ths of an inch is written as that.
_SIXTY_FOURTH = 0.005

#: No length is written with more characters.
LONGEST = 60

# what is taken is never given back (`++`), so that no text takes more than its own length in steps
_LENGTH = re.compile(
    r"""\s*+(?P<sign>[-+]?+)
    (?:(?P<feet>\d++)\s*+(?:[fF][tT]|['′])[\s-]*+(?=[\d.,]))?+
    (?:(?P<whole>\d++)[\s-]++)?(?:(?P<top>\d++)\s*+/\s*+(?P<bottom>\d++)|(?P<number>\d++(?:[.,]\d++)?+|[.,]\d++))
    \s*+(?P<unit>[a-zA-Z"″'′]*+)\s*+""",
    re.VERBOSE,
)

#: A length as sentences of this program tell it, or two; none that is told in inches already.
_IN_A_SENTENCE = re.compile(
    r"(?<![\w.])(-?\d{1,9}(?:\.\d{1,4})?(?: x \d{1,9}(?:\.\d{1,4})?)?) mm\b(?! \([^()]{0,60} in\))"
)


def size_in_words(width: float, height: float) -> str:
    """Write the size of a sheet (mm) for people, rounded down to 0.1 mm, so that what is cut to it is not too large.

    >>> size_in_words(484.802, 300), size_in_words(610, 1220 / 3), size_in_words(304.8, 0.3)
    ('484.8 x 300', '610 x 406.6', '304.8 x 0.3')
    """
    return " x ".join(f"{math.floor(side * 10 + _NOISE) / 10:.10g}" for side in (width, height))


def parse_length(value: object) -> float:
    r"""Read one length and return millimetres.

    A number is millimetres; a string may carry a unit, a decimal comma or a fraction, or be feet and inches.

    Raises ValueError, in words fit for a user, for anything else, NaN and infinities included.

    >>> parse_length(3), parse_length("2 mm"), parse_length("3/8in"), parse_length('1 1/2"'), parse_length("8 ft")
    (3.0, 2.0, 9.525, 38.1, 2438.4)
    >>> parse_length("8 ft 6 in"), parse_length("8' 6 1/2\""), parse_length("-1′3″")
    (2590.8, 2603.5, -381.0)
    >>> parse_length("")
    Traceback (most recent call last):
    ...
    ValueError: '' is not a length; write a number of millimetres or a number with a unit, like "12 mm" or "3/8in"
    """
    if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= _LARGEST:  # nor NaN
        return float(value)
    match = _LENGTH.fullmatch(value) if isinstance(value, str) and len(value) <= LONGEST else None
    if match is None:
        raise _not_a_length(value)
    unit = match["unit"].lower() or "mm"
    if unit not in MM_PER_UNIT:
        raise ValueError(f"{value!r} has the unknown unit {match['unit']!r}; write mm, cm, m, in or ft")
    number = _number(match)
    if number is None:
        raise _not_a_length(value)
    if match["feet"] is not None:
        if unit not in _INCHES or not number < _IN_A_FOOT:
            raise ValueError(f'{value!r}: behind feet stand inches, fewer than 12, like "8 ft 6 in"')
        number += _IN_A_FOOT * int(match["feet"])
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


def for_paper(inches: str) -> str:
    """Write inches for paper, where nothing takes them for a date.

    >>> for_paper("-0 3/8"), for_paper("3 15/16"), for_paper("0")
    ('-3/8', '3 15/16', '0')
    """
    return inches.replace("-0 ", "-") if inches.startswith("-0 ") else inches.removeprefix("0 ")


def on_tape(mm: float) -> str:
    """Write what a tape in inches shows, for a drawing.

    >>> on_tape(100), on_tape(-9.525)
    ('3 15/16"', '-3/8"')
    """
    return f'{for_paper(sixteenths(mm))}"'


def in_inches(mm: float) -> str:
    """Write a length of at least 0 in inches: in lowest terms where it is a whole number of 64ths, as sheets and drills
    are sold, else as a decimal, rounded down as sizes are. The whole inches are always there, as in `sixteenths`.

    >>> in_inches(3.175), in_inches(3.96875), in_inches(44.45), in_inches(609.6), in_inches(3), in_inches(484.8)
    ('0 1/8', '0 5/32', '1 3/4', '24', '0.118', '19.08')
    """
    count = round(mm * 64 / MM_PER_UNIT["in"])
    if abs(count * MM_PER_UNIT["in"] / 64 - mm) > _SIXTY_FOURTH:
        decimals = 2 if mm >= MM_PER_UNIT["in"] else 3
        shift: float = 10**decimals
        return trimmed(math.floor(mm / MM_PER_UNIT["in"] * shift + _NOISE) / shift, decimals)
    whole, rest = divmod(count, 64)
    return f"{whole} {Fraction(rest, 64)}" if rest else str(whole)


def with_inches(words: str, *lengths: float, inches: bool) -> str:
    """Add to words that say lengths (mm) the same in inches, where these are asked for.

    >>> with_inches("12.7 x 304.8 mm", 12.7, 304.8, inches=True), with_inches("3 mm", 3, inches=False)
    ('12.7 x 304.8 mm (1/2 x 12 in)', '3 mm')
    >>> with_inches("x -127 mm", -127, inches=True)
    'x -127 mm (-5 in)'
    """
    told = (f"{'-' * (length < 0)}{for_paper(in_inches(abs(length)))}" for length in lengths)
    return f"{words} ({' x '.join(told)} in)" if inches else words


def sentence_with_inches(sentence: str, *, inches: bool) -> str:
    """Add to each length in mm, or size of two, that a sentence of ours tells the same in inches, where these are asked
    for; what is told in inches already stays.

    >>> sentence_with_inches("at x -127 mm, 12.7 x 304.8 mm here; 40 mm2, 1016 mm (40 in)", inches=True)
    'at x -127 mm (-5 in), 12.7 x 304.8 mm (1/2 x 12 in) here; 40 mm2, 1016 mm (40 in)'
    """

    def told(match: re.Match[str]) -> str:
        return with_inches(match[0], *(float(length) for length in match[1].split(" x ")), inches=True)

    return _IN_A_SENTENCE.sub(told, sentence) if inches else sentence


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
