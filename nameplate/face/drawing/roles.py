"""What each path of a drawing is for: outline, hole, zone, score, hatch, or ignored.

A path is for what the ticket says of its name, or of the group it is in, the nearest first; else for what that name is,
if it is the word for a role. Without either, the largest closed path is the outline, a plain shape inside it a hole,
and whatever may as well be artwork is asked about: it is kept free of lettering and not cut.
"""

from __future__ import annotations

import difflib
import json
import re
from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from nameplate.errors import FaceError
from nameplate.face.drawing.traces import Trace
from nameplate.geometry import region
from nameplate.geometry.box import Box
from nameplate.geometry.nearby import Index
from nameplate.geometry.region import Array, Region, Shape
from nameplate.ticket.schema import ROLES

#: A rectangle is the page if its sides are this near to the page's, as a share of its longer side.
PAGE_OFF = 0.005

#: It is set aside as the page when another path that holds all the rest covers at least this share of it. Lower takes a
#: large hole of a face that fills its page for the face; higher takes the page for a small face.
LEAST_OF_PAGE = 0.04

#: A hole without a role fills at least this share of its convex hull: circles and slots all of it, a keyhole four
#: fifths, a star half.
PLAIN = 0.75

#: A shape over this share of the face goes round what is on it: a rim, or a line with a width drawn as two outlines.
AROUND = 0.5

#: A shape this wide and high (mm) in a rectangle may be the face, and the rectangle a frame: no screw's hole, no slot.
LEAST_FRAMED = 25.0

#: Shapes whose areas differ by less than this share, and lie in each other, are one drawn twice.
TWICE = 0.01


@dataclass(frozen=True, slots=True)
class Loop:
    """One closed trace, flattened, as a region (mm, y up)."""

    trace: Trace
    shape: Region

    @property
    def label(self) -> str:
        """What it is called in messages."""
        return self.trace.label


def with_roles(traces: Iterable[Trace], given: Mapping[str, str]) -> list[Trace]:
    """Give each trace its role by its names; raises FaceError for names in `given` that nothing drawn has."""
    wanted = {name.casefold(): role for name, role in given.items()}
    found = [replace(trace, role=_role(trace.names, wanted)) for trace in traces]
    if problems := not_drawn(found, given):
        raise FaceError(problems)
    return found


def not_drawn(traces: Iterable[Trace], given: Iterable[str]) -> list[str]:
    """Say of each given name that nothing drawn has that nothing has it, and which was meant."""
    names = {name.casefold(): name for trace in traces for name in trace.names}
    return [_unknown(name, names) for name in given if name.casefold() not in names]


def _role(names: Sequence[str], wanted: Mapping[str, str]) -> str:
    for name in map(str.casefold, names):
        if role := wanted.get(name, name if name in ROLES else ""):
            return role
    return ""


def _unknown(name: str, names: Mapping[str, str]) -> str:
    near = difflib.get_close_matches(name.casefold(), names, n=1)
    known = ", ".join(sorted(names.values())[:8]) or "none has an id or a layer"
    hint = f"did you mean {names[near[0]]}?" if near else f"its names: {known}"
    return f"face.roles: no path, layer or group drawn in it is named {name!r:.60}; {hint}"


def no_outline(trace: Trace, outline: Trace) -> str:
    """Say how to tell that a trace is no outline, by a name that what is taken for it has not."""
    name = next((name for name in trace.names if name not in outline.names), "")
    say = f'write roles = {{ {_as_key(name)} = "ignore" }} below [face]' if name else "delete it"
    return f"if it is no outline, {say}"


# --- the page -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Extent:
    """The area and the box of a trace, roughly, in drawing millimetres."""

    area: float
    box: Box


def is_page(size: Extent, page: Array | None) -> bool:
    """Tell whether a trace of a size is a rectangle that equals the page."""
    if page is None or not np.isfinite(page).all():
        return False
    (x0, y0), (x1, y1) = page.min(axis=0), page.max(axis=0)
    box, off = size.box, PAGE_OFF * max(x1 - x0, y1 - y0)
    near = max(abs(box.x0 - x0), abs(box.y0 - y0), abs(box.x1 - x1), abs(box.y1 - y1)) <= off
    return near and size.area >= (1 - PAGE_OFF) * box.width * box.height


