import math
from dataclasses import replace

import pytest
from shapely.geometry import LineString

from nameplate.geometry import region as rg
from nameplate.geometry.engraving_font import label
from nameplate.jig.make import make_jig
from nameplate.jig.template import jig_file_name, loose_figures, template_round
from nameplate.jig.window import make_opening
from nameplate.model import Face, Order
from nameplate.ticket.schema import JigKeys

KEYS = JigKeys(clearance=0.2)


def make_template(face, lettering, order, keys, *, web):
    return template_round(face, make_opening(lettering.region, keys), order, keys, web=web)


def window_of(part):
    ((feature, window),) = part.features
    assert feature == "window"
    return window


@pytest.mark.parametrize("name", ["ellipse", "rectangle", "shield", "apple"])
def test_the_template_is_the_face_without_the_window(faces, handwriting, order, name):
    part, findings = make_template(faces[name], handwriting, order, KEYS, web=1.5)
    window = window_of(part)
    assert (part.plate, part.kind, part.material) == ("007", "template", "template")
    assert rg.hausdorff(rg.filled(part.region), faces[name].outline) < 1e-9
    assert rg.covers(rg.offset(rg.difference(faces[name].outline, window), 1e-6), part.region)
    needles = rg.difference(rg.difference(faces[name].outline, window), part.region)
    assert rg.opened(needles, 0.11).is_empty  # only the tips that the template rounds are gone
    assert len(rg.solids(part.region)) == 1
    assert not [f for f in findings if f.severity == "error"]


@pytest.mark.parametrize(("clearance", "area"), [(0.1, 7.4292699), (0.3, 10.4634292)])
def test_an_l_shape_grows_by_the_published_area(faces, lettering_of, order, clearance, area):
    # parallel sets of non-convex shapes: Federer 1959; value worked out for this L-shape
    shape = rg.from_ring([(0, 0), (4, 0), (4, 1), (1, 1), (1, 3), (0, 3)])
    part, _ = make_template(faces["ellipse"], lettering_of(shape), order, JigKeys(clearance=clearance), web=1.5)
    assert window_of(part).area == pytest.approx(area, abs=0.004)


def test_a_square_grows_by_steiners_formula(faces, lettering_of, order):
    # Steiner 1840: A + P r + pi r^2
    part, _ = make_template(
        faces["ellipse"], lettering_of(rg.rectangle(-5, -5, 5, 5)), order, JigKeys(clearance=1.0), web=1.5
    )
    assert window_of(part).area == pytest.approx(143.1415927, abs=0.01)


def test_counters_are_filled_and_nothing_can_fall_out(faces, lettering_of, order, ellipse_of):
    ring = rg.difference(ellipse_of(20, 20), ellipse_of(10, 10))
    part, _ = make_template(faces["ellipse"], lettering_of(ring), order, KEYS, web=1.5)
    assert window_of(part).area == pytest.approx(math.pi * 10.2**2, rel=2e-4)
    assert len(rg.solids(part.region)) == 1


def test_the_window_shrunk_by_the_clearance_is_the_lettering_again(faces, handwriting, order):
    part, _ = make_template(faces["ellipse"], handwriting, order, KEYS, web=1.5)
    back = rg.offset(window_of(part), -KEYS.clearance)
    nominal = rg.filled(handwriting.region)
    assert rg.covers(rg.offset(back, 0.005), nominal)
    assert rg.difference(back, nominal).area < 0.01 * nominal.area


def test_a_nearly_closed_gap_is_cut_away_and_counted(faces, lettering_of, order, ellipse_of):
    ring = rg.difference(ellipse_of(20, 20), ellipse_of(10, 10))
    open_ring = rg.difference(ring, rg.rectangle(0, -0.15, 20, 0.15))
    part, findings = make_template(faces["ellipse"], lettering_of(open_ring), order, KEYS, web=1.5)
    assert len(rg.solids(part.region)) == 1
    assert loose_figures(open_ring, part.region, KEYS)["closed_gaps"] == 1
    assert findings == ()  # nobody has to do anything


def test_a_thin_tongue_is_counted_with_its_area(faces, lettering_of, order, ellipse_of):
    ring = rg.difference(ellipse_of(20, 20), ellipse_of(10, 10))
    open_ring = rg.difference(ring, rg.rectangle(0, -0.35, 20, 0.35))
    part, findings = make_template(faces["ellipse"], lettering_of(open_ring), order, KEYS, web=1.5)
    assert len(rg.solids(part.region)) == 1
    tongues = loose_figures(open_ring, part.region, KEYS)["thin_tongues"]
    assert tongues["count"] == 1 and 70 <= tongues["area"] <= 72.5
    assert findings == ()


def test_two_windows_too_near_are_a_warning_with_place_and_number(faces, lettering_of, order):
    loose = rg.union(rg.rectangle(-20, -5, -0.7, 5), rg.rectangle(0.7, -5, 20, 5))
    part, findings = make_template(faces["ellipse"], lettering_of(loose), order, KEYS, web=1.5)
    (web,) = [f for f in findings if f.code == "template-web"]
    assert web.severity == "warning" and web.measured == pytest.approx(1.0, abs=1e-6) and web.allowed == 1.5
    assert "x 0.0" in web.message and "lines of the name farther apart" in web.message
    assert web.plate == "007" and web.row == 8
    assert len(rg.solids(window_of(part))) == 2


