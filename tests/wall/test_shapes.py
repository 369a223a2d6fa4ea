"""What plates cover and where they hang: faces by their drawings, free names by their lettering and its rings."""

from dataclasses import replace

import pytest

from nameplate.geometry.region import EMPTY, bounds, disc, rectangle, union
from nameplate.model import Face, HangingRings, Lettering
from nameplate.wall.shapes import hanger_findings
from tests.wall.walls import PLAIN, codes, face, orders, planned, wall

#: A face with the two screw holes of its drawing, a round window and a square hole.
GOLD = Face(
    rectangle(-80, -30, 80, 30),
    rectangle(-60, -25, 60, 25),
    union(disc((72, 0), 5), disc((-72, 0), 5), disc((0, 10), 20), rectangle(0, -20, 4, -16)),
    "gold",
)
SILVER = Face(rectangle(-60, -30, 60, 30), rectangle(-50, -25, 50, 15), disc((0, 24), 5), "silver")


def free(width, height, **more):
    """What stands for the face of names that stand free; a side that was not asked for is 6000 long."""
    box = rectangle(-width / 2, -height / 2, width / 2, height / 2)
    return Face(box, box, EMPTY, "none", free=True, **more)


def lettering(width, height, *rings):
    """A free name about its middle, with rings that stand out of it."""
    region = union(rectangle(-width / 2, -height / 2, width / 2, height / 2), *(disc(at, 8) for at in rings))
    hung = HangingRings(4, 2, rings, 0.0, width, height) if rings else None
    return Lettering(region, 10, 7, ("Name",), 1, rings=hung)


def holes(plan):
    """Where the holes of each plate are, from its place."""
    return {
        h.plate.id: [(round(hole.x - h.place.x, 6), round(hole.y - h.place.y, 6)) for hole in h.holes]
        for h in plan.hangings
    }


FEW = {"columns": 3, "rows": 2, "width": 900.0, "height": 500.0, "pitch": None, "fit": True, "stagger": 0.0}
BRONZE = free(6000, 30, ring=4)


def test_a_free_name_is_as_large_as_its_lettering_and_hangs_by_its_ring_with_its_own_middle_at_its_place():
    made = {"001": lettering(120, 30, (3, 17)), "002": lettering(60, 30, (-2, 16)), "003": lettering(90, 30, (0, 17))}
    plan = planned(wall(**FEW, hanger=((0.0, 25.0),)), orders(3), {"": BRONZE}, made)
    assert holes(plan) == {"001": [(3, 17)], "002": [(-2, 16)], "003": [(0, 17)]}
    assert [round(bounds(outline).width) for outline in plan.outlines] == [120, 60, 90]
    assert not {"wall-overlap", "wall-edge", "wall-stand-in"} & set(codes(plan))
    # spread are boxes of 120 x 36: the rings' discs reach 21 above the middle, the letters 15 below it
    assert plan.grid.pitch == pytest.approx((120 + (900 - 3 * 120) / 4, 36 + (500 - 2 * 36) / 3), abs=0.05)
    top, low = plan.grid.places[0].y + 21, plan.grid.places[-1].y - 15
    assert plan.grid.wall.y1 - top == pytest.approx(low - plan.grid.wall.y0, abs=0.05)


def test_two_rings_are_two_holes_and_moved_must_name_both():
    made = {"001": lettering(70, 20, (-38, 4), (38, 4))}
    ends = {"": free(70, 6000, ring=4, ring_at="ends")}
    plan = planned(wall(**FEW, moved=(("001", ((1.0, 0.0), (0.5, 0.0))),)), orders(1), ends, made)
    assert holes(plan) == {"001": [(-37, 4), (38.5, 4)]}
    one = planned(wall(**FEW, moved=(("001", ((1.0, 0.0),)),)), orders(1), ends, made)
    (said,) = [f.message for f in one.findings if f.severity == "error"]
    assert said.startswith("[wall] moved gives 001 1 hole, and the plate has 2")
    assert not any(hole.drilled for h in one.hangings for hole in h.holes)


def test_free_names_that_are_not_made_are_planned_like_the_largest_and_that_is_said():
    made = {"001": lettering(120, 30, (3, 17)), "002": lettering(60, 32, (-2, 16))}
    plan = planned(wall(**FEW), orders(3), {"": BRONZE}, made)
    assert (round(bounds(plan.outlines[2]).width), holes(plan)["003"]) == (120, [(3, 17)])
    (note,) = [f.message for f in plan.findings if f.code == "wall-stand-in"]
    assert "(003)" in note
    nothing = planned(wall(**FEW), orders(1), {"": BRONZE})
    assert bounds(nothing.outlines[0]).width == 30
    assert holes(nothing) == {"001": [(0, 15)]}
    assert not planned(wall(**FEW), [], {"": BRONZE}).hangings


