"""Writes a sheet as DXF R2010 in millimetres, for machines that do not read SVG.

One entity a line: a LWPOLYLINE where the outline is straight, else a SPLINE of degree 3 whose control points are the
Beziers' own, both closed where the outline is; scores are open LWPOLYLINEs. Layers are named by operation, in burning
order. The plate, part, copy and layer are extended data of each entity, under the name NAMEPLATE. Beside its true
colour each layer has an index colour of its own, for programs that know no others. The sheet's rectangle may stand on
a layer `sheet`.
"""

from __future__ import annotations

import importlib
import io
from collections.abc import Callable, Sequence
from typing import Any, TypeAlias

import numpy as np

from nameplate.cut.machine import BOTTOM_LEFT, PLAIN_PEN, Axes, CutPen
from nameplate.cut.order import Step, operation_colours
from nameplate.geometry.curves.curve import Curve, drawn, flatten
from nameplate.geometry.region import Array

#: Gives points (n, 2) of a sheet as a DXF has them.
Written: TypeAlias = Callable[[Array], list[tuple[float, float]]]

#: $INSUNITS of a drawing in millimetres (DXF reference, header variables).
MILLIMETRES = 4

APPLICATION = "NAMEPLATE"

#: The layer of the sheet's rectangle.
FRAME = "sheet"

#: Index colours of the layers: green, red, blue, grey (DXF reference, group code 62: 3, 1, 5, 8).
INDICES = {"score": 3, "cut-inside": 1, "cut-outside": 5, FRAME: 8}


def steps_dxf(
    width: float,
    height: float,
    steps: Sequence[Step],
    pen: CutPen = PLAIN_PEN,
    *,
    frame: bool = False,
    polylines: bool = False,
    axes: Axes = BOTTOM_LEFT,
) -> str:
    """Give the text of the DXF of one sheet of `width` by `height` mm, its numbers as the machine's `axes` count them.

    `steps` are in burning order. A `frame` is the sheet's rectangle; with `polylines` there are no splines.
    """
    corners = axes.counted(np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=float), width, height)
    ezdxf = importlib.import_module("ezdxf")  # it says too little about its types
    fixed = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # the same sheet gives the same bytes
    try:
        drawing = ezdxf.new("R2010", units=MILLIMETRES)
        _prepare(drawing, corners, pen)
        if frame:
            _add_frame(drawing, corners)

        def written(points: Array) -> list[tuple[float, float]]:
            counted = np.round(axes.counted(points, width, height), pen.decimals)
            return [(x, y) for x, y in counted.tolist()]

        for step in steps:
            _add(drawing.modelspace(), step, written, polylines=polylines)
        for name in sorted(drawing.entitydb.dxf_types_in_use()):  # the library goes through them as a set
            drawing.classes.add_class(name)
        text = io.StringIO()
        drawing.write(text)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = fixed
    return text.getvalue()


def _prepare(drawing: Any, corners: Array, pen: CutPen) -> None:  # noqa: ANN401 - no types
    drawing.header["$MEASUREMENT"] = 1
    extents = ((*corners.min(axis=0).tolist(), 0), (*corners.max(axis=0).tolist(), 0))
    drawing.header["$EXTMIN"], drawing.header["$EXTMAX"] = extents
    drawing.modelspace().reset_extents(*extents)  # unset, they would be written over the header's
    drawing.appids.add(APPLICATION)
    for operation, colour in operation_colours(pen.colours).items():
        layer = drawing.layers.add(operation)
        layer.color = INDICES[operation]
        layer.rgb = tuple(bytes.fromhex(colour.lstrip("#")))


def _add_frame(drawing: Any, corners: Array) -> None:  # noqa: ANN401 - no types
    layer = drawing.layers.add(FRAME, color=INDICES[FRAME])
    layer.dxf.plot = 0
    drawing.modelspace().add_lwpolyline(corners.tolist(), close=True, dxfattribs={"layer": FRAME})


def _add(space: Any, step: Step, written: Written, *, polylines: bool) -> None:  # noqa: ANN401 - no types
    attributes = {"layer": step.operation}
    if not isinstance(step.line, Curve):
        entity = space.add_lwpolyline(written(step.line), dxfattribs=attributes)
    elif polylines or step.line.lines.all():  # a straight line has no points between its ends
        points = flatten(step.line) if step.line.closed else drawn(step.line)
        entity = space.add_lwpolyline(written(points), close=step.line.closed, dxfattribs=attributes)
    else:
        segments = step.line.segments
        entity = space.add_spline(dxfattribs={**attributes, "degree": 3})
        entity.control_points = written(np.vstack([segments[:, :3].reshape(-1, 2), segments[-1, 3]]))
        entity.knots = _knots(len(segments))
        entity.dxf.flags = (1 if step.line.closed else 0) | 8  # closed, planar
    path = step.owner.toolpath
    owner = [(1000, path.plate), (1000, path.kind), (1071, step.owner.copy), (1071, path.layer)]
    entity.set_xdata(APPLICATION, owner)


def _knots(cubics: int) -> list[float]:
    """Give the knots of a chain of Beziers as one spline: each joint three times, the ends four times."""
    return [0.0, *(float(k) for k in range(cubics + 1) for _ in range(3)), float(cubics)]
