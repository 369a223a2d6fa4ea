import math
from pathlib import Path

import pytest

from nameplate.cut.order import PlacedToolpath, burning_order
from nameplate.face.making import make_face
from nameplate.geometry import region as rg
from nameplate.jig.skeleton import nestable, skeleton_stock, swath, with_names, without_names
from nameplate.model import Order
from nameplate.nest.layout import Layout, SheetLayout, pieces_of, placement
from nameplate.plates.make import PlateContext, make_work
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import FaceKeys, JigKeys, Ticket
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS

FACE = FaceKeys(shape="ellipse", width=110, height=80)


@pytest.fixture(scope="module")
def work():
    jig = JigKeys(style="skeleton")
    ticket = Ticket(face=FACE, lettering=LetteringKeys(), material=DEFAULT_MATERIALS, jig=jig, folder=Path())
    return make_work(PlateContext.of(ticket, make_face(FACE)[0]), Order("7", 2, "Jo", copies=2))


def test_the_beam_takes_a_strip_of_one_kerf_round_a_smooth_name():
    # area between a smooth closed curve and its parallel at k is L k + pi k^2 for a convex one (Steiner 1840)
    disc = rg.disc((0, 0), 20)
    assert swath(disc, 0.2).area - disc.area == pytest.approx(math.pi * 20 * 0.2 + math.pi * 0.04, rel=2e-3)


def test_name_and_template_share_one_cut(work):
    name, template = work.plate.parts
    assert (name.kind, name.cut_from, template.kind, template.is_waste) == ("lettering", "template", "template", True)
    assert template.material == name.material == "lettering"
    assert template.copies == name.copies == 2
    by_kind = {path.kind: path for path in work.toolpaths}
    # the template's own path is its outline only: the window is what the name's outline cuts
    assert [c.operation for c in by_kind["template"].contours] == ["cut-outside"]
    assert "cut-outside" in [c.operation for c in by_kind["lettering"].contours]
    assert rg.distance(name.region, template.region) == pytest.approx(0.18, abs=0.01)
    assert work.plate.jig["style"] == "skeleton"
    assert work.jig is not None  # the nominal drawing


def test_a_name_needs_no_place_of_its_own(work):
    parts = work.plate.parts
    (whole,) = nestable(parts)
    assert whole.kind == "template" and not rg.hole_count(whole.region)
    blanks = pieces_of([whole])
    rows = tuple(placement(piece, 60 + 120 * k, 50, 180) for k, piece in enumerate(blanks))
    layout = Layout((SheetLayout("lettering", 600, 300, 0, 0.0, rows),))
    full = with_names(layout, parts)
    places = {(at.kind, at.copy): (at.x, at.y, at.turn) for at in full.sheets[0].placements}
    assert len(places) == 4
    assert all(places["lettering", copy] == places["template", copy] for copy in (1, 2))
    assert without_names(full, parts) == layout


def test_the_cost_in_area_is_told(work):
    stock = skeleton_stock(work.plate.parts)
    ellipse = math.pi * 55 * 40
    assert stock["blanks"] == pytest.approx(2 * ellipse, rel=1e-3)
    assert stock["templates_saved"] == pytest.approx(ellipse, rel=1e-3)
    assert skeleton_stock([]) is None


def test_the_name_is_cut_before_its_blank_comes_loose(work):
    placed = [PlacedToolpath(path, 1, 60, 50) for path in reversed(work.toolpaths)]
    outside = [s.owner.toolpath.kind for s in burning_order(placed) if s.operation == "cut-outside"]
    assert outside == ["lettering", "template"]
