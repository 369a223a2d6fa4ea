"""Writes numbers as text, as short as they go: one, or many at once.

Method for many: every number becomes a row of characters, all of one width (a lead, a sign, the digits with a point
among them); zeros in front and behind are then left out of all rows together.

Known limit: numbers are written from their whole multiple of the last decimal, which must fit 63 bits.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from nameplate import tolerances
from nameplate.geometry.region import Array

#: One character a number, as its code.
Leads = npt.NDArray[np.uint8]

_ZERO, _POINT, _MINUS = b"0.-"


def numeral(value: float) -> str:
    """Write a number with at most tolerances.DECIMALS decimals, no zeros at the end and no minus before a zero.

    >>> numeral(2.50004), numeral(-0.00001), numeral(100.0)
    ('2.5', '0', '100')
    """
    text = f"{value:.{tolerances.DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def numerals(values: Array, leads: Leads, *, decimals: int = tolerances.DECIMALS) -> str:
    """Write numbers (n,) in a row, each behind its lead (n,), with at most `decimals` decimals.

    No zeros at the end, no minus before a zero. A space in front of each number: leads of 32.

    >>> numerals(np.array([2.50004, -0.00001, 100.0]), np.frombuffer(b"ML ", dtype=np.uint8))
    'M2.5L0 100'
    >>> numerals(np.array([-0.5, 1234.25]), np.frombuffer(b"  ", dtype=np.uint8), decimals=1)
    ' -0.5 1234.2'
    >>> numerals(np.array([]), np.array([], dtype=np.uint8))
    ''
    """
    if not len(values):
        return ""
    units = np.rint(values * 10.0**decimals).astype(np.int64)
    size = np.abs(units)
    places = max(decimals + 1, len(str(size.max())))
    weights = 10 ** np.arange(places - 1, -1, -1, dtype=np.int64)
    digits = (size[:, None] // weights % 10).astype(np.uint8) + np.uint8(_ZERO)
    whole = places - decimals
    before = size[:, None] >= weights[:whole]
    before[:, -1] = True
    after = size[:, None] % (10 * weights[whole:]) != 0
    ends = [np.full((len(size), 1), code, dtype=np.uint8) for code in (_MINUS, _POINT)]
    shown = [np.ones((len(size), 1), dtype=bool), units[:, None] < 0, before, after[:, :1], after]
    letters = np.hstack([leads[:, None], ends[0], digits[:, :whole], ends[1][:, : after.shape[1]], digits[:, whole:]])
    text: bytes = letters[np.hstack(shown)].tobytes()
    return text.decode("ascii")
