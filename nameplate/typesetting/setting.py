"""Sets a name in a font: one line or several, the letters placed but not yet welded with one another.

Method: each line is composed from its letters (`composing`); nearly closed joins are closed (`tighten`); words are
moved together until their bodies stand a narrow word space apart, and lines until their ink is LINE_GAP apart
(`spacing`).

Known limits: a name is broken at spaces only, so a very long single word stays on one line.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from nameplate.findings import Finding
from nameplate.geometry.collision_set import shifted
from nameplate.geometry.region import EMPTY, Box, Region, bounds, moved, union, window
from nameplate.typesetting import metrics
from nameplate.typesetting.fonts import Font
from nameplate.typesetting.glyph_outlines import FLATNESS
from nameplate.typesetting.join_closing import tightened
from nameplate.typesetting.line_breaking import MOST_LINES, a_line_a_word, best_partition, most_lines
from nameplate.typesetting.lines import Letter, Line, Typeface, compose, ink, width, words_of
from nameplate.typesetting.spacing import LINE_GAP, LOOSE_GAP, aligned, dropped, evened, word_shift
from nameplate.typesetting.underline import bars

#: At most so many ways to set one name are offered; each costs a whole fit.
MOST_CANDIDATES = 4

#: Share of the font's word space that stays between tied words, unless the ticket says another.
WORD_SPACE_KEPT = 0.6

#: A line may be narrower than its advances by this for each letter (em): tightened pairs, side bearings at its ends.
LEAST_SPARED = 0.06

#: Ink that hangs out past what is at the height of small letters by more than this (em) is a swash: it does not weigh
#: when a name is centred. Less would cut off capitals and ascenders that lean out.
SWASH = 0.25

#: A fallback font is scaled to the main font's x-height, but not by more than this either way.
MOST_SCALE = 1.5


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
    stay apart). `borrowed` names the letters that came from a fallback font: (font, letters). `inks` are the lines as
    coarse shapes, within COARSE em of the glyphs; `baselines` the y of each line's baseline.
    """

    glyphs: tuple[Glyph, ...]
    lines: tuple[str, ...]
    mode: str
    slant: float
    cap_height: float
    x_height: float
    borrowed: tuple[tuple[str, str], ...] = ()
    inks: tuple[Region, ...] = ()
    baselines: tuple[float, ...] = (0.0,)

    @cached_property
    def shape(self) -> Region:
        """All lines as one coarse shape."""
        return union(*self.inks)

    @cached_property
    def body(self) -> tuple[float, float]:
        """How far the letters reach to the left and to the right, where they are small letters; beyond are swashes."""
        reach = []
        for line, y in zip(self.inks, self.baselines, strict=True):
            box = bounds(line)
            small = window(line, Box(box.x0, y, box.x1, y + self.x_height))
            reach.append(bounds(line if small.is_empty else small))
        return min(box.x0 for box in reach) - SWASH, max(box.x1 for box in reach) + SWASH


@dataclass(frozen=True, slots=True)
class _Style:
    """What every line of a setting shares."""

    typefaces: tuple[Typeface, ...]
    words: str
    features: tuple[str, ...]
    flatness: float
    holding: bool = True
    word_space: float = WORD_SPACE_KEPT
    align: str = "centre"

    @property
    def font(self) -> Font:
        return self.typefaces[0].font

    def width(self, text: str) -> float:
        return width(text, self.typefaces, self.features)


@dataclass(frozen=True)
class Way:
    """One way to break a name into lines, set when that is asked for."""

    lines: tuple[str, ...]
    style: _Style

    @cached_property
    def setting(self) -> Setting:
        """The name set this way."""
        return _set(self.lines, self.style)

    @cached_property
    def least_width(self) -> float:
        """A width (em) that the ink has at least: the letters as the font spaces them, drawn as near as ever done."""
        words = ["".join(line.split()) for line in self.lines]
        return max(self.style.width(word) - LEAST_SPARED * (len(word) + 1) for word in words)


def settings(
    name: str,
    line2: str,
    font: Font,
    *,
    words: str,
    features: Sequence[str] = (),
    fallbacks: Sequence[Font] = (),
    flatness: float = FLATNESS,
    holding: bool = True,
    lines: Sequence[str] = (),
    word_space: float = WORD_SPACE_KEPT,
    align: str = "centre",
) -> tuple[Setting, ...]:
    """Give the ways to set a name, the preferred one first.

    `words`: "tie" one line, "stack" a line a word, "bar" one line underlined, "loose" one line with the words apart,
    "auto" one line and the best of two, three and four lines. `line2` always starts a line of its own; empty when
    there is none. Letters that `font` has not come from the first of `fallbacks` that has them. `flatness` is the
    chord error of curves in em. A bar that is not `holding` its words, because they stay in their plate, stands clear.
    Where `lines` are given, the name is in these. `word_space` is the least share of the font's word space that stays
    between tied words.
    Several lines `align` at their "left" or "right" ends, or in the "centre" to the eye.

    Raises FontError for letters that no font can draw, ValueError for an empty name.
    """
    ways = ways_to_set(
        name,
        line2,
        font,
        words=words,
        features=features,
        fallbacks=fallbacks,
        flatness=flatness,
        holding=holding,
        lines=lines,
        word_space=word_space,
        align=align,
    )
    return tuple(way.setting for way in ways)


def ways_to_set(
    name: str,
    line2: str,
    font: Font,
    *,
    words: str,
    features: Sequence[str] = (),
    fallbacks: Sequence[Font] = (),
    flatness: float = FLATNESS,
    holding: bool = True,
    lines: Sequence[str] = (),
    word_space: float = WORD_SPACE_KEPT,
    align: str = "centre",
) -> tuple[Way, ...]:
    """Give what `settings` gives, each to be set when it is asked for."""
    typefaces = (Typeface(font), *(_scaled(f, font) for f in fallbacks))
    style = _Style(typefaces, words, tuple(features), flatness, holding, word_space, align)
    return tuple(Way(broken, style) for broken in _broken(name, line2, style, lines))


