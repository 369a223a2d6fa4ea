"""What looks otherwise than on the last proof: what is drawn decides, not what the ticket says."""

import json
from dataclasses import replace

from nameplate.geometry.region import EMPTY, moved, rectangle
from nameplate.model import Face, Lettering, Order, Part, Plate
from nameplate.paperwork.seen import differences, seen_of

FACE = Face(rectangle(-55, -40, 55, 40), rectangle(-49, -34, 49, 34), EMPTY, "rectangle")
WREN = Plate(Order("001", 2, "Wren"), Lettering(rectangle(-30, -5, 30, 15), 20.0, 14.0, ("Wren",), 1))


def said(plate=WREN, face=FACE):
    return differences(json.loads(seen_of(WREN, FACE)), json.loads(seen_of(plate, face)))


def lettering(**keys):
    return replace(WREN, lettering=replace(WREN.lettering, **keys))


def test_where_lettering_may_lie_is_not_seen_and_what_is_drawn_is():
    assert said(face=replace(FACE, zone=rectangle(-20, -20, 20, 20))) == ()
    assert said(face=replace(FACE, outline=rectangle(-55, -40, 55, 41))) == ("the plaque is drawn otherwise",)
    assert said(face=replace(FACE, artwork=rectangle(-55, -40, 55, -38))) == ("the plaque is drawn otherwise",)


def test_a_name_that_is_moved_or_drawn_otherwise_is_seen_to_be_from_a_fifth_of_a_millimetre_on():
    region = WREN.lettering.region
    assert said(lettering(region=moved(region, 0.1, 0.1))) == ()
    assert said(lettering(region=moved(region, 0.0, 0.3))) == ("it stands elsewhere",)
    assert said(lettering(lines=("Wr", "en"))) == ("its lines are broken elsewhere",)
    assert said(lettering(size=19.0)) == ("it is set smaller",)
    assert said(lettering(region=rectangle(-29, -4, 29, 14))) == ("its letters are drawn otherwise",)
    backed = replace(WREN, parts=(Part("001", "backing", "backing", rectangle(-35, -9, 35, 19)),))
    assert said(backed) == ("its letters are drawn otherwise",)


def test_a_plate_that_is_not_made_is_not_seen():
    assert seen_of(replace(WREN, lettering=None), FACE) == ""
