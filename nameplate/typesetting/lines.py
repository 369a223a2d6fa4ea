"""Composes one line of text into placed letters, from one font or, letter by letter, from fallback fonts.

Terms. A *letter* is one cluster: a base with its marks, or a ligature. A *run* is a stretch of text that one font
draws in one script; it is shaped as a whole, so that letters join as the font means them to. A *typeface* is a font
with the scale at which it stands beside the main one.

Known limit: letters do not join across the border of two fonts; the bridging does that.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import groupby, pairwise
from typing import NamedTuple, TypeAlias

from nameplate.errors import FontError
from nameplate.geometry.collision_set import shifted
from nameplate.geometry.region import Region, moved, union
from nameplate.typesetting.fonts import Font, can_draw
from nameplate.typesetting.glyph_outlines import Source, glyph_region
from nameplate.typesetting.shaping import shape

#: Chord error, in em, of the letters that spaces are judged on. A space is right to a few thousandths of an em; finer
#: only takes longer.
COARSE = 1e-3


class Typeface(NamedTuple):
    """A font and the scale that brings its small letters to the height of the main font's."""

    font: Font
    scale: float = 1.0


class Placed(NamedTuple):
    """One glyph at its place on the line, in em of the main font, turned counter-clockwise by degrees."""

    source: Source
    gid: int
    x: float
    y: float
    scale: float
    turn: float = 0.0

    def region(self, flatness: float) -> Region:
        """Give its ink, flattened to `flatness` em."""
        return moved(glyph_region(self.source, self.gid, flatness), self.x, self.y, turn=self.turn, scale=self.scale)


class Letter(NamedTuple):
    """The glyphs of one cluster; `font` is the name of the font they come from, `middle` the x of its advance's."""

    glyphs: tuple[Placed, ...]
    text: str
    word: int
    font: str
    middle: float = 0.0

    def moved(self, dx: float, dy: float = 0.0) -> Letter:
        """Shift it by em."""
        glyphs = tuple(g._replace(x=g.x + dx, y=g.y + dy) for g in self.glyphs)
        return self._replace(glyphs=glyphs, middle=self.middle + dx)

    def scaled(self, scale: float) -> Letter:
        """Make it larger about the origin."""
        scaled = (g._replace(x=g.x * scale, y=g.y * scale, scale=g.scale * scale) for g in self.glyphs)
        return self._replace(glyphs=tuple(scaled), middle=self.middle * scale)

    def seen_from(self, x: float, y: float) -> Letter:
        """Give it as seen from (x, y), so that the same letter is the same wherever it stands."""
        glyphs = tuple(g._replace(x=round(g.x - x, 9), y=round(g.y - y, 9)) for g in self.glyphs)
        return self._replace(glyphs=glyphs, word=0, middle=round(self.middle - x, 9))

    def region(self, flatness: float) -> Region:
        """Give its ink, the strokes and marks united."""
        pieces = [g.region(flatness) for g in self.glyphs]
        return pieces[0] if len(pieces) == 1 else union(*pieces)


Line: TypeAlias = tuple[Letter, ...]


class Run(NamedTuple):
    """Characters `start` to `end` (not included) of a line, which one typeface draws."""

    start: int
    end: int
    typeface: Typeface


def words_of(line: Line) -> Iterator[Line]:
    """Split a line into its words."""
    for _, group in groupby(line, key=lambda letter: letter.word):
        yield tuple(group)


def ink(line: Line) -> Region:
    """Give what the eye judges spaces by: the letters of a line, coarsely."""
    words = []
    for word in words_of(line):
        placed = [glyph for letter in word for glyph in letter.glyphs]
        x0, y0 = placed[0].x, placed[0].y
        own = tuple(g._replace(x=round(g.x - x0, 9), y=round(g.y - y0, 9)) for g in placed)
        words.append(shifted(_word_ink(own), x0, y0))
    return words[0] if len(words) == 1 else union(*words)


@lru_cache(maxsize=256)
def _word_ink(glyphs: tuple[Placed, ...]) -> Region:
    """Give the ink of a word; kept, because the same word stands in every candidate of a name."""
    return union(*(g.region(COARSE) for g in glyphs))


def compose(text: str, typefaces: Sequence[Typeface], features: Sequence[str] = (), *, first_word: int = 0) -> Line:
    """Shape one line of text; the first typeface that can draw a letter does. Letters without ink are left out.

    Raises FontError for letters that no typeface can draw.
    """
    letters: list[Letter] = []
    pen = 0.0
    for run in runs(text, typefaces):
        drawn, advance = _composed_run(text, run, features, pen, first_word)
        letters.extend(drawn)
        pen += advance
    return tuple(letters)


def _composed_run(
    text: str, run: Run, features: Sequence[str], pen: float, first_word: int
) -> tuple[list[Letter], float]:
    font, scale = run.typeface
    unit = scale / font.units_per_em
    shaped = shape(font.source, text[run.start : run.end], features)
    starts = sorted({g.cluster for g in shaped})
    ends = dict(zip(starts, [*starts[1:], run.end - run.start], strict=True))
    letters = []
    for cluster, own in groupby(sorted(shaped, key=lambda g: g.cluster), key=lambda g: g.cluster):
        group = tuple(own)
        placed = [Placed(font.source, g.gid, pen + g.x * unit, g.y * unit, scale) for g in group]
        drawn = tuple(p for p in placed if not glyph_region(p.source, p.gid, COARSE).is_empty)
        here = text[run.start + cluster : run.start + ends[cluster]]
        if drawn:
            word = first_word + text.count(" ", 0, run.start + cluster)
            before = sum(g.advance for g in shaped if g.cluster < cluster)
            middle = pen + (before + sum(g.advance for g in group) / 2) * unit
            letters.append(Letter(drawn, here, word, font.name, middle))
        elif here.strip():
            raise FontError(f"{font.name} draws nothing for {here!r} of {text!r}")
    return letters, sum(g.advance for g in shaped) * unit


def width(text: str, typefaces: Sequence[Typeface], features: Sequence[str] = ()) -> float:
    """Give the advance width of a text, in em of the main font."""
    total = 0.0
    for start, end, (font, scale) in runs(text, typefaces):
        total += sum(g.advance for g in shape(font.source, text[start:end], features)) * scale / font.units_per_em
    return total


def runs(text: str, typefaces: Sequence[Typeface]) -> tuple[Run, ...]:
    """Split a line, in NFC, into runs of one typeface and one script. Spaces go with what stands before them.

    A letter that no typeface can draw is left to the first one, which says so.
    """
    if not text:
        return ()
    marks: list[tuple[int, int, str]] = []
    starts = [i for i, c in enumerate(text) if i == 0 or not unicodedata.combining(c)]
    for start, end in pairwise([*starts, len(text)]):
        cluster = text[start:end]
        neutral = cluster.isspace() or _script(cluster[0]) in ("Zyyy", "Zinh")
        script = marks[-1][2] if neutral and marks else _script(cluster[0])
        able = (i for i, t in enumerate(typefaces) if can_draw(t.font.source, cluster))
        which = marks[-1][1] if cluster.isspace() and marks else next(able, 0)
        marks.append((start, which, script))
    first = [next(group) for _, group in groupby(marks, key=lambda mark: mark[1:])]
    ends = [*(start for start, _, _ in first[1:]), len(text)]
    return tuple(Run(start, end, typefaces[which]) for (start, which, _), end in zip(first, ends, strict=True))


def _script(letter: str) -> str:
    from fontTools import unicodedata as scripts

    return str(scripts.script(letter))
