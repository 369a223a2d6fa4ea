"""What a name costs, font by font: set in type, fitted, tied, thickened, and fitted with curves, on one core.

CPU seconds of this process, so that other programs count little. Every font is warmed up first: a batch pays for
loading a font and shaping its letters once.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nameplate.cut.kerf import toolpath
from nameplate.face.shapes import outline
from nameplate.geometry.region import Region, offset
from nameplate.lettering.making import make_lettering
from nameplate.lettering.rules import LetteringRules
from nameplate.model import Part
from nameplate.typesetting.block import Block
from nameplate.typesetting.fonts import Font, bundled_fonts, load_font
from nameplate.typesetting.ways import ways_to_set

#: The zone: an ellipse so wide and high (mm), less the edge.
FACE, EDGE = (110.0, 80.0), 6.0

RULES = LetteringRules(web=1.5, max_height=30.0, thickness=3.0, window_growth=0.3)

#: Shaped in each font before the clock starts.
WARM_UP = "Otto Quill"


@dataclass(frozen=True, slots=True)
class FontCost:
    """CPU seconds for each of some names in one font, from the name to the finished curves, and cubics for each."""

    font: str
    seconds: tuple[float, ...]
    segments: tuple[int, ...]

    @property
    def median(self) -> float:
        """The median of the seconds; infinite when no name could be made."""
        return statistics.median(self.seconds) if self.seconds else float("inf")


def font_costs(names: Sequence[str]) -> Iterator[FontCost]:
    """Make every name in every bundled font and give what each took; names that a font cannot make are left out."""
    zone = offset(outline("ellipse", *FACE), -EDGE)
    for info in bundled_fonts():
        font = load_font(info.name)
        _made(WARM_UP, font, zone)
        seconds, segments = [], []
        for name in names:
            if font.missing(name):
                continue
            start = time.process_time()
            count = _made(name, font, zone)
            if count:
                seconds.append(time.process_time() - start)
                segments.append(count)
        yield FontCost(info.name, tuple(seconds), tuple(segments))


def _made(name: str, font: Font, zone: Region) -> int:
    """Make a name and give the number of its curves' segments; 0 when it cannot be made."""
    lettering, _ = make_lettering(ways_to_set(name, "", font, Block("auto")), zone, RULES)
    if lettering is None:
        return 0
    path = toolpath(Part("1", "lettering", "lettering", lettering.region), RULES.kerf)
    return sum(len(contour.curve.segments) for contour in path.contours)
