import math

import numpy as np
import pytest
import shapely
from shapely import affinity

from nameplate.geometry import region as rg
from nameplate.jig.closure import pin_tilt
from nameplate.jig.play import Contacts, pin_motions, possible_motions, total_play, window_motions

GAP = 0.2


def convex_part(seed):
    rng = np.random.default_rng(seed)
    hull = shapely.MultiPoint(rng.uniform(-30, 30, (9, 2)) * [1.5, 1]).convex_hull
    return rg.as_region(hull)


def pushed(part, gap, tries, seed=1):
    """Push and turn a part in the opening `gap` wider all round until it jams: the poses reached, (n, 3).

    A convex part moved is inside exactly when each of its corners is within the gap of where the part was.
    """
    corners = rg.points(part)
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    size = np.abs(corners - middle).max()
    shapely.prepare(part)

    def fits(poses):
        c, s = np.cos(poses[:, 2:]), np.sin(poses[:, 2:])
        x, y = (corners - middle).T
        px = c * x - s * y + poses[:, :1] + middle[0]
        py = s * x + c * y + poses[:, 1:2] + middle[1]
        return (shapely.distance(part, shapely.points(px, py)) <= gap + 1e-9).all(axis=1)

    directions = np.random.default_rng(seed).normal(size=(tries, 3)) * [gap, gap, gap / size]
    low, high = np.zeros((tries, 1)), np.full((tries, 1), 8.0)
    for _ in range(18):
        half = (low + high) / 2
        ok = fits(directions * half)[:, None]
        low, high = np.where(ok, half, low), np.where(ok, high, half)
    return directions * low, middle


def measured(part, gap, tries=1500):
    poses, middle = pushed(part, gap, tries)
    lever = rg.points(part) - middle
    swing = np.stack([-lever[:, 1], lever[:, 0]], axis=-1)
    moved = poses[:, None, :2] + poses[:, 2, None, None] * swing
    return (
        np.hypot(poses[:, 0], poses[:, 1]).max(),
        math.degrees(np.abs(poses[:, 2]).max()),
        np.linalg.norm(moved, axis=2).max(),
    )


@pytest.mark.parametrize("seed", range(4))
def test_against_brute_force_on_random_convex_parts(seed):
    part = convex_part(seed)
    play = total_play(part, [window_motions(part, GAP)])
    shift, turn, far = measured(part, GAP)
    # brute force never finds more (beyond the polygon of normals), and random pushing comes near
    for found, stated in ((shift, play.shift), (turn, play.turn), (far, play.far)):
        assert found <= stated * 1.004
        assert found >= stated * 0.85


def test_a_rectangle_turns_by_what_its_diagonal_allows(lettering_of):
    # worked by hand: a long bar a by b in an opening wider by g all round jams when (a / 2) sin t + b / 2 cos t
    # reaches b / 2 + g at both ends
    a, b = 100.0, 10.0
    turn = window_motions(rg.rectangle(-a / 2, -b / 2, a / 2, b / 2), GAP).turn
    t = math.radians(turn)
    assert a / 2 * math.sin(t) + b / 2 * math.cos(t) == pytest.approx(b / 2 + GAP, rel=2e-3)


def test_without_turning_a_part_shifts_by_the_gap_and_no_more():
    # for any shape: the support line in the direction of the shift moves by the shift
    for part in (convex_part(3), rg.rectangle(-30, -4, 30, 4)):
        corners = window_motions(part, GAP).corners
        assert np.abs(corners[np.abs(corners[:, 2]) < 1e-6][:, :2]).max(initial=0) <= GAP * 1.01


def test_a_circle_is_free_to_turn_and_an_ellipse_is_not(ellipse_of):
    assert window_motions(ellipse_of(90, 90), GAP).free
    assert window_motions(ellipse_of(90, 89), GAP).free
    located = window_motions(ellipse_of(110, 80), GAP)
    assert not located.free
    # to first order h(n) changes by turn * (a^2 - b^2) sin(2u) / 2h, which is a - b at most
    assert math.radians(located.turn) == pytest.approx(GAP / 15, rel=0.03)


def test_play_does_not_depend_on_place_and_grows_with_the_gap():
    part = convex_part(2)
    here = total_play(part, [window_motions(part, GAP)])
    there = rg.moved(part, 200, -70)
    assert total_play(there, [window_motions(there, GAP)]) == pytest.approx(here, rel=1e-3)
    wider = total_play(part, [window_motions(part, 2 * GAP)])
    assert wider == pytest.approx([2 * v for v in here], rel=0.02)


def test_pins_turn_by_the_tilt_formula_and_shift_by_half_the_clearance():
    # sin a = (c1 + c2) / (2 P): diametral clearances 0.1 and 0.1 at a pitch of 50 give 0.1146 degrees
    motions = pin_motions(np.array([-25.0, 7.0]), np.array([25.0, 7.0]), 0.05, 0.05)
    assert motions.turn == pytest.approx(pin_tilt(0.1, 50), rel=1e-3)
    assert motions.turn == pytest.approx(0.1146, abs=1e-4)
    at_hole = motions.displaced(np.array([[-25.0, 7.0]]))
    assert np.linalg.norm(at_hole, axis=-1).max() == pytest.approx(0.05, rel=0.01)
    turned = pin_motions(np.array([3.0, -25.0]), np.array([3.0, 25.0]), 0.05, 0.05)
    assert turned.turn == pytest.approx(motions.turn, rel=1e-6)


