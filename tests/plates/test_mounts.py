import math
from dataclasses import replace

import numpy as np
import pytest

from nameplate.geometry import region as rg
from nameplate.lettering.strength import weakest_neck
from nameplate.lettering.webs import webs_hold
from nameplate.model import GUIDE_LAYER, Neck, Order
from nameplate.plates.make import make_plate
from nameplate.plates.mounts import least_web, mounted, strengthened, thin_plaque, zone_for
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import JigKeys
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, MaterialKeys

from .contexts import FACE, context_for, face_of, plate_once


def made(mount, name="Wren", *, materials=DEFAULT_MATERIALS, face=None, make=plate_once, **keys):
    context = context_for(drawn=face, jig=JigKeys(style="template"), materials=materials, mount=mount, **keys)
    plate, jig = make(context, Order("7", 2, name, mount=mount, fonts=context.lettering.font))
    return context, plate, jig


def part(plate, kind):
    (found,) = [p for p in plate.parts if p.kind == kind]
    return found


def test_a_backing_is_the_lettering_grown_and_the_jig_locates_it():
    context, plate, jig = made("backed", "I", backing=4)
    lettering, backing = part(plate, "lettering").region, part(plate, "backing").region
    assert part(plate, "backing").material == "backing"
    assert rg.covers(rg.offset(backing, 0.01), rg.offset(lettering, 4))
    assert rg.covers(rg.offset(context.face.zone, 0.01), backing)
    # a convex shape grows by L r + pi r^2 (Steiner 1840), and this one lies in the hull of the lettering, so grown
    hull = rg.hull(lettering)
    assert backing.area <= hull.area + hull.length * 4 + math.pi * 16 + 1
    ((feature, window),) = jig.features
    assert feature == "window"
    assert rg.covers(window, backing)


@pytest.mark.parametrize("register", ["score", "template"])
def test_a_name_is_placed_on_its_backing_by_a_scored_line_or_a_window(register):
    _, plate, _ = made("backed", "Wren", register=register)
    lettering, backing = part(plate, "lettering").region, part(plate, "backing")
    guides = [p for p in plate.parts if p.layer == GUIDE_LAYER]
    if register == "score":
        assert not guides
        scored = rg.union(*(rg.from_ring(line[:-1]) for line in backing.marks))
        assert rg.hausdorff(scored, rg.filled(lettering)) < 0.01
    else:
        (guide,) = guides
        assert not backing.marks and guide.material == "template"
        assert len(rg.solids(guide.region)) == 1 and rg.covers(rg.filled(backing.region), guide.region)
        assert rg.distance(guide.region, lettering) == pytest.approx(0.2, abs=0.01)


def test_a_pierced_name_that_loses_much_of_its_letters_to_the_plate_is_pointed_out():
    _, large, _ = made("pierced", "Bob")
    _, small, _ = made(
        "pierced", "Abbé Inès", font=("Great Vibes",), words="tie", max_height=13, min_web=2, legibility="warn"
    )
    assert [f.code for f in large.findings if f.code == "letters-thinned"] == []
    (finding,) = (f for f in small.findings if f.code == "letters-thinned")
    assert finding.severity == "warning"
    assert finding.measured > 0.2
    assert len(rg.solids(part(small, "blank").region)) == 1  # and made all the same
    assert webs_hold(part(small, "blank").region, 2)


def test_a_pierced_name_with_whole_letters_lost_to_the_plate_is_not_made():
    _, plate, _ = made("pierced", "Wilhelmina Lilybell", font=("Great Vibes",), words="tie", max_height=11.5)
    assert plate.lettering is None
    (finding,) = (f for f in plate.findings if f.severity == "error")
    assert finding.code == "letters-lost"
    _, wide, _ = made("pierced", "Wilhelmina Lilybell", font=("Great Vibes",), words="tie", max_height=13, min_web=0.6)
    assert wide.lettering is not None and not [f for f in wide.findings if "lost" in f.code]


def test_dots_and_accents_that_the_plate_closes_are_counted():
    _, plate, _ = made("pierced", "Zoë", font=("Great Vibes",), words="tie", max_height=13)
    (finding,) = (f for f in plate.findings if f.code == "marks-lost")
    assert finding.severity == "warning" and finding.measured == 2
    _, large, _ = made("pierced", "Zoë", font=("Great Vibes",), words="tie", min_web=0.6)
    assert not [f for f in large.findings if f.code == "marks-lost"]


