"""Sets a name in a font: one line or several, the letters placed but not yet welded with one another.

Method: each line is shaped as a whole, so that letters join as the font means them to; glyphs that share a cluster
(a letter and the marks on it) become one `Glyph`; words are then moved together until their bodies stand a narrow
word space apart, and lines until their ink is LINE_GAP apart.

Known limits: a name is broken at spaces only, so a very long single word stays on one line.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from nameplate.errors import FontError
from nameplate.geometry.region import Region, moved, union
from nameplate.lettering.fonts import Font
from nameplate.lettering.lines import MOST_LINES, a_line_a_word, best_partition, most_lines
from nameplate.lettering.outlines import FLATNESS, glyph_region
from nameplate.lettering.shaping import ShapedGlyph, shape
from nameplate.lettering.spacing import centred, dropped, gap_closed

#: At most so many ways to set one name are offered; each costs a whole fit.
MOST_CANDIDATES = 4


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
    placed: list[tuple[Glyph, ...]] = []
    first_word = 0
    for number, line in enumerate(lines):
        placed.append(_line(line, number, first_word, font, words, features, flatness))
        first_word += line.count(" ") + 1
    mode = "stack" if len(lines) > 1 and words in ("auto", "stack") else {"auto": "tie"}.get(words, words)
    return Setting(
        glyphs=tuple(g for line in _leaded(placed, font) for g in line),
        lines=lines,
        mode=mode,
        slant=font.slant,
        cap_height=font.cap_height,
        x_height=font.x_height,
    )


# --- one line -------------------------------------------------------------------------------------------------------


def _line(
    text: str,
    line: int,
    first_word: int,
    font: Font,
    words: str,
    features: tuple[str, ...],
    flatness: float,
) -> tuple[Glyph, ...]:
    """Shape one line and close up its word spaces."""
    shaped = shape(font.source, text, features)
    starts = sorted({g.cluster for g in shaped})
    ends = dict(zip(starts, [*starts[1:], len(text)], strict=True))
    glyphs = []
    for cluster, group in groupby(sorted(shaped, key=lambda g: g.cluster), key=lambda g: g.cluster):
        letters = text[cluster : ends[cluster]]
        region = _cluster_region(font, tuple(group), flatness)
        if region.is_empty and letters.strip():
            raise FontError(f"{font.name} draws nothing for {letters!r} of {text!r}")
        if not region.is_empty:
            word = first_word + text.count(" ", 0, cluster)
            glyphs.append(Glyph(region, letters, word, line))
    return _spaced_words(glyphs, font, narrow=words != "loose")


def _cluster_region(font: Font, group: tuple[ShapedGlyph, ...], flatness: float) -> Region:
    upem = font.units_per_em
    pieces = [moved(glyph_region(font.source, g.gid, flatness), g.x / upem, g.y / upem) for g in group]
    return pieces[0] if len(pieces) == 1 else union(*pieces)


def _spaced_words(glyphs: Sequence[Glyph], font: Font, *, narrow: bool) -> tuple[Glyph, ...]:
    """Move each word, with all that follow, to the narrow word space, or apart where the font's is too small."""
    done: list[Glyph] = []
    shift = 0.0
    for _, group in groupby(glyphs, key=lambda g: g.word):
        word = [replace(g, region=moved(g.region, shift)) for g in group]
        if done:
            before = [g for g in done if g.word == done[-1].word]
            step = gap_closed(_ink(before), _ink(word), font.x_height, font.slant, narrow=narrow)
            word = [replace(g, region=moved(g.region, step)) for g in word]
            shift += step
        done.extend(word)
    return tuple(done)


def _ink(glyphs: Sequence[Glyph]) -> Region:
    return union(*(g.region for g in glyphs))


# --- several lines --------------------------------------------------------------------------------------------------


def _leaded(lines: Sequence[Sequence[Glyph]], font: Font) -> list[list[Glyph]]:
    """Centre each line on x = 0 by eye, and drop each below the one before it."""
    placed: list[list[Glyph]] = []
    for line in lines:
        ink = _ink(line)
        dx = centred(ink)
        dy = dropped(_ink(placed[-1]), moved(ink, dx), font.x_height) if placed else 0.0
        placed.append([replace(g, region=moved(g.region, dx, dy)) for g in line])
    return placed
