"""The texts of a card of the proof, set so that all of them have room: in smaller letters where there is much to say.

Only what has no room in the smallest letters is shortened, and ends with three dots: what changed, what to look at,
then what it is of, of which the workshop can tell more. Nothing is left out without a sign of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from nameplate.paperwork.proof import Card
from nameplate.pdf.text_face import broken, fitted, width_of

#: What the letters of a card are made smaller by, until all that it says has room.
SMALLER = (1.0, 0.92, 0.85, 0.78, 0.7)

MORE = "\N{HORIZONTAL ELLIPSIS}"


@dataclass(frozen=True, slots=True)
class Letters:
    """How a form of the proof sets what a card says, sizes in points.

    A name is tried in the sizes of `names`, to stand on so many `name_lines`. Lines are `leading` mm apart a point;
    `gap` mm is above each paragraph, and a sign before one takes an `indent` (mm). Texts may be so many times as
    `wide` as in the face of PDF files. Behind a name the number is `beside` it, where that fits its last line.
    """

    names: tuple[float, ...]
    name_lines: int
    size: float
    leading: float
    gap: float
    indent: Callable[[float], float]
    wide: float = 1.0
    beside: bool = False

    def smaller(self, by: float) -> Letters:
        """Give the same in smaller letters."""
        return replace(self, names=tuple(by * name for name in self.names), size=by * self.size)


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A text of a card, as far as it has room, and its lines, with the sign before it; `told` says what it is."""

    told: str
    sign: str
    text: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CardTexts:
    """What a card says, in letters so many times as large (`by`): its name in lines of a size, then paragraphs."""

    by: float
    letters: Letters
    name_size: float
    name: tuple[str, ...]
    beside: bool
    paragraphs: tuple[Paragraph, ...]

    @property
    def height(self) -> float:
        """What all of it takes (mm)."""
        of_name = len(self.name) * self.name_size * self.letters.leading
        lines = sum(len(one.lines) for one in self.paragraphs)
        return of_name + len(self.paragraphs) * self.letters.gap + lines * self.letters.size * self.letters.leading

    def text(self, told: str) -> str:
        """Give what is told of one thing, as far as it has room; empty where nothing is."""
        return next((one.text for one in self.paragraphs if one.told == told), "")


def texts_of(card: Card, signs: Sequence[str], width: float, height: float, letters: Letters, note: str) -> CardTexts:
    """Set what a card says in a room (mm), in the largest letters in which all of it fits.

    `signs` are those of what is said of its approval, and of what to look at; a `note` about the text comes behind.
    """
    texts = [
        ("count", "", card.count),
        ("signed", signs[0], card.signed),
        ("look", signs[1], card.look),
        ("note", "", note),
        *(("fact", "", fact) for fact in card.facts),
    ]
    said = [one for one in texts if one[2]]
    for by in SMALLER:
        found = _set(card, said, by, width, letters.smaller(by))
        if found.height <= height:
            return found
    for told in ("signed", "look", "fact"):
        while found.height > height and (less := _shortened(found, told)) is not None:
            found = less
    return found


def _set(card: Card, said: Sequence[tuple[str, str, str]], by: float, width: float, letters: Letters) -> CardTexts:
    room = width / letters.wide
    name_size, name = fitted(card.heading, room, sizes=letters.names, lines=letters.name_lines)
    size = letters.size
    ends = width_of(f"{name[-1]}  ", name_size) + width_of(card.count, size) if name else 0.0
    beside = letters.beside and ends <= room
    paragraphs = tuple(
        Paragraph(told, sign, text, broken(text, size, room - (letters.indent(size) if sign else 0.0)))
        for told, sign, text in said
        if not (beside and told == "count")
    )
    return CardTexts(by, letters, name_size, name, beside, paragraphs)


def _shortened(texts: CardTexts, told: str) -> CardTexts | None:
    """Give the texts with a line less of one paragraph; None where that has only one, or there is none."""
    at = next((n for n, one in enumerate(texts.paragraphs) if one.told == told and len(one.lines) > 1), None)
    if at is None:
        return None
    own = texts.paragraphs[at]
    *kept, last = own.lines[:-1]
    cut = last.removesuffix(MORE).rstrip().rsplit(" ", 1)[0].rstrip(",;")
    lines = (*kept, f"{cut} {MORE}")
    shorter = replace(own, text=" ".join(lines), lines=lines)
    return replace(texts, paragraphs=(*texts.paragraphs[:at], shorter, *texts.paragraphs[at + 1 :]))
