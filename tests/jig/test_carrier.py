import math
import re
from dataclasses import replace

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import MultiPoint, Point

from nameplate.geometry import region as rg
from nameplate.jig.carrier import (
    POSES,
    plan_carrier,
    poses_that_fit,
    register_motions,
    template_holes,
    template_outline,
)
from nameplate.jig.closure import is_closed, joined, pin_contacts, pin_tilt
from nameplate.jig.layers import carrier_parts, judge_stack, parts_list, pin_length, stack_for
from nameplate.jig.window import make_opening
from nameplate.model import Face
from nameplate.ticket.schema import JigKeys

KEYS = JigKeys(style="carrier", clearance=0.2, pin=3.0)
NAMES = ["ellipse", "rectangle", "shield", "apple"]


def template_on(plan, lettering):
    opening = make_opening(lettering.region, KEYS)
    outline = template_outline(plan, opening.region)
    return rg.difference(outline, rg.union(opening.region, *(hole for _, hole in template_holes(plan))))


@pytest.mark.parametrize("name", NAMES)
def test_the_pocket_takes_the_face_with_the_clearance(faces, name):
    plan = plan_carrier(faces[name], KEYS)
    assert rg.hausdorff(plan.pocket, rg.offset(faces[name].outline, 0.2)) < 1e-6
    wall = rg.difference(plan.outline, plan.pocket)
    assert len(rg.solids(wall)) == 1 and rg.hole_count(wall) == 1
    assert rg.covers(rg.offset(wall, -2.4), rg.EMPTY) or not rg.offset(wall, -2.4).is_empty


@pytest.mark.parametrize("name", NAMES)
def test_pins_stand_in_material_clear_of_pocket_and_edge(faces, name):
    plan = plan_carrier(faces[name], KEYS)
    thick = plan_carrier(faces[name], replace(KEYS, pin=6.0))
    walls = [Point(p.hole).distance(p.pocket) - p.pin / 2 for p in (plan, thick)]
    assert walls[0] == pytest.approx(walls[1], abs=0.5), "as much stands before a thick pin"
    assert plan.key[0] < plan.hole[0] < plan.slot[0] and plan.key[1] > plan.hole[1] == plan.slot[1], (
        "the key upper left"
    )
    for pin in plan.pins:
        round_pin = Point(pin).buffer(1.5)
        assert round_pin.distance(plan.pocket) >= 2.0
        assert plan.outline.covers(round_pin.buffer(2.0))


@pytest.mark.parametrize("name", NAMES)
def test_a_template_is_one_sound_piece_with_webs(faces, handwriting, name):
    plan = plan_carrier(faces[name], KEYS)
    template = template_on(plan, handwriting)
    assert len(rg.solids(template)) == 1
    assert rg.hole_count(template) == 4
    eroded = rg.offset(template, -0.7)
    assert len([s for s in rg.solids(eroded) if s.area > 0.05]) == 1


@pytest.mark.parametrize("name", NAMES)
def test_round_hole_and_slot_hold_the_template_in_form_closure(faces, name):
    # Drake (ed.), Dimensioning and Tolerancing Handbook, 1999, ch. 24
    plan = plan_carrier(faces[name], KEYS)
    line = math.degrees(math.atan2(*(plan.slot - plan.hole)[::-1]))
    assert is_closed(joined(pin_contacts(plan.hole), pin_contacts(plan.slot, slot=line)))
    assert not is_closed(joined(pin_contacts(plan.hole), pin_contacts(plan.slot, slot=line + 90)))
    pitch = float(np.linalg.norm(plan.slot - plan.hole))
    # the stated turn is the tilt formula at the clearance of 0.1 plus what the cuts may be off
    assert pin_tilt(0.1, pitch) < register_motions(plan).turn < pin_tilt(0.16, pitch)


