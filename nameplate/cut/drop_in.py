"""Whether what was burned fits together: the name in its window, the plaque in the pocket, the pins in their holes.

The parts lie on different sheets. As burned, each is laid back where it belongs on its plate, and there must be the
stated room round it, less what the two written edges may be off. Every copy is tried in every part that it may go into.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TypeAlias

from nameplate import tolerances
from nameplate.cut.burn import PartKey
from nameplate.cut.expectation import DropIn
from nameplate.findings import Finding
from nameplate.geometry import region
from nameplate.geometry.nearby import nearest, within
from nameplate.geometry.region import Region
from nameplate.model import PartId
from nameplate.system.grouping import grouped

#: How much of the stated room (mm) two burned edges may take: what a written curve and its flattening may each be off.
#: Well under what the two parts may be off by themselves. Smaller, and right files are refused.
SHORT = 2 * (tolerances.CURVE + tolerances.FLATTEN)

#: How far (mm) a burned hole may lie from the pin that stands in it, to be counted as that pin's.
HOLE_NEAR = 0.5


def judge_drop_ins(
    drop_ins: Sequence[DropIn], burned: Mapping[PartKey, Region], files: Mapping[PartKey, str] = {}
) -> tuple[Finding, ...]:
    """Try everything that must go into something; `burned` is in plate coordinates. A missing part is no fault here.

    Where `files` has the files that the parts were burned from, they are named.

    >>> judge_drop_ins([], {})
    ()
    """
    keys = grouped(((plate, kind, layer), (plate, kind, copy, layer)) for plate, kind, copy, layer in burned)

    def copies(owner: PartId) -> Iterator[tuple[int, Region]]:
        for key in keys.get(owner, ()):
            if not burned[key].is_empty:
                yield key[2], burned[key]

    return tuple(finding for drop_in in drop_ins for finding in _tried(drop_in, copies, files))


#: Gives what is left of each copy of a part, by its number; looked up each time, since all together are much.
Copies: TypeAlias = Callable[[PartId], Iterator[tuple[int, Region]]]


def _tried(drop_in: DropIn, copies: Copies, files: Mapping[PartKey, str]) -> Iterator[Finding]:
    plate, kind, layer = drop_in.outer
    for outer_copy, outer in copies(drop_in.outer):
        for inner_copy, inner in _inner(drop_in, copies):
            if why := misfit(inner, outer, drop_in.room):
                tried = [(drop_in.inner, inner_copy), (drop_in.outer, outer_copy)]
                what = f"{_named(tried, files)}{drop_in.what}{_copy(inner_copy)}"
                where = f"{kind}{f', layer {layer}' if layer != 1 else ''}{_copy(outer_copy)}"
                message = f"{what} of plate {plate}, as burned, does not go into the {where}: {why}"
                yield Finding("does-not-drop-in", "error", message, plate, None, None, drop_in.room)


def _named(tried: Sequence[tuple[PartId | None, int]], files: Mapping[PartKey, str]) -> str:
    """Name the files that copies of parts are in, for the beginning of a message; nothing where none is known."""
    keys = [(owner[0], owner[1], copy, owner[2]) for owner, copy in tried if owner is not None]
    named = " and ".join(dict.fromkeys(files[key] for key in keys if key in files))
    return f"{named}: " if named else ""


def _copy(number: int) -> str:
    return f" (copy {number})" if number > 1 else ""


def _inner(drop_in: DropIn, copies: Copies) -> Iterator[tuple[int, Region]]:
    if drop_in.inner is None:
        yield 1, drop_in.shape
        return
    for copy, left in copies(drop_in.inner):
        if drop_in.shape.is_empty:
            yield copy, left
        else:  # the pins where the holes burned for them are
            yield copy, region.intersection(region.holes(left), region.offset(drop_in.shape, HOLE_NEAR))


def misfit(inner: Region, outer: Region, room: float) -> str:
    """Say why something does not lie in the openings of a part with `room` mm round it; empty when it does.

    >>> frame = region.difference(region.rectangle(0, 0, 9, 9), region.rectangle(2, 2, 7, 7))
    >>> misfit(region.rectangle(2.2, 2.2, 6.8, 6.8), frame, 0.2)
    ''
    >>> misfit(region.disc((4.4, 4.5), 4.2), frame, 0.5)
    'only 0.300 mm of room at (2.3, 4.5), 0.5 mm wanted'
    """
    if inner.is_empty:
        return "there is nothing where its hole should be"
    least = room - SHORT
    solid = region.offset(inner, least) if least < 0 else inner
    if not region.covers(region.filled(outer), solid):
        return "it lies over the edge"
    if not within(outer, solid, max(least, 0.0)):
        return ""
    x, y = nearest(solid, outer)[0]
    gap = region.distance(inner, outer)
    return f"only {gap:.3f} mm of room at ({x:.1f}, {y:.1f}), {room:g} mm wanted"
