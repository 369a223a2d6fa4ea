"""The smallest capitals of a font that can be pierced: found by piercing a probe word and judging how it reads.

Webs, ties and letters scale together, so the size is looked for in minimum webs, with a usual one of WEB. Known limit:
the kerf does not scale, and with webs near its width a little more is needed.
"""

from __future__ import annotations

from nameplate.geometry.region import bounds, difference, moved, rectangle, solids, union
from nameplate.lettering.legibility import CLEAR, read
from nameplate.lettering.stencil import pierce
from nameplate.model import LetterBox
from nameplate.typesetting.block import Block
from nameplate.typesetting.fonts import Font
from nameplate.typesetting.setting import Setting
from nameplate.typesetting.ways import ways_to_set

#: Letters with the counters, gaps and joins that webs close first.
PROBE = "Adele"

#: Capitals (minimum webs high) that are tried, and steps of bisection between them: to 7 % of the height.
LEAST, MOST, STEPS = 3.0, 24.0, 4

#: The web and the kerf (mm) that are tried.
WEB, KERF = 1.5, 0.2

#: Chord error (em) of the probe's outlines: the search is 7 % wide, and a finer outline only takes longer.
FLATNESS = 4e-4


def least_pierced_cap_height(font: Font, web: float) -> float | None:
    """Give the height (mm) of the smallest capitals at which the probe reads once pierced; None: larger than MOST."""
    setting = ways_to_set(PROBE, "", font, Block("tie", FLATNESS))[0].setting
    if not _reads(setting, MOST):
        return None
    low, high = LEAST, MOST
    for _ in range(STEPS):
        middle = (low * high) ** 0.5
        low, high = (low, middle) if _reads(setting, middle) else (middle, high)
    return high * web


def _reads(setting: Setting, height: float) -> bool:
    """Tell whether the plate holds and every letter reads, with capitals so many webs high."""
    size = height * WEB / setting.cap_height
    letters = moved(union(*(glyph.region for glyph in setting.glyphs)), scale=size)
    blank = rectangle(*bounds(letters).grown(4 * WEB))
    places = [LetterBox(g.text, *bounds(moved(g.region, scale=size))) for g in setting.glyphs if g.text]
    baselines = [y * size for y in setting.baselines]
    pierced = pierce(blank, letters, web=WEB, slant=setting.slant, kerf=KERF, baselines=baselines, places=places)
    if not pierced.holds or len(solids(pierced.blank)) != 1:
        return False
    found = read(setting, difference(blank, pierced.blank), origin=(0.0, 0.0), size=size)
    return found[0].legibility >= CLEAR and not any(letter.rival for letter in found)
