"""Names that stand free: their size, their lines, their rings, and what of a row does not go with them."""

import pytest

from nameplate.geometry.beam import Kerf
from nameplate.geometry.region import bounds, hole_rings, solids
from nameplate.lettering.webs import webs_hold
from nameplate.model import Order
from nameplate.plates.one_size import one_size
from nameplate.ticket.schema import FaceKeys

from .contexts import context_for, draft_once, make_once

HIGH = FaceKeys(shape="none", height=40)
NAMES = ("Ida", "Jörg Öl", "Robin & Sons")


def order(name, **keys):
    return Order("1", 2, name, free=True, **keys)


def plate_of(face, name, *, cuts=False, make=make_once, row=None, **keys):
    context = context_for(face, cuts=cuts, **keys)
    return make(context, order(name, fonts=context.lettering.font, **(row or {}))).plate


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_as_high_as_asked_and_one_piece(name):
    plate = plate_of(HIGH, name, cuts=True)
    assert bounds(plate.lettering.region).height == pytest.approx(40.0, abs=0.1)
    assert [part.kind for part in plate.parts] == ["lettering"] and plate.jig == {}
    assert len(solids(plate.parts[0].region)) == 1 and webs_hold(plate.parts[0].region, 1.5)
    assert bounds(plate.lettering.region).centre == pytest.approx((0.0, 0.0), abs=0.05)


@pytest.mark.parametrize("font", ["Great Vibes", "Lobster", "Playpen Sans ExtraBold"])
def test_the_height_is_that_of_the_finished_letters_in_any_font(font):
    """Hairlines that are widened grow, and acute tips are rounded."""
    plate = plate_of(HIGH, "Wilma", font=(font,))
    assert bounds(plate.lettering.region).height == pytest.approx(40.0, abs=0.1)


def test_a_name_is_as_wide_as_asked_on_one_line():
    plate = plate_of(FaceKeys(shape="none", width=180), "Jo & Ida Wren")
    assert bounds(plate.lettering.region).width == pytest.approx(180.0, abs=0.1)
    assert plate.lettering.lines == ("Jo & Ida Wren",)
    stacked = plate_of(FaceKeys(shape="none", width=180), "Jo & Ida Wren", words="stack").lettering
    assert len(stacked.lines) > 1 and bounds(stacked.region).width == pytest.approx(180.0, abs=0.1)


def test_with_both_it_is_no_larger_than_both_and_lines_break_as_on_a_face():
    long, short = (plate_of(FaceKeys(shape="none", width=120, height=60), n).lettering for n in ("Jo & Ida Wren", "Al"))
    assert len(long.lines) > 1 and bounds(long.region).width == pytest.approx(120.0, abs=0.1)
    assert bounds(long.region).height <= 60 and bounds(short.region).width <= 120
    assert bounds(short.region).height == pytest.approx(60.0, abs=0.1)


@pytest.mark.parametrize("at", ["balance", "ends"])
def test_rings_come_on_top_of_the_size_and_are_cut_with_the_name(at):
    plate = plate_of(FaceKeys(shape="none", height=40, ring=5, ring_at=at), "Robin & Sons", cuts=True)
    region, rings = plate.parts[0].region, plate.lettering.rings
    assert rings.height == pytest.approx(40.0, abs=0.1)
    assert len(rings.at) == (1 if at == "balance" else 2)
    boxes = [(ring.min(axis=0), ring.max(axis=0)) for ring in hole_rings(region)]
    for x, y in rings.at:
        around = [high - low for low, high in boxes if low[0] < x < high[0] and low[1] < y < high[1]]
        assert around[0] == pytest.approx((5.0, 5.0), abs=0.01)
    if at == "balance":
        assert abs(region.centroid.x - rings.at[0][0]) < 0.5
        assert bounds(region).height > 42
    else:
        assert bounds(region).width > rings.width + 8


def test_letters_are_judged_without_their_rings():
    with_ring, without = (plate_of(FaceKeys(shape="none", height=40, ring=r), "Tom").lettering for r in (4, None))
    assert with_ring.legibility == without.legibility


def test_a_name_moved_about_keeps_its_rings():
    lettering = plate_of(FaceKeys(shape="none", height=40, ring=4), "Tom").lettering
    ((x, y),) = lettering.rings.at
    assert lettering.moved_by(3.0, 2.0).rings.at == ((x + 3.0, y + 2.0),)


def test_ties_of_a_ring_are_as_strong_as_necks_of_the_letters():
    """Birch ply bears a third of what cast acrylic does: its strip is wider."""
    from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, MaterialKeys

    ply = {**DEFAULT_MATERIALS, "lettering": MaterialKeys(name="birch ply", thickness=3.0, kerf=Kerf.of(0.2))}
    face = FaceKeys(shape="none", height=60, ring=4)
    soft, hard = (plate_of(face, "Maurer", materials=m) for m in (ply, DEFAULT_MATERIALS))
    assert "fragile" not in {f.code for f in soft.findings}
    assert soft.lettering.region.area > hard.lettering.region.area
    assert soft.lettering.neck.stress <= 16.2 < hard.lettering.neck.stress


def test_a_draft_has_its_rings_and_about_the_size():
    face = FaceKeys(shape="none", height=40, ring=4)
    for name in NAMES[1:]:
        draft, full = (plate_of(face, name, make=make) for make in (draft_once, make_once))
        assert draft.parts[0].region.area == pytest.approx(full.parts[0].region.area, rel=0.06)
        assert bounds(draft.parts[0].region).height == pytest.approx(bounds(full.parts[0].region).height, abs=2.0)
        assert draft.lettering.rings is not None


def test_one_size_is_one_em_whatever_the_heights():
    context = context_for(HIGH, cuts=False, size="uniform")
    plates = [make_once(context, order(name, fonts=context.lettering.font)).plate for name in ("Ann", "Jöry", "Wren")]
    made = [make_once(context, order).plate.lettering for order in one_size(context, plates).orders]
    assert len({lettering.size for lettering in made}) == 1
    heights = [bounds(lettering.region).height for lettering in made]
    assert max(heights) == pytest.approx(40.0, abs=0.1) and min(heights) < 36


def test_a_row_with_a_size_of_its_own_has_that():
    assert plate_of(HIGH, "Ida", row={"size": 20.0}).lettering.size == 20.0


def test_a_name_beyond_every_face_is_refused_with_what_to_do():
    plate = plate_of(FaceKeys(shape="none", height=320), "Maximilian Oberwieser", strengthen=False)
    (finding,) = [f for f in plate.findings if f.severity == "error"]
    assert plate.lettering is None and finding.code == "too-large"
    assert "3000 mm is the most" in finding.message and "smaller height" in finding.message


def test_letters_too_small_for_the_web_are_refused():
    plate = plate_of(FaceKeys(shape="none", width=30), "Maximilian Oberwieser")
    assert plate.lettering is None and plate.findings[0].code == "letters-too-small"