def test_a_pierced_plate_is_one_piece_with_its_webs_and_no_jig():
    context, plate, jig = made("pierced", "Bob")
    blank = part(plate, "blank")
    assert jig is None and not plate.jig
    assert len(rg.solids(blank.region)) == 1
    assert webs_hold(blank.region, 1.5)
    assert rg.hausdorff(rg.filled(blank.region), context.face.outline) < 1e-6
    # nothing is cut outside the zone, and what is cut is what the plate's lettering says
    cut = rg.difference(context.face.outline, blank.region)
    assert rg.covers(rg.offset(context.face.zone, 1e-3), cut)
    assert plate.lettering.region.area == pytest.approx(cut.area, rel=1e-6)
    assert least_web("pierced", "blank", LetteringKeys()) == 1.5


@pytest.mark.parametrize("mark", ["outline", "hatch"])
def test_a_marked_plate_is_scored_inside_its_letters(mark):
    context, plate, _ = made("marked", "Ada", mark=mark, hatch=0.5)
    blank = part(plate, "blank")
    assert rg.hausdorff(blank.region, context.face.outline) < 1e-9
    room = rg.offset(plate.lettering.region, 1e-6)
    inside = [line for line in blank.marks if not rg.covers(room, rg.capsule(line, 1e-7))]
    assert blank.marks and not inside
    if mark == "hatch":
        # lines a spacing apart fill an area with a length of area / spacing (Cavalieri's principle)
        lines = [line for line in blank.marks if len(line) == 2]
        length = sum(math.dist(*line) for line in lines)
        assert length == pytest.approx(plate.lettering.region.area / 0.5, rel=0.05)


def test_a_plaque_that_is_thin_beside_its_hole_is_told_where_and_how_thin():
    outline = rg.rectangle(-40, -20, 40, 20)
    drawn = replace(face_of(FACE), outline=outline, keep_outs=rg.disc((36.2, 5), 6))
    (finding,) = thin_plaque(drawn, 1.5)
    assert (finding.code, finding.severity) == ("plaque-thin", "warning")
    assert finding.measured == pytest.approx(0.8, abs=0.02) and "0.8 mm wide at (40, 5)" in finding.message
    assert thin_plaque(drawn, 0.7) == ()
    assert thin_plaque(replace(drawn, keep_outs=rg.disc((30, 5), 6)), 1.5) == ()


def test_a_backing_needs_room_of_its_own():
    face = face_of(FACE)
    keys = LetteringKeys(backing=4)
    assert zone_for("applied", face, keys) == face.zone
    assert rg.hausdorff(rg.offset(zone_for("backed", face, keys), 4), face.zone) < 0.05


def test_a_name_is_not_cut_through_its_plate_nearer_to_the_edge_than_the_minimum_web():
    outline = rg.rectangle(-60, -20, 60, 20)
    drawn = replace(face_of(FACE), outline=outline, zone=rg.rectangle(-59.5, -20, 59.5, 12), keep_outs=rg.EMPTY)
    assert zone_for("applied", drawn, LetteringKeys()) == drawn.zone
    room = zone_for("pierced", drawn, LetteringKeys())
    assert rg.hausdorff(room, rg.rectangle(-58.5, -18.5, 58.5, 12)) < 1e-6
    _, plate, _ = made("pierced", "Jo Y. Lyon", face=drawn)
    assert plate.lettering is not None
    assert webs_hold(part(plate, "blank").region, 1.5)


def face_with_artwork(**changes):
    """The ellipse with a hole, a line across both, and a square to hatch."""
    line, logo = np.array([[-70.0, 30.0], [70.0, 30.0]]), rg.rectangle(-4, -38, 4, -34)
    face = face_of(FACE)
    zone = rg.difference(face.zone, rg.union(rg.rectangle(-60, 22, 60, 40), logo))
    return replace(face, zone=zone, keep_outs=rg.disc((0, 30), 6), hatched=logo, scored=(line,), **changes)


@pytest.mark.parametrize("mount", ["applied", "backed", "pierced", "marked"])
def test_the_plaque_is_cut_with_its_holes_and_lines_where_the_ticket_says_so(mount):
    face = face_with_artwork(cut=True)
    _, plate, jig = made(mount, "Jo", face=face, mark="outline", hatch=0.5)
    blank = part(plate, "blank")
    assert blank.material == "blank"
    assert blank.copies == plate.order.copies
    if mount != "pierced":
        assert blank.region.area == pytest.approx(face.outline.area - face.keep_outs.area)
    level = [line for line in blank.marks if np.ptp(line[:, 1]) == 0 and line[0, 1] == 30]
    # the ellipse is 2 * 55 * sqrt(1 - (30 / 40)2) wide there, and the hole takes its diameter out
    assert sum(np.ptp(line[:, 0]) for line in level) == pytest.approx(110 * math.sqrt(7) / 4 - 6, abs=0.05)
    hatched = [line for line in blank.marks if line[:, 1].max() <= -34]
    assert sum(math.dist(*line) for line in hatched) == pytest.approx(8 * 4 / 0.5, rel=0.1)
    if mount in ("applied", "backed"):
        assert jig is not None
        _, without, _ = made(mount, "Jo", face=replace(face, cut=False), hatch=0.5)
        assert [p.kind for p in plate.parts] == ["blank", *(p.kind for p in without.parts)]
        assert part(without, "lettering").region.equals(part(plate, "lettering").region)


