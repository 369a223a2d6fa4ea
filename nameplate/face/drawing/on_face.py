"""What lies on a face: the loops and lines of a drawing, each put to what it is for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from nameplate.errors import FaceError
from nameplate.face.drawing.notes import Notes
from nameplate.face.drawing.roles import Loop, doubts, framed
from nameplate.face.drawing.traces import Trace, flattened
from nameplate.findings import Finding
from nameplate.geometry import region
from nameplate.geometry.measure import stretches
from nameplate.geometry.nearby import prepare
from nameplate.geometry.region import EMPTY, Array, Region

#: A contour that differs from the outline by less than this share of its area is the outline drawn again.
DRAWN_TWICE = 0.002

#: Most shapes that cross the outline, and most that make up the zone or what is hatched: bounds on work that grows with
#: their number times the points of the outline.
MOST_CROSSING = 200
MOST_ZONES = 200


@dataclass(frozen=True, slots=True)
class Drawing:
    """A face as drawn, in mm, y up.

    `outline` has no holes; `keep_outs` are its holes; `zone` is None when the drawing names none. What is on the face
    and not cut through it: `scored` lines, closed shapes `drawn` to be scored, shapes `hatched`, and those `unclear`
    that are asked about. `asymmetry` is the largest distance (mm) between the outline as drawn and its mirror image.
    """

    outline: Region
    keep_outs: Region
    zone: Region | None = None
    scored: tuple[Array, ...] = ()
    drawn: tuple[Region, ...] = ()
    hatched: Region = EMPTY
    unclear: tuple[Region, ...] = ()
    findings: tuple[Finding, ...] = ()
    asymmetry: float = 0.0

    def changed(self, change: Callable[[Region], Region], scored: Sequence[Array] = ()) -> Drawing:
        """Give it with every region changed, and other lines."""
        return replace(
            self,
            outline=change(self.outline),
            keep_outs=change(self.keep_outs),
            zone=None if self.zone is None else change(self.zone),
            scored=tuple(scored),
            drawn=tuple(map(change, self.drawn)),
            hatched=change(self.hatched),
            unclear=tuple(map(change, self.unclear)),
        )


def on_face(loops: Sequence[Loop], lines: Sequence[Trace], scale: float, notes: Notes) -> Drawing:
    """Put the closed loops of a drawing and its open lines to what they are for; raises FaceError without an outline.

    `scale` takes the lines from drawing millimetres to the final size, as the loops are.
    """
    outline, others = _outline(loops)
    if frame := framed(outline, others):
        notes.add("drawing-frame", frame)
    zones = [loop for loop in others if loop.trace.role == "zone"]
    by_role = _by_role(outline, _inside(outline.shape, [x for x in others if x.trace.role != "zone"], notes), notes)
    for role, label in (*(("zone", loop.label) for loop in zones), *(("score", line.label) for line in lines)):
        notes.taken(role, label)
    shapes = {role: [loop.shape for loop in found] for role, found in by_role.items()}
    face = outline.shape
    return Drawing(
        face,
        region.intersection(face, region.union(*shapes.get("hole", []))),
        _odd([loop.shape for loop in zones]) if zones else None,
        scored=tuple(stretch for line in flattened(lines, scale) for stretch in stretches(line, face)),
        drawn=tuple(region.intersection(face, shape) for shape in shapes.get("score", [])),
        hatched=region.intersection(face, _odd(shapes.get("hatch", []))),
        unclear=tuple(region.intersection(face, shape) for shape in shapes.get("unclear", [])),
    )


def _by_role(outline: Loop, inside: Sequence[Loop], notes: Notes) -> dict[str, list[Loop]]:
    """Tell what each loop on the face is for; those that may be artwork are `unclear`, and asked about."""
    asked = doubts(outline, inside)
    found: dict[str, list[Loop]] = {}
    for i, loop in enumerate(inside):
        role = "unclear" if i in asked else "hole" if loop.trace.role in ("", "outline") else loop.trace.role
        found.setdefault(role, []).append(loop)
        notes.taken(role, loop.label)
    for i, why in asked.items():
        notes.add("drawing-artwork", f"{inside[i].label} ({why})")
    notes.key = next((inside[i].trace.names[0] for i in asked if inside[i].trace.names), notes.key)
    return found


def _outline(loops: Sequence[Loop]) -> tuple[Loop, list[Loop]]:
    called = [i for i, loop in enumerate(loops) if loop.trace.role == "outline"]
    called = called or [i for i, loop in enumerate(loops) if not loop.trace.role]
    if not called:
        raise FaceError("no closed outline is drawn in it")
    largest = max(called, key=lambda i: loops[i].shape.area)
    outline = replace(loops[largest], shape=region.filled(loops[largest].shape))
    return outline, [s for i, s in enumerate(loops) if i != largest]


def _inside(outline: Region, others: Sequence[Loop], notes: Notes) -> list[Loop]:
    """Give the loops that lie on the face, wholly or in part."""
    inside = []
    prepare(outline)
    crossing = 0
    for loop in others:
        within = region.covers(outline, loop.shape)
        meets = within or region.intersects(outline, loop.shape)
        crossing += meets and not within
        if crossing > MOST_CROSSING:
            raise FaceError(f"more than {MOST_CROSSING} shapes cross the outline; delete them or draw them inside it")
        share = loop.shape.area if within else region.intersection(outline, loop.shape).area if meets else 0.0
        if share == 0 or (region.covers(loop.shape, outline) and loop.shape.area > (1 + DRAWN_TWICE) * outline.area):
            notes.add("drawing-outside-outline", loop.label)
        elif share > (1 - DRAWN_TWICE) * outline.area:
            notes.add("drawing-drawn-twice", loop.label)
        else:
            if share < (1 - DRAWN_TWICE) * loop.shape.area and loop.trace.role:
                notes.add("drawing-crosses-outline", loop.label)
            inside.append(loop)
    return inside


def _odd(shapes: Sequence[Region]) -> Region:
    """Give what lies inside an odd number of shapes."""
    if len(shapes) > MOST_ZONES:
        raise FaceError(f"the zone or the hatching is drawn as {len(shapes)} shapes; at most {MOST_ZONES} are read")
    odd = EMPTY
    for shape in shapes:
        odd = region.union(region.difference(odd, shape), region.difference(shape, odd))
    return odd
