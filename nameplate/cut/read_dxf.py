"""Reads a written DXF back, strictly, into the same form as a cut file: what the form does not allow is a fault.

The form: millimetres, the sheet's size as the drawing's extents, a layer an operation; in the model space closed
LWPOLYLINEs, closed SPLINEs that are chains of cubic Beziers, open LWPOLYLINEs to score; nothing in any other space. The
sheet's rectangle may come first, on a layer of its own that is not plotted.
"""

from __future__ import annotations

import importlib
import io
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from nameplate.cut.dxf import APPLICATION, FRAME, INDICES, MILLIMETRES
from nameplate.cut.machine import BOTTOM_LEFT, Axes
from nameplate.cut.path_data import flattened
from nameplate.cut.read_back import LARGEST, OPERATIONS, FormReader, ReadPath, ReadSheet, unreadable
from nameplate.errors import OutputError
from nameplate.geometry.region import Array
from nameplate.system.reading import read_regular

#: What an entity may carry besides its geometry; anything else may hide, scale, tilt or colour it.
_ALLOWED = {"handle", "owner", "layer", "paperspace", "flags", "degree", "n_knots", "n_control_points", "n_fit_points"}
_ALLOWED |= {"count", "knot_tolerance", "control_point_tolerance", "fit_tolerance"}

#: The line weight of a layer that has none of its own (DXF reference, group code 370).
_USUAL_WEIGHT = -3


