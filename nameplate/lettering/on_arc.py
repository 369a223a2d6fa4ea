"""How large letters on an arc get: their form depends on their size, since the arc has its radius in millimetres.

Method: at a size the letters are bent and the largest scale of that form is asked of the zone; the size at which that
scale is the size itself is found by regula falsi on the logarithm of their ratio, which falls as letters grow.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from nameplate.findings import Finding
from nameplate.lettering.rules import LetteringRules, height_limit, refusal
from nameplate.placement.fit import Zone
from nameplate.placement.objective import Standing
from nameplate.typesetting.setting import Setting

#: The size is right within this share of itself. Less takes more steps; what is left over is filled when it is built.
CLOSE = 0.004

#: Steps at most, and by how much a size at which nothing fits is made smaller.
MOST_STEPS, SMALLER = 10, 0.6


def size_on_arc(
    setting: Setting,
    zone: Zone,
    rules: LetteringRules,
    stands: Callable[[Setting], Standing],
    *,
    more_than: float = 0.0,
) -> float:
    """Give about the largest em (mm) at which the letters of a setting fit on its arc; 0 where they do not.

    They go half round at most; those that are too large for the arc are as large as they get on the smallest circle for
    them (`too_tight` tells). Where they are clearly no larger than `more_than` it may be 0, which is found sooner.
    `stands` says how a bent setting stands.
    """

    def room(size: float) -> float:
        there = setting.at(size, approximate=True)
        return min(zone.about(there.shape, stands(there)), height_limit(there.shape, rules))

    most = _most(setting)
    if more_than >= most or (more_than and room(more_than) < more_than):
        return 0.0
    tightest = room(most)
    low, high = (more_than, 1.0), (most, _log_ratio(tightest, most))
    if high[1] >= -CLOSE:
        return max(tightest, most) if setting.least_radii[0] > setting.least_radii[1] else most
    size = tightest or most * SMALLER
    for _ in range(MOST_STEPS):
        ratio = _log_ratio(room(size), size)
        if abs(ratio) <= CLOSE:
            break
        low, high = ((size, ratio), high) if ratio > 0 else (low, (size, ratio))
        size = _between(low, high, size * math.exp(max(ratio, math.log(SMALLER))))
    return size


def _most(setting: Setting) -> float:
    """Give the largest size (em, mm) that an arc allows, whatever the zone."""
    return abs(setting.arc) / max(setting.least_radii)


def _log_ratio(room: float, size: float) -> float:
    return math.log(room / size) if room > 0 else -math.inf


def _between(low: tuple[float, float], high: tuple[float, float], guess: float) -> float:
    """Give the next size to try: where a line through what is known is 0, or else a guess, between both."""
    if low[0] > 0 and math.isfinite(low[1]) and math.isfinite(high[1]) and low[1] > high[1]:
        share = low[1] / (low[1] - high[1])
        guess = low[0] + (high[0] - low[0]) * min(max(share, 0.05), 0.95)
    return min(max(guess, low[0]), high[0])


def half_round(setting: Setting) -> float:
    """Give the size (em, mm) at which a setting goes half round its arc; without an arc it never does."""
    return abs(setting.arc) / setting.least_radii[1] if setting.arc and setting.least_radii[1] > 0 else math.inf


def stood(setting: Setting, size: float) -> Setting:
    """Give how a setting is set at a size (em, mm), or where its arc is too small for that, at the largest it allows.

    One without an arc is the same at any.
    """
    return setting.at(min(size, _most(setting))) if setting.arc else setting


def too_tight(setting: Setting, size: float) -> Finding | None:
    """Refuse letters that are too large (em, mm) for their arc; say on which radius they could stand."""
    if not setting.arc:
        return None
    least, radius = setting.least_radii[0] * size, abs(setting.arc)
    if radius >= least * (1 - 1e-9):
        return None
    way, most = math.copysign(1.0, setting.arc), math.floor(10 * radius / setting.least_radii[0]) / 10
    message = (
        f"an arc of {radius:g} mm is too small for letters of a size of {size:.1f} mm: write arc = "
        f"{way * math.ceil(least):g} or beyond, or keep them small, by max_height or with a size of {most:g} mm or less"
    )
    return refusal("arc-too-small", message, radius, least)
