"""What is said of a batch's jigs as a whole."""

from dataclasses import replace

import pytest

from nameplate.geometry import region as rg
from nameplate.jig.batch import jig_stock, judge_batch
from nameplate.jig.make import make_jig, make_shared
from nameplate.model import Order, Plate
from nameplate.ticket.schema import JigKeys

KEYS = JigKeys(style="carrier")


def plates_of(face, lettering, keys, count=1):
    jig = make_jig(face, lettering, Order("1", 2, "Wren"), keys, web=1.5)
    parts = (jig.part,) if jig.is_cut else ()
    return [Plate(Order(str(n), n + 1, "Wren"), lettering, parts, jig=jig.record) for n in range(1, count + 1)]


@pytest.mark.parametrize("name", ["ellipse", "rectangle", "shield", "apple"])
def test_fifty_plates_take_forty_percent_less_than_frames(faces, handwriting, name):
    face = faces[name]
    shared = make_shared(face, KEYS).parts
    stock = jig_stock(plates_of(face, handwriting, KEYS, 50), shared, face)
    # added up here from the outlines that are cut, windows and pockets counted as used
    template = plates_of(face, handwriting, KEYS)[0].parts[0]
    assert stock["templates"] == pytest.approx(50 * rg.filled(template.region).area, rel=1e-6)
    assert stock["carrier"] == pytest.approx(sum(rg.filled(part.region).area for part in shared), rel=1e-5)
    assert stock["full_face_frames"] == pytest.approx(50 * face.outline.buffer(8).area, rel=1e-3)
    assert stock["saved"] == pytest.approx(
        1 - (stock["templates"] + stock["carrier"]) / stock["full_face_frames"], abs=1e-4
    )
    assert stock["saved"] >= 0.4 and stock["saved"] == round(stock["saved"], 4)  # in hundredths of a percent


def test_prints_take_no_stock(faces, handwriting):
    keys = JigKeys(style="print")
    assert judge_batch(plates_of(faces["apple"], handwriting, keys), keys) == ()
    assert jig_stock([], (), faces["apple"]) is None


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("rectangle", {}),
        ("shield", {"clearance": 0.25}),
        ("apple", {"clearance": 0.4, "tolerance": 0.7}),
        ("ellipse", {"plaque_tolerance": 0.1, "tolerance": 0.8}),
        ("shield", {"clearance": 0.3, "window": "contacts"}),
    ],
)
def test_the_clearance_that_is_advised_holds_every_name_and_little_more_would_not(faces, handwriting, name, changes):
    face, keys = faces[name], replace(KEYS, **changes)

    def strays(keys):
        found = judge_batch(plates_of(face, handwriting, keys, 2), keys)
        return [f for f in found if f.code == "carrier-play"]

    (finding,) = strays(keys)
    assert finding.severity == "warning" and finding.plate is None and finding.measured > keys.tolerance
    assert finding.message.startswith("2 of 2 names") and "plate 2" in finding.message
    advised = float(finding.message.partition("jig.clearance = ")[2].split(" ")[0])
    assert strays(replace(keys, clearance=advised)) == []
    assert strays(replace(keys, clearance=advised + 0.04)) != []


def test_what_no_clearance_holds_is_said_with_what_can_be_done(faces, handwriting):
    keys = replace(KEYS, plaque_tolerance=0.8)
    plates = plates_of(faces["shield"], handwriting, keys)
    *_, finding = judge_batch(plates, keys)
    assert "no clearance that can be cut" in finding.message and "plaque_tolerance (now 0.8 mm)" in finding.message


def test_a_face_that_turns_freely_is_told_elsewhere(face_of, ellipse_of, handwriting):
    circle = face_of(ellipse_of(100, 100), "circle")
    assert judge_batch(plates_of(circle, handwriting, KEYS), KEYS) == ()


def test_what_each_locator_adds_is_recorded(faces, handwriting):
    (plate,) = plates_of(faces["rectangle"], handwriting, KEYS)
    alone = plate.jig["far_from"]
    assert set(alone) == {"window", "pins", "pocket"}
    assert max(alone.values()) < plate.jig["play"]["far"] <= sum(alone.values()) + 1e-3
