"""Which way to set a name, of those there are: the one whose letters can be largest in the zone.

By their sketches most ways are seen to be none of the largest, and only the others are set. Their letters are judged
bare, as the font draws them; what ties and webs add is much the same for every way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf

from nameplate.findings import Finding
from nameplate.geometry.region import EMPTY, Region, union
from nameplate.lettering.on_arc import half_round, size_on_arc, stood, too_tight
from nameplate.lettering.rules import LEAST_X_HEIGHT_WEBS, SMALL_X_HEIGHT_WEBS, LetteringRules, height_limit, refusal
from nameplate.placement.fit import Fit, Zone
from nameplate.placement.objective import Standing
from nameplate.typesetting.line_breaking import SPLIT_COST, cost_of
from nameplate.typesetting.setting import Setting
from nameplate.typesetting.ways import Way

#: Said where a face leaves a name no room.
NO_ROOM = "the face has no room for this name; give it a larger face, a smaller inset or a shorter text"

#: Share of its size that a name gives up at most to stand on the batch's baseline. More makes a whole batch smaller for
#: one name with a deep descender, less leaves more names off the line.
LEVEL_GIVE = 0.1

#: Finished lettering is enlarged by at most this share to fill its zone; with more room it is built anew. So it may be
#: larger by as much than its bare letters get, whose weight lies elsewhere.
ENLARGED = 0.03

#: Largest sizes judged on coarse outlines may be short of the true ones by this share.
DOUBT = 0.003

#: A way whose sketch gets to this share of what the largest does may be the largest. More sets fewer ways, and misses
#: some: of 396 names of three words and more (33 in four fonts on three faces) one became 8 % smaller than it might be,
#: at 0.85 four; of 6.3 ways of each 2.4 are set, or 2.0.
LIKELY = 0.8

#: Letters of lines that part what belongs together (a title and its name) must be larger by this to be taken. Lower
#: leaves titles on one line in tiny letters.
PARTED = 0.75

#: How much of that counts (a power) while letters are too small to be well made: then larger ones come first.
SMALL_PARTED = 0.25


@dataclass(frozen=True, slots=True)
class Chosen:
    """A setting, its bare letters in em, and their fit in mm; `largest` is the largest em that the rules allow, too.

    `standing` is how it stands, its level and body in em; `web` is the minimum web, mm. On an arc the letters are set
    for that size; where they are too large for the arc, `tight` says so.
    """

    setting: Setting
    raw: Region
    fit: Fit | None
    largest: float
    standing: Standing
    web: float
    tight: Finding | None = None

    @property
    def cut(self) -> Region:
        """The bare letters without those that are scored."""
        return union(*(g.region for g in self.setting.cut)) if self.setting.is_partly_scored else self.raw

    @property
    def worth(self) -> float:
        """What the largest height of its small letters is worth, mm; nothing where an arc is too small for them."""
        return 0.0 if self.tight else worth(self.largest * self.setting.x_height, self.setting.lines, self.web)

    def refused(self, size: float) -> Finding | None:
        """Refuse letters without any room, or too large for their arc, at a size (em, mm); None where they are not."""
        if self.largest <= 0:
            return refusal("zone-too-small", NO_ROOM)
        return self.tight or too_tight(self.setting, size)

    def at(self, size: float) -> Chosen:
        """Give the same with the letters as they are set at a size (em, mm)."""
        if not self.setting.arc:
            return self
        setting = stood(self.setting, size)
        return replace(self, setting=setting, raw=_bare(setting))


def likely_ways(
    ways: Sequence[Way], zone: Zone, rules: LetteringRules, size: float | None, standing: Standing
) -> list[Way]:
    """Give the ways that may have the largest letters, the likeliest first, or all in which a given size may fit.

    Of letters on an arc nothing is known before they are bent, so all of them may.
    """
    if len(ways) == 1 or ways[0].block.arc:
        return list(ways)
    free = replace(standing, level=None)
    about = [min(zone.about(way.sketch, free), height_limit(way.sketch, rules)) for way in ways]
    if size is not None and (fitting := [way for way, em in zip(ways, about, strict=True) if em >= LIKELY * size]):
        return fitting
    values = [worth(em * way.x_height, way.lines, rules.web) for way, em in zip(ways, about, strict=True)]
    ranked = sorted(zip(values, ways, strict=True), key=lambda ranked: -ranked[0])
    return [way for value, way in ranked if value >= LIKELY * ranked[0][0]]


def choices(
    ways: Sequence[Way],
    zone: Zone,
    rules: LetteringRules,
    size: float | None,
    standing: Standing,
    *,
    approximate: bool = False,
) -> Iterator[Chosen]:
    """Give the settings to build: the one with the largest letters, or all in which a given size may fit.

    There is none where a level would make the letters much smaller; without a level there is at least the best one, for
    its figures. `approximate` judges them by coarse outlines, which is quicker.
    """
    found, likely = False, likely_ways(ways, zone, rules, size, standing)
    for way in likely if size is not None else ():
        chosen = _largest(way.setting, zone, rules, standing, size, approximate=approximate)
        if size is not None and chosen.largest >= size / (1 + ENLARGED):
            yield chosen
            found = True
    if not found and (size is None or standing.level is None):
        settings, free = [way.setting for way in likely], replace(standing, level=None)
        best = _best(settings, zone, rules, standing, approximate=approximate)
        elsewhere = best if free == standing else _best(settings, zone, rules, free, approximate=approximate)
        if best.worth >= (1 - LEVEL_GIVE) * elsewhere.worth:
            yield best


def _best(
    candidates: Sequence[Setting], zone: Zone, rules: LetteringRules, standing: Standing, *, approximate: bool
) -> Chosen:
    """Take the setting with the largest letters; those whose hull is too large even for the zone's are passed over."""
    ways = []
    for rank, setting in enumerate(candidates):
        bound = inf  # of letters on an arc nothing is known before they are bent
        if not setting.arc:
            most = zone.at_most(setting.shape, standing_of(setting, standing))
            bound = min(most, height_limit(setting.shape, rules)) * (1 + DOUBT)
        ways.append((-worth(bound * setting.x_height, setting.lines, rules.web), rank, setting))
    best: Chosen | None = None
    for bound, _, setting in sorted(ways, key=lambda way: way[:2]):
        if best is not None and -bound <= best.worth:
            break
        more_than = 0.0 if best is None else height_worth(best.worth, setting.lines, rules.web) / setting.x_height
        way = _largest(setting, zone, rules, standing, more_than=more_than, approximate=approximate)
        if best is None or way.worth > best.worth:
            best = way
    assert best is not None
    return best


