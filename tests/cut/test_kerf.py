import math
import pickle

import numpy as np
import pytest
import shapely

from nameplate import tolerances
from nameplate.cut.kerf import toolpath
from nameplate.errors import GeometryError
from nameplate.geometry import region
from nameplate.geometry.acute_tips import SHARP
from nameplate.geometry.beam import Kerf, Strip
from nameplate.geometry.compare import strips
from nameplate.geometry.curves.curve import flatten, moved
from nameplate.model import Part


def part(shape, **more):
    return Part("001", "lettering", "lettering", shape, **more)


def cut_length(path):
    rings = [flatten(contour.curve, tolerances.ARC) for contour in path.contours]
    return sum(shapely.LinearRing(ring).length for ring in rings)


def cut_area(path):
    """Area enclosed by the beam's middle line: outer contours less inner ones."""
    areas = {"cut-outside": 0.0, "cut-inside": 0.0}
    for contour in path.contours:
        areas[contour.operation] += region.from_ring(flatten(contour.curve, 0.0005)).area
    return areas["cut-outside"] - areas["cut-inside"]


def burned(path, kerf):
    closed = [np.vstack([r, r[:1]]) for r in (flatten(c.curve, 0.0005) for c in path.contours)]
    return region.union(*strips(closed, kerf))


class TestSizes:
    def test_a_square_is_cut_half_a_kerf_outside_all_round(self):
        path = toolpath(part(region.rectangle(0, 0, 10, 10)), 0.2)
        assert cut_area(path) == pytest.approx(10.2**2)
        assert path.contours[0].curve.lines.tolist() == [True] * 4

    def test_a_hole_is_cut_half_a_kerf_inside(self):
        frame = region.difference(region.rectangle(0, 0, 20, 20), region.rectangle(5, 5, 15, 15))
        assert cut_area(toolpath(part(frame), 0.2)) == pytest.approx(20.2**2 - 9.8**2)

    @pytest.mark.parametrize("kerf", [0.1, 0.2, 0.5])
    def test_a_disc_grows_as_steiner_says(self, disc, kerf):
        # Steiner 1840: A(K + rB) = A + P r + pi r^2, with r half the kerf
        exact = disc.area + disc.length * kerf / 2 + math.pi * kerf**2 / 4
        assert cut_area(toolpath(part(disc), kerf)) == pytest.approx(exact, abs=disc.length * tolerances.CURVE)

    def test_no_kerf_gives_the_nominal_outline(self, template):
        path = toolpath(template, 0.0)
        assert cut_area(path) == pytest.approx(template.region.area, abs=0.2)
        assert path.marks is template.marks


class TestBurning:
    @pytest.mark.parametrize("kerf", [0.1, 0.2, 0.4])
    def test_burned_area_is_cut_length_times_kerf(self, disc, kerf):
        # derived: the area between the two parallels of a closed smooth curve at +-k/2 is its length times k
        path = toolpath(part(region.difference(disc, region.moved(disc, scale=0.4))), kerf)
        assert burned(path, kerf).area == pytest.approx(cut_length(path) * kerf, rel=2e-3)

    def test_loose_squares_in_a_row_tell_the_kerf(self):
        # common kerf test (engi210.blogs.rice.edu): 10 squares of nominal 20 cut without allowance, put in a row of
        # length 198.0, tell a kerf of 20 - 198 / 10 = 0.20; cut with the allowance the row is 200
        square = part(region.rectangle(0, 0, 20, 20))
        for allowed, row in ((0.0, 198.0), (0.2, 200.0)):
            path = toolpath(square, allowed)
            inside = region.from_ring(flatten(path.contours[0].curve))
            left = region.difference(inside, burned(path, 0.2))
            assert 10 * region.bounds(left).width == pytest.approx(row, abs=1e-6)

    def test_ten_pieces_in_a_frame_leave_eleven_kerfs(self):
        # engi210.blogs.rice.edu: ten loose pieces in a frame leave a gap of n + 1 kerfs; 0.037 in / 11 = 0.00336 in
        kerf = 0.037 * 25.4 / 11
        cuts = [np.array([(x * 10.0, 0), (x * 10.0, 10)]) for x in range(11)]
        solid = region.difference(region.rectangle(0, 1, 100, 9), region.union(*strips(cuts, kerf)))
        widths = sum(region.bounds(s).width for s in region.solids(solid))
        assert 100 + kerf - widths == pytest.approx(0.037 * 25.4)

    def test_sharp_corners_come_out_sharp(self):
        # erosion of the mitred path by the beam gives the corner back, however sharp and however short the mitre
        for half in (0.3, 1, 5):
            needle = region.from_ring([(0, -half), (20, 0), (0, half)])
            path = toolpath(part(needle), 0.3)
            inside = region.from_ring(flatten(path.contours[0].curve, 0.0005))
            left = region.difference(inside, burned(path, 0.3))
            assert region.hausdorff(left, needle) <= tolerances.BURN

    def test_mitres_do_not_reach_far(self):
        # its own mitre would be 1 / sin 1.4 = 40 half kerfs long; the longest of a corner that is kept is 1 / sin 22.5
        needle = region.from_ring([(0, -0.5), (20, 0), (0, 0.5)])
        (contour,) = toolpath(part(needle), 0.2).contours
        assert flatten(contour.curve)[:, 0].max() <= 20 + 0.1 / math.sin(math.radians(SHARP / 2)) + tolerances.CURVE

    def test_corners_that_are_no_needles_keep_their_mitres(self):
        half = 20 * math.tan(math.radians(SHARP + 0.5) / 2)
        (contour,) = toolpath(part(region.from_ring([(0, -half), (20, 0), (0, half)])), 0.2).contours
        assert len(contour.curve.segments) == 3
        reach = 20 + 0.1 / math.sin(math.radians(SHARP + 0.5) / 2)
        assert flatten(contour.curve)[:, 0].max() == pytest.approx(reach, abs=1e-6)


