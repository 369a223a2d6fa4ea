"""Sets a name in a font: one line or several, the letters placed but not yet welded with one another.

Method: each line is composed from its letters, in its own font and size (`block`); then nearly closed joins are closed,
words moved together until their bodies stand a narrow word space apart, and lines until their ink is LINE_GAP apart
(`spacing`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf

from nameplate.findings import Finding
from nameplate.geometry.arc import Arc
from nameplate.geometry.box import Box
from nameplate.geometry.region import EMPTY, Region, bounds, moved, union, window
from nameplate.system.grouping import grouped
from nameplate.typesetting.bending import bent, least_radii
from nameplate.typesetting.block import Block, LineStyle, PlacedLine, placed_lines
from nameplate.typesetting.lines import Letter

#: Ink that hangs out past what is at the height of small letters by more than this (em) is a swash: it does not weigh
#: when a name is centred. Less would cut off capitals and ascenders that lean out.
SWASH = 0.25


@dataclass(frozen=True)
class Glyph:
    """One letter with its marks, placed, in em. `word` and `line` count from 0 over the whole setting.

    A piece of an underline is a glyph without text and without a `letter`, and has its `ink` instead.
    """

    text: str
    word: int
    line: int
    letter: Letter | None
    flatness: float
    ink: Region = EMPTY

    @cached_property
    def region(self) -> Region:
        """Its shape, drawn when it is first asked for: most ways to set a name are only glanced at."""
        return self.ink if self.letter is None else self.letter.region(self.flatness)


@dataclass(frozen=True)
class Setting:
    """A name as set, in em, y up; the baseline of the first line is y = 0 and the lines are aligned at x = 0.

    `mode` is how the words are held together: "tie" (one line), "stack" (lines), "bar" (underlined), "loose" (words
    stay apart). `cap_height` and `x_height` are those of the largest line, whose em is that of the setting, `slant`
    that of the largest line that is cut. `inks` are the lines as coarse shapes, within COARSE em of the glyphs;
    `baselines` the y of each line's baseline; `styles` how it is set.

    One for an `arc` (its radius in mm, 0 for none) is set straight, and bent by `at` for a size; then it has its `bow`,
    on which the largest line stands, and `baselines` are those of the arcs' apexes. `flat` are its lines as set.
    """

    glyphs: tuple[Glyph, ...]
    lines: tuple[str, ...]
    mode: str
    slant: float
    cap_height: float
    x_height: float
    inks: tuple[Region, ...] = ()
    baselines: tuple[float, ...] = (0.0,)
    styles: tuple[LineStyle, ...] = ()
    arc: float = 0.0
    flat: tuple[PlacedLine, ...] = ()
    bow: Arc | None = None

    def at(self, size: float, *, approximate: bool = False) -> Setting:
        """Give how it is set where its em is so many mm: on its arc, if it has one; `approximate` as `bent` has it."""
        if not self.arc:
            return self
        stood = bent(self.flat, self.arc / size, approximate=approximate)
        flatness = self.glyphs[0].flatness
        return replace(
            self,
            glyphs=_glyphs_of(stood.lines, flatness),
            inks=tuple(line.ink for line in stood.lines),
            baselines=stood.baselines,
            bow=stood.arc,
        )

    @cached_property
    def least_radii(self) -> tuple[float, float]:
        """The least radii (em) of its arc: for the size of its letters, and to go half round at most."""
        return least_radii(self.flat, self.arc)

    @property
    def is_plain(self) -> bool:
        """Whether all lines are set alike."""
        return len({(style.font.name, style.em, style.scored) for style in self.styles}) == 1

    @property
    def is_partly_scored(self) -> bool:
        """Whether some lines are scored on the plaque."""
        return any(style.scored for style in self.styles)

    @property
    def cut(self) -> tuple[Glyph, ...]:
        """The letters that are cut."""
        return tuple(g for g in self.glyphs if not self.styles[g.line].scored)

    @property
    def scored(self) -> tuple[Glyph, ...]:
        """The letters that are scored."""
        return tuple(g for g in self.glyphs if self.styles[g.line].scored)

    @cached_property
    def lows(self) -> tuple[float, ...]:
        """The height of the lowest letters of each line: those of one without small letters are as high as capitals."""
        return tuple(
            style.font.cap_height * style.em if text.upper() == text else style.x_height
            for text, style in zip(self.lines, self.styles, strict=True)
        )

    @property
    def lowest(self) -> float:
        """The height of the lowest letters: of lines set alike that of the font's small letters, whatever they say."""
        return self.x_height if self.is_plain else min(self.lows)

    @property
    def lowest_line(self) -> int:
        """Which line has the lowest letters."""
        return self.lows.index(min(self.lows))

    def level(self, baselines: Sequence[float]) -> float:
        """Give what stands on a baseline shared with other names: the middle between the largest lines' outermost."""
        largest = [y for y, style in zip(baselines, self.styles, strict=True) if style.x_height == self.x_height]
        return (largest[0] + largest[-1]) / 2

    @property
    def cut_shape(self) -> Region:
        """The lines that are cut as one coarse shape."""
        return self._drawn(scored=False) if self.is_partly_scored else self.shape

    @property
    def scored_shape(self) -> Region:
        """The lines that are scored as one coarse shape; empty where none is."""
        return self._drawn(scored=True)

    def _drawn(self, *, scored: bool) -> Region:
        return union(*(ink for ink, style in zip(self.inks, self.styles, strict=True) if style.scored == scored))

    @cached_property
    def shape(self) -> Region:
        """All lines as one coarse shape."""
        return union(*self.inks)

    @cached_property
    def body(self) -> tuple[float, float]:
        """How far the letters reach to the left and to the right, where they are small letters; beyond are swashes.

        On an arc all ink counts.
        """
        if self.bow is not None:
            return -inf, inf
        reach = []
        for line, y, style in zip(self.inks, self.baselines, self.styles, strict=True):
            box = bounds(line)
            small = window(line, Box(box.x0, y, box.x1, y + style.x_height))
            reach.append(bounds(line if small.is_empty else small))
        return min(box.x0 for box in reach) - SWASH, max(box.x1 for box in reach) + SWASH