def test_plates_hang_by_the_round_holes_of_their_own_drawing_where_the_ticket_has_no_hanger():
    rows = [orders(1, design="gold")[0], orders(2, design="silver")[1], orders(3)[2]]
    faces = {"": PLAIN, "gold": GOLD, "silver": SILVER}
    plan = planned(wall(**FEW), rows, faces)
    assert holes(plan) == {"001": [(-72, 0), (72, 0)], "002": [(0, 24)], "003": [(0, 0)]}
    (note,) = [f.message for f in plan.findings if f.code == "wall-hangers"]
    assert "(design gold: 2, design silver: 1): nothing to do. Faces without one (rows without a design) have" in note
    assert "at their middle: glue them there, or write hanger" in note
    said = planned(wall(**FEW, hanger=((0.0, 10.0),)), rows, faces)
    assert holes(said) == {plate: [(0, 10)] for plate in ("001", "002", "003")}
    assert "wall-hangers" not in codes(said)


def test_rows_without_a_design_are_spoken_of_only_where_there_are_any():
    def told(rows, faces, **keys):
        plan = planned(wall(**FEW, **keys), rows, faces)
        found = (*plan.findings, *hanger_findings(wall(**FEW, **keys), rows, faces, {}))
        return [f.message for f in found if f.code in ("wall-hangers", "wall-hanger")]

    golden, plain = orders(2, design="gold"), orders(3)[2:]
    faces = {"": SILVER, "gold": GOLD}
    for keys, beside in (({}, "rows without a design: 1, design gold: 2"), ({"hanger": ((0.0, 0.0),)}, "rows without")):
        (said,) = told([*golden, *plain], faces, **keys)
        assert beside in said
        (said,) = told(golden, faces, **keys)
        assert "without a design" not in said and "gold" in said
        (said,) = told(plain, {"": SILVER}, **keys)
        assert "without a design" not in said
    (alone,) = told(plain, {"": SILVER})
    assert alone.startswith("[wall] plates hang by the round holes of their faces (1 each): nothing to do")
    assert "without one" not in alone


@pytest.mark.parametrize(("wide", "said"), [(4.0, True), (6.0, False), (8.0, False)])
def test_holes_of_a_face_that_are_narrower_than_the_drill_nobody_chose_are_told(wide, said):
    face = replace(GOLD, keep_outs=disc((0, 24), wide))
    (note,) = [f.message for f in planned(wall(**FEW), orders(1), {"": face}).findings if f.code == "wall-hangers"]
    assert ("narrowest hole is 4.0 mm wide, and the wall is drilled 6 mm: write hole" in note) == said
    chosen = planned(wall(**FEW, hole=5.0), orders(1), {"": face})
    assert "narrowest" not in "".join(f.message for f in chosen.findings)


def test_faces_beside_free_names_keep_their_sizes():
    rows = [orders(1, design="gold")[0], orders(2)[1]]
    plan = planned(wall(**FEW), rows, {"gold": face(200, 70), "": BRONZE}, {"002": lettering(60, 30, (0, 17))})
    assert [round(bounds(outline).width) for outline in plan.outlines] == [200, 60]
    assert plan.grid.cell.width == pytest.approx(200)


def test_a_hanger_where_there_is_no_hole_or_lettering_lies_is_told_once():
    made = {"001": lettering(60, 20), "002": lettering(60, 60)}

    def told(at, one):
        return [f.message for f in hanger_findings(wall(hanger=(at,)), orders(3), {"": one}, made)]

    assert told((0.0, 24.0), SILVER) == [
        "[wall] hanger = [0, 24]: lettering lies over it (002); give the middle of the plaque's hole, and keep "
        "lettering off it"
    ]
    assert told((0.0, 0.0), SILVER) == [
        "[wall] hanger = [0, 0]: the plaque has no hole there and lettering lies over it (001, 002); give the middle "
        "of the plaque's hole, and keep lettering off it"
    ]
    assert told((72.0, 0.0), GOLD) == []
    assert told((52.0, 36.0), PLAIN) == [], "a plaque that is bought plain may be drilled anywhere"
    assert len(told((52.0, 0.0), replace(PLAIN, cut=True))) == 1
    assert len(told((80.0, 0.0), PLAIN)) == 1, "beside the plaque"
