"""Sets a name in a font: one line or several, the letters placed but not yet welded with one another.

Method: each line is shaped as a whole, so that letters join as the font means them to; glyphs that share a cluster
(a letter and the marks on it) become one `Glyph`; words are then moved together until their bodies stand a narrow
word space apart, and lines until their ink is LINE_GAP apart.

Known limits: a name is broken at spaces only, so a very long single word stays on one line.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import NamedTuple, TypeAlias

from nameplate.errors import FontError
from nameplate.geometry.region import Region, moved, union
from nameplate.lettering.fonts import Font
from nameplate.lettering.lines import MOST_LINES, a_line_a_word, best_partition, most_lines
from nameplate.lettering.outlines import FLATNESS, Source, glyph_region
from nameplate.lettering.shaping import shape
from nameplate.lettering.spacing import centred, dropped, gap_closed

#: At most so many ways to set one name are offered; each costs a whole fit.
MOST_CANDIDATES = 4

#: Chord error, in em, of the letters that spaces are judged on. A space is right to a few thousandths of an em; finer
#: only takes longer.
COARSE = 1e-3


@dataclass(frozen=True, slots=True)
class Glyph:
    """One letter with its marks, placed, in em. `word` and `line` count from 0 over the whole setting."""

    region: Region
    text: str
    word: int
    line: int


@dataclass(frozen=True, slots=True)
class Setting:
    """A name as set, in em, y up; the baseline of the first line is y = 0 and the lines are centred on x = 0.

    `mode` is how the words are held together: "tie" (one line), "stack" (lines), "loose" (words stay apart).
    """

    glyphs: tuple[Glyph, ...]
    lines: tuple[str, ...]
    mode: str
    slant: float
    cap_height: float
    x_height: float


def settings(
    name: str,
    line2: str,
    font: Font,
    *,
    words: str,
    features: Sequence[str] = (),
    flatness: float = FLATNESS,
) -> tuple[Setting, ...]:
    """Give the ways to set a name, the preferred one first.

    `words`: "tie" one line, "stack" a line a word, "loose" one line with the words apart, "auto" one line and the
    best of two, three and four lines. `line2` always starts a line of its own; empty when there is none.
    `flatness` is the chord error of curves in em.

    Raises FontError for letters that the font cannot draw, ValueError for an empty name.
    """
    name, line2 = _spaced(name), _spaced(line2)
    if not name:
        raise ValueError("there is no name to set")
    broken = _broken(name, line2, font, words, tuple(features))
    return tuple(_set(lines, font, words, tuple(features), flatness) for lines in broken)


def _spaced(text: str) -> str:
    return " ".join(unicodedata.normalize("NFC", text).split())


def _broken(name: str, line2: str, font: Font, words: str, features: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Give the candidates as tuples of lines."""
    below: tuple[str, ...] = (line2,) if line2 else ()
    if words in ("tie", "loose", "bar"):
        return ((name, *below),)
    if words not in ("stack", "auto"):
        raise ValueError(f"{words!r} is not a way to set words")
    space = _space_width(font, features)
    parts = name.split(" ")
    widths = [_width(font, w, features) for w in parts]
    if words == "stack":
        return ((*a_line_a_word(parts, widths, space), *below),)
    candidates = [(name, *below)]
    for count in range(2, min(most_lines(parts), MOST_LINES - len(below)) + 1):
        candidates.append((*best_partition(parts, widths, space, count), *below))
    below_parts = line2.split(" ")
    if len(below_parts) > 1:
        below_widths = [_width(font, w, features) for w in below_parts]
        below = best_partition(below_parts, below_widths, space, 2)
        uppers = [(name,), best_partition(parts, widths, space, 2)]
        candidates += [(*upper, *below) for upper in uppers if upper]
    return tuple(dict.fromkeys(candidates))[:MOST_CANDIDATES]


def _width(font: Font, text: str, features: tuple[str, ...]) -> float:
    return sum(g.advance for g in shape(font.source, text, features)) / font.units_per_em


def _space_width(font: Font, features: tuple[str, ...]) -> float:
    return _width(font, "n n", features) - _width(font, "nn", features)


