import numpy as np
import pytest
import shapely

from nameplate.geometry import region as rg
from nameplate.geometry.nearby import contains_points
from nameplate.jig.steps import DOT_PITCH, DOTS, GLUE_NUB, glue_dots, working_steps


@pytest.mark.parametrize("style", ["template", "carrier", "skeleton", "print"])
def test_steps_go_from_dry_fit_over_glue_and_waiting_to_lifting(style):
    steps = " ".join(working_steps(style, "contacts")).lower()
    at = [steps.index(word) for word in ("dry fit", "dots of glue", "wait", "lift")]
    assert at == sorted(at)
    assert "nubs" in steps and "nubs" not in " ".join(working_steps(style, "contour"))


@pytest.mark.parametrize("style", ["template", "carrier", "skeleton", "print"])
def test_a_jig_that_may_turn_is_lined_up_by_a_mark_that_is_made_first(style):
    mark, lay, *rest = working_steps(style, "contour", "mark")
    assert "Mark the top" in mark and "mark" in lay
    plain = working_steps(style, "contour")
    assert tuple(rest) == plain[1:] and not any("mark" in step for step in plain)


def test_a_template_with_a_hole_over_the_plaques_is_turned_by_that():
    lay, *rest = working_steps("template", "contour", "hole")
    assert "its hole lies over the plaque's" in lay and tuple(rest) == working_steps("template", "contour")[1:]


def test_dots_lie_well_inside_the_name_and_away_from_nubs(handwriting):
    nubs = np.array([[0.0, 0.0], [20.0, 3.0]])
    dots = glue_dots(handwriting.region, nubs)
    assert 3 <= len(dots) <= DOTS
    inside = shapely.distance(shapely.points(dots), handwriting.region.boundary)
    assert (inside >= 0.29).all() and contains_points(handwriting.region, dots).all()
    assert np.linalg.norm(dots[:, None] - nubs[None], axis=2).min() >= GLUE_NUB
    apart = np.linalg.norm(dots[:, None] - dots[None], axis=2) + 1e9 * np.eye(len(dots))
    assert apart.min() >= DOT_PITCH


def test_dots_are_spread_over_all_of_a_plate():
    # some dot is near every corner of a square, and the dots lie about its middle
    dots = glue_dots(rg.rectangle(-20, 10, 20, 50), np.empty((0, 2)))
    corners = np.array([(-20, 10), (20, 10), (20, 50), (-20, 50)])
    assert np.linalg.norm(dots[:, None] - corners[None], axis=2).min(axis=0).max() < 10
    assert dots.mean(axis=0) == pytest.approx((0, 30), abs=5)


def test_a_thin_name_still_gets_glue():
    thin = rg.rectangle(-30, -0.75, 30, 0.75)
    assert len(glue_dots(thin, np.empty((0, 2)))) >= 4


def test_every_loose_piece_has_glue_where_one_has_enough_already():
    word, thin, dot = rg.rectangle(0, 0, 60, 8), rg.rectangle(0, 12, 20, 13), rg.disc((40, 14), 2.0)
    dots = glue_dots(rg.union(word, thin, dot), np.empty((0, 2)))
    on = [contains_points(piece, dots).sum() for piece in (word, thin, dot)]
    assert on[0] >= 4 and on[1:] == [1, 1] and len(dots) == sum(on)
    assert np.linalg.norm(dots - (40, 14), axis=1).min() < 0.4  # at its middle


def test_the_only_dot_of_a_piece_is_as_far_from_nubs_as_it_can_be():
    nubs = np.array([[4.0, 0.0]])
    (far,) = glue_dots(rg.rectangle(0, 0, 20, 3), nubs)
    assert np.linalg.norm(far - nubs, axis=1).min() >= GLUE_NUB
    (near,) = glue_dots(rg.rectangle(0, 0, 6, 3), nubs)
    assert contains_points(rg.rectangle(0, 0, 6, 3), near[None]).all()
    assert np.linalg.norm(near - nubs, axis=1).min() > 4