def set_lines(lines: tuple[str, ...], styles: Sequence[LineStyle], block: Block) -> Setting:
    """Set the lines of a name, each in its style.

    Raises FontError for letters that no font can draw.
    """
    placed = placed_lines(lines, styles, block)
    main = max(styles, key=lambda style: style.x_height)
    cut = [style for style in styles if not style.scored]
    words = block.words
    mode = "stack" if len(lines) > 1 and words in ("auto", "stack") else {"auto": "tie"}.get(words, words)
    return Setting(
        glyphs=_glyphs_of(placed, block.flatness),
        lines=lines,
        mode=mode,
        slant=max(cut or styles, key=lambda style: style.x_height).font.slant,
        cap_height=main.font.cap_height * main.em,
        x_height=main.x_height,
        inks=tuple(line.ink for line in placed),
        baselines=tuple(line.dy for line in placed),
        styles=tuple(styles),
        arc=block.arc,
        flat=placed if block.arc else (),
    )


def borrowed_letters(name: str, setting: Setting) -> Iterator[Finding]:
    """Say which letters of a name came from a fallback font."""
    drawn = [(setting.styles[g.line].font.name, g.letter.font, g.text) for g in setting.glyphs if g.letter is not None]
    found = grouped(dict.fromkeys(((own, other), text) for own, other, text in drawn if own != other))
    for (own, other), letters in found.items():
        text = f"“{name}”: {own} has no {' '.join(dict.fromkeys(''.join(letters)))}; taken from {other}"
        yield Finding("fallback-font", "note", text)


def _glyphs_of(lines: Sequence[PlacedLine], flatness: float) -> tuple[Glyph, ...]:
    glyphs: list[Glyph] = []
    for number, placed in enumerate(lines):
        letters, dx, dy = placed.line, placed.dx, placed.dy
        glyphs += [Glyph(letter.text, letter.word, number, letter.moved(dx, dy), flatness) for letter in letters]
        glyphs += [Glyph("", letters[0].word, number, None, flatness, moved(piece, dx, dy)) for piece in placed.bar]
    return tuple(glyphs)
