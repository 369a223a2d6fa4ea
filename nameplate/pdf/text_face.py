"""The face that texts of a PDF file are set in: how wide they are, and where they break into lines.

It is Noto Sans, which has every letter that the bundled fonts have. Known limits: no kerning, and a letter that it does
not have is drawn as a box and cannot be searched for.
"""

from __future__ import annotations

import re
from functools import lru_cache
from importlib import resources
from io import BytesIO

from nameplate.pdf.paper import POINTS

#: The name of the face, and where it lies beside this module.
TEXT_FACE = "NotoSans-Regular"
FILE = ("noto-sans", "NotoSans-Regular.ttf")

#: What is not broken where it fits a line: a text is parted at its spaces, but for those that do not break.
_WORD = re.compile(r"[\S\xa0]+")


@lru_cache(maxsize=1)
def text_face() -> str:
    """Give the name by which the library knows the face, once it has read it."""
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    file = resources.files("nameplate.pdf").joinpath(*FILE)
    registerFont(TTFont(TEXT_FACE, BytesIO(file.read_bytes()), asciiReadable=False))
    return TEXT_FACE


def lacking(text: str) -> str:
    """Give the letters of a text that the face does not have, each once.

    >>> lacking("Nguyễn & Δήμητρα"), lacking("漢字漢")
    ('', '漢字')
    """
    from reportlab.pdfbase.pdfmetrics import getFont

    has = getFont(text_face()).face.charToGlyph
    return "".join(dict.fromkeys(letter for letter in text if letter > " " and ord(letter) not in has))


def printable(text: str) -> str:
    """Give a text as the library can write it: without control characters, a sign for each letter that the face lacks.

    >>> printable("Zoë\\t漢")
    'Zoë \ufffd'
    """
    lacks = lacking(text)
    return "".join(" " if c < " " else "\ufffd" if c in lacks else c for c in text)


@lru_cache(maxsize=4096)
def width_of(text: str, size: float) -> float:
    """Give the width (mm) of a text of one line, its size in points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(printable(text), text_face(), size)) / POINTS


def broken(text: str, size: float, width: float) -> tuple[str, ...]:
    """Break a text into lines of at most ``width`` mm, between words where they fit, its size in points.

    >>> broken("Wren Abara", 12, 100), broken("Wren Abara", 12, 15), broken("", 12, 15)
    (('Wren Abara',), ('Wren', 'Abara'), ())
    >>> broken("Wrenabara", 12, 15), broken("oak, 4\\xa0mm ", 12, 15) == ("oak,", "4\\xa0mm")
    (('Wrena', 'bara'), True)
    """
    lines: list[str] = []
    for word in _WORD.findall(text):
        if lines and width_of(f"{lines[-1]} {word}", size) <= width:
            lines[-1] += f" {word}"
        else:
            lines += _pieces(word, size, width)
    return tuple(lines)


def _pieces(word: str, size: float, width: float) -> list[str]:
    """Cut a word that is too long for a line, each piece as long as fits and at least a letter."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and width_of(pieces[-1] + letter, size) > width:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def fitted(text: str, width: float, *, sizes: tuple[float, ...], lines: int) -> tuple[float, tuple[str, ...]]:
    """Give the largest of some ``sizes`` (points, falling) at which a text fits ``lines`` without a word cut, and the
    lines; of a text that never fits those of the last size, the rest of it left out.

    >>> fitted("Wren Abara", 15, sizes=(12, 6), lines=1)
    (6, ('Wren Abara',))
    >>> fitted("Wren Abara of the Orchard", 15, sizes=(12,), lines=2)
    (12, ('Wren', 'Abara …'))
    """
    for size in sizes:
        found = broken(text, size, width)
        if len(found) <= lines and " ".join(found) == " ".join(_WORD.findall(text)):
            return size, found
    return sizes[-1], found if len(found) <= lines else (*found[: lines - 1], f"{found[lines - 1]} …")
