"""The ways to set a name: broken into lines as the words ask, each set only when it is asked for.

Known limits: a name is broken at spaces and behind hyphens only, so a very long single word stays on one line.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, product
from typing import NamedTuple

from nameplate.geometry.region import Region, rectangle, union
from nameplate.typesetting.block import Block, LineStyle
from nameplate.typesetting.fonts import Font
from nameplate.typesetting.line_breaking import MOST_LINES, broken_names, name_breaks
from nameplate.typesetting.lines import Typeface
from nameplate.typesetting.setting import Setting, set_lines

#: At most so many ways to set one name are offered. Each costs a glance, and a whole fit where it may be the largest.
MOST_CANDIDATES = 16

#: In a sketch, the distance (em) of a line's capitals from the baseline above, about; and the width of its first one.
LEADING, CAPITAL = 0.18, 0.6

#: A fallback font is scaled to the main font's x-height, but not by more than this either way.
MOST_SCALE = 1.5


class StyledLine(NamedTuple):
    """A line to set in a style of its own.

    One that `breaks` is broken as the words ask, or into `lines`; one that is a `column` of the list, where words are
    broken by themselves, into two.
    """

    text: str
    style: LineStyle
    breaks: bool = False
    lines: tuple[str, ...] = ()
    column: bool = False


@dataclass(frozen=True)
class Way:
    """One way to break a name into lines, set when that is asked for; `styles` are those of the lines."""

    lines: tuple[str, ...]
    styles: tuple[LineStyle, ...]
    block: Block

    @cached_property
    def setting(self) -> Setting:
        """The name set this way."""
        return set_lines(self.lines, self.styles, self.block)

    @property
    def x_height(self) -> float:
        """The height of the small letters of the largest line."""
        return max(style.x_height for style in self.styles)

    @cached_property
    def sketch(self) -> Region:
        """About the shape of the setting, in em: small letters as wide as they advance, and a capital, on each line."""
        share = {"left": 0.0, "right": -1.0}.get(self.block.align, -0.5)
        blocks, y = [], 0.0
        for number, (text, style) in enumerate(zip(self.lines, self.styles, strict=True)):
            width, high = style.em * style.width(text), style.em * style.font.cap_height
            y -= high + (LEADING if style.gap is None else style.gap) if number else 0.0
            x = share * width
            blocks.append(rectangle(x, y, x + width, y + style.x_height))
            blocks.append(rectangle(x, y, x + min(width, CAPITAL * style.em), y + high))
        return union(*blocks)


def ways_to_set(
    name: str,
    line2: str,
    font: Font,
    block: Block,
    *,
    features: Sequence[str] = (),
    fallbacks: Sequence[Font] = (),
    lines: Sequence[str] = (),
) -> tuple[Way, ...]:
    """Give the ways to set a name, the preferred one first.

    `line2` always starts a line of its own; empty when there is none. Letters that `font` has not come from the first
    of `fallbacks` that has them. Where `lines` are given, the name is in these.

    Raises FontError for letters that no font can draw.
    """
    style = LineStyle(typefaces_of(font, fallbacks), tuple(features))
    said = (_spaced(name), _spaced(line2), style, block, tuple(map(_spaced, lines)))
    every = broken_names(*said, most=MOST_CANDIDATES)
    return tuple(Way(broken, (style,) * len(broken), block) for broken in every)


def ways_of_lines(lines: Sequence[StyledLine], block: Block) -> tuple[Way, ...]:
    """Give the ways to set lines, at least one, that have each a style of their own.

    Raises FontError for letters that no font can draw.
    """
    options = [_breaks(line, block) for line in lines]
    ways = []
    # first the ways in which nothing but names is broken
    own = [number for number, line in enumerate(lines) if not line.breaks]
    every = sorted(product(*options), key=lambda choice: sum(len(choice[number]) for number in own))
    for choice in every[:MOST_CANDIDATES]:
        styles = [line.style for line, texts in zip(lines, choice, strict=True) for _ in texts]
        ways.append(Way(tuple(chain(*choice)), tuple(styles), block))
    return tuple(ways)


def typefaces_of(font: Font, fallbacks: Sequence[Font] = ()) -> tuple[Typeface, ...]:
    """Give a font with its fallbacks, each at the scale at which it stands beside it."""
    scales = (font.x_height / other.x_height for other in fallbacks)
    limited = (min(max(scale, 1 / MOST_SCALE), MOST_SCALE) for scale in scales)
    return (Typeface(font), *map(Typeface, fallbacks, limited))


def _breaks(line: StyledLine, block: Block) -> tuple[tuple[str, ...], ...]:
    """Give the ways to break one line of a style of its own."""
    if line.lines:
        return (tuple(map(_spaced, line.lines)),)
    text = _spaced(line.text)
    if line.breaks:
        return name_breaks(text, line.style, block, MOST_LINES)
    return name_breaks(text, line.style, block, 2)[:2] if line.column and block.words == "auto" else ((text,),)


def _spaced(text: str) -> str:
    return " ".join(unicodedata.normalize("NFC", text).split())