def wrong_ways(plan, template):
    """Search all poses of a template, both sides up: those in which the pins pass and stand in all three holes."""
    pins = MultiPoint([Point(p) for p in plan.pins])
    holes = [hole for _, hole in template_holes(plan)]
    centres = [np.array(rg.bounds(hole).centre) for hole in holes]
    found = []
    for flipped in (False, True):
        for angle in np.arange(0.0, 360.0, 0.5):
            c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
            matrix = np.array([[c, -s], [s, c]]) @ (np.diag([-1.0, 1.0]) if flipped else np.eye(2))
            for pin in plan.pins:  # the round hole can only be on one of the pins
                shift = pin - matrix @ centres[0]
                placed = [matrix @ centre + shift for centre in centres]
                gaps = [min(np.linalg.norm(p - q) for q in plan.pins) for p in placed]
                if max(gaps) > 2.5:
                    continue
                moved = affinity.affine_transform(template, [*matrix.ravel(), *shift])
                if pins.buffer(1.4).intersection(moved).area < 0.3:
                    found.append((flipped, float(angle), tuple(np.round(shift, 3))))
    return found


@pytest.mark.parametrize("name", NAMES)
def test_a_template_goes_on_in_exactly_one_pose(faces, handwriting, name):
    plan = plan_carrier(faces[name], KEYS)
    found = wrong_ways(plan, template_on(plan, handwriting))
    assert found and all(not flipped and min(angle, 360 - angle) <= 1.0 for flipped, angle, _ in found)


@pytest.mark.parametrize("name", NAMES)
def test_only_the_meant_pose_of_the_four_fits(faces, handwriting, name):
    plan = plan_carrier(faces[name], KEYS)
    assert poses_that_fit(plan, template_on(plan, handwriting)) == ("as meant",)


def test_without_the_key_hole_two_pins_let_a_template_be_flipped(faces, handwriting):
    # the reason for the third pin: the two locating holes lie on the line of a flip
    from dataclasses import replace

    plan = plan_carrier(faces["ellipse"], KEYS)
    keyless = replace(plan, key=plan.hole)
    template = rg.union(template_on(plan, handwriting), rg.disc(plan.key, 4.2))
    assert set(poses_that_fit(keyless, template)) >= {POSES[0], POSES[2]}


@pytest.mark.parametrize("height", [-36.0, -26.0, 0.0, 26.0, 36.0])
def test_a_name_far_from_the_pins_is_joined_to_its_ears(face_of, ellipse_of, lettering_of, height):
    plan = plan_carrier(face_of(ellipse_of(110, 90)), KEYS)
    name = lettering_of(
        rg.union(rg.rectangle(-20, height - 4, -2, height + 4), rg.rectangle(2, height - 4, 20, height + 4))
    )
    template = template_on(plan, name)
    assert len(rg.solids(template)) == 1 and rg.hole_count(template) == 5
    eroded = rg.offset(template, -1.4)
    assert len([s for s in rg.solids(eroded) if s.area > 0.05]) == 1
    assert poses_that_fit(plan, template) == ("as meant",)


def test_templates_save_stock(faces, handwriting):
    # fifty band templates and their carrier against fifty frames of the carrier's own outline
    for name in NAMES:
        plan = plan_carrier(faces[name], KEYS)
        outline = template_outline(plan, make_opening(handwriting.region, KEYS).region)
        assert 50 * outline.area + 2 * plan.outline.area < 0.6 * 50 * plan.outline.area, name


def test_layers_follow_the_plaques_height():
    assert stack_for(3.0, 3.0).layers == 2
    assert (stack_for(10.0, 3.0).walls, stack_for(10.0, 3.0).proud) == (3, pytest.approx(1.0))
    assert stack_for(2.9, 3.0).walls == 1
    keys = JigKeys(plaque_height=10.0)
    (finding,) = judge_stack(stack_for(10.0, 3.0), keys)
    assert "washers of 1.0 mm" in finding.message
    (finding,) = judge_stack(stack_for(2.0, 3.0), JigKeys(plaque_height=2.0))
    assert "thinner" in finding.message and finding.measured == -1.0
    assert judge_stack(stack_for(6.0, 3.0), keys) == ()


def test_the_carriers_parts_and_what_to_buy(faces):
    plan = plan_carrier(faces["ellipse"], KEYS)
    stack = stack_for(8.0, 3.0)
    parts = carrier_parts(plan, stack, "ORCHARD")
    assert [p.layer for p in parts] == [1, 2, 3]
    assert {p.kind for p in parts} == {"carrier"} == {p.material for p in parts}
    floor, *walls = parts
    assert [name for name, _ in floor.features] == ["pin-hole"] * 3 + ["release"]
    for wall in walls:
        assert [name for name, _ in wall.features] == ["pin-hole"] * 3 + ["pocket"]
        assert len(rg.solids(wall.region)) == 1 and rg.hole_count(wall.region) == 4
    pins, washers = parts_list(plan, stack, 1.0)
    assert pins["count"] == 3 and pins["length"] == pin_length(stack, 1.0) == 15.0
    assert washers["what"] == "washer" and washers["length"] == 2.0


