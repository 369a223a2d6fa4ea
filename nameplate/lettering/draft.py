"""About the lettering that a name will get, in a hundredth of a second: for saying how much is needed, not for cutting.

Method: the name is set as it will be (the same lines, joins and spaces) but drawn coarsely; it is scaled to its zone;
what is thinner than the minimum web is grown about as thickening will; when that is too large for the zone, it is made
smaller. Nothing is tied, no bay is closed, no web proven and no neck looked for.

Measured on 147 names in eleven fonts and 48 in one: the area is 1 % too small in the mean and up to 4 % off for a font,
width and height 0.5 % for nearly all; `tests/lettering/test_draft.py` holds it to that.

Known limit: what only the finished lettering shows (a web that cannot be kept, a piece that cannot be tied) is not
seen, so a name may still be refused when it is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from nameplate.findings import Finding
from nameplate.geometry.approximate import roughly_thickened
from nameplate.geometry.region import Region, bounds, moved, simplified, solids
from nameplate.lettering.candidates import GIVE, LEVEL_GIVE, height_limit, sense
from nameplate.lettering.rules import LetteringRules, judged_height, refusal
from nameplate.model import Lettering
from nameplate.placement.approximate_fit import at_most, rough_growth
from nameplate.placement.convex_fit import area_centroid
from nameplate.placement.objective import Level
from nameplate.typesetting.setting import Setting, Way

#: Outlines are drawn within this of their curves, mm. Coarser ones nest about as quickly and are less true.
COARSE = 0.1

#: Lettering with a size of its own is refused when it is this share too large for its zone; less is left to the run,
#: since a draft is not more exact.
DOUBT = 0.03


@dataclass(frozen=True, slots=True)
class _Fit:
    """One way to set a name and the largest em (mm) at which its bare letters fit the zone, on a level if it has one.

    The level's height is in em.
    """

    way: Setting
    largest: float
    level: Level | None = None


def draft_lettering(
    ways: Sequence[Way], zone: Region, rules: LetteringRules, *, size: float | None = None, level: Level | None = None
) -> tuple[Lettering | None, tuple[Finding, ...]]:
    """Give about what `making.make_lettering` gives for the same ways to set a name, or why there is none.

    The region is about the right shape, and lies in the middle of the zone. `size` forces the em in mm. A `level`, its
    height in em, is kept as far as the finished lettering keeps it: it decides how large the letters can be.
    """
    fit = _on_level(ways, zone, rules, size, level)
    if fit.largest <= 0:
        return None, (refusal("zone-too-small", "the zone for lettering has no room for this name"),)
    em = fit.largest if size is None else size
    region = simplified(moved(fit.way.shape, scale=em), COARSE)
    if rules.tied:
        region = roughly_thickened(region, rules.web)
    kept = None if fit.level is None else replace(fit.level, height=fit.level.height * em)
    slack = min(rough_growth(region, zone, give=GIVE, level=kept), height_limit(region, rules))
    if size is not None and slack < 1 - DOUBT and fit.level is not None:
        return draft_lettering(ways, zone, rules, size=size)
    if size is not None and slack < 1 - DOUBT:
        message = f"at an em of {size:.1f} mm the lettering does not fit its zone; about {size * slack:.0f} mm would"
        return None, (refusal("zone-too-small", message, size, size * slack),)
    if size is None:
        em, region = em * slack, moved(region, scale=slack)
    small = judged_height(em * fit.way.x_height, rules)
    if small is not None and small.severity == "error":
        return None, (small,)
    pieces = 1 if rules.tied else len(solids(region))
    region = _in_the_middle(region, zone)
    lettering = Lettering(region, em, em * fit.way.cap_height, fit.way.lines, pieces, slant=fit.way.slant)
    return lettering, () if small is None else (small,)


def _on_level(
    ways: Sequence[Way], zone: Region, rules: LetteringRules, size: float | None, level: Level | None
) -> _Fit:
    """Take the best way on the level, or without it where the name has no place there or would be much smaller."""
    if level is None:
        return _choose(ways, zone, rules, size, None)
    kept = _choose(ways, zone, rules, size, level)
    if size is not None and kept.largest >= size:
        return kept
    free = _choose(ways, zone, rules, size, None)
    if size is not None or kept.largest <= 0:
        return free
    on, off = (rough_growth(fit.way.shape, zone, give=GIVE, level=fit.level) for fit in (kept, free))  # not at a glance
    limits = (height_limit(fit.way.shape, rules) for fit in (kept, free))
    on, off = (min(grown, limit) for grown, limit in zip((on, off), limits, strict=True))
    return kept if on >= (1 - LEVEL_GIVE) * off else free


def _choose(ways: Sequence[Way], zone: Region, rules: LetteringRules, size: float | None, level: Level | None) -> _Fit:
    """Take the way with the largest letters; with a size given, the first that fits.

    The likeliest is looked at first; of the others only those that can be larger, as far as is known before they are
    set, are set.
    """
    room = bounds(zone)
    likely = [_likely(way, room.width, room.height) for way in ways]
    order = range(len(ways)) if size is not None else sorted(range(len(ways)), key=lambda i: -likely[i])
    best: _Fit | None = None
    for i in order:
        least = 0.0
        if size is None and best is not None:
            least = best.largest * sense(best.way.lines) / sense(ways[i].lines)
        if best is not None and room.width <= least * ways[i].least_width:
            continue
        way = ways[i].setting
        limit = min(at_most(way.shape, zone), height_limit(way.shape, rules))
        if best is not None and limit <= least:
            continue
        own = None
        if level is not None:  # of several lines, the middle between the first baseline and the last stands there
            own = replace(level, height=level.height + (way.baselines[0] + way.baselines[-1]) / 2)
        grown = rough_growth(way.shape, zone, give=GIVE, glance=True, more_than=least, level=own)
        fit = _Fit(way, min(grown, limit), own)
        if size is not None and fit.largest >= size:
            return fit
        if best is None or fit.largest > (least or best.largest):
            best = fit
    assert best is not None  # there is always a way
    return best


def _likely(way: Way, width: float, height: float) -> float:
    """Say about how large the letters can be (em, mm) in a box, a line being about an em high."""
    return min(width / max(way.least_width, 1e-6), height / len(way.lines))


def _in_the_middle(shape: Region, zone: Region) -> Region:
    (x, y), (to_x, to_y) = bounds(shape).centre, area_centroid(zone)
    return moved(shape, to_x - x, to_y - y)
