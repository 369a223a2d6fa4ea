import math
from functools import cache

import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw
from scipy.ndimage import distance_transform_edt
from shapely.geometry import Point
from skimage.measure import euler_number, label

from nameplate import tolerances
from nameplate.geometry import region as geo
from nameplate.lettering.bridges import tie
from nameplate.lettering.webs import _stout, mended, thicken, weakest, webs_hold
from nameplate.typesetting.fonts import bundled_fonts, load_font
from tests.typesetting.ways import settings

WEB = 1.5

FONTS = tuple(info.name for info in bundled_fonts())
NAMES = ("Müller", "Nguyễn Ánh", "Åsa Zoë", "Jean-Luc", "Maximilian")


def notched_bar(left, width=6.0, depth=1.0):
    """A bar with a sharp notch from either side, so that `left` mm remain between their tips."""
    half = width / 2
    bar = geo.rectangle(-10, -half, 10, half)
    for side in (1, -1):
        notch = geo.from_ring([(-depth, side * (half + 1)), (0, side * left / 2), (depth, side * (half + 1))])
        bar = geo.difference(bar, notch)
    return bar


def ring(left, outer=5.0, inner=2.5):
    """A ring with the hole off the centre, so that its narrowest place is `left` mm wide."""
    hole = Point(outer - inner - left, 0).buffer(inner, 64)
    return geo.difference(geo.as_region(Point(0, 0).buffer(outer, 64)), geo.as_region(hole))


def raster_holds(solid, web, slack=0.12, per_mm=20):
    """The same question asked of pixels, by scikit-image: one core, and as many holes in it as in the solid.

    The slack is two and a half pixels: one at each edge and one for the distance.
    """
    box = geo.bounds(solid)
    size = tuple(int((v + 1) * per_mm) + 2 for v in (box.width, box.height))
    image = Image.new("1", size)
    pen = ImageDraw.Draw(image)
    for rings, ink in ((geo.outer_rings(solid), 1), (geo.hole_rings(solid), 0)):
        for points in rings:
            pen.polygon([tuple(p) for p in (points - (box.x0 - 0.5, box.y0 - 0.5)) * per_mm], fill=ink)
    core = distance_transform_edt(np.asarray(image)) / per_mm > (web - slack) / 2
    bodies = label(core, connectivity=2)
    large = [i for i, cells in enumerate(np.bincount(bodies.ravel())) if i and cells > 0.05 * per_mm**2]
    return len(large) == 1 and 1 - euler_number(bodies == large[0], connectivity=2) == geo.hole_count(solid)


@cache
def tied(font, name, width):
    """Letters of a name, `width` mm wide, before and after tying."""
    setting = settings(name, "", load_font(font), words="tie")[0]
    scale = width / geo.bounds(geo.union(*(g.region for g in setting.glyphs))).width
    letters = [geo.moved(g.region, scale=scale) for g in setting.glyphs]
    return letters, tie(letters, web=WEB, slant=setting.slant).region


@pytest.mark.parametrize("make", [notched_bar, ring])
@pytest.mark.parametrize("web", [1.0, 1.5, 2.0])
def test_quiet_at_a_twentieth_short_and_alarm_at_a_tenth(make, web):
    assert webs_hold(make(web), web)
    assert webs_hold(make(web - 0.05), web)
    assert not webs_hold(make(web - 0.1), web)


def test_sharp_neck_that_an_opening_misses():
    # half the web is missing over a length of nothing: the opening's residue there is 0.2 mm2
    assert not webs_hold(notched_bar(1.0, depth=0.2), WEB)


@pytest.mark.parametrize("make", [notched_bar, ring])
def test_raster_agrees_on_the_shapes_of_the_calibration(make):
    assert raster_holds(make(WEB), WEB)
    assert not raster_holds(make(WEB - 0.4), WEB)  # a notch's tip is finer than a pixel


@pytest.mark.parametrize("make", [notched_bar, ring])
def test_weakest_web_is_found_where_it_was_put(make):
    found = weakest(make(0.8), WEB)
    assert found is not None
    assert found.width == pytest.approx(0.8, abs=0.03)
    at = (0, 0) if make is notched_bar else (5 - 0.4, 0)
    assert math.dist((found.x, found.y), at) < 0.3  # two steps of the sampling


