"""What a ticket says of lettering and of its lines; a field a key, as in `schema.py`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from nameplate.ticket.keys import key

#: No face is wider or higher, nor anything on it (mm): beyond the beds of the lasers that cut sheets.
LARGEST_FACE = 3_000.0

#: The least web (mm) that can be asked for. A written curve may thin a web by WEB_SLACK_BURN, 0.09 mm: half of it is
#: left here, and less could not be told from a web that burned away.
LEAST_WEB = 0.2


def length_on_face(help: str, *, unset: str, example: float) -> Any:  # noqa: ANN401 - a dataclass field
    """Return a length of something on a face, or of the face, that a ticket may leave out."""
    return key.length(None, help, above=0, most=LARGEST_FACE, unset=unset, example=example)


@dataclass(frozen=True, slots=True)
class LetteringKeys:
    """`[lettering]`: how the names are set and made."""

    font: tuple[str, ...] = key.fonts(("Pacifico",), "a bundled name or a path; a list adds fallbacks")
    mount: str = key.choice(
        "applied",
        "how the name meets the plate: glued on, cut through it, glued on with a backing, or scored on it",
        choices=("applied", "pierced", "backed", "marked"),
    )
    words: str = key.choice(
        "auto",
        "how several words are set: what suits (of shape none with a width or height alone, one line), tied on one "
        "line, a line a word, underlined, or apart",
        choices=("auto", "tie", "stack", "bar", "loose"),
    )
    word_space: float = key.number(
        0.6, "least share of the font's word space that stays between tied words", least=0, most=2
    )
    max_height: float | None = length_on_face(
        "the lettering is never taller than this", unset="as tall as the face allows", example=30
    )
    place: str = key.choice(
        "centre",
        "centre: on the face's axis, in the middle to the eye; largest: where the letters get largest",
        choices=("centre", "largest"),
    )
    align: str = key.choice(
        "centre",
        "where lines stand to each other, and one line in a zone that is wider",
        choices=("left", "centre", "right"),
    )
    arc: float = key.length(
        0.0,
        "radius of the arc that letters stand on, of several lines the largest; 0 is straight, under 0 it bows down",
        least=-LARGEST_FACE,
        most=LARGEST_FACE,
        example=90,
    )
    size: str = key.choice("fill", "fill each face, or one size and baseline for all", choices=("fill", "uniform"))
    legibility: str = key.choice(
        "refuse",
        "a pierced name that would read as another is refused or warned of; off judges no letters",
        choices=("refuse", "warn", "off"),
    )
    min_web: float = key.length(1.5, "no part of a letter is narrower than this", least=LEAST_WEB, most=50)
    features: tuple[str, ...] = key.features((), "OpenType features turned on and off", example=("ss01", "-calt"))
    weight: float | None = key.number(
        None, "weight of a variable font", least=1, most=1000, unset="the font's own", example=700
    )
    axes: tuple[tuple[str, float], ...] = key.axes(
        (), "other axes of a variable font", unset="the font's own", example={"wdth": 90}
    )

    backing: float = key.length(4.0, "a backing stands out this far all round", above=0, most=200)
    backing_holes: float = key.length(3.0, "holes of a backing under this width are filled", least=0, most=200)
    register: str = key.choice(
        "score",
        "what places a name on its backing: its outline scored there, or a template with a window for it",
        choices=("score", "template"),
    )
    mark: str = key.choice("hatch", "how a marked name, or a scored line, is scored", choices=("outline", "hatch"))
    hatch: float = key.length(0.3, "distance of the hatch lines of a marked name or a scored line", least=0.05, most=5)
    load: float = key.number(2.0, "handling load in newtons that a name must bear", above=0, most=100)
    strengthen: bool = key.flag(True, "widen thin spots that the handling load would break")

    @property
    def font_axes(self) -> dict[str, float]:
        """All axes of the first font, the weight among them, by tag or name."""
        return dict(self.axes) | ({"weight": self.weight} if self.weight is not None else {})


@dataclass(frozen=True, slots=True)
class LineKeys:
    """`[[line]]`: a line in a style of its own, from the top down; without any, the name and below it its line2."""

    text: str = key.wording(
        "",
        "what it says; columns of the list stand in braces, and where they are empty the line is left out",
        unset="it must be there",
        example="In memory of",
    )
    font: tuple[str, ...] = key.fonts(
        (),
        "a bundled name or a path; a list adds fallbacks",
        unset="the row's, or that of [lettering]",
        example="Satisfy",
    )
    scale: float = key.number(
        1.0, "height of its small letters against those of the largest line", least=0.05, most=1, example=0.45
    )
    size: float | None = length_on_face(
        "the em of this line, instead of a scale; each other line then has a size, too, or a scale against the largest",
        unset="as large as the face allows",
        example=12,
    )
    gap: float | None = key.number(
        None,
        "least distance of its ink from the line above, in em of the largest line",
        least=0,
        most=5,
        unset="lines stand close (0.08)",
        example=0.2,
    )
    align: str | None = key.choice(
        None,
        "where it stands among the other lines",
        choices=("left", "centre", "right"),
        unset="as [lettering] has it",
        example="left",
    )
    features: tuple[str, ...] | None = key.features(
        None, "OpenType features turned on and off", unset="those of [lettering]", example=("smcp",)
    )
    weight: float | None = key.number(
        None, "weight of a variable font", least=1, most=1000, unset="the font's own", example=700
    )
    operation: str = key.choice(
        "cut",
        "what the beam does: cut as its mount says, or score on a plaque cut here, as [lettering] mark says",
        choices=("cut", "score"),
    )
