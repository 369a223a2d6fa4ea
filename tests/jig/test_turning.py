"""Parts that are nearly round: how far they turn and what that does to a name, against theory and brute force."""

import math

import numpy as np
import pytest
from shapely import affinity, prepare

from nameplate.geometry import region as rg
from nameplate.jig.play import total_play, window_motions
from nameplate.jig.turning import wide_turn

GAP = 0.2


@pytest.mark.parametrize("slimmer", [0.5, 1.0, 2.0, 4.0])
def test_an_ellipse_turns_by_what_its_axes_allow(ellipse_of, slimmer):
    # worked by hand: the support sqrt(a^2 cos^2 u + b^2 sin^2 u) is nearly (a + b) / 2 + (a - b) cos(2u) / 2;
    # turned by t it grows by (a - b) sin t at most, which no shift helps; it stops at sin t = gap / (a - b)
    turn = wide_turn(ellipse_of(90, 90 - slimmer), GAP).turn
    assert turn == pytest.approx(math.degrees(math.asin(2 * GAP / slimmer)), rel=0.03)


@pytest.mark.parametrize("slimmer", [0.0, 0.2, 0.38])
def test_a_rounder_one_turns_all_the_way(ellipse_of, slimmer):
    # (a - b) sin t never reaches the gap
    assert wide_turn(ellipse_of(90, 90 - slimmer), GAP).turn == 180.0


def test_a_disc_shifts_by_the_gap_however_it_is_turned(ellipse_of):
    assert wide_turn(ellipse_of(50, 50), GAP).carried(np.zeros((1, 2))) == pytest.approx(GAP, rel=2e-3)


@pytest.mark.parametrize(("width", "height", "gap"), [(60, 20, 0.2), (60, 40, 0.3), (80, 30, 0.4)])
def test_a_rectangle_turns_as_far_as_its_corners_let_it_to_a_twentieth_of_a_degree(width, height, gap):
    # turned by t it is w sin t + h cos t high, which is r sin(t + c) with its diagonal r and sin c = h / r
    diagonal = math.hypot(width, height)
    allowed = math.degrees(math.asin((height + 2 * gap) / diagonal) - math.asin(height / diagonal))
    turn = wide_turn(rg.rectangle(-width / 2, -height / 2, width / 2, height / 2), gap).turn
    assert allowed <= turn <= allowed + 0.05


def pushed(part, direction, opening, turn):
    """Shift a part in one direction as far as its opening lets it, None when it does not go in turned so."""
    there = affinity.rotate(part, turn, origin=(0, 0))
    if not opening.covers(there):
        return None
    low, high = 0.0, 3.0
    for _ in range(12):
        half = (low + high) / 2
        low, high = (half, high) if opening.covers(affinity.translate(there, *(direction * half))) else (low, half)
    return direction * low


@pytest.mark.parametrize(("width", "height"), [(60, 59.3), (60, 58.5), (60, 57), (60, 54)])
def test_brute_force_never_finds_more_and_comes_near(ellipse_of, lettering_of, width, height):
    """Turn step by step, push in many directions, watch the ends of a name on the part."""
    part, name = ellipse_of(width, height, 240), rg.rectangle(-22, -6, 22, 6)
    opening = part.buffer(GAP + 1e-6, quad_segs=16)
    prepare(opening)
    stated = total_play(name, [window_motions(part, GAP)])
    corners, turn, far, shift = rg.convex_corners(name), 0.0, 0.0, 0.0
    turns = [*np.arange(0.0, 10.0, 0.2), *np.arange(10.0, 90.0, 2.0)]
    stop = next(k for k, angle in enumerate(turns) if pushed(part, np.zeros(2), opening, angle) is None)
    for angle in [*turns[:stop], *np.linspace(turns[stop - 1], turns[stop], 9)]:
        pushes = [pushed(part, np.array([math.cos(a), math.sin(a)]), opening, angle) for a in np.linspace(0, 6, 9)]
        if pushes[0] is None:
            break
        turn = angle
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        swung = corners @ np.array([[c, s], [-s, c]]) - corners
        far = max(far, *(float(np.linalg.norm(swung + push, axis=1).max()) for push in pushes))
        shift = max(shift, *(float(np.linalg.norm(push)) for push in pushes))
    assert turn <= stated.turn * 1.001 and far <= stated.far and shift <= stated.shift * 1.001
    assert turn >= 0.85 * stated.turn and far >= 0.85 * stated.far


def test_between_stopped_and_free_nothing_jumps(ellipse_of):
    """The step-by-step turn takes over from the first-order one without a gap: rounder never turns less."""
    turns = [window_motions(ellipse_of(90, height), GAP).turn for height in (70, 80, 84, 86, 88, 88.5, 89, 89.5, 90)]
    assert turns == sorted(turns) and turns[0] < 1.5 and turns[-1] == 180.0