def pages(traces: Sequence[Trace], sizes: Sequence[Extent], page: Array | None) -> set[int]:
    """Give which traces without a role draw the page round the face, by position; none when nothing else may be one."""
    shapes = Counter(trace.element for trace in traces)
    alone = [i for i, trace in enumerate(traces) if not trace.role and shapes[trace.element] == 1]
    found = {i for i in alone if is_page(sizes[i], page)}
    others = [sizes[i] for i, trace in enumerate(traces) if i not in found and trace.role in ("", "outline")]
    if not found or not others:
        return set()
    largest = max(others, key=lambda size: size.area)
    enough = largest.area >= LEAST_OF_PAGE * max(sizes[i].area for i in found)
    return found if enough and all(_holds(largest.box, other.box) for other in others) else set()


def _holds(a: Box, b: Box) -> bool:
    return a.x0 <= b.x0 and a.y0 <= b.y0 and a.x1 >= b.x1 and a.y1 >= b.y1


# --- a frame round the face -----------------------------------------------------------------------------------------


def framed(outline: Loop, others: Sequence[Loop]) -> str:
    """Ask whether an outline that nothing names is a frame round the face: a plain rectangle that holds a shape as
    large as a plaque, with no more than half its area; empty where it is none."""
    box = region.bounds(outline.shape)
    if outline.trace.role or outline.shape.area < (1 - PAGE_OFF) * box.width * box.height:
        return ""
    held = [loop for loop in others if _may_be_framed(outline, loop)]
    if not held:
        return ""
    face = max(held, key=lambda loop: loop.shape.area)
    inner = region.bounds(face.shape)
    name = next((name for name in face.trace.names if name not in outline.trace.names), "")
    say = (
        f'if it is a frame round the face, write roles = {{ {_as_key(name)} = "outline" }} below [face], else "hole"'
        if name
        else "if it is a frame round the face, delete it, or put both on layers of their own"
    )
    return (
        f"the face is taken to be a rectangle of {box.width:.1f} x {box.height:.1f} mm, {outline.label}, and not the "
        f"shape of {inner.width:.1f} x {inner.height:.1f} mm in it, {face.label}; {say}"
    )


def _may_be_framed(outline: Loop, loop: Loop) -> bool:
    box = region.bounds(loop.shape)
    plain = not loop.trace.role and loop.trace.element != outline.trace.element
    size = min(box.width, box.height) >= LEAST_FRAMED and loop.shape.area <= AROUND * outline.shape.area
    return plain and size and region.covers(outline.shape, loop.shape)


def _as_key(name: str) -> str:
    """Write a name as a key of a ticket.

    >>> _as_key("PLAQUE"), _as_key("my face")
    ('PLAQUE', '"my face"')
    """
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else json.dumps(name, ensure_ascii=False)


# --- artwork --------------------------------------------------------------------------------------------------------


def doubts(outline: Loop, others: Sequence[Loop]) -> dict[int, str]:
    """Say of the loops without a role, by position, why they may be artwork rather than holes cut through.

    Contours of the very shape that is the outline are its holes.
    """
    asked = [i for i, loop in enumerate(others) if not loop.trace.role and loop.trace.element != outline.trace.element]
    around = AROUND * outline.shape.area
    mingled = _mingled([others[i].shape for i in asked if others[i].shape.area <= around])
    return {i: why for i in asked if (why := next(_reasons(outline, others[i], mingled), ""))}


def _mingled(shapes: Sequence[Region]) -> set[Shape]:
    """Give the shapes that lie in or across another one; each is looked at once, however many lie in one another."""
    index, found = Index(shapes), set[Shape]()
    for shape in shapes:
        if shape not in found:
            others = [index.shapes[i] for i in index.near(shape)]
            found |= {other for other in others if other is not shape and not _twice(shape, other)}
            found |= {shape} if any(other in found for other in others) else set()
    return found


def _reasons(outline: Loop, loop: Loop, mingled: Container[Shape]) -> Iterator[str]:
    if loop.shape.area > AROUND * outline.shape.area:
        yield "round most of the face, so lettering stays inside it"
        return
    if loop.trace.fill not in ("", outline.trace.fill):
        yield "filled"
    if not region.covers(outline.shape, loop.shape):
        yield "over the edge"
    if loop.shape.area < PLAIN * region.hull(loop.shape).area:
        yield "not a plain hole"
    if loop.shape in mingled:
        yield "with a shape in or across it"


def _twice(a: Region, b: Shape) -> bool:
    """Tell whether two shapes that meet are one and the same, drawn twice."""
    return bool(abs(a.area - b.area) <= TWICE * a.area and region.difference(a, b).area <= TWICE * a.area)
