"""What a plate covers of the wall, and where its fixings sit.

A plate with a face covers what that covers, and its fixings are those of the ticket (`hanger`), else the round holes of
the face, else its middle. A name that stands free covers what its lettering covers, and its fixings are the
middles of its rings; for one that is not made the largest of its design stands in.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from nameplate.findings import Finding, named
from nameplate.geometry.box import Box, around
from nameplate.geometry.region import Region, bounds, covers, disc, filled, intersects, rectangle, solids, union
from nameplate.model import Face, Lettering, Order
from nameplate.ticket.lettering_schema import LARGEST_FACE
from nameplate.ticket.wall_schema import WallKeys

#: Where a plate is fixed, mm from its middle.
Fixings = tuple[tuple[float, float], ...]

#: The fixing of a plate of which nothing else is known.
MIDDLE: Fixings = ((0.0, 0.0),)

#: Widest hole (mm) of a drawing that is taken for one to hang the plate by: larger ones are windows. Common practice:
#: plaques are fixed by screws and pins up to M12.
WIDEST_SCREW_HOLE = 13.0

#: A hole is round whose height is its width, and whose area that of a disc as wide, both but for this share of it. A
#: square's area is 1.27 times that of its disc, an octagon's 1.05 times.
ROUND = 0.02

#: A hole is narrower than a drill when it is so by more than this (mm): drawn circles come as polygons.
_SLACK = 0.05

#: So wide (mm) is the spot that stands for a point.
_POINT = 0.01


@dataclass(frozen=True, slots=True)
class WallShape:
    """What a plate covers of the wall, and its fixings, both mm from its middle."""

    outline: Region
    fixings: Fixings = MIDDLE


@dataclass(frozen=True, slots=True)
class WallShapes:
    """The shapes of all plates of a list: of names that stand free by plate, of others by design.

    `stand_ins` are by design what stands for free names that are not made, `largest` for plates of an unknown one.
    """

    of_plates: Mapping[str, WallShape]
    of_designs: Mapping[str, WallShape]
    stand_ins: Mapping[str, WallShape]
    largest: Box

    def of(self, order: Order) -> WallShape:
        """Give the shape of an order's plate."""
        known = self.of_plates.get(order.id) or self.of_designs.get(order.design) or self.stand_ins.get(order.design)
        return known or WallShape(rectangle(*self.largest))

    @property
    def fixings(self) -> Fixings:
        """Every fixing that there is, of all plates."""
        every = (*self.of_plates.values(), *self.of_designs.values(), *self.stand_ins.values())
        return tuple(dict.fromkeys(fixing for shape in every for fixing in shape.fixings)) or MIDDLE


def wall_shapes(
    keys: WallKeys, orders: Sequence[Order], faces: Mapping[str, Face], lettering: Mapping[str, Lettering]
) -> WallShapes:
    """Give the shapes of the plates of a list; `faces` are by design, `lettering` that of made plates."""
    free = {order.id: order for order in orders if (face := faces.get(order.design)) and face.free}
    of_plates = {plate: _lettered(lettering[plate], keys) for plate in free if plate in lettering}
    of_designs = {
        name: WallShape(face.outline, keys.hanger or round_holes(face) or MIDDLE)
        for name, face in faces.items()
        if not face.free
    }
    stand_ins = {
        name: _largest([of_plates[p] for p, o in free.items() if o.design == name and p in of_plates])
        or _unknown(face, keys)
        for name, face in faces.items()
        if face.free and any(order.design == name for order in free.values())
    }
    known = (*of_plates.values(), *of_designs.values(), *stand_ins.values())
    every = known or [_unknown(face, keys) for face in faces.values()]
    return WallShapes(of_plates, of_designs, stand_ins, around(bounds(shape.outline) for shape in every))


def round_holes(face: Face) -> Fixings:
    """Give the middles of the round holes of a face, from the left.

    >>> from nameplate.geometry.region import EMPTY, disc, union
    >>> holes = union(disc((40, 0), 5), disc((-40, 0), 5), disc((0, 0), 30), rectangle(10, 10, 14, 14))
    >>> round_holes(Face(rectangle(-50, -40, 50, 40), EMPTY, holes, "rectangle"))
    ((-40.0, 0.0), (40.0, 0.0))
    """
    return tuple(sorted(middle for middle, _ in _own_holes(face)))


def _own_holes(face: Face) -> Iterator[tuple[tuple[float, float], float]]:
    """Yield the middle and the width (mm) of each round hole of a face."""
    for hole in solids(face.keep_outs):
        box = bounds(hole)
        is_even = abs(box.width - box.height) <= ROUND * box.width
        is_round = is_even and abs(hole.area / (math.pi / 4 * box.width * box.height) - 1) <= ROUND
        if box.width <= WIDEST_SCREW_HOLE and is_round:
            x, y = box.centre
            yield (round(x, 3) + 0.0, round(y, 3) + 0.0), box.width


