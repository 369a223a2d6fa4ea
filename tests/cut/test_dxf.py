"""The written DXF is read back with ezdxf's own reader and auditor."""

import io

import ezdxf
import pytest
from shapely.geometry import Polygon

from nameplate.cut.dxf import steps_dxf
from nameplate.cut.order import burning_order
from nameplate.geometry.curves.curve import Curve, flatten
from tests.hash_seeds import said_with_seeds


@pytest.fixture
def drawing(sheet):
    return ezdxf.read(io.StringIO(steps_dxf(200, 120, burning_order(sheet.placed()))))


def test_the_file_is_sound_and_in_millimetres(drawing):
    auditor = drawing.audit()
    assert not auditor.errors and not auditor.fixes
    assert drawing.dxfversion == "AC1024"  # R2010 (DXF reference, $ACADVER)
    assert drawing.header["$INSUNITS"] == 4  # millimetres (DXF reference, $INSUNITS)
    assert drawing.header["$EXTMIN"][:2] == (0, 0) and drawing.header["$EXTMAX"][:2] == (200, 120)


def test_layers_are_named_by_operation_and_in_burning_order(sheet, drawing):
    layers = [e.dxf.layer for e in drawing.modelspace()]
    assert layers == [s.operation for s in burning_order(sheet.placed())]
    assert drawing.layers.get("cut-outside").rgb == (0x00, 0x72, 0xB2)


def test_every_cut_is_one_closed_entity(drawing):
    for entity in drawing.modelspace():
        assert entity.closed == (entity.dxf.layer != "score")
    assert "SPLINE" in {entity.dxftype() for entity in drawing.modelspace()}, "curves are curves unless asked for"


def test_the_lines_are_the_sheets(sheet, drawing):
    entities = list(drawing.modelspace())
    for step, entity in zip(burning_order(sheet.placed()), entities, strict=True):
        if not isinstance(step.line, Curve):
            continue
        points = entity.flattening(0.001) if entity.dxftype() == "SPLINE" else entity.vertices()
        got, want = Polygon([(p[0], p[1]) for p in points]), Polygon(flatten(step.line, 0.001))
        assert got.symmetric_difference(want).area / want.length < 0.002


def test_entities_know_their_part(sheet, drawing):
    owners = {tuple(v for _, v in e.get_xdata("NAMEPLATE")) for e in drawing.modelspace()}
    assert owners == {(part.plate, part.kind, copy, 1) for part, copy, *_ in sheet.spots}


def test_same_input_same_bytes(sheet):
    assert steps_dxf(200, 120, burning_order(sheet.placed())) == steps_dxf(200, 120, burning_order(sheet.placed()))


def test_same_bytes_in_whatever_order_python_goes_through_sets():
    code = "from nameplate.cut.dxf import steps_dxf; print(steps_dxf(9, 9, []))"
    assert len(said_with_seeds(code)) == 1


def test_an_empty_sheet():
    assert len(ezdxf.read(io.StringIO(steps_dxf(600, 300, []))).modelspace()) == 0