def read_dxf(path: Path, axes: Axes = BOTTOM_LEFT, cuts: Sequence[str] = ()) -> ReadSheet:
    """Read the DXF of a sheet, counted by these axes, into sheet coordinates; `cuts` is what its SVG says of them.

    A file that cannot be read at all gives a sheet without paths and a fault.
    """
    ezdxf = importlib.import_module("ezdxf")  # it says too little about its types
    try:
        text = read_regular(path, LARGEST, OutputError, what="a DXF of a run").decode("utf-8")
        drawing = ezdxf.read(io.StringIO(text))
        return _Reader(path.name, axes, cuts).read(drawing)
    except (OSError, ezdxf.DXFError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
        return unreadable(path, str(error) or type(error).__name__)


class _Reader(FormReader):
    def __init__(self, name: str, axes: Axes, cuts: Sequence[str]) -> None:
        super().__init__(name, cuts)
        self.axes = axes
        self.size = (0.0, 0.0)

    def read(self, drawing: Any) -> ReadSheet:  # noqa: ANN401 - ezdxf has few types
        if drawing.header.get("$INSUNITS") != MILLIMETRES:
            self.fault("true-size", "the drawing is not in millimetres")
        low, high = (np.array(drawing.header.get(name, (0, 0))[:2], dtype=float) for name in ("$EXTMIN", "$EXTMAX"))
        self.size = width, height = tuple((high - low).tolist())
        ends = self.axes.counted(np.array([(0.0, 0.0), self.size]), width, height)
        if not np.array_equal(ends.min(axis=0), low):
            x, y = ends.min(axis=0).tolist()
            self.fault("true-size", f"the drawing does not begin at ({x:g}, {y:g})")
        space = drawing.modelspace()
        for block in drawing.blocks:
            if block.name != space.block_record_name and len(block):
                self.fault("file-form", f"{len(block)} entities stand in the block {block.name!r}; none may")
        paths, strokes = tuple(self.entities(space)), tuple(self.layers(drawing))
        return ReadSheet(width, height, paths, tuple(self.faults), strokes)

    def layers(self, drawing: Any) -> Iterator[tuple[str, str]]:  # noqa: ANN401
        for operation in OPERATIONS:
            layer = drawing.layers.get(operation)
            if layer.is_off() or layer.is_frozen() or not layer.dxf.get("plot", 1):
                self.fault("file-form", f"the layer {operation} is switched off")
            if layer.dxf.linetype.casefold() != "continuous" or layer.dxf.lineweight != _USUAL_WEIGHT:
                self.fault("file-form", f"the layer {operation} has a line type or line weight of its own")
            if layer.color != INDICES[operation]:
                self.fault(
                    "colour", f"the layer {operation} has the index colour {layer.color}, not {INDICES[operation]}"
                )
            yield operation, "#{:02x}{:02x}{:02x}".format(*(layer.rgb or (0, 0, 0)))

    def frame(self, entity: Any) -> None:  # noqa: ANN401
        """Check the sheet's rectangle."""
        (width, height), extra = self.size, set(entity.dxfattribs()) - _ALLOWED
        corners = np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0)])
        plain = entity.dxftype() == "LWPOLYLINE" and entity.closed and not extra
        if not plain or not np.array_equal(self.polyline(entity), corners):
            self.fault("file-form", f"what stands on the layer {FRAME} is not the sheet's rectangle")
        if entity.doc.layers.get(FRAME).dxf.get("plot", 1):
            self.fault("file-form", f"the layer {FRAME} is to be plotted")

    def entities(self, space: Any) -> Iterator[ReadPath]:  # noqa: ANN401
        for number, entity in enumerate(space):
            operation = entity.dxf.layer
            if operation == FRAME and number == 0:
                self.frame(entity)
                continue
            if operation not in OPERATIONS:
                self.fault("operation", f"the layer {operation!r} is no operation")
                continue
            self.follows(operation)
            if (path := self.entity(entity, operation)) is not None:
                yield path

    def entity(self, entity: Any, operation: str) -> ReadPath | None:  # noqa: ANN401
        kind = entity.dxftype()
        if extra := sorted(set(entity.dxfattribs()) - _ALLOWED):
            self.fault("file-form", f"a {kind} of {operation} carries {', '.join(extra)}, which a cut must not have")
        if kind not in ("LWPOLYLINE", "SPLINE"):
            self.fault("file-form", f"a {kind} stands in the drawing; only LWPOLYLINE and SPLINE may")
            return None
        if not entity.has_xdata(APPLICATION):
            self.fault("path-owner", f"a {kind} of {operation} names no plate")
            return None
        plate, part, copy, layer = (value for _, value in entity.get_xdata(APPLICATION))
        points = self.spline(entity) if kind == "SPLINE" else self.polyline(entity)
        if operation != "score" and not entity.closed and not {"lead-ins", "tabs"} & set(self.cuts):
            self.fault("open-cut", f"plate {plate}, {part}: a line of {operation} is open; every cut must close", plate)
        return ReadPath(operation, plate, part, int(copy), int(layer), points, bool(entity.closed), len(points))

    def polyline(self, entity: Any) -> Array:  # noqa: ANN401
        values = np.array(entity.get_points("xyseb"), dtype=float).reshape(-1, 5)
        if (values[:, 2:] != 0).any():
            self.fault("file-form", "a LWPOLYLINE has widths or bulges")
        points = self.axes.on_sheet(values[:, :2], *self.size)
        return np.vstack([points, points[:1]]) if entity.closed else points

    def spline(self, entity: Any) -> Array:  # noqa: ANN401
        corners = np.array(entity.control_points, dtype=float).reshape(-1, 3)
        cubics = (len(corners) - 1) // 3
        knots = [0.0, *(float(k) for k in range(cubics + 1) for _ in range(3)), float(cubics)]
        chain = entity.dxf.degree == 3 and len(corners) == 3 * cubics + 1 and list(entity.knots) == knots
        if not chain or len(entity.weights) or len(entity.fit_points) or np.abs(corners[:, 2]).max() > 0:
            self.fault("file-form", "a SPLINE is not a plain chain of cubic Beziers")
            rough = np.array([(p.x, p.y) for p in entity.flattening(0.01)], dtype=float)
            return self.axes.on_sheet(rough, *self.size)
        if entity.closed and (corners[0] != corners[-1]).any():
            self.fault("open-cut", "a SPLINE does not end where it begins")
        starts = 3 * np.arange(cubics)[:, None] + np.arange(4)
        control = self.axes.on_sheet(corners[starts, :2], *self.size)
        points: Array = np.vstack([control[:1, 0], flattened(control, np.ones(cubics, dtype=bool))])
        return points
