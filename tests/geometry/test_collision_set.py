from nameplate.geometry.collision_set import SLIM, is_plain, slim
from nameplate.geometry.region import capsule, difference, hausdorff, moved, points, rectangle
from tests.shapes import ellipse


def test_a_rectangle_with_notches_and_a_window_is_kept_whole():
    notched = difference(rectangle(0, 0, 110, 70), capsule([(-6, 35), (-30, 35)], 18))
    template = difference(notched, moved(ellipse(60, 30, 400), 55, 35))
    outline, slack = slim(template)
    assert slack == 0
    assert len(points(outline)) == len(points(template)) > 80


def test_an_ellipse_with_many_points_is_slimmed_within_its_slack():
    # an ellipse fills pi / 4 of its box
    shape = ellipse(110, 70, 400)
    outline, slack = slim(shape)
    assert not is_plain(shape)
    assert slack == SLIM
    assert len(points(outline)) < len(points(shape))
    assert hausdorff(outline, shape) <= slack
