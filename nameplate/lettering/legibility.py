"""Whether finished lettering still reads as the name: every letter as cut against the letters of its font as drawn.

Terms. The *plain* setting is the name as its font draws it. A letter's *rivals* are the other letters of its case.

Method: what was cut is drawn at reading size and blurred, and so is each plain letter among its plain neighbours,
as it is and evenly heavier (`legibility_raster`). The *damage* of a letter is the squared difference to the nearest of
these, where its neighbours have no ink, over its own ink squared: a counter or a gap closed or a stroke lost makes a
large one, a heavier letter none. *Legibility* is 1 without any, CLEAR at LIMIT. From COMPARED on a letter is compared
with its rivals in the same way: one that is nearer to a rival reads as that. A letter under HARD_PIERCED or HARD_GLUED
is warned of, and a glued one that reads as another under MISREAD_GLUED; a pierced one of that kind refuses its name.

Known limits: letters are compared one by one, so rn is never taken for m, and a slim tie that makes a b of an o is less
than LIMIT; and a reader knows many names and reads them with a letter missing. How the figures were chosen, and what an
independent reader made of plates with and without a warning, is in DEVELOPERS.md.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import cos, floor, radians, sin
from typing import NamedTuple

import numpy as np

from nameplate.findings import Finding, named
from nameplate.geometry.box import Box
from nameplate.geometry.region import EMPTY, Array, Region, bounds, moved, solids
from nameplate.lettering.legibility_raster import (
    PIXELS,
    blurred,
    grey,
    in_weights,
    inked,
    pasted,
    size_of,
    window,
    within,
)
from nameplate.lettering.rules import SMALL_LETTERS
from nameplate.model import Lettering, Order
from nameplate.typesetting.glyph_outlines import Source, letter_region
from nameplate.typesetting.setting import Glyph, Setting

#: Damage up to which letters are clear: of 30 pierced plates without a worse one an independent reader missed one.
LIMIT = 0.22

#: Legibility of a letter of that damage.
CLEAR = 0.5

#: What is recommended has a legibility of so much: of 613 pierced plates that have an independent reader missed 9.
ADVISED = 0.4

#: Legibility under which a letter is hard to read, cut through a plate (a damage of 1.1) and cut out (of 1.6). Higher
#: warns of plates that are read: a glued letter bears more, as what it has too much is at its outside.
HARD_PIERCED, HARD_GLUED = 0.17, 0.12

#: Legibility under which a glued letter that is nearer to a rival reads as that (a damage of 1).
MISREAD_GLUED = 0.18

#: Damage from which a letter is compared with its rivals: about what an e without its bar has.
COMPARED = 0.1

#: Ink that is missing counts so many times the ink that is too much: an eye follows a stroke, and loses it at a break.
LOST = 2.5

#: The damage of letters in several pieces (i, j, those with accents) counts so many times: their small gap is all that
#: tells an i from an l.
PARTED = 1.5

#: A letter reads as its rival when that is so many times nearer.
NEARER = 1.3

#: Rivals stand with the middle of their ink on the letter's, or so many pixels beside it.
ASIDE = (-2, 0, 2)

#: At most so many letters of a name, the worst, are compared with their rivals; each takes as long as a whole name.
MOST_COMPARED = 3

#: Margin round a letter and round the whole, in x-heights. What lies beyond it blurs into the outermost BORDER pixels,
#: which are left out.
LETTER_MARGIN, MARGIN, BORDER = 0.9, 1.3, 6

#: The distance (mm) from which a plate should be read, and how often the height of its capitals goes into the distance
#: (ANSI Z535.2; DIN 4844-1). Common practice: a plaque on a tree or a door is read from one and a half metres.
READING_DISTANCE, READING_RATIO = 1500.0, 300

#: x-height of an ordinary sign's letters over the height of its capitals; scripts have smaller ones (from memory).
SIGN_X_HEIGHT = 0.7

#: Not judged: a tie along the line takes most of their little ink for its own, and nobody takes them for a letter.
PUNCTUATION = " .,:;'\"‘’“”-–—·"

SMALL, CAPITAL = "abcdefghijklmnopqrstuvwxyz", "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class LetterRead:
    """How one letter reads: `place` names it, `legibility` is from 0 to 1 (CLEAR from there on).

    `rival` is what it reads as when that is not itself.
    """

    place: str
    legibility: float
    rival: str = ""


class _Letter(NamedTuple):
    """A plain letter: its glyph, its window, there its images by weight and the ink of the others.

    `free` is how much each pixel counts: not where the others' ink is, unless it is the letter's, too. `ink` is what
    a difference is measured against.
    """

    glyph: Glyph
    at: Box
    weights: Array
    others: Array
    free: Array
    ink: float


def read(
    setting: Setting, cut: Region, *, origin: tuple[float, float], size: float, between_words: Region = EMPTY
) -> tuple[LetterRead, ...]:
    """Judge every letter of a setting, but PUNCTUATION, by what was cut of it, the worst first.

    `origin` and `size` (mm) tell where the origin of the setting lies and how large its em is; `cut` is in mm, and so
    are the ties `between_words`, which an eye takes for no part of a letter. Lines of other sizes are each seen from
    where they are read: their small letters are as high to the eye.
    """
    heights = dict.fromkeys(style.x_height for style in setting.styles)
    inks = [moved(ink, -origin[0], -origin[1]) for ink in (cut, between_words)]
    seen = [_read_lines(setting, inks[0], inks[1], size, height) for height in heights]
    return tuple(sorted((letter for letters in seen for letter in letters), key=lambda letter: letter.legibility))


def _read_lines(setting: Setting, cut: Region, between_words: Region, size: float, x_height: float) -> list[LetterRead]:
    """Judge the letters of the lines whose small letters have this height (em); all inks have the setting's origin."""
    unit = PIXELS / x_height
    lines = {number for number, style in enumerate(setting.styles) if style.x_height == x_height}
    ink = moved(cut, scale=unit / size)
    shapes = [moved(glyph.region, scale=unit) for glyph in setting.glyphs]
    theirs = [shape for shape, glyph in zip(shapes, setting.glyphs, strict=True) if glyph.line in lines]
    seen = window((ink, *shapes) if len(lines) == len(setting.lines) else theirs, MARGIN)
    view = blurred(grey(inked(ink, seen)))
    letters = _letters(setting, shapes, lines, moved(between_words, scale=unit / size))
    damages = [_damage(letter, view[within(letter.at, seen)], letter.weights) for letter in letters]
    places = _places([letter.glyph.text for letter in letters])
    if len(lines) < len(setting.lines):
        places = [f"{at} of “{setting.lines[n.glyph.line]}”" for at, n in zip(places, letters, strict=True)]
    worst = sorted(range(len(letters)), key=lambda n: (-damages[n], n))
    compared = {n for n in worst[:MOST_COMPARED] if damages[n] > COMPARED}
    return [
        LetterRead(
            places[n],
            1 / (1 + damages[n] / LIMIT),
            _rival(letters[n], view[within(letters[n].at, seen)], damages[n], unit) if n in compared else "",
        )
        for n in worst
    ]