def _largest(
    setting: Setting,
    zone: Zone,
    rules: LetteringRules,
    standing: Standing,
    size: float | None = None,
    *,
    more_than: float = 0.0,
    approximate: bool = False,
) -> Chosen:
    """Give how large one setting gets; on an arc, or `approximate`, that may be 0 where it is no more than `more_than`.

    Letters on an arc are judged as they are bent at a `size`, where one is given.
    """
    if setting.arc and size is None:
        size = size_on_arc(setting, zone, rules, lambda way: standing_of(way, standing), more_than=more_than)
    if size == 0:
        return Chosen(setting, EMPTY, None, 0.0, standing, rules.web)
    tight = None if size is None else too_tight(setting, size)
    setting = setting if size is None else stood(setting, size)
    standing = standing_of(setting, standing)
    if approximate:
        raw, fit = setting.shape, None
        largest = zone.about(raw, standing, more_than=more_than)
    else:
        raw = _bare(setting)
        fit = zone.largest(raw, standing, centred=False)
        largest = 0.0 if fit is None else fit.scale
    largest = min(largest, height_limit(raw, rules), half_round(setting))
    return Chosen(setting, raw, fit, largest, standing, rules.web, tight)


def _bare(setting: Setting) -> Region:
    return union(*(g.region for g in setting.glyphs))


def standing_of(setting: Setting, standing: Standing) -> Standing:
    """Give how a setting stands, in em: of several lines, the middle of the largest ones on the level."""
    level = standing.level
    if level is not None:
        level = replace(level, height=level.height + setting.level(setting.baselines))
    return replace(standing, level=level, body=setting.body)


def worth(height: float, lines: Sequence[str], web: float) -> float:
    """Give what small letters of a height (mm) are worth in these lines: less where those part what belongs together.

    Up to the height at which letters are well made a larger one is worth more, nearly however the lines break; up to
    that under which they are refused, however they do.

    >>> worth(8.0, ["Dr Ana", "Pell"], 1.5), worth(8.0, ["Mr & Mrs", "Holloway"], 1.5)
    (8.0, 6.0)
    >>> worth(4.0, ["Ana Pell"], 1.5), round(worth(4.0, ["Mr & Mrs", "Holloway"], 1.5), 2)
    (4.0, 3.72)
    >>> worth(2.9, ["Ana Pell"], 1.5), worth(3.1, ["Mr & Mrs", "Holloway"], 1.5)
    (2.9, 3.0)
    """
    sense = _sense(lines)
    small = min(height, SMALL_X_HEIGHT_WEBS * web) * float(sense**SMALL_PARTED)
    return max(height * sense, small, min(height, LEAST_X_HEIGHT_WEBS * web))


def height_worth(value: float, lines: Sequence[str], web: float) -> float:
    """Give the least height (mm) of small letters in these lines that is worth so much: the inverse of `worth`.

    >>> lines = ["Mr & Mrs", "Holloway"]
    >>> [round(height_worth(worth(height, lines, 1.5), lines, 1.5), 9) for height in (2.0, 4.0, 8.0)]
    [2.0, 4.0, 8.0]
    """
    if value <= LEAST_X_HEIGHT_WEBS * web:
        return value
    sense = _sense(lines)
    small = float(sense**SMALL_PARTED)
    return value / small if value <= SMALL_X_HEIGHT_WEBS * web * small else value / sense


def _sense(lines: Sequence[str]) -> float:
    return float(PARTED ** (cost_of(lines) / SPLIT_COST))
