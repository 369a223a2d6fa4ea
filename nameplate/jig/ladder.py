"""The fit ladder: a coupon with a row of pockets in steps of 0.05 mm and the plug that is tried in them.

The plug is cut from the lettering's stock and the pockets from the template's, so that the one that fits tells the
clearance that this laser, with these two sheets and their kerfs as the ticket states them, really needs.
"""

from __future__ import annotations

from nameplate.geometry import region as rg
from nameplate.geometry.engraving_font import label, label_width
from nameplate.geometry.region import Array, Region
from nameplate.model import Feature, Part

#: The plate name under which the coupon goes in cut files and layouts.
LADDER = "ladder"

#: Difference of clearance, per side, from pocket to pocket, mm. Half of what a hand can feel in a 3 mm sheet.
STEP = 0.05

#: Number of pockets: 0.05 to 0.40 mm covers all that is usual (0.15 to 0.25 a side, common practice).
RUNGS = 8

#: Size of the plug, mm: long enough to feel it turn, and of one shape that goes in one way only.
PLUG = (16.0, 9.0)

#: Material between pockets and round them, mm.
_RIM = 4.0

#: Height of the scored figures, mm.
_FIGURES = 3.0


def clearances() -> tuple[float, ...]:
    """Give the clearance of each pocket, mm, ascending.

    >>> clearances()[:3]
    (0.05, 0.1, 0.15)
    """
    return tuple(round(STEP * (i + 1), 9) for i in range(RUNGS))


def plug() -> Region:
    """Make the plug: a bar with one round end and a slanted corner, its middle at the origin."""
    w, h = PLUG[0] / 2, PLUG[1] / 2
    bar = rg.from_ring([(-w, -h), (w - h, -h), (w - h, h), (-w + 3, h), (-w, h - 2)])
    return rg.union(bar, rg.disc((w - h, 0), 2 * h))


def ladder_parts() -> tuple[Part, ...]:
    """Make the coupon: layer 1 the row of pockets, of template stock; layer 2 the plug, of lettering stock."""
    pitch = PLUG[1] + 2 * clearances()[-1] + _RIM
    width = PLUG[0] + 2 * clearances()[-1] + 2 * _RIM
    figure_room = max(label_width(_figure(c), _FIGURES) for c in clearances()) + _RIM
    pockets: list[tuple[Feature, Region]] = []
    marks: list[Array] = []
    for rung, clearance in enumerate(clearances()):
        y = -rung * pitch
        pockets.append(("check", rg.moved(rg.offset(plug(), clearance), 0, y)))
        marks += label(_figure(clearance), _FIGURES, at=(width / 2, y - _FIGURES / 2))
    half = (pitch + _RIM) / 2
    low = -(RUNGS - 1) * pitch - half
    body = rg.opened(rg.rectangle(-width / 2, low, width / 2 + figure_room, half), _RIM / 2)
    strip = rg.difference(body, rg.union(*(region for _, region in pockets)))
    return (
        Part(LADDER, "coupon", "template", strip, marks=tuple(marks), features=tuple(pockets)),
        Part(LADDER, "coupon", "lettering", plug(), layer=2),
    )


def _figure(clearance: float) -> str:
    return f"{clearance:.2f}"
