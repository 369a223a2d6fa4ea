import numpy as np
import pytest

from nameplate.geometry import region as geo
from nameplate.lettering.narrow_gaps import narrow_gaps
from nameplate.lettering.strength import allowable, bending_stress, strengthen, weakest_neck
from nameplate.lettering.webs import thicken


def flag(length, width, *, head=8.0):
    """A block with a bar of the given length sticking out, and a block at its end, heavier than a bar's stub."""
    half = width / 2
    return geo.union(
        geo.rectangle(-40, -10, 0, 10),
        geo.rectangle(-1, -half, length, half),
        geo.rectangle(length - 1, -head / 2, length + head, head / 2),
    )


def test_a_bridge_as_in_the_worked_example():
    # bridge 2 mm wide in 3 mm sheet, 5 mm long, 1 N at its end: 6 F L / (t w^2) = 2.5 MPa (cantilever, end load)
    assert bending_stress(1, 5, 3, 2) == pytest.approx(2.5)


def test_three_point_bending_is_two_cantilevers():
    # ISO 178 specimen: 3 F L / (2 b h^2) with F 300 N, span 44, b 11, h 5.3 mm is 64.08 MPa; cut in the middle it is
    # a cantilever of half the span under half the load
    assert pytest.approx(64.08, abs=0.01) == 3 * 300 * 44 / (2 * 11 * 5.3**2)
    assert bending_stress(150, 22, 11, 5.3) == pytest.approx(64.08, abs=0.01)


def test_the_root_of_a_bar_is_its_weakest_place():
    neck = weakest_neck(flag(30, 2), thickness=3)
    assert neck.width == pytest.approx(2, abs=0.03)
    # from the root of the bar to the far corner of the block at its end
    assert neck.lever == pytest.approx(np.hypot(38, 4), abs=1.5)
    assert neck.stress == pytest.approx(bending_stress(2, neck.lever, 3, neck.width))
    assert abs(neck.x) < 2
    assert abs(neck.y) < 0.3


def test_stress_follows_load_thickness_and_width():
    base = weakest_neck(flag(30, 2), thickness=3).stress
    assert weakest_neck(flag(30, 2), thickness=6).stress == pytest.approx(base / 2)
    assert weakest_neck(flag(30, 2), thickness=3, load=5).stress == pytest.approx(base * 2.5)
    assert weakest_neck(flag(30, 4), thickness=3).stress == pytest.approx(base / 4, rel=0.05)


def test_the_lever_is_that_of_the_lighter_side():
    # the bar's root at the heavy block: not the 40 mm block swings, the 12 mm limb does
    neck = weakest_neck(flag(6, 1.5, head=6), thickness=3)
    assert neck.lever < 14


def test_necks_on_a_ring_share_their_load():
    ring = geo.difference(geo.rectangle(0, 0, 40, 40), geo.rectangle(1.5, 1.5, 38.5, 38.5))
    assert weakest_neck(ring, thickness=3) is None


def test_stubs_and_tips_do_not_count():
    assert weakest_neck(geo.EMPTY, thickness=3) is None
    spiky = geo.union(geo.rectangle(0, 0, 10, 10), geo.from_ring([(9, 4), (11.5, 5), (9, 6)]))
    assert weakest_neck(spiky, thickness=3) is None


def test_strengthening_stops_at_the_limit():
    shape = flag(35, 1.5)
    assert weakest_neck(shape, thickness=3).stress > 49
    after = strengthen(shape, thickness=3, limit=49)
    assert after.holds
    assert after.neck.stress <= 49
    assert after.neck.stress > 30  # not wider than it must be
    assert geo.difference(shape, geo.offset(after.region, 0.005)).is_empty
    untouched = strengthen(shape, thickness=3, limit=1e6)
    assert untouched.region is shape


def test_necks_much_finer_than_wood_needs_are_strengthened_too():
    # 6 F L / (t w^2) with a lever of about 50 mm and 11.5 MPa asks for 4.2 mm: four times what the bar has
    shape = flag(40, 1.0, head=10)
    after = strengthen(shape, thickness=3, limit=11.5)
    assert after.holds
    assert after.neck.stress <= 11.5


def test_a_neck_at_the_edge_of_its_room_is_widened_on_the_other_side():
    shape = flag(35, 1.5)
    half = geo.rectangle(-50, -0.76, 50, 20)  # the bar has room above it only
    room = geo.union(half, shape)
    assert not geo.covers(room, strengthen(shape, thickness=3, limit=20).region)
    after = strengthen(shape, thickness=3, limit=20, web=1.5, room=room)
    assert after.holds
    assert geo.covers(geo.offset(room, 1e-6), after.region)
    assert geo.covers(geo.offset(after.region, 1e-6), shape)


def test_strengthening_leaves_no_mouth_that_the_beam_cannot_pass():
    # the widened bar comes within 0.3 mm of the tip of a thorn over it; filled crevices would leave a slit there
    thorn = geo.from_ring([(10, 2.65), (11, 1.65), (12, 2.65)])
    shape = geo.union(flag(35, 1.5), geo.rectangle(-1, 6, 12, 8), geo.rectangle(10, 2.65, 12, 8), thorn)
    after = strengthen(shape, thickness=3, limit=20, web=1.5, kerf=0.18)
    assert after.holds
    assert narrow_gaps(after.region, kerf=0.18) == []


def test_strengthening_that_cannot_succeed_says_so():
    after = strengthen(flag(35, 1.5), thickness=3, limit=2.0)
    assert not after.holds
    assert after.neck.stress > 2.0


def test_the_graph_of_the_thickening_serves_again():
    shape = flag(30, 3)
    thick = thicken(shape, 1.5)
    assert thick.graph is not None
    assert weakest_neck(thick.region, thickness=3, graph=thick.graph) == weakest_neck(thick.region, thickness=3)
    assert thicken(flag(30, 1), 1.5).graph is None


def test_allowable_stresses_are_known():
    # cast PMMA: flexural strength 98-120 MPa in published data sheets, with a safety factor of 2
    cast = allowable("Cast acrylic 3 mm, opal")
    assert cast == 98 / 2
    extruded, ply, board = (allowable(n) for n in ("extruded acrylic", "Birch plywood", "MDF 3 mm"))
    assert board < ply < extruded < cast
    assert allowable("acrylic") == extruded
    assert allowable("felt") is None


@pytest.mark.parametrize("width", [0.5, 2.0])
def test_no_neck_is_widened_beyond_six_times_what_it_was(width):
    after = strengthen(flag(40, width), thickness=3, limit=0.5)
    assert not after.holds and after.neck.width == pytest.approx(6 * width, rel=0.01)
