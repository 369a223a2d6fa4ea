"""Notches by which a flush template is lifted: on its edge alone, away from the window, opposite each other."""

import numpy as np
import pytest
from shapely.geometry import Point

from nameplate.geometry import region as rg
from nameplate.jig.make import make_jig
from nameplate.jig.release import with_notches
from nameplate.ticket.schema import JigKeys

WEB = 1.5


@pytest.mark.parametrize("name", ["ellipse", "rectangle", "shield", "apple"])
def test_a_template_has_two_notches_in_its_edge_and_its_window_is_as_it_was(faces, handwriting, order, name):
    face = faces[name]
    part = make_jig(face, handwriting, order, JigKeys(style="template"), web=WEB).part
    ((feature, window),) = part.features
    taken = rg.difference(face.outline, rg.filled(part.region))
    notches = [notch for notch in rg.solids(taken) if notch.area > 1]
    assert feature == "window" and len(notches) == 2
    plain = make_jig(face, handwriting, order, JigKeys(style="skeleton"), web=WEB).part
    assert rg.hausdorff(window, dict(plain.features)["window"]) < 1e-6
    for notch in notches:
        box = rg.bounds(notch)
        assert notch.intersects(face.outline.boundary)
        assert 8 < max(box.width, box.height) < 15 and rg.distance(notch, window) >= WEB
        assert all(rg.distance(notch, Point(at)) >= 1.4 for line in part.marks for at in line)
    # opposite each other, so that the template comes up level
    (x0, y0), (x1, y1) = (rg.bounds(n).centre for n in notches)
    middle = np.array(rg.bounds(window).centre)
    assert (np.array([x0, y0]) - middle) @ (np.array([x1, y1]) - middle) < 0
    # all the rest of the edge is the face's own, by which it is laid on
    assert face.outline.boundary.intersection(rg.filled(part.region).boundary).length > 0.85 * face.outline.length
    assert len(rg.solids(part.region)) == 1


@pytest.mark.parametrize("style", ["carrier", "skeleton", "print"])
def test_other_styles_have_none(faces, handwriting, order, style):
    face = faces["apple"]
    part = make_jig(face, handwriting, order, JigKeys(style=style), web=WEB).part
    if style != "carrier":
        assert rg.hausdorff(rg.filled(part.region), face.outline) < 1e-9


def test_a_window_that_reaches_both_ends_puts_them_above_and_below():
    plain, window = rg.rectangle(-40, -20, 40, 20), rg.rectangle(-38, -9, 38, 9)
    taken = rg.difference(plain, with_notches(plain, window, WEB))
    assert sorted(round(rg.bounds(notch).centre[1]) for notch in rg.solids(taken)) == [-18, 18]


def test_a_narrow_rim_gets_shallow_ones_and_a_very_narrow_one_none():
    plain = rg.rectangle(-40, -20, 40, 20)
    for rim, depth in ((4.6, 3.0), (3.6, 2.0), (3.4, 0.0)):
        notched = with_notches(plain, rg.offset(plain, -rim, join="mitre"), WEB)
        deepest = max((rg.bounds(n).width for n in rg.solids(rg.difference(plain, notched))), default=0.0)
        assert deepest == pytest.approx(depth, abs=0.01)


def test_no_notch_takes_a_corner_or_sits_in_a_bay():
    bay = rg.difference(rg.rectangle(-40, -20, 40, 20), rg.disc((-40, 0), 8))
    window = rg.rectangle(-20, -17, 20, 17)
    notched = with_notches(bay, window, WEB)
    left = [n for n in rg.solids(rg.difference(bay, notched)) if rg.bounds(n).centre[0] < 0]
    # beside the bay, whose mouth is 8 mm wide, and clear of the corners: the notch is 11.5 mm wide
    assert len(left) == 1 and 9.6 <= abs(rg.bounds(left[0]).centre[1]) < 14.3


def test_windows_within_the_zone_leave_one_outline_and_one_beyond_it_its_own():
    plain = rg.rectangle(-40, -20, 40, 20)
    zone = rg.offset(plain, -6)
    windows = [rg.rectangle(-30, -9, 30, 9), rg.rectangle(-33, -4, 10, 13), rg.disc((5.0, 3.0), 18)]
    notched = [with_notches(plain, window, WEB, zone=zone) for window in windows]
    assert len({outline.wkb for outline in notched}) == 1
    assert rg.distance(rg.difference(plain, notched[0]), zone) >= WEB
    wide = rg.rectangle(-39, -9, 39, 9)  # sticks out of the zone where the common notches would be
    own = rg.difference(plain, with_notches(plain, wide, WEB, zone=zone))
    assert not own.is_empty and rg.distance(own, wide) >= WEB