def test_a_finger_goes_alike_under_either_ear(faces):
    plan = plan_carrier(faces["ellipse"], KEYS)
    template = template_outline(plan, rg.rectangle(-20, -5, 20, 5))
    ends, ears = rg.bounds(plan.outline), rg.bounds(template)
    middle = float(plan.hole[1])
    across = rg.intersection(plan.outline, rg.rectangle(ends.x0, middle - 0.01, ends.x1, middle + 0.01))
    under = (rg.bounds(across).x0 - ears.x0, ears.x1 - rg.bounds(across).x1)
    assert under[0] == pytest.approx(under[1], abs=0.01) and 2 < under[0] < 4  # a fingernail (common practice)


@pytest.mark.parametrize("room", [9.0, 13.5, 19.5, 30.0])
def test_the_hole_to_push_a_plaque_out_is_a_fingers_width_or_most_of_what_there_is(face_of, room):
    # a finger is some 16 to 20 mm wide (common practice)
    plan = plan_carrier(face_of(rg.rectangle(-60, -room / 2 - 2, 60, room / 2 + 2), inset=1), KEYS)
    floor, *_ = carrier_parts(plan, stack_for(3.0, 3.0), "ORCHARD")
    hole = rg.bounds(dict(floor.features)["release"])
    assert min(room, 16) * 0.55 < hole.width < min(room, 22)
    assert rg.distance(dict(floor.features)["release"], rg.rectangle(-60, room / 2 + 2, 60, 90)) >= 2


def test_no_finger_pushes_where_the_plaque_has_a_hole(faces):
    holed = replace(faces["ellipse"], keep_outs=rg.disc((0, 0), 12))
    floor, *_ = carrier_parts(plan_carrier(holed, KEYS), stack_for(3.0, 3.0), "ORCHARD")
    assert "release" not in dict(floor.features)


def test_the_note_of_the_pins_says_what_a_relieved_one_forgives(faces):
    """So far the pin shifts along its land until the land's corner is on the hole's circle."""
    plan = plan_carrier(faces["ellipse"], JigKeys(style="carrier"))
    note = str(parts_list(plan, stack_for(3.0, 3.0), 1.0)[0]["note"])
    land, spacing = map(float, re.findall(r"[0-9.]+(?= mm)", note))
    hole = rg.bounds(template_holes(plan)[0][1]).width
    corner = land / 2, math.sqrt(plan.pin**2 - land**2) / 2
    assert math.hypot(corner[0] + spacing, corner[1]) == pytest.approx(hole / 2, abs=0.006)


def test_the_floor_keys_a_plaque_whose_hole_tells_its_top(faces):
    ellipse = faces["ellipse"]
    hole = rg.disc((0, 30), 5)
    keyed = Face(ellipse.outline, rg.difference(ellipse.zone, hole), hole, "ellipse")
    plan = plan_carrier(keyed, KEYS)
    assert rg.hausdorff(plan.pegs, hole) < 1e-9
    floor = carrier_parts(plan, stack_for(3, 3), "T")[0]
    assert "check" in [name for name, _ in floor.features]
    assert "peg" in [row["what"] for row in parts_list(plan, stack_for(3, 3), 1)]
    both = rg.union(hole, rg.disc((0, -30), 5))
    assert plan_carrier(Face(ellipse.outline, ellipse.zone, both, "e"), KEYS).pegs.is_empty


def test_a_carrier_reaches_two_millimetres_past_the_ears(faces, handwriting):
    plan = plan_carrier(faces["ellipse"], KEYS)
    ears, edge = (rg.bounds(shape) for shape in (template_on(plan, handwriting), plan.outline))
    assert (ears.x0 - edge.x0, edge.x1 - ears.x1) == pytest.approx((2, 2), abs=0.1)  # rims are as exact as 0.05