def test_too_many_hatch_lines_on_a_face_are_refused_in_words():
    face = replace(face_with_artwork(cut=True), hatched=rg.rectangle(-2000, -2, 2000, 2))
    face = replace(face, outline=rg.rectangle(-2500, -40, 2500, 40))
    context, plate, _ = made("applied", "Jo")
    done = mounted(plate.order, face, plate.lettering, replace(context.lettering, hatch=0.05))
    assert done.lettering is None
    assert [f.code for f in done.findings] == ["cannot-be-hatched"]


def test_a_plate_with_holes_keeps_them():
    context, plate, _ = made("marked", "Jo")
    hole = rg.disc((0, 37), 3)
    face = replace(context.face, keep_outs=hole)
    blank = mounted(plate.order, face, plate.lettering, context.lettering).parts[0]
    assert blank.region.area == pytest.approx(context.face.outline.area - hole.area, rel=1e-9)


def test_a_weak_neck_is_told_and_can_be_strengthened():
    context, plate, _ = made("applied", "Jo")
    sheet = MaterialKeys(name="cast acrylic", thickness=3)
    arm = rg.union(rg.rectangle(0, 0, 12, 12), rg.rectangle(11, 5, 60, 6.6), rg.rectangle(59, 2, 64, 10))
    weak = replace(plate.lettering, region=arm, neck=weakest_neck(arm, thickness=3))
    lettering, (finding,) = strengthened(plate.order, context.face, weak, LetteringKeys(strengthen=False), sheet)
    assert (finding.code, finding.severity) == ("fragile", "warning") and lettering.region.area == arm.area
    assert "thin spot between J and o at (" in finding.message and "1.6 mm: may snap in handling" in finding.message
    # bending of a cantilever: 6 F L / (t w^2) (Gere & Goodno, Mechanics of Materials)
    assert lettering.neck.stress == pytest.approx(6 * 2 * lettering.neck.lever / (3 * lettering.neck.width**2))
    stronger, findings = strengthened(plate.order, context.face, weak, LetteringKeys(), sheet)
    assert findings == () and stronger.drawn_neck == weak.neck
    assert stronger.neck is None or stronger.neck.stress <= finding.allowed


def test_what_cannot_be_strengthened_is_said_in_words_a_maker_uses():
    context, plate, _ = made("applied", "Jo")
    thin = MaterialKeys(name="MDF", thickness=0.3)
    arm = rg.union(rg.rectangle(-40, 0, 0, 12), rg.rectangle(-1, 5, 40, 6.6))
    weak = replace(plate.lettering, region=arm, neck=weakest_neck(arm, thickness=0.3))
    _, (finding,) = strengthened(plate.order, context.face, weak, LetteringKeys(), thin)
    assert finding.severity == "warning"
    assert not any(word in finding.message for word in (" N ", "MPa", "limb", "bore"))


def test_strengthened_letters_stay_in_their_zone_and_under_the_greatest_height():
    wood = {"lettering": MaterialKeys(name="MDF", thickness=3)}
    context, plate, _ = made("applied", "Wren Abara", words="tie", legibility="off", materials=wood)
    assert plate.findings == () and plate.lettering.drawn_neck.stress > plate.lettering.neck.stress
    assert rg.covers(rg.offset(context.face.zone, 1e-6), plate.lettering.region)
    _, plate, _ = made("applied", "Wren Abara", words="tie", legibility="off", materials=wood, max_height=18)
    assert plate.findings == () and plate.lettering.drawn_neck.stress > plate.lettering.neck.stress
    assert rg.bounds(plate.lettering.region).height <= 18 + 1e-6
    assert webs_hold(plate.lettering.region, 1.5)


def test_a_material_nobody_knows_is_not_judged():
    context, plate, _ = made("applied", "Jo")
    thin = replace(plate.lettering, neck=Neck(0, 0, 0.5, 40, 500))
    assert strengthened(plate.order, context.face, thin, LetteringKeys(), MaterialKeys(name="grey board"))[1] == ()


def test_a_name_with_more_hatch_lines_than_allowed_is_refused_and_names_the_key(monkeypatch):
    monkeypatch.setattr("nameplate.lettering.scoring.MOST_ROWS", 50)
    _, plate, _ = made("marked", hatch=0.05, make=make_plate)
    assert plate.lettering is None
    assert [f.code for f in plate.findings] == ["cannot-be-hatched"]
    assert "set lettering.hatch to" in plate.findings[0].message
