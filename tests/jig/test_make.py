import numpy as np
import pytest

from nameplate.geometry import region as rg
from nameplate.jig.make import make_jig, make_shared
from nameplate.ticket.schema import JigKeys

STYLES = ["template", "carrier", "print"]


@pytest.mark.parametrize("style", STYLES)
def test_every_style_makes_a_jig_with_its_record(faces, handwriting, order, style):
    jig = make_jig(faces["rectangle"], handwriting, order, JigKeys(style=style), web=1.5)
    assert jig.part is not None and jig.part.kind == "template"
    assert jig.is_cut is (style != "print")
    assert jig.record["file"] == "jigs/007-wren-abara.svg"
    assert jig.record["style"] == style and jig.record["window"] == "contour"
    assert set(jig.record["play"]) == {"shift", "turn", "far"}


def test_the_carriers_play_is_the_sum_of_window_pins_and_pocket(faces, handwriting, order):
    by_edge, on_pins = (
        make_jig(faces["rectangle"], handwriting, order, JigKeys(style=style), web=1.5).record["play"]
        for style in ("template", "carrier")
    )
    assert by_edge["far"] + 0.2 < on_pins["far"] < 1.0
    assert by_edge["shift"] + 0.25 < on_pins["shift"]


def test_features_of_a_template_on_pins(faces, handwriting, order):
    jig = make_jig(faces["apple"], handwriting, order, JigKeys(style="carrier"), web=1.5)
    assert [name for name, _ in jig.part.features] == ["pin-hole", "pin-slot", "pin-hole", "window"]
    window = dict(jig.part.features)["window"]
    contour = rg.filled(rg.offset(rg.filled(handwriting.region), 0.2))
    # but for needles of card, which are rounded off
    assert rg.difference(contour, window).area < 0.01 and rg.difference(window, contour).area < 0.1


def test_a_window_that_breaks_out_of_the_face_is_made_by_the_carrier_style(face_of, lettering_of, order):
    face = face_of(rg.rectangle(-50, -20, 50, 20), inset=0)
    wide = lettering_of(rg.rectangle(-49.9, -6, 49.9, 6))
    refused = make_jig(face, wide, order, JigKeys(style="template"), web=1.5)
    assert refused.part is None and [f.code for f in refused.findings] == ["window-breaks-out"]
    made = make_jig(face, wide, order, JigKeys(style="carrier"), web=1.5)
    assert made.part is not None and len(rg.solids(made.part.region)) == 1


def test_a_print_carries_a_line_of_100_mm(faces, handwriting, order):
    plain, printed = (
        make_jig(faces["ellipse"], handwriting, order, JigKeys(style=style), web=1.5).part
        for style in ("template", "print")
    )
    lengths = [float(np.linalg.norm(line[-1] - line[0])) for line in printed.marks[len(plain.marks) :]]
    assert lengths[0] == pytest.approx(100.0)
    assert all(line[:, 1].max() < rg.bounds(printed.region).y0 for line in printed.marks[len(plain.marks) :])
    line, *strokes = printed.marks[len(plain.marks) :][:3]
    assert line[:, 0].mean() == pytest.approx(rg.bounds(printed.region).centre[0])
    assert [stroke.mean(axis=0).tolist() for stroke in strokes] == [pytest.approx(end) for end in line.tolist()]
    figure = np.concatenate(printed.marks[len(plain.marks) + 3 :])
    assert figure[:, 1].max() < min(stroke[:, 1].min() for stroke in strokes), "what it says stands below the line"


def test_a_circle_is_stated_to_turn_half_round(face_of, ellipse_of, handwriting, order):
    face = face_of(ellipse_of(100, 100), "circle")
    jig = make_jig(face, handwriting, order, JigKeys(style="carrier"), web=1.5)
    assert jig.record["play"]["turn"] == 180.0
    assert jig.record["play"]["far"] > rg.bounds(handwriting.region).width * 0.9
    assert jig.record["play"]["shift"] > 0
    assert "face-does-not-locate" in [f.code for f in make_shared(face, JigKeys(style="carrier")).findings]


def test_what_a_batch_shares(faces):
    shared = make_shared(faces["shield"], JigKeys(style="carrier", plaque_height=6.0), title="ORCHARD")
    assert [p.layer for p in shared.parts] == [1, 2, 3]
    assert [row["what"] for row in shared.record["layers"]] == ["floor", "wall", "wall"]
    assert len(shared.record["pins"]) == 3 and set(shared.record["play"]) == {"shift", "turn", "far"}
    turn = shared.record["register"]["turn"]
    assert 0 < turn == round(turn, 4) < 1  # degrees, and as fine as they mean something
    assert make_shared(faces["shield"], JigKeys(style="none")).findings == ()
    assert make_shared(faces["shield"], JigKeys(style="template")).parts == ()


@pytest.mark.parametrize("name", ["rectangle", "shield", "apple"])
def test_pushed_about_a_name_stays_within_the_stated_error(faces, handwriting, order, name):
    """Push and turn plaque, template and name at random, each within its own opening; watch the name on the plaque."""
    import shapely
    from shapely import affinity

    keys = JigKeys(style="carrier")
    face = faces[name]
    jig = make_jig(face, handwriting, order, keys, web=1.5)
    stated = jig.record["play"]
    solid = rg.filled(handwriting.region)
    window = rg.offset(dict(jig.part.features)["window"], 1e-4)
    pocket = rg.offset(face.outline, keys.clearance)
    shapely.prepare(window)
    shapely.prepare(pocket)
    rng = np.random.default_rng(7)

    def farthest(part, opening, direction):
        low, high = 0.0, 4.0
        for _ in range(9):
            half = (low + high) / 2
            dx, dy, turn = direction * half
            if opening.covers(affinity.translate(affinity.rotate(part, turn, origin=(0, 0)), dx, dy)):
                low = half
            else:
                high = half
        return direction * low

    corners = rg.convex_corners(handwriting.region)
    for _ in range(25):
        push = rng.normal(size=3) * [0.2, 0.2, 0.3]
        in_window = farthest(shapely.simplify(solid, 0.01), window, push)
        in_pocket = farthest(face.outline, pocket, -push)
        turn = np.radians(in_window[2] - in_pocket[2])
        moved = corners @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        moved = moved + in_window[:2] - in_pocket[:2]
        assert np.linalg.norm(moved - corners, axis=1).max() <= stated["far"]