def test_a_window_near_the_edge_is_a_warning_and_one_far_enough_is_not(faces, lettering_of, order):
    near = lettering_of(rg.rectangle(-58.8, -5, 50, 5))
    _, findings = make_template(faces["rectangle"], near, order, KEYS, web=1.5)
    (web,) = [f for f in findings if f.code == "template-web"]
    assert web.measured == pytest.approx(1.0, abs=1e-6) and web.message.endswith("raise the face's inset")
    far = lettering_of(rg.rectangle(-58.2, -5, 50, 5))
    assert not [f for f in make_template(faces["rectangle"], far, order, KEYS, web=1.5)[1] if f.code == "template-web"]


@pytest.mark.parametrize("reach", [59.9, 59.8, 61.0])
def test_a_window_that_breaks_out_of_the_face_is_an_error(faces, lettering_of, order, reach):
    part, findings = make_template(
        faces["rectangle"], lettering_of(rg.rectangle(-reach, -5, 50, 5)), order, KEYS, web=1.5
    )
    if reach == 59.8:  # touches the edge exactly: a web of nothing, warned about, or an error; never silent
        assert findings
        return
    assert part is None
    assert [f.code for f in findings] == ["window-breaks-out"] and findings[0].severity == "error"
    assert findings[0].measured == pytest.approx(reach + 0.2 - 60, abs=1e-6)


@pytest.mark.parametrize("name", ["ellipse", "rectangle", "shield", "apple"])
def test_marks_keep_clear_of_window_and_edge(faces, handwriting, order, name):
    part, findings = make_template(faces[name], handwriting, order, KEYS, web=1.5)
    assert not [f for f in findings if f.code == "label-left-out"]
    assert len(part.marks) == len(label("007 Wren Abara", 3)) + 3
    check = part.marks[-1]
    assert check[:, 0].max() - check[:, 0].min() == pytest.approx(10.0)
    window, edge = window_of(part), faces[name].outline.boundary
    for line in part.marks:
        drawn = LineString(line)
        assert drawn.distance(window) >= 1.5 - 1e-6
        assert drawn.distance(edge) >= 1.5 - 1e-6
        assert part.region.covers(drawn)


def test_the_label_shrinks_to_the_id_and_to_2_mm_before_it_is_left_out(face_of, lettering_of, order):
    name = lettering_of(rg.rectangle(-38, -3, 38, 3))

    def made(above, width):
        outline = rg.union(rg.rectangle(-40, -5, 40, 5), rg.rectangle(-40, -5, width - 40, 3.2 + 1.5 + above + 1.5))
        return make_template(face_of(outline, inset=0), name, order, KEYS, web=1.5)

    roomy, _ = made(8, 80)
    snug, _ = made(3.1, 14)
    full, findings = made(0, 12)
    assert len(roomy.marks) == len(label("007 Wren Abara", 3)) + 3
    heights = {round(float(line[:, 1].max() - line[:, 1].min()), 3) for line in snug.marks}
    assert len(snug.marks) == len(label("007", 3)) and 2.0 <= max(heights) < 3.0
    assert full.marks == ()
    (left_out,) = [f for f in findings if f.code == "label-left-out"]
    assert left_out.severity == "note" and "id and up arrow" in left_out.message


def test_the_same_plate_gives_the_same_template(faces, handwriting, order):
    a, b = (make_template(faces["apple"], handwriting, order, KEYS, web=1.5)[0] for _ in range(2))
    assert a.region.equals_exact(b.region, 0)
    assert all((p == q).all() for p, q in zip(a.marks, b.marks, strict=True))


@pytest.mark.parametrize(
    ("id", "name", "file"),
    [
        ("007", "Wren Abara", "007-wren-abara.svg"),
        ("1", "Łukasz Ørsted", "1-lukasz-orsted.svg"),
        ("2", "Þóra Groß", "2-thora-gross.svg"),
        ("3", "Jean-Luc O’Neill", "3-jean-luc-o-neill.svg"),
        ("4", "Ελένη", "4-plate.svg"),
        ("A.5 b", "..", "A.5 b-plate.svg"),
    ],
)
def test_jig_file_names(id, name, file):
    assert jig_file_name(Order(id, 2, name)) == file


def test_a_long_name_stays_within_60_characters_and_keeps_its_id():
    file = jig_file_name(Order("123", 2, "Coreth von und zu Coredo und Starkenberg " * 3))
    assert len(file) <= 60 and file.startswith("123-coreth-von") and file.endswith(".svg")


def test_a_template_that_may_turn_on_its_plaque_has_a_hole_over_that_of_the_plaque(lettering_of, order):
    around, hole = rg.disc((0, 0), 60), rg.disc((0, 25), 3)
    name = lettering_of(rg.rectangle(-15, -5, 15, 5))
    keys = JigKeys(style="template", clearance=0.2)

    def made(holes=hole, cut=True, outline=around, style="template"):
        face = Face(outline, rg.offset(outline, -3), holes, "circle", cut=cut)
        jig = make_jig(face, name, order, replace(keys, style=style), web=1.5)
        assert jig.part is not None
        return [feature for feature, _ in jig.part.features], jig.part.region

    features, region = made()
    assert features == ["check", "window"]
    assert rg.difference(hole, rg.difference(around, region)).is_empty  # it is open just where the plaque is
    for less in (
        made(cut=False),  # nobody knows the holes of a plaque that comes from elsewhere
        made(style="print"),
        made(rg.disc((0, 0), 3)),  # in the window
        made(rg.disc((0, 28), 3)),  # 0.5 mm from the edge
        made(rg.disc((0, 7), 3)),  # 0.3 mm from the window
        made(outline=rg.rectangle(-40, -30, 40, 30)),  # held by its edge
    ):
        assert less[0] == ["window"]
