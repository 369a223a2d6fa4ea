import math
from dataclasses import replace
from pathlib import Path

import pytest

from nameplate.errors import FaceError
from nameplate.face.making import face_words, make_face
from nameplate.geometry import region
from nameplate.ticket.schema import FaceKeys

ORCHARD = Path(__file__).parents[2] / "examples" / "orchard"


def test_a_shape_becomes_a_face_with_its_zone_inset():
    face, findings = make_face(FaceKeys(shape="rectangle", width=110, height=80, inset=6))
    assert findings == () and face_words(face) == "110.0 x 80.0 mm, no holes"
    assert face.name == "rectangle"
    assert face.outline.bounds == (-55, -40, 55, 40)
    assert face.zone.bounds == pytest.approx((-49, -34, 49, 34))
    # inner parallel of a rectangle a x b: (a - 2r)(b - 2r) (Santalo, Integral Geometry, 1976; from memory)
    assert face.zone.area == pytest.approx(98 * 68)
    assert face.keep_outs.is_empty


def test_lettering_keeps_as_far_from_the_holes_of_a_shape_as_from_its_edge():
    holes = ((-45, 0, 4), (45, 0, 4))
    face, findings = make_face(FaceKeys(shape="ellipse", width=110, height=80, holes=holes))
    plain, _ = make_face(FaceKeys(shape="ellipse", width=110, height=80))
    assert findings == () and face_words(face) == "110.0 x 80.0 mm, 2 holes"
    assert face.keep_outs.area == pytest.approx(2 * math.pi * 4, rel=2e-3)
    kept_clear = region.union(*(region.disc((x, y), 4 + 2 * 6) for x, y, _ in holes))
    difference = region.difference(plain.zone, region.union(face.zone, kept_clear))
    assert difference.area < 0.05 and region.intersection(face.zone, kept_clear).area < 0.05


def test_a_circle_takes_either_size():
    for size in ({"width": 90}, {"height": 90}, {"width": 90, "height": 90}):
        face, _ = make_face(replace(FaceKeys(shape="circle"), **size))
        assert face.outline.bounds == (-45, -45, 45, 45)
    # the inner parallel of a circle of radius 45 at 6 mm
    assert face.zone.area == pytest.approx(math.pi * 39**2, rel=3e-4)


def test_no_inset_leaves_the_whole_face():
    face, _ = make_face(FaceKeys(shape="ellipse", width=110, height=80, inset=0))
    assert face.zone.area == pytest.approx(face.outline.area)


def test_the_example_face():
    face, findings = make_face(FaceKeys(file=ORCHARD / "apple.svg"))
    [listed] = findings
    assert listed.message == "apple.svg: besides the outline it has a hole: hanging-hole"
    assert face_words(face).startswith("110.0 x ") and face_words(face).endswith(", 1 hole")
    assert listed.severity == "note"
    assert face.name == "apple"
    box = region.bounds(face.outline)
    assert box.width == pytest.approx(110, abs=0.01)
    assert 95 < box.height < 102
    assert box.centre == pytest.approx((0, 0), abs=1e-9)
    assert face.keep_outs.area == pytest.approx(math.pi * 2.5**2, abs=0.005 * math.pi * 5)
    # the zone keeps its distance from the edge and from the hole
    edge = region.difference(region.rectangle(-99, -99, 99, 99), face.outline)
    assert region.distance(face.zone, edge) == pytest.approx(6, abs=0.01)
    assert region.distance(face.zone, face.keep_outs) == pytest.approx(6, abs=0.01)
    assert len(region.solids(face.zone)) == 1


def test_a_drawn_zone_takes_the_place_of_the_inset(write):
    path = write(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
        '<rect width="100" height="80"/><circle cx="50" cy="40" r="5"/>'
        '<rect id="zone" x="10" y="20" width="110" height="40"/></svg>'
    )
    face, findings = make_face(FaceKeys(file=path))
    assert [f.code for f in findings] == ["drawing-roles", "zone-outside-outline"]
    assert findings[1].measured == pytest.approx(20 / 110)
    assert face.zone.area == pytest.approx(90 * 40 - math.pi * 25, abs=0.2)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        (FaceKeys(), "needs a shape, like shape"),
        (FaceKeys(shape="ellipse", file=Path("a.svg"), width=9, height=9), "only one of the two can be the face"),
        (FaceKeys(shape="ellipse", width=110), "height is missing"),
        (FaceKeys(shape="circle"), "width is missing"),
        (
            FaceKeys(shape="ellipse", width=110, height=80, holes=((-54, 0, 4),)),
            r"\[-54, 0, 4\] breaks out of the ellipse",
        ),
        (FaceKeys(shape="circle", width=90, holes=((0, 0, 9), (8, 0, 9))), r"\[8, 0, 9\] runs into another hole"),
        (FaceKeys(file=Path("a.svg"), holes=((0, 0, 4),)), "draw them in a.svg"),
        (FaceKeys(shape="none", height=60, holes=((0, 0, 4),)), "hangs by a ring, like ring = 4"),
        (FaceKeys(shape="circle", width=9, height=8), "a circle has one diameter"),
        (FaceKeys(file=Path("a.svg"), radius=3), "face.radius is only for shape"),
        (FaceKeys(shape="ellipse", width=110, height=80, symmetry="left"), "face.symmetry is only for a drawing"),
        (FaceKeys(shape="ellipse", width=20, height=10, inset=6), "an inset of 6 mm leaves no room .* 20 x 10 mm"),
        (FaceKeys(file=Path("none.svg")), "cannot be read"),
    ],
)
def test_keys_that_make_no_face_are_refused_in_words(keys, words):
    with pytest.raises(FaceError, match=words):
        make_face(keys)


def test_all_contradictions_are_told_at_once():
    with pytest.raises(FaceError) as caught:
        make_face(FaceKeys(shape="ellipse", symmetry="left"))
    assert len(caught.value.problems) == 3


def test_a_line_drawn_with_two_edges_is_explained(write):
    path = write(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
        '<path d="M0 0h100v80h-100zM1 1v78h98v-78z"/></svg>'
    )
    with pytest.raises(FaceError, match=r"covers 96% of the face of 100 x 80 mm.*delete the inner one"):
        make_face(FaceKeys(file=path))
