"""Which way to set a name, of those there are: the one whose letters can be largest in the zone.

The letters are judged bare, as the font draws them; what ties and webs add is much the same for every way.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nameplate.geometry.region import Region, bounds, hull, union
from nameplate.lettering.rules import LetteringRules
from nameplate.typesetting.line_breaking import parted
from nameplate.typesetting.setting import Setting

if TYPE_CHECKING:
    from nameplate.placement.fit import Fit
    from nameplate.placement.objective import Level

#: Share of its size that a name gives up at most to stand on the batch's baseline. More makes a whole batch smaller for
#: one name with a deep descender, less leaves more names off the line.
LEVEL_GIVE = 0.1

#: Share of the size that a name gives up at most to stand in the middle of its zone. None of it leaves words that flee
#: into a corner beside a hole; the mean loss is half a per cent.
GIVE = 0.1

#: Largest sizes judged on coarse outlines may be short of the true ones by this share.
DOUBT = 0.003


#: Letters of lines that part what belongs together (a title and its name) must be larger by this to be taken. Lower
#: leaves titles on one line in tiny letters.
PARTED = 0.75


@dataclass(frozen=True, slots=True)
class Chosen:
    """A setting, its bare letters in em, and their fit in mm; `largest` is the largest em that the rules allow, too.

    `level` is where it stands, its height in em.
    """

    setting: Setting
    raw: Region
    fit: Fit | None
    largest: float
    level: Level | None

    @property
    def height(self) -> float:
        """The largest height of its small letters, mm, less where lines break badly."""
        return self.largest * self.setting.x_height * sense(self.setting.lines)

    def level_at(self, size: float) -> Level | None:
        """Where it stands when its em is `size` mm."""
        return None if self.level is None else replace(self.level, height=self.level.height * size)


def choices(
    candidates: Sequence[Setting], zone: Region, rules: LetteringRules, size: float | None, level: Level | None
) -> Iterator[Chosen]:
    """Give the settings to build: the one with the largest letters, or all in which a given size fits.

    None where a level would make the letters much smaller; without one at least the best, for its figures.
    """
    found = False
    for setting in candidates if size is not None else ():
        way = _largest(setting, zone, rules, level)
        if size is not None and way.largest >= size:
            yield way
            found = True
    if not found and (size is None or level is None):
        best = _best(candidates, zone, rules, level)
        if level is None or best.height >= (1 - LEVEL_GIVE) * _best(candidates, zone, rules, None).height:
            yield best


def _best(candidates: Sequence[Setting], zone: Region, rules: LetteringRules, level: Level | None) -> Chosen:
    """Take the setting with the largest letters; those whose hull is too large even for the zone's are passed over."""
    from nameplate.placement.fit import growth

    hulled = hull(zone)  # no zone holds more than its hull, and that is quick
    ways = []
    for rank, setting in enumerate(candidates):
        around = hull(*setting.inks)
        bound = min(growth(around, hulled), height_limit(around, rules)) * (1 + DOUBT)
        ways.append((-bound * setting.x_height * sense(setting.lines), rank, setting))
    best: Chosen | None = None
    for bound, _, setting in sorted(ways, key=lambda way: way[:2]):
        if best is not None and -bound <= best.height:
            break
        way = _largest(setting, zone, rules, level)
        if best is None or way.height > best.height:
            best = way
    assert best is not None
    return best


def _largest(setting: Setting, zone: Region, rules: LetteringRules, level: Level | None) -> Chosen:
    from nameplate.placement.fit import fit_largest

    raw = union(*(g.region for g in setting.glyphs))
    if level is not None:
        level = replace(level, height=level.height + (setting.baselines[0] + setting.baselines[-1]) / 2)
    fit = fit_largest(raw, zone, give=GIVE, level=level, centred=False)
    largest = 0.0 if fit is None else min(fit.scale, height_limit(raw, rules))
    return Chosen(setting, raw, fit, largest, level)


def sense(lines: Sequence[str]) -> float:
    """Give what the size of letters counts when a name is in these lines: less where they part what belongs together.

    >>> sense(["Dr Ana", "Pell"]), sense(["Mr & Mrs", "Holloway"])
    (1.0, 0.75)
    """
    return float(PARTED ** parted(lines))


def height_limit(shape: Region, rules: LetteringRules) -> float:
    """Give the scale at which a shape is as high as the rules allow at most."""
    return math.inf if rules.max_height is None else rules.max_height / bounds(shape).height
