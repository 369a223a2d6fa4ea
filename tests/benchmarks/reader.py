"""Calibrates the measure of legibility with an independent reader: finished plates are shown to Tesseract.

Terms. A name is *readable* in a font when the reader reads it in half of the showings of the plain font; only such
names say anything. A finished plate is *read* when it is read in at least one showing, because the reader is brittle,
and *clear* when it is read in three quarters of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import compress, product

from nameplate.face.making import make_face
from nameplate.geometry.region import Region, difference, intersection, moved, offset, union
from nameplate.model import Order, Plate
from nameplate.plates.make import PlateContext, make_plate
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import FaceKeys, JigKeys, Ticket
from nameplate.typesetting.block import Block
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.setting import Setting
from nameplate.typesetting.ways import ways_to_set
from tests.reader.tesseract import SHOWINGS, readings, times_read

#: Fonts in which the reader reads enough of the names as the font draws them.
FONTS = (
    "Pacifico",
    "Lobster",
    "Dancing Script Bold",
    "Satisfy",
    "Oleo Script Bold",
    "Playpen Sans ExtraBold",
)
MOUNTS = ("applied", "backed", "pierced")

#: Faces, width and height in mm: generous, middling and small.
FACES = ((110.0, 60.0), (80.0, 36.0), (60.0, 25.0))

#: Invented names: the thresholds were chosen on the first list and checked on the second, but that of pierced plates on
#: the third; nothing was chosen on the fourth.
#: The figures in DEVELOPERS.md say of which list they are.
CALIBRATION = (
    "Maria", "Familie Rau", "Oscar Dune", "Lotte Haal", "Peter Lunde", "Benedict", "Felicia", "Simon Glade",
    "Leonard", "Thea Nolan", "Marcel", "Orchard Lane", "Elowen", "Nora Quill", "Ida Brook", "Martin Sole",
    "Amelia", "Sabine Tarn", "Daniela", "Cecilia", "Paula Stone", "Eric Moss", "Tessa Bell", "Anneke",
)  # fmt: skip
HELD_OUT = (
    "Marlene", "Familie Held", "Olive Dean", "Lena Baum", "Patricia", "Beate Lane", "Florence", "Silas Oaten",
    "Lucas", "Theodor Leed", "Manuel Eden", "Apple Court", "Eleanor", "Nadia Loft", "Isabel", "Mathias",
    "Albert", "Stefan Hale", "Dorothea", "Celeste", "Pamela", "Elsa Crane", "Tamara", "Andrea",
)  # fmt: skip
FRESH = (
    "Margaret", "Familie Bock", "Hollis Vane", "Clara Thorn", "Rosalind", "Bram Ostler", "Gudrun", "Tobias Reed",
    "Lilian", "Edith Marsh", "Cornelia", "Ronan Tull", "Beatrice", "Arno Field", "Millie Cobb", "Orchid Row",
    "Helena", "Desmond", "Ursula Pike", "Camille", "Norbert", "Pear Meadow", "Annabel Finch", "Victor Dale",
)  # fmt: skip
LATER = (
    "Theresa", "Familie Lorch", "Alban Pryce", "Greta Holm", "Isolde", "Corin Wells", "Hedwig", "Jasper Lyle",
    "Miriam", "Owen Sturt", "Valerie", "Linus Farr", "Rosemary", "Hugo Plum", "Nellie Stone", "Quince Close",
    "Sophia", "Konrad", "Agnes Moor", "Delia", "Winifred", "Cider House", "Phoebe Larch", "Ludwig Rehn",
)  # fmt: skip
LISTS = {"calibration": CALIBRATION, "held-out": HELD_OUT, "fresh": FRESH, "later": LATER}

#: Figures of legibility under which a plate would be warned of, for the curve of what other limits would do.
WARNED_UNDER = (0.25, 1 / 3, 0.4, 0.5, 0.6, 2 / 3)

#: Codes of what is said of a plate's legibility.
SAID = frozenset({"misread", "hard-to-read"})

#: Ink within so many x-heights of a line belongs to it: more than thickening adds, less than reaches the next line.
NEAR = 0.12


@dataclass(frozen=True, slots=True)
class Case:
    """A plate and in how many showings the reader read its plain setting and, when it was made, the plate."""

    plate: Plate
    face: tuple[float, float]
    plain: int
    finished: int | None

    @property
    def warned(self) -> bool:
        """Tell whether something was said of how the plate reads, or it was not made at all."""
        return self.plate.lettering is None or any(f.code in SAID for f in self.plate.findings)

    @property
    def legibility(self) -> float:
        """Give the legibility of a plate that was made; 0 of any other."""
        return 0.0 if self.plate.lettering is None else self.plate.lettering.legibility or 0.0


def cases(
    names: Sequence[str],
    *,
    fonts: Sequence[str] = FONTS,
    mounts: Sequence[str] = MOUNTS,
    faces: Sequence[tuple[float, float]] = FACES,
) -> Iterator[Case]:
    """Make every name in every font, mount and face and have it read; names not readable in the font are left out."""
    for font, mount, face in product(fonts, mounts, faces):
        plates = [_plate(name, font, mount, face) for name in names]
        plain = _times_read(plates, [_drawn(plate) for plate in plates])
        readable = [(p, times) for p, times in zip(plates, plain, strict=True) if 2 * times >= SHOWINGS]
        made = [plate for plate, _ in readable if plate.lettering is not None]
        finished = iter(_times_read(made, [line_inks(plate) for plate in made]))
        for plate, times in readable:
            yield Case(plate, face, times, None if plate.lettering is None else next(finished))


def _times_read(plates: Sequence[Plate], inks: Sequence[Sequence[Region]]) -> list[int]:
    """Count the showings in which every line of a plate was read, for each of some plates."""
    texts = iter(readings([ink for lines in inks for ink in lines]))
    read = [[times_read(line, next(texts)) for line in _setting(plate).lines] for plate in plates]
    return [min(times) for times in read]


def _plate(name: str, font: str, mount: str, face: tuple[float, float]) -> Plate:
    keys = FaceKeys(shape="rectangle", width=face[0], height=face[1], inset=3.0)
    ticket = Ticket(
        face=keys, lettering=LetteringKeys(font=(font,), mount=mount, legibility="warn"), jig=JigKeys(style="none")
    )
    order = Order("1", 2, name, fonts=(font,), mount=mount)
    return make_plate(PlateContext.of(ticket, make_face(keys)[0], cuts=False), order)[0]


def _setting(plate: Plate) -> Setting:
    """Give how a plate's name was set; on one line where it was not made."""
    ways = ways_to_set(plate.order.name, plate.order.line2, load_font(plate.order.fonts[0]), Block("auto"))
    lines = ways[0].lines if plate.lettering is None else plate.lettering.lines
    return next(way.setting for way in ways if way.lines == lines)