def test_weakest_of_a_sound_shape_is_none():
    assert weakest(notched_bar(WEB), WEB) is None
    assert weakest(geo.EMPTY, WEB) is None


@pytest.mark.parametrize("make", [notched_bar, ring])
@pytest.mark.parametrize("left", [0.15, 0.4, 0.8, 1.3])
def test_thickening_mends_necks_and_adds_little_else(make, left):
    before = make(left)
    after = thicken(before, WEB)
    assert after.holds
    assert webs_hold(after.region, WEB)
    assert geo.difference(before, geo.offset(after.region, 0.005)).is_empty
    assert after.region.area - before.area < 4 * WEB**2


def test_sound_shapes_come_back_as_they_are():
    # the corners of a square and of a 58 degree wedge are narrow, but no webs
    wedge = geo.from_ring([(0, 0), (9, -5), (9, 5)])
    for shape in (geo.rectangle(0, 0, 8, 3), ring(2.0), wedge):
        after = thicken(shape, WEB)
        assert geo.hausdorff(after.region, shape) < 0.02
        assert after.holds


def test_hairline_becomes_a_stroke_of_the_web_no_longer_than_before():
    # Steiner: the widened hairline is no larger than the parallel body of its middle line
    after = thicken(geo.union(geo.rectangle(0, 0, 20, 0.2), geo.rectangle(-4, -2, 1, 2)), WEB).region
    box = geo.bounds(after)
    assert box.x1 <= 20 + 0.1
    assert geo.bounds(geo.intersection(after, geo.rectangle(3, -9, 17, 9))).height == pytest.approx(WEB, abs=0.02)
    # the stroke's end is round, without a nub
    smooth = geo.union(geo.rectangle(-4, -2, 1, 2), geo.capsule([(0, 0.1), (19.3, 0.1)], WEB + 0.04))
    assert geo.difference(after, geo.closed(smooth, 0.25)).area < 0.01


@pytest.mark.parametrize("gap", [0.8, 1.5, 2.5])
@pytest.mark.parametrize("turn", [0, 35, 120])
def test_a_web_that_a_piece_makes_is_widened_and_nothing_far_from_it(gap, turn):
    hook = geo.difference(geo.disc((0, 0), 24), geo.union(geo.disc((0.6, 0), 20.2), geo.rectangle(0, 0, 13, gap)))
    hook = geo.moved(thicken(hook, WEB).region, turn=turn)
    plug = geo.moved(geo.capsule([(11.2, -0.8), (11.2, gap + 0.8)], WEB / 2), turn=turn)
    assert geo.hole_count(hook) == 0
    done = mended(geo.union(hook, plug), WEB, crevice=0.13)
    assert done.holds
    assert geo.hole_count(done.region) == 1
    assert raster_holds(geo.solids(done.region)[0], WEB)
    far = geo.moved(geo.rectangle(-30, -30, 0, 30), turn=turn)
    moved = geo.difference(geo.intersection(done.region, far), geo.offset(geo.intersection(hook, far), 0.01))
    assert moved.is_empty  # a stroke away from the piece stays as it was


def test_small_counters_are_filled_and_large_ones_kept():
    plate = geo.rectangle(0, 0, 20, 10)
    small = geo.as_region(Point(4, 5).buffer(0.28, 32))
    large = geo.as_region(Point(12, 5).buffer(0.4, 32))
    after = thicken(geo.difference(plate, geo.union(small, large)), WEB).region
    assert geo.hole_count(after) == 1


def test_odd_input_never_raises():
    bow_tie = geo.from_ring([(0, 0), (4, 4), (4, 0), (0, 4)])
    speck = geo.rectangle(0, 0, 0.01, 0.01)
    needle = geo.from_ring([(0, 0), (30, 0.001), (0, 0.002)])
    touching = geo.union(geo.rectangle(0, 0, 2, 2), geo.rectangle(2, 2, 4, 4))
    many = geo.union(*(geo.rectangle(3 * i, 0, 3 * i + 1, 1) for i in range(5)))
    for shape in (geo.EMPTY, bow_tie, speck, needle, touching, many):
        for web in (0.0, 0.1, 1.5, 10.0):
            thick = thicken(shape, web)
            assert thick.region.is_valid
            weakest(thick.region, web)
            assert thick.holds == webs_hold(thick.region, web) or web == 0


