"""What is told before ordering."""

from nameplate.geometry.region import difference, rectangle
from nameplate.nest.buying.quote import typical_plate
from nameplate.nest.layout import Piece

#: Names of four widths (mm).
WIDTHS = {"1": 20, "2": 40, "3": 50, "4": 60}


def pieces(*, windows):
    for plate, width in WIDTHS.items():
        name, face = rectangle(0, 0, width, 10), rectangle(0, 0, 80, 50)
        yield Piece(plate, "lettering", 1, 1, "lettering", difference(name, rectangle(1, 1, width - 1, 9)))
        yield Piece(plate, "template", 1, 1, "template", difference(face, name) if windows else face)


def test_a_draft_and_the_finished_job_have_the_same_typical_plate():
    # with a window as wide as the name a plate has the less area the wider its name is
    for windows in (False, True):
        assert {piece.plate for piece in typical_plate(list(pieces(windows=windows)))} == {"3"}
