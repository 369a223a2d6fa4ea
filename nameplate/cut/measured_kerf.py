"""Works the kerf out of what was measured on its coupon, with its uncertainty.

The coupon's lines are nominal, so a square drawn `a` wide comes out `a - k`, and a row of N of them is N (a - k) long:
k = a - S / N. In the window, which comes out N a + k long, they leave N + 1 kerfs of room: k = gap / (N + 1).

Uncertainty after the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008): the caliper's limit of
error counts as a rectangular distribution (4.3.7), several readings add the standard deviation of their mean (4.2.3),
and what is told is twice the standard uncertainty (6.2), some 95 %.

Turned by a quarter each, the squares tell the kerf along y: what differs by more than both may be off is two kerfs.

Known limits: the squares are taken to be pressed together squarely; cuts that lean (the beam's taper) are not told
apart from a wider kerf; of two or three readings the scatter is told too small.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from nameplate.cut.coupons import SIDE, SQUARES
from nameplate.geometry.beam import MOST_UNEVEN, Kerf, Strip

#: Limit of error (mm) of a caliper of 150 mm. Common practice.
CALIPER = 0.03

#: What is told is so many standard uncertainties.
COVERAGE = 2.0

#: A kerf is narrower than this (mm); what comes out wider was measured or typed wrongly.
WIDEST = 2.0


@dataclass(frozen=True, slots=True)
class MeasuredKerf:
    """A kerf in mm, and how far it may be `off` to either side (some 95 %)."""

    kerf: float
    off: float


def kerf_of_row(lengths: Sequence[float], *, squares: int = SQUARES, side: float = SIDE) -> MeasuredKerf:
    """Give the kerf from readings (mm) of the row of squares pressed together; raises ValueError for impossible ones.

    There are so many `squares`, drawn `side` mm wide.

    >>> round(kerf_of_row([138.2]).kerf, 3)
    0.18
    """
    return _measured(side - fmean(lengths) / squares, lengths, squares, f"a row of {squares} x {side:g} mm")


def kerf_of_gap(gaps: Sequence[float], *, squares: int = SQUARES) -> MeasuredKerf:
    """Give the kerf from readings (mm) of the room that the squares leave in the window; raises as `kerf_of_row` does.

    >>> round(kerf_of_gap([1.98]).kerf, 3)
    0.18
    """
    return _measured(fmean(gaps) / (squares + 1), gaps, squares + 1, "the room in the window")


def joined_kerf(measured: Sequence[MeasuredKerf]) -> MeasuredKerf:
    """Give the mean of kerfs measured in both ways, each weighted by its certainty (inverse variance).

    Raises ValueError where they differ by more than both may be off: then one of them is wrong.
    """
    low, high = min(measured, key=lambda m: m.kerf), max(measured, key=lambda m: m.kerf)
    if high.kerf - low.kerf > math.hypot(low.off, high.off):
        raise ValueError(
            f"the two ways give {low.kerf:.3f} and {high.kerf:.3f} mm, which differ by more than a caliper's error; "
            "clean the edges of the squares, press them together and measure both again"
        )
    weights = [m.off**-2 for m in measured]
    kerf = sum(w * m.kerf for w, m in zip(weights, measured, strict=True)) / sum(weights)
    return MeasuredKerf(kerf, sum(weights) ** -0.5)


def kerf_by_axis(along_x: MeasuredKerf, along_y: MeasuredKerf | None = None) -> tuple[Kerf, float]:
    """Give the kerf and how far it may be off (mm): one width, unless both axes were measured and differ by more.

    Raises ValueError where they differ by more than those of a beam do.

    >>> kerf_by_axis(MeasuredKerf(0.18, 0.004), MeasuredKerf(0.182, 0.004))[0].told()
    '0.181 mm'
    >>> kerf_by_axis(MeasuredKerf(0.21, 0.004), MeasuredKerf(0.17, 0.004))[0].told()
    '0.21 mm along x and 0.17 along y'
    """
    if along_y is None:
        return Kerf.of(round(along_x.kerf, 3)), along_x.off
    try:
        one = joined_kerf([along_x, along_y])
    except ValueError:
        strip = Strip(*(max(round(found.kerf, 3), 0.001) for found in (along_x, along_y)))
        if strip.is_too_uneven:
            raise ValueError(
                f"{strip.told()} differ by more than a factor of {MOST_UNEVEN:g}; measure both again, in mm"
            ) from None
        return Kerf.of_strip(strip), max(along_x.off, along_y.off)
    return Kerf.of(round(one.kerf, 3)), one.off


def _measured(kerf: float, readings: Sequence[float], kerfs: int, what: str) -> MeasuredKerf:
    if not 0 < kerf <= WIDEST:
        shown = ", ".join(f"{reading:g}" for reading in readings)
        raise ValueError(
            f"{what}, measured as {shown} mm, comes to a kerf of {kerf:.3f} mm; expected one above 0 and at most "
            f"{WIDEST:g} mm: measure it again, in mm"
        )
    scatter = stdev(readings) / math.sqrt(len(readings)) if len(readings) > 1 else 0.0
    return MeasuredKerf(kerf, COVERAGE * math.hypot(CALIPER / math.sqrt(3), scatter) / kerfs)