def _letters(
    setting: Setting, shapes: Sequence[Region], lines: Collection[int], between_words: Region
) -> list[_Letter]:
    """Draw the plain letters of some lines, each with the ink of all others in its window; an underline has none."""
    ties = [] if between_words.is_empty else [window((between_words,), 0.0)]
    tied = [(grey(inked(between_words, at)), at) for at in ties]
    windows = [window((shape,), LETTER_MARGIN) for shape in shapes]
    mine = [at for at, glyph in zip(windows, setting.glyphs, strict=True) if glyph.line in lines]
    near = [n for n, at in enumerate(windows) if any(at.meets(other) for other in mine)]
    drawn = {n: in_weights(inked(shapes[n], windows[n])) for n in near}
    found = []
    for n, (glyph, at) in enumerate(zip(setting.glyphs, windows, strict=True)):
        if glyph.line not in lines or not glyph.text.strip(PUNCTUATION):
            continue
        others = np.zeros(size_of(at))
        for m, images in drawn.items():
            if m != n and windows[m].meets(at):
                np.maximum(others, pasted(images[0], windows[m], at), out=others)
        for image, place in tied:
            np.maximum(others, pasted(image, place, at), out=others)
        free, own = _weighted(drawn[n][0], others)
        found.append(_Letter(glyph, at, drawn[n], others, free, own))
    return found


