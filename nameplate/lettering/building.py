"""The letters of one setting at one size: welded and tied, thickened, their tips rounded, and where they fit.

Lines that are scored stay as the font draws them: they have their place beside the others, and are tied to none.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from nameplate.geometry.acute_tips import dulled
from nameplate.geometry.medial import Medial
from nameplate.geometry.region import EMPTY, Region, difference, hole_count, moved, offset, solids, union
from nameplate.geometry.simplify import cleaned, simplified
from nameplate.lettering.bridges import Tied, tie
from nameplate.lettering.candidates import Chosen
from nameplate.lettering.counters import with_counters
from nameplate.lettering.links import Seat
from nameplate.lettering.on_arc import half_round
from nameplate.lettering.rules import LetteringRules, height_limit
from nameplate.lettering.webs import Thickened, thicken
from nameplate.placement.fit import Fit, Zone
from nameplate.tolerances import ARC
from nameplate.typesetting.setting import Setting

#: Letters within this share of the largest size stay where the largest ones fitted; smaller ones may have room
#: somewhere nearer to the middle, which is looked for. A larger value saves time and leaves some off the middle.
TIGHT = 0.005

#: Smallest fillet in a crevice between letters, mm: half of what a template's tongue needs to pass a gap at the usual
#: clearance, and more than any usual beam. Larger ones close gaps that tell letters apart.
LEAST_FILLET = 0.2

#: Radius of acute tips, mm: a beam does not hold an acute tip, and a hand finds it. Larger blunts serifs; at this
#: one a tip of 33 degrees loses 0.018 mm2.
TIP = 0.09

#: Tips that would lose more than this (mm2) are hairs and are widened: more than the tip of any serif loses.
HAIR_AREA = 0.019


@dataclass(frozen=True, slots=True)
class Build:
    """The letters of one setting at one size: tied and thickened, not yet moved to their place.

    `slack` is the scale at which it fills the zone, under 1 where it does not fit; `place` is its largest fit there,
    and in the end what moves it to the middle; `graph` is its medial graph where thickening left it at hand.
    `scored` are the letters that are scored and not cut, `between_words` the bridges from a word to the next one of its
    line, `between_lines` the length (mm) of the longest one from a line to another.
    """

    setting: Setting
    size: float
    region: Region
    slack: float
    holds: bool
    graph: Medial | None = None
    place: Fit | None = None
    scored: Region = EMPTY
    between_words: Region = EMPTY
    between_lines: float = 0.0

    @property
    def whole(self) -> Region:
        """All that has its place on the face: what is cut, and what is scored."""
        return self.region if self.scored.is_empty else union(self.region, self.scored)

    def resized(self, factor: float) -> Build:
        """Give the same so many times as large, with less room left."""
        return replace(
            self,
            size=self.size * factor,
            region=moved(self.region, scale=factor),
            slack=self.slack / factor,
            graph=None if self.graph is None else self.graph.scaled(factor),
            scored=moved(self.scored, scale=factor),
            between_words=moved(self.between_words, scale=factor),
            between_lines=self.between_lines * factor,
        )


def built(chosen: Chosen, zone: Zone, rules: LetteringRules, size: float) -> Build:
    """Build the letters of a setting at a size (em, mm)."""
    chosen = chosen.at(size)
    setting, scored = chosen.setting, EMPTY
    if setting.is_partly_scored:
        scored = cleaned(moved(union(*(g.region for g in setting.scored)), scale=size), step=ARC)
    if rules.tied:
        thick, tied = _tied(setting, rules, size)
        build = Build(setting, size, _blunted(thick.region), 1.0, thick.holds, thick.graph, scored=scored)
        build = replace(build, between_words=tied.between_words, between_lines=tied.between_lines)
    else:
        drawn = cleaned(moved(chosen.cut, scale=size), step=ARC)
        build = Build(setting, size, drawn, 1.0, True, scored=scored)
    return _placed(build, chosen, zone, rules)


def _tied(setting: Setting, rules: LetteringRules, size: float) -> tuple[Thickened, Tied]:
    """Weld and tie the letters that are cut, widen webs and close narrow gaps; give also how they were tied."""
    fillet = max(LEAST_FILLET, rules.kerf / 2)
    tied = tie(
        [with_counters(moved(g.region, scale=size), g.text, rules.web) for g in setting.cut],
        web=rules.web,
        slant=setting.slant,
        pieces=[g.word for g in setting.cut] if setting.mode == "loose" else None,
        seats=[Seat(g.text.strip(), g.word, g.line, setting.baselines[g.line] * size) for g in setting.cut],
        fillet=fillet,
        arc=None if setting.bow is None else setting.bow.scaled(size),
    )
    thick = thicken(tied.region, rules.web, crevice=fillet, kerf=rules.kerf, window_growth=rules.window_growth)
    return thick, tied


def _placed(build: Build, chosen: Chosen, zone: Zone, rules: LetteringRules) -> Build:
    """Look for a build's place in the zone: near that of the bare letters, or else how large it may be."""
    shape, size = build.whole, build.size
    limit = min(height_limit(shape, rules), half_round(build.setting) / size)
    standing = chosen.standing.scaled(size)
    bare = None if standing.place == "anywhere" else chosen.fit  # anywhere, it fills its zone to the last
    near = bare if bare is not None and size > bare.scale * (1 - TIGHT) else None
    place = zone.at_size(shape, standing, near=near) if near is not None and limit >= 1 else None
    if place is not None:
        return replace(build, place=place)
    fit = zone.largest(shape, standing, centred=False)
    slack = 0.0 if fit is None else min(fit.scale, limit)
    return replace(build, slack=slack, place=fit)


def _blunted(shape: Region) -> Region:
    """Round the acute tips; what would be lost of a hair at the end of a stroke is widened instead."""
    smooth = simplified(shape, ARC)
    blunt = dulled(smooth, TIP)
    if smooth.area - blunt.area < HAIR_AREA:
        return blunt
    lost = [solid for solid in solids(difference(smooth, blunt)) if solid.area > HAIR_AREA]
    wider = dulled(union(smooth, *(offset(solid, TIP) for solid in lost)), TIP)
    same = hole_count(wider) == hole_count(blunt) and len(solids(wider)) == len(solids(blunt))
    return wider if same else blunt