@pytest.mark.parametrize("font", FONTS)
def test_names_hold_by_pixels_and_keep_their_letters(font):
    drawable = [n for n in NAMES if not load_font(font).missing(n)]
    name = drawable[FONTS.index(font) % len(drawable)]
    letters, before = tied(font, name, 110.0 if " " in name else 80.0)
    after = thicken(before, WEB)
    assert after.holds
    assert len(geo.solids(after.region)) == 1
    assert raster_holds(geo.solids(after.region)[0], WEB)
    lost = geo.difference(geo.union(*letters), geo.offset(after.region, tolerances.FLATTEN))
    assert lost.area < 0.005
    assert thicken(after.region, WEB).region.area == pytest.approx(after.region.area, rel=2e-3)


#: Pieces that are nowhere as wide as a web and have no stroke long enough to be widened.
SLIGHT = {
    "dash": geo.rectangle(0, 0, 2.8, 0.5),
    "leaning dash": geo.capsule(np.array([(0.0, 0.0), (1.6, 1.2)]), 0.6),
    "dot": geo.disc((0, 0), 0.3),
    "comma": geo.from_ring([(0, 0), (0.6, 0.1), (0.5, -0.7), (-0.2, -1.4), (0.1, -0.6)]),
    "cross": geo.union(geo.rectangle(-1, -0.2, 1, 0.2), geo.rectangle(-0.2, -1, 0.2, 1)),
}


@pytest.mark.parametrize("name", SLIGHT)
def test_a_loose_dash_or_dot_is_grown_to_a_web(name):
    slight, word = SLIGHT[name], geo.rectangle(9, -5, 20, 5)
    assert not webs_hold(slight, WEB)
    done = thicken(geo.union(slight, word), WEB)
    assert done.holds and len(geo.solids(done.region)) == 2
    small, large = sorted(geo.solids(done.region), key=lambda s: s.area)
    assert geo.difference(slight, small).area < 0.01 and geo.hausdorff(large, word) < 0.01
    # the library's own largest circle in it is one web wide, and no wider than that
    across = 2 * shapely.maximum_inscribed_circle(small, tolerance=1e-3).length
    assert WEB - 0.01 <= across <= WEB * 1.05


def test_the_narrowest_web_is_looked_for_where_one_does_not_hold():
    """A web within the slack of the minimum holds, and is not the reason for a refusal."""
    holds, fails = notched_bar(WEB - 0.03), geo.moved(geo.rectangle(0, 0, 9, 1), 0, 20)
    found = weakest(geo.union(holds, fails), WEB)
    assert found.y > 19 and found.width == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize("gap", [0.25, 0.254, 0.255, 0.256, 0.27])
def test_where_two_widened_strokes_nearly_touch_they_part_or_grow_together(gap):
    # two rings whose widened strokes come just near enough for a disc of CREVICE (0.13 mm) to leave a film
    ring = geo.difference(geo.disc((0, 0), 6.6), geo.disc((0, 0), 5.4))
    rings = geo.union(ring, geo.moved(ring, 6 + WEB + gap), geo.rectangle(-7, -6, 14, -1.5))
    done = thicken(rings, WEB)
    assert done.holds
    assert raster_holds(geo.solids(done.region)[0], WEB)
    assert geo.hole_count(done.region) in (2, 3)


def test_a_shape_that_has_its_webs_comes_back_as_it_is():
    for shape in (geo.rectangle(0, 0, 20, 2), geo.union(geo.disc((0, 0), 1.7), geo.rectangle(5, 0, 9, 4))):
        assert _stout(shape, 1.5) is shape
    dash = geo.rectangle(0, 0, 5, 1)
    assert webs_hold(_stout(geo.union(dash, geo.rectangle(9, 0, 19, 9)), 1.5), 1.5)