class TestContours:
    def test_inner_contours_come_first(self, lettering):
        operations = [c.operation for c in toolpath(lettering, 0.2).contours]
        assert operations == ["cut-inside", "cut-outside"]

    def test_the_window_is_named(self, template):
        assert [c.feature for c in toolpath(template, 0.2).contours] == ["window", None]

    def test_a_hole_without_a_feature_has_no_name(self, lettering):
        assert {c.feature for c in toolpath(lettering, 0.2).contours} == {None}

    def test_loose_pieces_each_get_an_outline(self):
        pair = region.union(region.rectangle(0, 0, 5, 5), region.rectangle(10, 0, 15, 5))
        assert len(toolpath(part(pair), 0.2).contours) == 2

    def test_paths_travel_between_processes(self, template):
        path = toolpath(template, 0.2)
        assert cut_length(pickle.loads(pickle.dumps(path))) == cut_length(path)


class TestTogether:
    """The parts of one plate, whose outlines are parallels."""

    def test_each_is_within_tolerance_of_its_own_outline(self, disc):
        window = region.difference(region.rectangle(-40, -40, 40, 40), region.offset(disc, 0.2))
        jig = Part("001", "template", "template", window)
        paths = []
        for own, kerf in [(part(disc), 0.18), (jig, 0.15), (jig, 0.0)]:
            path = toolpath(own, kerf, beside=paths)
            paths.append(path)
            nominal = region.offset(own.region, kerf / 2, join="mitre")
            shape = region.from_ring(flatten(path.contours[-1].curve), [flatten(c.curve) for c in path.contours[:-1]])
            assert region.hausdorff(shape, nominal) <= tolerances.CURVE + tolerances.FLATTEN


class TestTurned:
    @pytest.mark.parametrize("turn", [0, 30, 90, 180])
    def test_the_beam_keeps_its_axes_when_a_part_is_turned(self, turn):
        """A square that lies turned is cut, on the sheet, as one that is drawn so."""
        square, kerf = region.rectangle(-4, -4, 4, 4), Kerf.of_strip(Strip(0.4, 0.2))
        lies = [flatten(moved(c.curve, turn=turn)) for c in toolpath(part(square), kerf, turn=turn).contours]
        drawn = [flatten(c.curve) for c in toolpath(part(region.moved(square, turn=turn)), kerf).contours]
        assert region.hausdorff(*(region.from_ring(ring) for (ring,) in (lies, drawn))) < 1e-6

    def test_what_a_round_beam_cuts_does_not_hang_on_the_turn(self, disc):
        (upright,), (turned,) = (toolpath(part(disc), 0.2, turn=turn).contours for turn in (0, 33))
        assert np.array_equal(upright.curve.segments, turned.curve.segments)

    def test_an_upright_square_is_cut_half_a_strip_outside_along_each_axis(self):
        path = toolpath(part(region.rectangle(0, 0, 8, 8)), Kerf.of_strip(Strip(0.4, 0.2)))
        assert tuple(region.bounds(region.from_ring(flatten(path.contours[0].curve)))) == (-0.2, -0.1, 8.2, 8.1)

    def test_holes_are_cut_by_the_inside_kerf(self):
        frame = region.difference(region.rectangle(0, 0, 8, 8), region.rectangle(2, 2, 6, 6))
        path = toolpath(part(frame), Kerf(Strip(0.2, 0.2), Strip(0.4, 0.4)))
        boxes = [tuple(region.bounds(region.from_ring(flatten(c.curve)))) for c in path.contours]
        assert boxes == [pytest.approx((2.1, 2.1, 5.9, 5.9)), pytest.approx((-0.2, -0.2, 8.2, 8.2))]


class TestRefusals:
    def test_a_hole_narrower_than_the_kerf(self):
        slot = region.difference(region.rectangle(0, 0, 20, 20), region.rectangle(5, 5, 5.15, 15))
        with pytest.raises(GeometryError, match=r"hole .*near \(5\.1, 10\.0\) .*kerf of 0\.2 mm"):
            toolpath(part(slot), 0.2)

    def test_pieces_nearer_than_the_kerf(self):
        pair = region.union(region.rectangle(0, 0, 5, 5), region.rectangle(5.1, 0, 10, 5))
        with pytest.raises(GeometryError, match="2 would come out as 1"):
            toolpath(part(pair), 0.2)

    def test_nothing_to_cut(self):
        with pytest.raises(GeometryError, match="nothing to cut"):
            toolpath(part(region.EMPTY), 0.2)

    def test_all_problems_at_once(self):
        sheet = region.rectangle(0, 0, 40, 20)
        for x in (5, 15, 25):
            sheet = region.difference(sheet, region.rectangle(x, 5, x + 0.1, 15))
        with pytest.raises(GeometryError) as caught:
            toolpath(part(sheet), 0.2)
        assert len(caught.value.problems) == 3
