"""A machine's zero and axes in a DXF, read by ezdxf alone and compared with where the lines of the SVG are."""

import io

import ezdxf
import numpy as np
import pytest

from nameplate.cut.dxf import steps_dxf
from nameplate.cut.kerf import toolpath
from nameplate.cut.machine import Axes
from nameplate.cut.order import PlacedToolpath, burning_order
from nameplate.cut.read_back import read_sheet
from nameplate.cut.read_dxf import read_dxf
from nameplate.geometry import region
from nameplate.model import Part
from nameplate.ticket.workshop_schema import ORIGINS, MachineKeys

#: Where a machine finds a point that is 30 mm from the left edge and 20 from the lower one of a sheet of 200 x 120: how
#: far it goes right and up of its zero, or, counted the other way, left and down. By hand.
PLACES = {
    Axes(): (30, 20),
    Axes("top-left"): (30, -100),
    Axes("top-left", down=True): (30, 100),
    Axes("top-right", left=True, down=True): (170, 100),
    Axes("bottom-right"): (-170, 20),
}


@pytest.mark.parametrize(("axes", "place"), PLACES.items())
def test_a_point_is_where_the_machine_goes(axes, place):
    (x, y) = axes.counted(np.array([(30.0, 20.0)]), 200, 120)[0]
    assert (x, y) == place
    assert axes.on_sheet(np.array([place]), 200, 120).tolist() == [[30, 20]]


@pytest.mark.parametrize("origin", ORIGINS)
def test_axes_that_nobody_gave_grow_into_the_sheet(origin):
    counted = Axes.of(MachineKeys(origin=origin)).counted(np.array([(30.0, 20.0)]), 200, 120)
    assert (counted > 0).all()
    given = Axes.of(MachineKeys(origin=origin, x_axis="right", y_axis="up"))
    assert (given.left, given.down) == (False, False)


@pytest.mark.parametrize("axes", [Axes("top-left", down=True), Axes("bottom-right")])
def test_a_dxf_is_counted_so_and_read_back(sheet, tmp_path, axes):
    steps = burning_order(sheet.placed(), rest=axes.corner(200, 120))
    text = steps_dxf(200, 120, steps, frame=True, axes=axes)
    drawing = ezdxf.read(io.StringIO(text))
    assert not drawing.audit().errors
    corners = axes.counted(np.array([(0.0, 0.0), (200.0, 120.0)]), 200, 120)
    assert tuple(drawing.header["$EXTMIN"])[:2] == tuple(corners.min(axis=0))
    assert tuple(drawing.header["$EXTMAX"])[:2] == tuple(corners.max(axis=0))
    first = next(e for e in drawing.modelspace() if e.dxf.layer != "sheet")
    x, y = first.get_points("xy")[0] if first.dxftype() == "LWPOLYLINE" else first.control_points[0][:2]
    line = steps[0].line
    there = line[0] if isinstance(line, np.ndarray) else line.start
    assert axes.on_sheet(np.array([(x, y)]), 200, 120)[0] == pytest.approx(there, abs=1e-3)

    path = tmp_path / "a.dxf"
    path.write_text(text, encoding="utf-8")
    got = read_dxf(path, axes)
    assert got.faults == ()
    assert read_dxf(path).faults, "by other axes it is another drawing"
    sheet.write()
    wanted = {(p.key, p.operation): p for p in read_sheet(sheet.path).paths}
    assert len(got.paths) == sum(1 for _ in read_sheet(sheet.path).paths)
    for path in got.paths:
        own = wanted[path.key, path.operation]
        if path.operation == "cut-outside":
            assert np.allclose(path.points.min(axis=0), own.points.min(axis=0), atol=2e-3)
            assert np.allclose(path.points.max(axis=0), own.points.max(axis=0), atol=2e-3)


def test_the_head_rests_at_the_machines_zero():
    """A square is begun at the corner that is nearest to where the head rests."""
    square = toolpath(Part("7", "lettering", "lettering", region.rectangle(0, 0, 10, 10)), 0.2)
    begun = {}
    for origin in ("bottom-left", "bottom-right", "top-right", "top-left"):
        (step,) = burning_order([PlacedToolpath(square, 1, 100.0, 60.0)], rest=Axes(origin).corner(200, 120))
        begun[origin] = tuple(step.line.start)
    assert begun == {
        "bottom-left": pytest.approx((99.9, 59.9)),
        "bottom-right": pytest.approx((110.1, 59.9)),
        "top-right": pytest.approx((110.1, 70.1)),
        "top-left": pytest.approx((99.9, 70.1)),
    }
