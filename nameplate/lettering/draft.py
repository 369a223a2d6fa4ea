"""About the lettering that a name will get, in some hundredths of a second: to say how much is needed, not to cut by.

Method: the name is set in the way and on the level that it will be (`candidates.choices`), judged by coarse outlines;
what is thinner than the minimum web is grown about as thickening will; when that is too large for the zone, it is made
smaller. Nothing is tied, no gap is closed, no web proven and no neck looked for.

Measured on 147 names in eleven fonts and 48 in one: the area is 1 % too small in the mean and up to 4 % off for a font,
width and height 0.5 % for nearly all; `tests/lettering/test_draft.py` holds it to that.

Known limit: what only the finished lettering shows (a web that cannot be kept, a piece that cannot be tied) is not
seen, so a name may still be refused when it is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nameplate.findings import Finding, has_errors
from nameplate.geometry.approximate import approximately_thickened
from nameplate.geometry.region import Region, moved, solids, union
from nameplate.geometry.simplify import simplified
from nameplate.lettering.candidates import choices
from nameplate.lettering.making import CENTRED
from nameplate.lettering.rules import LetteringRules, height_limit, judged_heights, refusal
from nameplate.model import Lettering
from nameplate.placement.fit import Zone, optical_centre, prepared
from nameplate.placement.objective import Standing
from nameplate.typesetting.setting import Setting
from nameplate.typesetting.ways import Way

#: Outlines are drawn within this of their curves, mm. Coarser ones nest about as quickly and are less true.
COARSE = 0.1

#: Lettering with a size of its own is refused when it is this share too large for its zone; less is left to the run,
#: since a draft is not more exact.
DOUBT = 0.03


def draft_lettering(
    ways: Sequence[Way], zone: Region, rules: LetteringRules, *, size: float | None = None, standing: Standing = CENTRED
) -> tuple[Lettering | None, tuple[Finding, ...]]:
    """Give about what `making.make_lettering` gives for the same ways to set a name, or why there is none.

    The region is about the right shape, and its weight lies on the middle of the zone. `size` forces the em in mm. How
    the lettering stands decides how large it can be; a level, its height in em, is kept as far as the finished
    lettering keeps it.
    """
    room, free = prepared(zone), replace(standing, level=None)
    em = slack = 0.0
    for kept in dict.fromkeys((standing, free)):
        for chosen in choices(ways, room, rules, size, kept, approximate=True):
            em = size or chosen.largest
            if refused := chosen.refused(em):
                return None, (refused,)
            cut, whole = _grown(chosen.setting, em, rules)
            slack = min(room.about(whole, chosen.standing.scaled(em)), height_limit(whole, rules))
            if size is None:
                em, cut, whole = em * slack, moved(cut, scale=slack), moved(whole, scale=slack)
            if size is None or slack >= 1 - DOUBT:
                return _drafted(chosen.setting, em, cut, whole, room, rules)
    message = f"at a size of {em:.1f} mm the lettering does not fit the face; about {em * slack:.0f} mm would"
    return None, (refusal("zone-too-small", message, em, em * slack),)


def _grown(setting: Setting, em: float, rules: LetteringRules) -> tuple[Region, Region]:
    """Give about what is cut of a setting at a size (em, mm), and that with what is scored."""
    cut = simplified(moved(setting.cut_shape, scale=em), COARSE)
    if rules.tied:
        cut = approximately_thickened(cut, rules.web)
    return cut, union(cut, moved(setting.shape, scale=em)) if setting.is_partly_scored else cut


def _drafted(
    setting: Setting, em: float, cut: Region, whole: Region, zone: Zone, rules: LetteringRules
) -> tuple[Lettering | None, tuple[Finding, ...]]:
    small = judged_heights(setting, em, rules)
    if has_errors(small):
        return None, small
    (x, y), (to_x, to_y) = optical_centre(whole), zone.middle
    there, pieces = moved(cut, to_x - x, to_y - y), 1 if rules.tied else len(solids(cut))
    scored = moved(setting.scored_shape, to_x - x, to_y - y, scale=em)
    height = em * setting.cap_height
    return Lettering(there, em, height, setting.lines, pieces, slant=setting.slant, scored=scored), small