def _drawn(plate: Plate) -> list[Region]:
    """Give the lines of a plate as its font draws them, in em."""
    setting = _setting(plate)
    return [union(*(g.region for g in setting.glyphs if g.line == n)) for n in range(len(setting.lines))]


def line_inks(plate: Plate) -> list[Region]:
    """Give the finished ink of each line of a plate: what lies near the line as drawn, and in no other line."""
    lettering, setting = plate.lettering, _setting(plate)
    assert lettering is not None
    lines = [moved(ink, *lettering.origin, scale=lettering.size) for ink in _drawn(plate)]
    near = NEAR * setting.x_height * lettering.size
    return [
        intersection(lettering.region, difference(offset(own, near), union(*lines[:n], *lines[n + 1 :])))
        for n, own in enumerate(lines)
    ]


def print_readings(names: Sequence[str]) -> None:
    """Print, by font, mount and in all, how many plates without a warning are read, and how many warnings are idle."""
    found = [case for font in FONTS for case in _told(font, names)]
    for mount in MOUNTS:
        _tell(mount, [case for case in found if case.plate.order.mount == mount])
    _tell("all", found)
    for least in WARNED_UNDER:
        _tell(f"if warned under {least:.2f}", found, least)


def _told(font: str, names: Sequence[str]) -> list[Case]:
    found = list(cases(names, fonts=[font]))
    _tell(font, found)
    return found


def _tell(what: str, found: Sequence[Case], least: float | None = None) -> None:
    """Print what became of some plates; with a `least` legibility as if those under it had been warned of."""
    made = [case for case in found if case.finished is not None]
    said = [case.warned if least is None else case.legibility < least for case in made]
    warned = list(compress(made, said))
    read = sum(bool(case.finished) for case, hard in zip(made, said, strict=True) if not hard)
    idle = sum(4 * (case.finished or 0) >= 3 * SHOWINGS for case in warned)
    print(
        f"{what:24s} {len(made):4d} made  {read:4d} of {len(made) - len(warned):4d} without a warning are read  "
        f"{idle:3d} of {len(warned):3d} warnings are of plates read in three quarters of the showings",
        flush=True,
    )
