from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Point

from nameplate.geometry import region as rg
from nameplate.jig.closure import LEAST, joined
from nameplate.jig.contacts import _cost, _stopping, _without_idle, choose_nubs, contact_window
from nameplate.jig.locating import name_motions, worst_play
from nameplate.jig.play import CUT_ERROR, Play, play_of, possible_motions, telling_places, total_play, window_contacts
from nameplate.jig.template import template_round
from nameplate.jig.window import make_opening
from nameplate.ticket.schema import JigKeys

KEYS = JigKeys(clearance=0.2, relief=1.0, window="contacts")


def test_nubs_hold_handwriting_in_form_closure_with_little_more_turn(handwriting):
    nubs = choose_nubs(rg.filled(handwriting.region), KEYS, joined())
    count = len(nubs.contacts.points)
    # Reuleaux 1875: no fewer than four
    assert nubs.held and 4 <= count <= 10
    full = worst_play(handwriting.region, name_motions(handwriting.region, KEYS))
    assert nubs.motions.turn <= 1.16 * full.turn
    assert total_play(handwriting.region, [nubs.motions]).far <= 1.61 * full.far


@pytest.mark.parametrize("turn", [0, 30, 45, 120])
def test_a_bar_is_held_alike_however_it_lies(turn):
    bar = rg.moved(rg.rectangle(-30, -4, 30, 4), turn=turn)
    nubs, full = choose_nubs(bar, KEYS, joined()), worst_play(bar, name_motions(bar, KEYS))
    assert nubs.held and full.turn - 1e-6 <= nubs.motions.turn <= 1.16 * full.turn
    # a bar with a play of c on both its long sides turns by 2 c / length at most, to first order
    assert full.turn == pytest.approx(np.degrees(2 * (KEYS.clearance + CUT_ERROR) / 60), rel=0.02)


def test_nubs_reach_from_a_wall_that_stands_far_back():
    window, (nubs,) = contact_window(rg.rectangle(-30, -4, 30, 4), replace(KEYS, relief=5.0))
    assert nubs.held and len(rg.solids(window)) == 1
    for point, normal in zip(nubs.contacts.points, nubs.contacts.normals, strict=True):
        assert not any(window.intersects(Point(point + far * normal)) for far in (0.3, 2.0, 4.0))


def test_few_contacts_stop_what_many_would(ellipse_of):
    """A linear programme of three variables has an optimum at which three conditions hold (any handbook)."""
    full = window_contacts(ellipse_of(80, 30), 0.2)
    assert len(full.points) > 60 and 4 <= len(_stopping(full, 0.2)) <= 6 * 3


def test_no_choice_of_as_many_random_contacts_does_better(handwriting):
    solid = rg.filled(handwriting.region)
    nubs = choose_nubs(solid, KEYS, joined())
    pool = window_contacts(solid, KEYS.clearance + KEYS.relief)
    rng = np.random.default_rng(3)
    tried = []
    for _ in range(60):
        some = rng.choice(len(pool.points), len(nubs.contacts.points), replace=False)
        motions = possible_motions(pool.picked(some), KEYS.clearance + CUT_ERROR)
        if not motions.free:
            tried.append(motions.turn)
    assert nubs.motions.turn < min(tried, default=np.inf)


def test_of_many_nubs_those_go_that_cost_least_as_a_plain_search_takes_them_out():
    angle = rg.union(rg.rectangle(0, 0, 40, 6), rg.rectangle(0, 0, 6, 25))
    full, places, gap = window_contacts(angle, KEYS.clearance), telling_places(angle), KEYS.clearance + CUT_ERROR
    whole = play_of(places, [possible_motions(full, gap)])
    allowed = Play(0.0, 2 * whole.turn, 2.5 * whole.far)
    first = np.arange(0, len(full), 4)
    plain = first.tolist()
    while len(plain) > LEAST:
        cost, idle = min((_cost(places, full.picked(np.setdiff1d(plain, [i])), gap, allowed), i) for i in plain)
        if cost > 1:
            break
        plain.remove(idle)
    assert 0 not in plain and len(plain) < len(first) - 2
    assert _without_idle(places, full, first, gap, allowed).tolist() == plain


def test_the_window_stands_back_but_for_its_nubs(handwriting):
    solid = rg.filled(handwriting.region)
    window, (nubs,) = contact_window(handwriting.region, KEYS)
    contour = rg.filled(rg.offset(solid, 0.2))
    relieved = rg.filled(rg.offset(solid, 1.2))
    assert rg.covers(rg.offset(window, 1e-3), contour)
    # but for needles of card, which are rounded off
    assert rg.difference(window, relieved).area < 0.5
    assert len(rg.solids(window)) == 1 and rg.hole_count(window) == 0
    edge = window.boundary
    for point, normal in zip(nubs.contacts.points, nubs.contacts.normals, strict=True):
        assert edge.distance(Point(point + 0.2 * normal)) < 0.01
    # all else is clear of the name by the relief, so that glue cannot wick across: nubs take a small part of the edge
    near = edge.intersection(solid.buffer(0.21)).length
    assert near <= len(nubs.contacts.points) * (2.5 + 1.5)
    assert near < 0.25 * edge.length


def test_no_nub_stands_in_a_crevice_where_nothing_holds_it(lettering_of):
    teeth = [rg.capsule([(x, 0), (x, 18 if n % 2 else 14)], 3) for n, x in enumerate(np.arange(-30, 31, 5.2))]
    comb = rg.union(rg.capsule([(-30, 0), (30, 0)], 3), *teeth)
    window, (nubs,) = contact_window(comb, KEYS)
    assert nubs.held and not rg.hole_count(window)
    for point, normal in zip(nubs.contacts.points, nubs.contacts.normals, strict=True):
        assert window.boundary.distance(Point(point + 0.2 * normal)) < 0.02
        assert not window.covers(Point(point + 0.3 * normal))


def test_a_round_dot_is_reported_as_not_held(ellipse_of):
    nubs = choose_nubs(ellipse_of(12, 12), KEYS, joined())
    assert not nubs.held or nubs.motions.free
    assert len(nubs.contacts.points) >= 4


def test_a_piece_that_no_nub_can_reach_is_not_held(lettering_of):
    # a bar so deep in a crevice that the relieved wall is nowhere near it
    gap = rg.difference(rg.rectangle(-20, -10, 20, 10), rg.rectangle(-15, -1.6, 21, 1.6))
    bar = rg.rectangle(-10, -0.6, 10, 0.6)
    _, nubs = contact_window(rg.union(gap, bar), KEYS)
    assert len(nubs) == 2 and not all(n.held for n in nubs)


def test_each_loose_piece_has_its_own_nubs(lettering_of):
    two = rg.union(rg.rectangle(-30, -5, -8, 5), rg.rectangle(-2, -5, 20, 6))
    window, nubs = contact_window(two, KEYS)
    assert len(nubs) == 2 and all(n.held for n in nubs)
    assert len(rg.solids(window)) == 2


def test_the_template_names_its_window_a_contact_window(faces, handwriting, order):
    opening = make_opening(handwriting.region, KEYS)
    part, findings = template_round(faces["ellipse"], opening, order, KEYS, web=1.5)
    ((feature, window),) = part.features
    assert feature == "contact-window"
    assert len(rg.solids(part.region)) == 1
    assert part.region.area == pytest.approx(faces["ellipse"].outline.area - window.area)
    assert not [f for f in findings if f.severity == "error"]