def _set(lines: tuple[str, ...], font: Font, words: str, features: tuple[str, ...], flatness: float) -> Setting:
    placed: list[_Line] = []
    first_word = 0
    for text in lines:
        line = _line(text, first_word, font, features)
        placed.append(_word_spaced(line, font, narrow=words != "loose"))
        first_word += text.count(" ") + 1
    mode = "stack" if len(lines) > 1 and words in ("auto", "stack") else {"auto": "tie"}.get(words, words)
    return Setting(
        glyphs=tuple(
            Glyph(_region(letter, font, flatness), letter.text, letter.word, number)
            for number, line in enumerate(_leaded(placed, font))
            for letter in line
        ),
        lines=lines,
        mode=mode,
        slant=font.slant,
        cap_height=font.cap_height,
        x_height=font.x_height,
    )


# --- letters, before they are drawn ---------------------------------------------------------------------------------


class _Letter(NamedTuple):
    """The glyphs of one cluster, each with its place in em."""

    glyphs: tuple[tuple[int, float, float], ...]
    text: str
    word: int

    def moved(self, dx: float, dy: float) -> _Letter:
        return self._replace(glyphs=tuple((gid, x + dx, y + dy) for gid, x, y in self.glyphs))


_Line: TypeAlias = tuple[_Letter, ...]


def _region(letter: _Letter, font: Font, flatness: float) -> Region:
    pieces = [moved(glyph_region(font.source, gid, flatness), x, y) for gid, x, y in letter.glyphs]
    return pieces[0] if len(pieces) == 1 else union(*pieces)


def _ink(line: _Line, font: Font) -> Region:
    """Give what the eye judges spaces by: the letters, coarsely."""
    words = []
    for _, group in groupby(line, key=lambda letter: letter.word):
        placed = [glyph for letter in group for glyph in letter.glyphs]
        _, x0, y0 = placed[0]
        own = tuple((gid, round(x - x0, 9), round(y - y0, 9)) for gid, x, y in placed)
        words.append(moved(_word_ink(font.source, own), x0, y0))
    return words[0] if len(words) == 1 else union(*words)


@lru_cache(maxsize=256)
def _word_ink(source: Source, glyphs: tuple[tuple[int, float, float], ...]) -> Region:
    """Give the ink of a word; kept, because the same word stands in every candidate of a name."""
    return union(*(moved(glyph_region(source, gid, COARSE), x, y) for gid, x, y in glyphs))


def _line(text: str, first_word: int, font: Font, features: tuple[str, ...]) -> _Line:
    """Shape one line; letters that draw nothing, like spaces, are left out."""
    shaped = shape(font.source, text, features)
    upem = font.units_per_em
    starts = sorted({g.cluster for g in shaped})
    ends = dict(zip(starts, [*starts[1:], len(text)], strict=True))
    line = []
    for cluster, group in groupby(sorted(shaped, key=lambda g: g.cluster), key=lambda g: g.cluster):
        drawn = tuple(
            (g.gid, g.x / upem, g.y / upem) for g in group if not glyph_region(font.source, g.gid, COARSE).is_empty
        )
        letters = text[cluster : ends[cluster]]
        if drawn:
            line.append(_Letter(drawn, letters, first_word + text.count(" ", 0, cluster)))
        elif letters.strip():
            raise FontError(f"{font.name} draws nothing for {letters!r} of {text!r}")
    return tuple(line)


# --- spaces ---------------------------------------------------------------------------------------------------------


def _word_spaced(line: _Line, font: Font, *, narrow: bool) -> _Line:
    """Move each word, with all that follow, to the narrow word space, or apart where the font's is too small."""
    done: list[_Letter] = []
    shift = 0.0
    before: Region | None = None
    for _, group in groupby(line, key=lambda letter: letter.word):
        word = tuple(letter.moved(shift, 0.0) for letter in group)
        ink = _ink(word, font)
        step = gap_closed(before, ink, font.x_height, font.slant, narrow=narrow) if before is not None else 0.0
        shift += step
        before = moved(ink, step)
        done.extend(letter.moved(step, 0.0) for letter in word)
    return tuple(done)


def _leaded(lines: Sequence[_Line], font: Font) -> Iterator[_Line]:
    """Centre each line on x = 0 by eye, and drop each below the one before it."""
    above: Region | None = None
    for line in lines:
        ink = _ink(line, font)
        dx = centred(ink)
        ink = moved(ink, dx)
        dy = dropped(above, ink, font.x_height) if above is not None else 0.0
        above = moved(ink, 0.0, dy)
        yield tuple(letter.moved(dx, dy) for letter in line)
