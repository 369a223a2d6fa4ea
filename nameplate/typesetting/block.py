"""Composes the lines of one setting, each in its own style, and puts them under one another.

Every line is composed and spaced in em of its own font, and then brought to its size among the others: lengths are in
em of the largest line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, groupby
from typing import NamedTuple

from nameplate.geometry.collision_set import shifted
from nameplate.geometry.region import Region, bounds, moved, rectangle, union
from nameplate.typesetting import metrics
from nameplate.typesetting.fonts import Font
from nameplate.typesetting.glyph_outlines import FLATNESS
from nameplate.typesetting.lines import Letter, Line, Typeface, compose, ink, width, words_of
from nameplate.typesetting.spacing import LINE_GAP, LOOSE_GAP, STEP, aligned, dropped, evened, kerned, word_shift
from nameplate.typesetting.underline import bars

#: Share of the font's word space that stays between tied words, unless the ticket says another.
WORD_SPACE_KEPT = 0.6


@dataclass(frozen=True, slots=True)
class LineStyle:
    """How one line is set: its font and fallbacks, and its `em` in em of the largest line.

    `gap` is the least distance (em of the largest line) of its ink from that of the line above; `align` is "left",
    "centre" or "right" among the other lines. Without them both are those of the block. A `scored` line is scored on
    the plaque, and stands clear of those that are cut.
    """

    typefaces: tuple[Typeface, ...]
    features: tuple[str, ...] = ()
    em: float = 1.0
    gap: float | None = None
    align: str | None = None
    scored: bool = False

    @property
    def font(self) -> Font:
        """Its first font."""
        return self.typefaces[0].font

    @property
    def x_height(self) -> float:
        """The height of its small letters, in em of the largest line."""
        return self.font.x_height * self.em

    def width(self, text: str) -> float:
        """Give the advance width of a text in this style, in em of its own font."""
        return width(text, self.typefaces, self.features)


@dataclass(frozen=True, slots=True)
class Block:
    """What all lines of a setting share.

    `words`: "tie" one line, "stack" a line a word, "bar" one line underlined, "loose" one line with the words apart,
    "auto" one line and the best ones of two, three and four lines. `flatness` is the chord error of curves in em. A bar
    that is not `holding` its words, because they stay in their plate, stands clear. `word_space` is the least share of
    the font's word space that stays between tied words. Several lines `align` at their "left" or "right" ends, or in
    the "centre" to the eye. They are for an `arc` of that radius (mm), under 0 the other way.
    """

    words: str
    flatness: float = FLATNESS
    holding: bool = True
    word_space: float = WORD_SPACE_KEPT
    align: str = "centre"
    arc: float = 0.0


class PlacedLine(NamedTuple):
    """A line with its bar, and where they go; `ink` is both, coarsely, where they lie then.

    `anchor` is the x that it is aligned at, `gap` the least distance of its ink from the line above.
    """

    line: Line
    bar: tuple[Region, ...]
    dx: float
    dy: float
    ink: Region
    style: LineStyle
    anchor: float = 0.0
    gap: float = LINE_GAP


class _Flat(NamedTuple):
    """A line with its bar where they were composed; `letters` is the coarse ink of the line, `whole` of both."""

    line: Line
    bar: tuple[Region, ...]
    letters: Region
    whole: Region
    style: LineStyle


def placed_lines(lines: Sequence[str], styles: Sequence[LineStyle], block: Block) -> tuple[PlacedLine, ...]:
    """Set each line in its style and drop it below the one before it; the first baseline is y = 0."""
    first_words = accumulate((text.count(" ") + 1 for text in lines), initial=0)
    flat = [_flat(text, style, block, word) for text, style, word in zip(lines, styles, first_words, strict=False)]
    return _evened(tuple(_leaded(flat, block)))


def _flat(text: str, style: LineStyle, block: Block, first_word: int) -> _Flat:
    line, font = _composed(text, style, block, first_word), style.font
    bar: tuple[Region, ...] = ()
    if block.words == "bar" and not style.scored:
        bar = bars(line, font.x_height, font.slant, metrics.stem(font.source), holding=block.holding)
    letters = ink(line)
    whole = union(letters, *bar) if bar else letters
    if style.em == 1.0:
        return _Flat(line, bar, letters, whole, style)
    return _Flat(
        tuple(letter.scaled(style.em) for letter in line),
        tuple(moved(piece, scale=style.em) for piece in bar),
        moved(letters, scale=style.em),
        moved(whole, scale=style.em),
        style,
    )


def _composed(text: str, style: LineStyle, block: Block, first_word: int) -> Line:
    """Give a line, in em of its own font, with its letters and words where they belong."""
    font = style.font
    line = compose(text, style.typefaces, style.features, first_word=first_word)
    line = kerned(line, font.x_height, joins=metrics.joins(font.source))
    tied = block.words in ("auto", "tie", "stack") and not style.scored
    least = block.word_space if tied else None
    return _word_spaced(line, font, least)


def _word_spaced(line: Line, font: Font, least: float | None) -> Line:
    """Move each word, with all that follow, to the space of tied words (`least` of the font's), or of loose ones."""
    done: list[Letter] = []
    shift = 0.0
    before: Region | None = None
    words = list(words_of(line))
    for own in words if len(words) > 1 else ():
        word = tuple(letter.moved(shift) for letter in own)
        shape = ink(word)
        step = word_shift(before, shape, font.x_height, font.slant, least=least) if before is not None else 0.0
        shift += step
        before = shifted(shape, step, 0.0)
        done.extend(letter.moved(step) for letter in word)
    return tuple(done) or line


def _leaded(lines: Sequence[_Flat], block: Block) -> Iterator[PlacedLine]:
    """Align the lines at x = 0, and drop each below the one before it."""
    clear: Region | None = None
    dy = 0.0
    mixed = len({flat.style.scored for flat in lines}) > 1
    usual = LOOSE_GAP if mixed or block.words == "loose" else LINE_GAP
    for flat, dx in zip(lines, _asides(lines, block), strict=True):
        whole = shifted(flat.whole, dx, 0.0)
        gap = usual if flat.style.gap is None else flat.style.gap
        dy = dropped(clear, whole, flat.style.x_height, baseline=dy, gap=gap) if clear is not None else 0.0
        above = shifted(whole, 0.0, dy)
        clear = _with_ties(above, flat, dy) if mixed else above
        anchor = dx - aligned(flat.letters, flat.style.align or block.align)
        yield PlacedLine(flat.line, flat.bar, dx, dy, above, flat.style, anchor, gap)


def _with_ties(ink: Region, flat: _Flat, baseline: float) -> Region:
    """Add to the ink of a line that is cut the baseline, along which its words will be tied."""
    if flat.style.scored or flat.line[0].word == flat.line[-1].word:
        return ink
    box = bounds(ink)
    return union(ink, rectangle(box.x0, baseline, box.x1, baseline + STEP))


def _asides(lines: Sequence[_Flat], block: Block) -> list[float]:
    """Give how far each line moves along x: to x = 0 as the block is aligned, or its own way within the widest."""
    asides = [aligned(flat.letters, block.align) for flat in lines]
    widest = max(range(len(lines)), key=lambda number: bounds(lines[number].letters).width)
    edges = bounds(lines[widest].letters)
    at = {"left": edges.x0, "centre": edges.centre[0], "right": edges.x1}
    for number, flat in enumerate(lines):
        own = flat.style.align
        if own is not None and own != block.align:
            asides[number] = asides[widest] + at[own] + aligned(flat.letters, own)
    return asides


def _evened(lines: Sequence[PlacedLine]) -> tuple[PlacedLine, ...]:
    """Make the steps between following lines of one style nearly even; the lines below go down with them."""
    done: list[PlacedLine] = []
    down = 0.0
    for _, group in groupby(lines, key=lambda line: line.style):
        own = list(group)
        baselines = [y + down for y in evened([line.dy for line in own])]
        down = baselines[-1] - own[-1].dy
        done += [r._replace(dy=y, ink=shifted(r.ink, 0.0, y - r.dy)) for r, y in zip(own, baselines, strict=True)]
    return tuple(done)