def _lettered(lettering: Lettering, keys: WallKeys) -> WallShape:
    rings = lettering.rings.at if lettering.rings else keys.hanger or MIDDLE
    return WallShape(filled(lettering.region), tuple((round(x, 3) + 0.0, round(y, 3) + 0.0) for x, y in rings))


def _largest(shapes: Sequence[WallShape]) -> WallShape | None:
    """Give the box of some shapes, with the fixings of the widest; None without any."""
    if not shapes:
        return None
    widest = max(shapes, key=lambda shape: bounds(shape.outline).width)
    return WallShape(rectangle(*around(bounds(shape.outline) for shape in shapes)), widest.fixings)


def _unknown(face: Face, keys: WallKeys) -> WallShape:
    """Give what stands for the free names of a design of which none is made: a side not asked for is like the other."""
    box = bounds(face.outline)
    width, height = (side if side <= LARGEST_FACE else min(box.width, box.height) for side in (box.width, box.height))
    x, y = width / 2, height / 2
    rings = ((-x, y), (x, y)) if face.ring_at == "ends" else ((0.0, y),)
    return WallShape(rectangle(-x, -y, x, y), rings if face.ring else keys.hanger or MIDDLE)


def shape_findings(
    keys: WallKeys, shapes: WallShapes, orders: Sequence[Order], faces: Mapping[str, Face]
) -> Iterator[Finding]:
    """Say which holes are those of faces, and which free names only have a stand-in."""
    told = _of_rows(faces, orders)
    holes = {name: len(round_holes(face)) for name, face in told.items() if not face.free}
    if keys.hanger is None and any(holes.values()):
        whose = {name: f"design {name}" if name else "rows without a design" for name in holes}
        each = ", ".join(f"{whose[name]}: {count}" for name, count in holes.items() if count)
        bare = ", ".join(whose[name] for name, count in holes.items() if not count)
        each = each if any(told) else f"{holes['']} each"
        text = f"plates hang by the round holes of their faces ({each}): nothing to do"
        if bare:
            text += f". Faces without one ({bare}) have a mark at their middle: glue them there, or write hanger"
        narrowest = min(width for face in told.values() if not face.free for _, width in _own_holes(face))
        if narrowest + _SLACK < keys.hole == WallKeys().hole:
            text += f". The narrowest hole is {narrowest:.1f} mm wide, and the wall is drilled {keys.hole:g} mm"
            text += ": write hole if the drill is another"
        yield Finding("wall-hangers", "note", f"[wall] {text}")
    missing = [o.id for o in orders if o.design in shapes.stand_ins and o.id not in shapes.of_plates]
    if missing:
        text = (
            f"names that stand free and are not made ({named(missing, most=8)}) are planned about as large as the "
            "largest of their design; drill their holes by the plan of a run that makes them"
        )
        yield Finding("wall-stand-in", "note", f"[wall] {text}", measured=len(missing), allowed=0)


def _of_rows(faces: Mapping[str, Face], orders: Sequence[Order]) -> Mapping[str, Face]:
    """Give the faces that may be spoken of: that of rows without a design only where there are any."""
    plain = len(faces) == 1 or any(not order.design for order in orders)
    return {name: face for name, face in faces.items() if name or plain}


def hanger_findings(
    keys: WallKeys, orders: Sequence[Order], faces: Mapping[str, Face], lettering: Mapping[str, Lettering]
) -> Iterator[Finding]:
    """Say at which fixings of the ticket a plaque has no hole, as far as its holes are known, or has lettering.

    What is made of the names takes part, so it is no part of the plan, which is the same before they are.
    """
    if keys.width is None or keys.hanger is None:
        return
    own = {name: face for name, face in _of_rows(faces, orders).items() if not face.free}
    bare = [name for name, face in own.items() if not all(_may_hang(face, at) for at in keys.hanger)]
    drills = union(*(disc(at, keys.hole) for at in keys.hanger))
    on_faces = [o.id for o in orders if o.design in own and o.id in lettering]
    under = [plate for plate in on_faces if intersects(lettering[plate].whole, drills)]
    said = []
    if bare:
        whose = f" ({', '.join(name or 'rows without a design' for name in bare)})" if len(faces) > 1 else ""
        said.append(f"the plaque has no hole there{whose}")
    if under:
        said.append(f"lettering lies over it ({named(under, most=8)})")
    if said:
        where = ", ".join(f"[{x:g}, {y:g}]" for x, y in keys.hanger)
        advice = "give the middle of the plaque's hole, and keep lettering off it"
        text = f"[wall] hanger = {where}: {' and '.join(said)}; {advice}"
        yield Finding("wall-hanger", "warning", text, measured=len(bare) + len(under), allowed=0)


def _may_hang(face: Face, at: tuple[float, float]) -> bool:
    """Tell whether a plaque may have a hole at a place (mm): those of drawings and of plaques cut here are known."""
    return covers(face.keep_outs if face.cut or round_holes(face) else face.outline, disc(at, _POINT))
