import math
from itertools import pairwise

import pytest

from nameplate.geometry import region as rg
from nameplate.jig.ladder import clearances, ladder_parts, plug
from nameplate.jig.make import make_shared
from nameplate.ticket.schema import JigKeys


def test_pockets_go_up_in_steps_of_a_twentieth_of_a_millimetre():
    strip, loose = ladder_parts()
    assert (strip.kind, strip.material, loose.material) == ("coupon", "template", "lettering")
    pockets = [region for _, region in strip.features]
    steps = clearances()
    assert len(pockets) == len(steps) and steps[0] == 0.05 and steps[-1] == 0.4
    # Steiner 1840: a convex plug grows by perimeter x clearance + pi x clearance squared
    area, length = loose.region.area, loose.region.length
    for pocket, clearance in zip(pockets, steps, strict=True):
        assert pocket.area == pytest.approx(area + length * clearance + 3.14159265 * clearance**2, abs=0.01)
    assert len(rg.solids(strip.region)) == 1 and rg.hole_count(strip.region) == len(steps)


def test_webs_between_pockets_hold():
    strip, _ = ladder_parts()
    eroded = rg.offset(strip.region, -1.5)
    assert len(rg.solids(eroded)) == 1 and rg.hole_count(eroded) == len(clearances())


def test_there_is_as_much_material_round_the_pockets_as_between_them():
    strip, _ = ladder_parts()
    body, pockets = rg.bounds(strip.region), [rg.bounds(region) for _, region in strip.features]
    between = [above.y0 - below.y1 for above, below in pairwise(pockets)]
    beside = [body.y1 - pockets[0].y1, pockets[-1].y0 - body.y0, *(pocket.x0 - body.x0 for pocket in pockets)]
    beside.append(body.x1 - max(line[:, 0].max() for line in strip.marks))  # and beside the figures
    assert (
        3 < min(beside) < 5 and max(*beside, *between) - min(*beside, *between) < 1
    )  # as thick as the sheet is usually


def test_figures_stand_on_the_coupon_clear_of_pockets():
    from shapely.geometry import LineString

    strip, _ = ladder_parts()
    for mark in strip.marks:
        assert strip.region.contains(LineString(mark).buffer(1.0))


def test_the_plug_has_its_size_with_a_round_end_and_a_slanted_corner():
    box = rg.bounds(plug())
    assert (box.width, box.height) == pytest.approx((16, 9)) and box.centre == pytest.approx((0, 0))
    # a bar, half a disc, less the triangle of 3 x 2
    assert plug().area == pytest.approx(11.5 * 9 + math.pi * 4.5**2 / 2 - 3 * 2 / 2, abs=0.02)
    assert not rg.intersects(plug(), rg.rectangle(-8, 4.4, -7.9, 4.5))  # the corner is at the upper left


def test_the_plug_goes_in_one_way_only():
    flipped = [rg.moved(plug(), turn=180), rg.mirrored(plug()), rg.moved(rg.mirrored(plug()), turn=180)]
    for other in flipped:
        assert not rg.covers(rg.offset(plug(), clearances()[-1]), other)


def test_a_ticket_asks_for_the_ladder(faces):
    with_it = make_shared(faces["ellipse"], JigKeys(ladder=True))
    assert [p.plate for p in with_it.parts] == ["ladder", "ladder"]
    assert make_shared(faces["ellipse"], JigKeys()).parts == ()


def test_the_widest_pocket_has_a_rim_of_four_millimetres():
    strip, _ = ladder_parts()
    body, widest = rg.bounds(strip.region), rg.bounds(strip.features[-1][1])
    assert widest.x0 - body.x0 == pytest.approx(4, abs=0.01)
