"""About the lettering that a name will get, in some hundredths of a second: to say how much is needed, not to cut by.

Method: the name is set as it will be (the same lines, joins and spaces) but drawn coarsely; it is scaled to its zone;
what is thinner than the minimum web is grown about as thickening will; when that is too large for the zone, it is made
smaller. Nothing is tied, no gap is closed, no web proven and no neck looked for.

Measured on 147 names in eleven fonts and 48 in one: the area is 1 % too small in the mean and up to 4 % off for a font,
width and height 0.5 % for nearly all; `tests/lettering/test_draft.py` holds it to that.

Known limit: what only the finished lettering shows (a web that cannot be kept, a piece that cannot be tied) is not
seen, so a name may still be refused when it is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from nameplate.findings import Finding, has_errors
from nameplate.geometry.approximate import roughly_thickened
from nameplate.geometry.region import Region, moved, solids, union
from nameplate.geometry.simplify import simplified
from nameplate.lettering.candidates import LEVEL_GIVE, height_worth, likely_ways, standing_of, worth
from nameplate.lettering.making import CENTRED
from nameplate.lettering.on_arc import half_round, size_on_arc, stood, too_tight
from nameplate.lettering.rules import NO_ROOM, LetteringRules, height_limit, judged_heights, refusal
from nameplate.model import Lettering
from nameplate.placement.fit import optical_centre, prepared
from nameplate.placement.objective import Standing
from nameplate.typesetting.setting import Setting
from nameplate.typesetting.ways import Way

#: Outlines are drawn within this of their curves, mm. Coarser ones nest about as quickly and are less true.
COARSE = 0.1

#: Lettering with a size of its own is refused when it is this share too large for its zone; less is left to the run,
#: since a draft is not more exact.
DOUBT = 0.03


@dataclass(frozen=True, slots=True)
class _Fit:
    """One way to set a name, the largest em (mm) at which its bare letters fit the zone, and how they stand, in em.

    Letters on an arc are set for that size; `tight` where they are too large for their arc.
    """

    way: Setting
    largest: float
    standing: Standing
    tight: bool = False


def draft_lettering(
    ways: Sequence[Way],
    zone: Region,
    rules: LetteringRules,
    *,
    size: float | None = None,
    standing: Standing = CENTRED,
) -> tuple[Lettering | None, tuple[Finding, ...]]:
    """Give about what `making.make_lettering` gives for the same ways to set a name, or why there is none.

    The region is about the right shape, and its weight lies on the middle of the zone. `size` forces the em in mm. How
    the lettering stands decides how large it can be; a level, its height in em, is kept as far as the finished
    lettering keeps it.
    """
    fit = _on_level(ways, zone, rules, size, standing)
    if fit.largest <= 0:
        return None, (refusal("zone-too-small", NO_ROOM),)
    if tight := too_tight(fit.way, size or fit.largest):
        return None, (tight,)
    em = fit.largest if size is None else size
    cut = simplified(moved(fit.way.cut_shape, scale=em), COARSE)
    if rules.tied:
        cut = roughly_thickened(cut, rules.web)
    region = union(cut, moved(fit.way.shape, scale=em)) if fit.way.is_partly_scored else cut
    slack = min(prepared(zone).about(region, fit.standing.scaled(em)), height_limit(region, rules))
    if size is not None and slack < 1 - DOUBT and fit.standing.level is not None:
        return draft_lettering(ways, zone, rules, size=size, standing=replace(standing, level=None))
    if size is not None and slack < 1 - DOUBT:
        message = f"at a size of {size:.1f} mm the lettering does not fit the face; about {size * slack:.0f} mm would"
        return None, (refusal("zone-too-small", message, size, size * slack),)
    if size is None:
        em, cut, region = em * slack, moved(cut, scale=slack), moved(region, scale=slack)
    small = judged_heights(fit.way, em, rules)
    if has_errors(small):
        return None, small
    pieces = 1 if rules.tied else len(solids(cut))
    lettering = Lettering(
        moved(cut, *_to_the_middle(region, zone)),
        em,
        em * fit.way.cap_height,
        fit.way.lines,
        pieces,
        slant=fit.way.slant,
    )
    return lettering, small


def _on_level(ways: Sequence[Way], zone: Region, rules: LetteringRules, size: float | None, standing: Standing) -> _Fit:
    """Take the best way on the level, or without it where the name has no place there or would be much smaller."""
    kept = _choose(ways, zone, rules, size, standing)
    if standing.level is None or (size is not None and kept.largest >= size):
        return kept
    free = _choose(ways, zone, rules, size, replace(standing, level=None))
    return kept if size is None and kept.largest >= (1 - LEVEL_GIVE) * free.largest else free


def _choose(ways: Sequence[Way], zone: Region, rules: LetteringRules, size: float | None, standing: Standing) -> _Fit:
    """Take the way with the largest letters; with a size given, the first that fits.

    The likeliest is looked at first, and of the others only those that can be larger.
    """
    likely = likely_ways(ways, zone, rules, size, standing)
    best: _Fit | None = None
    for way in likely:
        least = 0.0
        if size is None and best is not None and not best.tight:
            known = worth(best.largest * best.way.x_height, best.way.lines, rules.web)
            least = height_worth(known, way.lines, rules.web) / best.way.x_height
        fit = (_on_arc if way.block.arc else _straight)(way, zone, rules, size, standing, least)
        if fit is None or (best is not None and fit.tight):
            continue
        if size is not None and fit.largest >= size:
            return fit
        if best is None or best.tight or fit.largest > (least or best.largest):
            best = fit
    assert best is not None  # there is always a way
    return best


def _straight(
    way: Way, zone: Region, rules: LetteringRules, size: float | None, standing: Standing, least: float
) -> _Fit | None:
    """Give how large letters get along a line; None where that is clearly no more than `least`."""
    setting = way.setting
    own = standing_of(setting, standing)
    limit = min(prepared(zone).at_most(setting.shape, own), height_limit(setting.shape, rules))
    if least and limit <= least:
        return None
    return _Fit(setting, min(prepared(zone).about(setting.shape, own, more_than=least), limit), own)


def _on_arc(
    way: Way, zone: Region, rules: LetteringRules, size: float | None, standing: Standing, least: float
) -> _Fit | None:
    """Give how large letters get on an arc, or at a size; None where that is no more than `least`."""
    setting, largest = way.setting, size
    if largest is None:
        largest = size_on_arc(setting, zone, rules, lambda bent: standing_of(bent, standing), more_than=least)
    if not largest:
        return None if least else _Fit(setting, 0.0, standing)
    bent = stood(setting, largest)
    own, tight = standing_of(bent, standing), too_tight(setting, largest) is not None
    if size is not None:
        room = min(prepared(zone).about(bent.shape, own), height_limit(bent.shape, rules))
        largest = min(room, half_round(setting))
    return _Fit(bent, largest, own, tight)


def _to_the_middle(shape: Region, zone: Region) -> tuple[float, float]:
    (x, y), (to_x, to_y) = optical_centre(shape), prepared(zone).middle
    return to_x - x, to_y - y
