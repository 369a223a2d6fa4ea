"""What is scored on a template: the plate's id and name, an arrow to the top of the face, and a bar to check by."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import NamedTuple

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.engraving_font import TAIL, can_draw, label, label_width
from nameplate.geometry.region import Array, Region
from nameplate.jig.placing import FreePlaces

#: Height of a label where there is room, mm.
LABEL = 3.0

#: Least distance of a label from the window and the edge, mm. Scored lines burn a little wider than drawn and char
#: card; less than this and they weaken the rim of the window.
MARGIN = 1.5

#: Width and height of the check bar, mm.
CHECK_BAR = (10.0, 1.5)

#: Least height of a label that can be read after scoring on card, mm (common practice: 2 mm).
LEAST_LABEL = 2.0

#: A text is tried once at this part of its height before the next, shorter one is taken.
SMALLER = 0.75

#: Where no text finds room so, the last one is tried at these heights, mm.
_SHORTER = (2.75, 2.5, 2.25, LEAST_LABEL)

#: The arrow's width as part of its height.
_ARROW_SHAPE = 0.6

#: Heights of the arrow, as multiples of the label's height, tried in order.
_ARROW_SIZES = (2.0, 1.4, 1.0)


class Labels(NamedTuple):
    """Polylines to score, and what was left out for want of room ("label", "arrow")."""

    lines: tuple[Array, ...]
    missing: tuple[str, ...]


def place_labels(outline: Region, window: Region, texts: tuple[str, ...]) -> Labels:
    """Place a label, an arrow to the top and a check bar in the free part of a template.

    `texts` are tried in order at LABEL mm and a little smaller, the last one down to 2 mm; one with signs that cannot
    be drawn is passed over where another follows.
    """
    texts = tuple(filter(can_draw, texts[:-1])) + texts[-1:]
    free = FreePlaces(rg.difference(rg.offset(outline, -MARGIN), rg.offset(window, MARGIN)))
    lines, arrow = _write(free, texts), _arrow(free)
    missing = tuple(what for what, drawn in (("label", lines), ("arrow", arrow)) if not drawn)
    return Labels(lines + arrow + _check_bar(free), missing)


def _write(free: FreePlaces, texts: tuple[str, ...]) -> tuple[Array, ...]:
    """Give the lines of the first text that finds room, none where there is no room for any."""
    sizes = [(text, size) for text in texts for size in (LABEL, SMALLER * LABEL)]
    for text, size in (*sizes, *((texts[-1], size) for size in _SHORTER)):
        if lines := written(text, size, partial(_taken, free)):
            return lines
    return ()


def written(text: str, height: float, find: Callable[[float, float], Box | None]) -> tuple[Array, ...]:
    """Give the lines of a text where there is room for it, if any; `find` looks for that by width and height (mm)."""
    box = find(label_width(text, height), height * (1 + TAIL))
    return () if box is None else label(text, height, at=(box.x0, box.y0 + height * TAIL))


def _taken(free: FreePlaces, width: float, height: float) -> Box | None:
    if box := free.take(width, height):
        free.close(box.grown(MARGIN / 2))
    return box


def _check_bar(free: FreePlaces) -> tuple[Array, ...]:
    """Give a bracket 10 mm wide, by which the scale of a cut or printed jig is checked; none where there is no room."""
    wide, tall = CHECK_BAR
    box = free.take(wide, tall)
    return () if box is None else (np.array([(0.0, tall), (0.0, 0.0), (wide, 0.0), (wide, tall)]) + box[:2],)


def _arrow(free: FreePlaces) -> tuple[Array, ...]:
    for factor in _ARROW_SIZES:
        tall = LABEL * factor
        wide = tall * _ARROW_SHAPE
        if box := free.take(wide, tall, prefer="high"):
            free.close(box)
            return tuple(line * [wide, tall] + box[:2] for line in _UNIT_ARROW)
    return ()


#: An arrow in the unit square: shaft and head.
_UNIT_ARROW: tuple[Array, ...] = (np.array([(0.5, 0.0), (0.5, 1.0)]), np.array([(0.0, 0.5), (0.5, 1.0), (1.0, 0.5)]))
