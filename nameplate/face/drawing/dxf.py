"""Reading a DXF drawing within bounds: its lines in millimetres, with layers and blocks as their names.

Method. ezdxf reads the file and makes paths of lines, arcs, circles, ellipses, splines and polylines; blocks are
followed here, counting what is visited. The unit is that of the header ($INSUNITS); layers that are off or frozen are
not shown and not read. Everything but the model space is left out.

Known limits: text, hatches, points and dimensions are left out, with a note; what is drawn in space is seen from above;
binary DXF is refused.
"""

from __future__ import annotations

import importlib
import io
import logging
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path
from typing import Any

import numpy as np

from nameplate import tolerances
from nameplate.errors import FaceError
from nameplate.face.drawing import paths
from nameplate.face.drawing.traces import Polyline, Trace, Traced, Unsized
from nameplate.face.drawing.units import short
from nameplate.face.drawing.xml_text import MOST_BYTES, MOST_ELEMENTS
from nameplate.geometry.region import Array
from nameplate.system.reading import read_regular

#: Deepest nesting of blocks; drawings use two or three.
MOST_BLOCKS = 12

#: Largest coordinate read, in the drawing's unit: a curve's points are found by halving, which takes longer the larger.
MOST_COORDINATE = 1e6

#: Curves are flattened within this share of their size, or FLATTEN where that is less.
ROUGH = 1e-5

#: Kinds of entities that are read, and what they are called in messages.
_LINES = {"ARC": "arc", "CIRCLE": "circle", "ELLIPSE": "ellipse", "SPLINE": "curve"}
_LINES |= dict.fromkeys(("LINE", "LWPOLYLINE", "POLYLINE"), "line")
_BROKEN = (ArithmeticError, AttributeError, LookupError, OSError, TypeError, ValueError, RecursionError, MemoryError)

Entity = Any  # ezdxf says too little about its types


@dataclass(frozen=True, slots=True)
class _Place:
    """An entity with the names of what it is in, the nearest first, and how deep in blocks it is."""

    entity: Entity
    names: tuple[str, ...]
    depth: int


def read_dxf(path: Path) -> Traced:
    """Give the lines of a DXF file; raises FaceError with the reason to refuse it."""
    data = read_regular(path, MOST_BYTES, FaceError, what="a DXF drawing", larger="save only the outline")
    if b"\0" in data:
        raise FaceError("it is a binary DXF, which is not read; save it as DXF text")
    ezdxf = importlib.import_module("ezdxf")
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)  # what is wrong is said below
    try:
        drawing, _ = importlib.import_module("ezdxf.recover").read(io.BytesIO(data))
        return _source(drawing)
    except FaceError:
        raise
    except (ezdxf.DXFError, *_BROKEN) as error:
        reason = short(" ".join(str(error).split()), 80) if str(error) else type(error).__name__
        raise FaceError(f"it is not a DXF drawing that can be read ({reason}); save it again as DXF text") from None


def _source(drawing: Any) -> Traced:  # noqa: ANN401 - ezdxf has few types
    units = importlib.import_module("ezdxf.units")
    unit = int(drawing.header.get("$INSUNITS", 0))
    factor = float(units.conversion_factor(unit, units.MM)) if unit else 1.0
    hidden = {layer.dxf.name.casefold() for layer in drawing.layers if layer.is_off() or layer.is_frozen()}
    found: list[Trace] = []
    ignored: dict[str, None] = {}
    left = paths.MOST_POINTS
    for number, place in enumerate(_entities(drawing, hidden)):
        kind = place.entity.dxftype()
        if kind not in _LINES:
            ignored[kind] = None
            continue
        handle = place.entity.dxf.get("handle")
        which = f"handle {handle}" if handle else f"number {number + 1}"
        label = f"{_LINES[kind]} on layer {short(place.names[0])} ({which})"
        for points, closed in _polylines(place.entity, factor, left, label):
            left -= len(points)
            found.append(Trace(label, ((Polyline(points), False),), closed, place.names, element=number))
    if not found:
        raise FaceError("nothing is drawn in its model space that could be an outline; paper space is not read")
    unsized = None if unit else Unsized("millimetres", 25.4, "in inches")
    return Traced(tuple(found), tuple(ignored), unsized, None)


def _entities(drawing: Any, hidden: set[str]) -> Iterator[_Place]:  # noqa: ANN401 - ezdxf has few types
    """Give what is drawn, with blocks followed; raises FaceError when they repeat beyond bounds."""
    stack: list[Iterator[_Place]] = [(_Place(e, (), 0) for e in drawing.modelspace())]
    visited = 0
    while stack:
        place = next(stack[-1], None)
        if place is None:
            stack.pop()
            continue
        visited += 1
        if visited > MOST_ELEMENTS:
            raise FaceError(
                f"the drawing has more than {MOST_ELEMENTS} elements, blocks counted; save only the outline"
            )
        layer = str(place.entity.dxf.get("layer", "0"))
        # what is on layer 0 of a block lies on the layer that the block is put on
        names = place.names if layer == "0" and place.names else (layer, *place.names)
        if layer.casefold() in hidden or place.entity.dxf.get("invisible", 0):
            continue
        if place.entity.dxftype() == "INSERT":
            stack.append(_block(place, names))
        else:
            yield _Place(place.entity, names, place.depth)


def _block(place: _Place, names: tuple[str, ...]) -> Iterator[_Place]:
    insert = place.entity
    block = str(insert.dxf.get("name", ""))
    if place.depth >= MOST_BLOCKS:
        raise FaceError(f"the block {short(block)} lies inside {MOST_BLOCKS} others, which is the most")
    if insert.mcount > MOST_ELEMENTS:
        raise FaceError(f"the block {short(block)} is repeated {insert.mcount} times; save only the outline")
    copies = insert.multi_insert() if insert.mcount > 1 else (insert,)
    parts = chain.from_iterable(copy.virtual_entities() for copy in copies)
    return (_Place(part, (*names, block), place.depth + 1) for part in parts)


def _polylines(entity: Entity, factor: float, left: int, label: str) -> Iterator[tuple[Array, bool]]:
    """Give an entity's lines in drawing millimetres, y down, each with whether it is closed."""
    path = importlib.import_module("ezdxf.path")
    for piece in path.make_path(entity).sub_paths():
        if len(piece) == 0:
            continue
        corners = np.array([(v.x, v.y) for v in piece.control_vertices()])
        if not (np.isfinite(corners).all() and np.abs(corners).max() <= MOST_COORDINATE):
            raise FaceError(f"{label}: its coordinates are too large (the most is {MOST_COORDINATE:g})")
        size = float(np.ptp(corners, axis=0).max())
        if size <= 0:
            continue
        within = min(tolerances.FLATTEN / factor, ROUGH * size)
        points = np.array([(v.x, v.y) for v in islice(piece.flattening(within), left)])
        if len(points) >= left:
            raise FaceError(f"the outline takes more than {paths.MOST_POINTS} points to draw; it is too detailed")
        yield points * (factor, -factor), bool(piece.is_closed)