def _spaced(text: str) -> str:
    return " ".join(unicodedata.normalize("NFC", text).split())


def _scaled(fallback: Font, main: Font) -> Typeface:
    scale = main.x_height / fallback.x_height
    return Typeface(fallback, min(max(scale, 1 / MOST_SCALE), MOST_SCALE))


def _broken(name: str, line2: str, style: _Style, lines: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """Give the candidates as tuples of lines; raises ValueError when there is nothing to set."""
    name, line2 = _spaced(name), _spaced(line2)
    if not name:
        raise ValueError("there is no name to set")
    below: tuple[str, ...] = (line2,) if line2 else ()
    if lines:
        return ((*map(_spaced, lines), *below),)
    if style.words in ("tie", "loose", "bar"):
        return ((name, *below),)
    if style.words not in ("stack", "auto"):
        raise ValueError(f"{style.words!r} is not a way to set words")
    parts = name.split(" ")
    widths = [style.width(w) for w in parts]
    space = style.width("n n") - style.width("nn")
    if style.words == "stack":
        return ((*a_line_a_word(parts, widths, space), *below),)
    candidates = [(name, *below)]
    for count in range(2, min(most_lines(parts), MOST_LINES - len(below)) + 1):
        candidates.append((*best_partition(parts, widths, space, count), *below))
    below_parts = line2.split(" ")
    if len(below_parts) > 1:
        below = best_partition(below_parts, [style.width(w) for w in below_parts], space, 2)
        uppers = [(name,), best_partition(parts, widths, space, 2)]
        candidates += [(*upper, *below) for upper in uppers if upper]
    return tuple(dict.fromkeys(candidates))[:MOST_CANDIDATES]


def _set(lines: tuple[str, ...], style: _Style) -> Setting:
    font = style.font
    placed = _placed(lines, style)
    rows = _evened(tuple(_leaded(placed, style)))
    glyphs = [g for number, row in enumerate(rows) for g in _glyphs(row, number, style)]
    mode = (
        "stack"
        if len(lines) > 1 and style.words in ("auto", "stack")
        else {"auto": "tie"}.get(style.words, style.words)
    )
    return Setting(
        glyphs=tuple(glyphs),
        lines=lines,
        mode=mode,
        slant=font.slant,
        cap_height=font.cap_height,
        x_height=font.x_height,
        borrowed=_borrowed(placed, font),
        inks=tuple(row.ink for row in rows),
        baselines=tuple(row.dy for row in rows),
    )


def _placed(lines: tuple[str, ...], style: _Style) -> list[Line]:
    """Give each line with its letters and words where they belong, not yet centred nor under one another."""
    font = style.font
    placed: list[Line] = []
    first_word = 0
    for text in lines:
        line = compose(text, style.typefaces, style.features, first_word=first_word)
        if metrics.joins(font.source):
            line = tightened(line, font.x_height)
        least = style.word_space if style.words in ("auto", "tie", "stack") else None
        placed.append(_word_spaced(line, font, least))
        first_word += text.count(" ") + 1
    return placed


def _borrowed(lines: Sequence[Line], font: Font) -> tuple[tuple[str, str], ...]:
    found: dict[str, dict[str, None]] = {}
    for letter in (letter for line in lines for letter in line):
        if letter.font != font.name:
            found.setdefault(letter.font, {})[letter.text] = None
    return tuple((name, "".join(letters)) for name, letters in found.items())


def borrowed_letters(name: str, font: Font, setting: Setting) -> Iterator[Finding]:
    """Say which letters of a name came from a fallback font."""
    for other, letters in setting.borrowed:
        text = f"“{name}”: {font.name} has no {' '.join(dict.fromkeys(letters))}; taken from {other}"
        yield Finding("fallback-font", "note", text)


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


class _Row(NamedTuple):
    """A line with its bar, and where they go; `ink` is both, coarsely, where they lie then."""

    line: Line
    bar: tuple[Region, ...]
    dx: float
    dy: float
    ink: Region


def _leaded(lines: Sequence[Line], style: _Style) -> Iterator[_Row]:
    """Align the lines at x = 0, and drop each below the one before it."""
    font = style.font
    above: Region | None = None
    for line in lines:
        bar: tuple[Region, ...] = ()
        if style.words == "bar":
            bar = bars(line, font.x_height, font.slant, metrics.stem(font.source), holding=style.holding)
        letters = ink(line)
        dx = aligned(letters, style.align)
        whole = shifted(union(letters, *bar) if bar else letters, dx, 0.0)
        gap = LOOSE_GAP if style.words == "loose" else LINE_GAP
        dy = dropped(above, whole, font.x_height, gap=gap) if above is not None else 0.0
        above = shifted(whole, 0.0, dy)
        yield _Row(line, bar, dx, dy, above)


def _evened(rows: Sequence[_Row]) -> tuple[_Row, ...]:
    baselines = evened([row.dy for row in rows])
    return tuple(r._replace(dy=y, ink=shifted(r.ink, 0.0, y - r.dy)) for r, y in zip(rows, baselines, strict=True))


def _glyphs(row: _Row, number: int, style: _Style) -> Iterator[Glyph]:
    for letter in row.line:
        yield Glyph(letter.text, letter.word, number, letter.moved(row.dx, row.dy), style.flatness)
    for piece in row.bar:
        yield Glyph("", row.line[0].word, number, None, style.flatness, moved(piece, row.dx, row.dy))
