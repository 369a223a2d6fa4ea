"""Turns text into placed glyphs with HarfBuzz, with the font's own features, ligatures and kerning.

Text goes in as a whole line, in NFC, so that joined scripts choose their forms by what stands beside them. The
language is guessed from the letters, never from the machine's settings, so that the same list gives the same letters
everywhere; it decides between national forms of a letter (Turkish i, Romanian comma below, Serbian cursive).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from typing import NamedTuple

from nameplate.errors import FontError
from nameplate.typesetting.glyph_outlines import Source, glyph_of, opened

#: Letters that occur in one language's alphabet and hardly in another's, most telling first. Common practice.
LANGUAGE_LETTERS: tuple[tuple[str, str], ...] = (
    ("vi", "ăđơưạảấầẩẫậắằẳẵặẹẻẽếềểễệỉịọỏốồổỗộớờởỡợụủứừửữựỳỵỷỹ"),
    ("tr", "ğıİ"),
    ("ro", "șț"),
    ("pl", "ąęłńśźż"),
    ("uk", "іїєґ"),
    ("sr", "ђћџљњј"),
    ("mk", "ѓќѕ"),
    ("bg", "ъ"),
)

#: Characters that are drawn like another by definition (Unicode names them hyphen, non-breaking hyphen and modifier
#: letter apostrophe): a font without them draws the other.
SAME_LOOK = {"\u2010": "-", "\u2011": "-", "\u02bc": "\u2019"}

#: Most glyphs that a font's rules may make of one character; letters taken apart with their marks make three or four.
MOST_GLYPHS = 16


class ShapedGlyph(NamedTuple):
    """One glyph on the line, in font units; `cluster` is the position in the text of the letter it belongs to."""

    gid: int
    cluster: int
    x: float
    y: float
    advance: float


def language_of(text: str) -> str:
    """Guess the language whose letter forms a text wants, as a BCP 47 tag.

    >>> language_of("Nguyễn"), language_of("Łukasz"), language_of("Анна"), language_of("Anna"), language_of("")
    ('vi', 'pl', 'ru', 'en', 'en')
    """
    letters = set(unicodedata.normalize("NFC", text)) | set(unicodedata.normalize("NFC", text.lower()))
    best = max(LANGUAGE_LETTERS, key=lambda entry: len(letters & set(entry[1])))
    if letters & set(best[1]):
        return best[0]
    return "ru" if any("\u0400" <= c <= "\u04ff" for c in letters) else "en"


def shape(source: Source, text: str, features: Sequence[str] = ()) -> tuple[ShapedGlyph, ...]:
    """Shape one line of text, left to right.

    `features` are OpenType settings as a ticket writes them: `"ss01"` on, `"-calt"` off, `"salt=2"` a choice.

    Raises FontError for letters the font has not, for a right-to-left script, and for a malformed feature.
    """
    glyphs = shape_loosely(source, text, features)
    lost = sorted({g.cluster for g in glyphs if g.gid == 0})
    if lost:
        clean = unicodedata.normalize("NFC", text)
        named = ", ".join(f"{clean[i]!r} (U+{ord(clean[i]):04X})" for i in lost)
        raise FontError(f"{source.path.name} cannot draw {named} of {text!r}")
    return glyphs


def shape_loosely(source: Source, text: str, features: Sequence[str] = ()) -> tuple[ShapedGlyph, ...]:
    """Shape like `shape`, but leave glyph 0 where the font has no letter."""
    import uharfbuzz as hb

    if not text:
        return ()
    buffer = hb.Buffer()
    buffer.cluster_level = hb.BufferClusterLevel.MONOTONE_GRAPHEMES
    clean = unicodedata.normalize("NFC", text)
    buffer.add_str("".join(SAME_LOOK[c] if c in SAME_LOOK and not glyph_of(source, c) else c for c in clean))
    buffer.language = language_of(text)
    buffer.guess_segment_properties()
    if buffer.direction != "ltr":
        raise FontError(f"{text!r} runs from right to left, which is not supported")
    try:
        hb.shape(opened(source), buffer, dict(parse_feature(f) for f in features))
    except MemoryError:  # what the library says of rules that multiply letters without end
        raise _multiplied(source, text) from None
    if len(buffer.glyph_infos) > MOST_GLYPHS * (len(text) + 1):
        raise _multiplied(source, text)
    placed: list[ShapedGlyph] = []
    x = y = 0.0
    for info, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        placed.append(ShapedGlyph(info.codepoint, info.cluster, x + at.x_offset, y + at.y_offset, at.x_advance))
        x, y = x + at.x_advance, y + at.y_advance
    return tuple(placed)


def _multiplied(source: Source, text: str) -> FontError:
    return FontError(
        f"{source.path.name}: the font's own rules make more than {MOST_GLYPHS} glyphs a letter of {text[:40]!r}; "
        "use another font"
    )


def parse_feature(text: str) -> tuple[str, int]:
    """Read one OpenType feature setting.

    Raises FontError, in words fit for a user.

    >>> parse_feature("ss01"), parse_feature("-calt"), parse_feature("salt=2")
    (('ss01', 1), ('calt', 0), ('salt', 2))
    """
    word = text.strip()
    off = word.startswith("-")
    tag, _, value = word.lstrip("+-").partition("=")
    if len(tag) != 4 or not tag.isascii() or not tag.isalnum() or (value and not value.isdigit()) or (off and value):
        raise FontError(f'{text!r} is not a font feature; write four letters like "ss01", "-calt" or "salt=2"')
    return tag, 0 if off else int(value or 1)