def test_locators_in_a_row_add_up():
    part = convex_part(4)
    window = window_motions(part, GAP)
    pins = pin_motions(np.array([-60.0, 0.0]), np.array([60.0, 0.0]), 0.05, 0.05)
    one, two, both = (total_play(part, m) for m in ([window], [pins], [window, pins]))
    assert both.turn == pytest.approx(one.turn + two.turn)
    assert max(one.far, two.far) < both.far <= one.far + two.far + 1e-9
    assert max(one.shift, two.shift) < both.shift <= one.shift + two.shift + 1e-9


def test_handwriting_is_located_within_twice_the_gap(handwriting):
    motions = window_motions(handwriting.region, GAP)
    play = total_play(handwriting.region, [motions])
    assert not motions.free
    assert GAP * 0.99 <= play.shift <= GAP * 1.5
    assert play.far <= 2 * GAP and play.turn < 1


def test_the_worst_motions_of_handwriting_are_real_and_nothing_beyond_them_fits(handwriting):
    # the corners with the largest turn: pulled back by 6 % the part fits its opening, pushed 6 % further it does not
    solid = rg.filled(handwriting.region)
    motions = window_motions(handwriting.region, GAP)
    opening = rg.offset(solid, GAP)
    for corner in (motions.corners[motions.corners[:, 2].argmax()], motions.corners[motions.corners[:, 2].argmin()]):
        for factor, fits in ((0.94, True), (1.06, False)):
            dx, dy, turn = corner * factor
            x, y = motions.about
            there = rg.moved(rg.moved(solid, -x, -y), dx + x, dy + y, turn=math.degrees(turn))
            assert rg.covers(rg.offset(opening, 0.003), there) is fits


def test_a_gap_of_nothing_is_refused():
    with pytest.raises(ValueError, match="above 0"):
        window_motions(rg.rectangle(0, 0, 1, 1), 0.0)


def test_what_nothing_touches_goes_as_far_either_way():
    nothing = possible_motions(Contacts(np.empty((0, 2)), np.empty((0, 2))), 0.2)
    assert nothing.free and len(np.unique(nothing.corners, axis=0)) == 8
    assert (nothing.corners.min(axis=0) == -nothing.corners.max(axis=0)).all()


@pytest.mark.parametrize("half", [2, 3, 5, 12, 80])
@pytest.mark.parametrize("gap", [0.05, 0.2, 0.3])
def test_a_square_turns_until_its_corners_touch(half, gap):
    # worked by hand: its corners touch at the turn t where half (cos t + sin t) = half + gap
    turns = np.linspace(0, 2 * gap / half, 20_001)
    exact = turns[np.searchsorted(np.cos(turns) + np.sin(turns), 1 + gap / half)]
    corners, sides = np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]]), np.array([[1, 0], [0, 1]])
    points = np.repeat(corners, 2, axis=0) * half
    normals = np.concatenate([corner * sides for corner in corners]).astype(float)
    told = possible_motions(Contacts(points.astype(float), normals), gap).corners[:, 2]
    assert told.max() == pytest.approx(exact, rel=0.001) and told.min() == pytest.approx(-exact, rel=0.001)


def shifts_in(part, gap, turn):
    """The shifts with which a convex polygon, turned by so many radians, goes into the opening `gap` wider all round:
    what the openings shifted by each of its corners have in common."""
    c, s = math.cos(turn), math.sin(turn)
    corners, opening = np.array(part.exterior.coords[:-1]), part.buffer(gap, quad_segs=90)
    shifts = -corners @ np.array([[c, s], [-s, c]])
    return shapely.intersection_all([affinity.translate(opening, *shift) for shift in shifts])


def farthest_turn(part, gap):
    """The largest turn (degrees, either way) of a convex polygon in the opening `gap` wider all round."""

    def goes_in(turn):
        return not shifts_in(part, gap, turn).is_empty

    def bisected(sense):
        low, step = 0.0, math.radians(0.5)
        while goes_in(sense * (low + step)):
            low += step
        high = low + step
        for _ in range(12):
            half = (low + high) / 2
            low, high = (half, high) if goes_in(sense * half) else (low, half)
        return low

    return math.degrees(max(bisected(1), bisected(-1)))


def test_small_parts_turn_as_far_as_an_independent_search_turns_them():
    rng, exact = np.random.default_rng(6), []
    for _ in range(12):
        part = shapely.MultiPoint(rng.uniform(-1, 1, (6, 2)) * rng.uniform(1.5, 6, 2)).convex_hull
        gap = rng.choice([0.1, 0.2, 0.3])
        exact.append(farthest_turn(part, gap))
        told = window_motions(rg.as_region(part), gap)
        if exact[-1] > 10:
            assert told.free and told.turn >= exact[-1]
        else:
            assert exact[-1] * 0.999 <= told.turn <= exact[-1] * 1.01
    assert min(exact) > 1 and sum(4 < turn < 10 for turn in exact) >= 4


@pytest.mark.parametrize("narrow", [4.6, 4.5, 4.3])
def test_the_farthest_place_of_a_nearly_round_part_is_told_within_a_tenth(narrow):
    # one that turns far has no room left to be shifted: both at once are more than it ever moves
    around = np.linspace(0, 2 * math.pi, 60, endpoint=False)
    part, gap, found = shapely.Polygon(np.column_stack([5 * np.cos(around), narrow * np.sin(around)])), 0.15, []
    corners = np.array(part.exterior.coords[:-1])
    for turn in np.radians(np.linspace(0, farthest_turn(part, gap), 40)):
        c, s = math.cos(turn), math.sin(turn)
        swing = corners @ np.array([[c, s], [-s, c]]) - corners
        shifts = shapely.get_coordinates(shifts_in(part, gap, turn))
        found.append(np.linalg.norm(swing[:, None] + shifts, axis=2).max())
    told = total_play(rg.as_region(part), [window_motions(rg.as_region(part), gap)]).far
    assert max(found) <= told <= max(found) * 1.1