def _weighted(plain: Array, others: Array) -> tuple[Array, float]:
    """Give how much each pixel of a letter's window counts, and the letter's own squared ink by that."""
    from scipy.ndimage import maximum_filter

    own = blurred(plain)
    free = 1 - np.clip(1.6 * blurred(maximum_filter(others, 3)), 0, 1)
    free = np.maximum(free, np.clip(1.5 * own, 0, 1) * (others < 0.5))
    return free, float((free * own**2).sum()) or 1.0


def _damage(letter: _Letter, view: Array, images: Array) -> float:
    """Give how far what is seen of a letter is from the nearest of some images of a letter in its place."""
    change = view - blurred(np.maximum(images, letter.others))
    squares = letter.free * np.where(change < 0, LOST, 1.0) * change**2
    parts = PARTED if len(solids(letter.glyph.region)) > 1 else 1.0
    inner = squares[:, BORDER:-BORDER, BORDER:-BORDER]
    return parts * float(inner.sum(axis=(1, 2)).min()) / letter.ink


def _rival(letter: _Letter, view: Array, damage: float, unit: float) -> str:
    """Give the rival that a damaged letter is clearly nearer to than to itself; none: an empty text."""
    glyph = letter.glyph.letter
    if glyph is None:
        return ""
    first = glyph.glyphs[0]
    c, s = cos(radians(first.turn)), sin(radians(first.turn))
    middle = unit * _middle(letter.glyph.region, first.x, first.y, first.turn)
    best = (damage / NEARER, "")
    for text in rivals_of(letter.glyph.text):
        drawn = _drawn(first.source, text, first.scale * unit, first.turn)
        if drawn is None:
            continue
        at, images, centre = drawn
        along = (middle - centre + aside for aside in ASIDE)
        places = [(round(first.x * unit + far * c), round(first.y * unit + far * s)) for far in along]
        stands = [pasted(images, at.moved(*place), letter.at) for place in places]
        best = min(best, (_damage(letter, view, np.concatenate(stands)), text))
    return best[1]


def rivals_of(text: str) -> tuple[str, ...]:
    """Give what a letter could be taken for: others of its case with the same accents, and itself without them.

    >>> "u" in rivals_of("a"), "ü" in rivals_of("ä"), "a" in rivals_of("ä"), rivals_of("&")
    (True, True, True, ())
    """
    apart = unicodedata.normalize("NFD", text) or " "
    base, marks = apart[0], apart[1:]
    same = next((letters for letters in (SMALL, CAPITAL) if base in letters), "")
    accented = (unicodedata.normalize("NFC", other + marks) for other in same if other != base)
    return (*(other for other in accented if len(other) == 1), *((base,) if marks and same else ()))


@lru_cache(maxsize=1024)
def _drawn(source: Source, text: str, scale: float, turn: float) -> tuple[Box, Array, float] | None:
    """Draw a letter by itself, its origin at (0, 0), turned about that by degrees: window, images by weight, and how
    far along its line the middle of its ink is; None without any."""
    shape = moved(letter_region(source, text), turn=turn, scale=scale)
    if shape.is_empty:
        return None
    at = window((shape,), LETTER_MARGIN)
    return at, in_weights(inked(shape, at)), _middle(shape, 0.0, 0.0, turn)


def _middle(shape: Region, x: float, y: float, turn: float) -> float:
    """Give how far right of (x, y) the middle of a shape is, once it is turned back by degrees about that."""
    box = bounds(moved(moved(shape, -x, -y), turn=-turn))
    return (box.x0 + box.x1) / 2


def _places(texts: Sequence[str]) -> list[str]:
    """Name each letter of a name by itself, or by its number among its like.

    >>> _places("Anna")
    ['the A', 'the 1st n', 'the 2nd n', 'the a']
    """
    places = []
    for n, text in enumerate(texts):
        number = list(texts[: n + 1]).count(text)
        ending = {1: "st", 2: "nd", 3: "rd"}.get(number if number < 20 else number % 10, "th")
        places.append(f"the {number}{ending} {text}" if list(texts).count(text) > 1 else f"the {text}")
    return places


# --- what is said of it ---------------------------------------------------------------------------------------------


def legibility_findings(
    name: str,
    letters: Sequence[LetterRead],
    *,
    pierced: bool,
    refuse: bool,
    small: bool = False,
    cap: float | None = None,
) -> Iterator[Finding]:
    """Say which of the letters of a name that are hard to read read as others; `refuse`: that is an error if `pierced`.

    Where glued letters are `small` that is said already, and of which. `cap` is the max_height (mm) that keeps the
    letters from being larger, None where the face does.
    """
    least, misread = (HARD_PIERCED, HARD_PIERCED) if pierced else (HARD_GLUED, MISREAD_GLUED)
    taken = [letter for letter in letters if letter.rival and letter.legibility < misread]
    hard = [letter.place for letter in letters if letter.legibility < least]
    more_room = "a larger face" if cap is None else f"a larger max_height ({cap:g} mm keeps it small)"
    advice = f"give it {more_room}, more lines, a sturdier font or a smaller min_web"
    measured = round(min((letter.legibility for letter in letters), default=1.0), 3)
    if taken:
        refuse = refuse and pierced
        said = ", ".join(f"{letter.place} reads as {letter.rival}" for letter in taken)
        message = f"“{name}” would read as another name: {said}; {advice}"
        if refuse:
            message += ', or make it all the same with lettering.legibility = "warn"'
        yield Finding("misread", "error" if refuse else "warning", message, measured=measured, allowed=misread)
    elif hard and (pierced or not small):
        message = f"“{name}” is hard to read: {_not_clear(hard)}; {advice}"
        yield Finding("hard-to-read", "warning", message, measured=measured, allowed=least)


def with_unclear(findings: Iterable[Finding], letters: Sequence[LetterRead]) -> Iterator[Finding]:
    """Name in what is said of small letters those that are less clear than is ADVISED, the worst first.

    >>> small = Finding("small-letters", "warning", "small letters are 3.4 mm high; give it a larger face")
    >>> next(with_unclear([small], [LetterRead("the e", 0.2), LetterRead("the l", 0.9)])).message
    'small letters are 3.4 mm high: the e is not clear; give it a larger face'
    """
    for finding in findings:
        said, more, advice = finding.message.rpartition("; give it ")
        places = (letter.place.partition(" of ") for letter in letters if letter.legibility < ADVISED)
        unclear = [place for place, _, line in places if line in said]
        if finding.code == SMALL_LETTERS and unclear:
            finding = replace(finding, message=f"{said}: {_not_clear(unclear)}{more}{advice}")
        yield finding


def _not_clear(places: Sequence[str]) -> str:
    return f"{named(places, most=MOST_COMPARED)} {'is' if len(places) == 1 else 'are'} not clear"


def still_hard_to_read(order: Order, lettering: Lettering) -> Finding | None:
    """Warn of a name that is cut again as it was made, and was hard to read then."""
    least = HARD_PIERCED if order.mount == "pierced" else HARD_GLUED
    if lettering.legibility is None or lettering.legibility >= least:
        return None
    message = (
        f"“{order.name}” is hard to read: {lettering.weakest_letter} is not clear; it is cut again as it was, and "
        f"--again {order.id} makes it anew, as the ticket has it by now"
    )
    measured = round(lettering.legibility, 3)
    return Finding("hard-to-read", "warning", message, order.id, order.row, measured=measured, allowed=least)


def small_text(name: str, x_height: float) -> Finding | None:
    """Warn of letters too small to be read from READING_DISTANCE; `x_height` in mm. Both figures are rounded down."""
    least = READING_DISTANCE / READING_RATIO * SIGN_X_HEIGHT
    if x_height >= least:
        return None
    reads = floor(READING_DISTANCE * x_height / least / 100)
    message = (
        f"small letters of “{name}” are {floor(10 * x_height) / 10:.1f} mm high and read from {reads / 10:g} m; "
        f"{least:.1f} mm read from {READING_DISTANCE / 1000:g} m: "
        "give it a larger face or more lines where people stand farther off"
    )
    return Finding("small-text", "warning", message, measured=x_height, allowed=least)
