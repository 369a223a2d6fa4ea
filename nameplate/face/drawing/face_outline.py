"""A face from a drawing: its outline, its holes, what else is on it, and where lettering may lie.

Method. The largest closed contour that is not the page is the outline, unless the ticket or the drawing says which;
what the other paths are is in `roles.py`. Sizes come from the document (96 pixels an inch where it names no unit) or
from the ticket, which wins. Whatever is closed, joined, left out or repaired on the way is a finding.

Known limits: stroke widths are not looked at (the outline is the middle of its line), nor are clips and masks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from nameplate import tolerances
from nameplate.errors import FaceError, GeometryError
from nameplate.face.drawing import units
from nameplate.face.drawing.dxf import read_dxf
from nameplate.face.drawing.notes import MOST_NAMED, Notes, sentence
from nameplate.face.drawing.on_face import Drawing, on_face
from nameplate.face.drawing.roles import Extent, Loop, no_outline, pages, with_roles
from nameplate.face.drawing.traces import Trace, Traced, Unsized, flattened, gaps, join, without_doubles
from nameplate.face.drawing.tree import read_svg
from nameplate.findings import Finding, named
from nameplate.geometry import region, rings
from nameplate.geometry.box import Box
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import cleaned

#: A path whose ends are nearer than this share of its diagonal was meant to be closed (0.7 mm on a usual face). Larger
#: values close paths that were meant to be lines.
NEARLY_CLOSED = 0.005

#: Faces outside these sizes (mm) are a mistake in the drawing's unit.
LEAST_SIZE = 1.0
MOST_SIZE = 10_000.0

#: An outline farther than this (mm) from its mirror image, but nearer than the share of its width, was meant to be
#: symmetric: below, nobody sees it; above, it is the design.
ASYMMETRY_SEEN = 0.05
ASYMMETRY_MEANT = 0.02

#: Most closed shapes in a drawing: a bound on work that grows with their number times the points of the outline.
MOST_LOOPS = 5_000

#: Most problems of one drawing that are told; the rest is counted.
MOST_TOLD = 20

#: Drawings smaller than this (mm) have no size at all.
NO_SIZE = 1e-9

#: The most of an outline's area that untangling may take away.
MOST_LOST = 0.01

#: Relative tolerance of the first, rough look at a drawing, of its size.
ROUGH = 1e-4


def read_face_drawing(
    path: Path,
    *,
    width: float | None = None,
    height: float | None = None,
    symmetry: str = "none",
    roles: Mapping[str, str] | None = None,
) -> Drawing:
    """Read a face from an SVG or DXF file.

    `width` or `height` (mm) sets the size of the outline whatever the drawing says; both only when they agree with
    the drawing's proportions. `symmetry` "left" or "right" rebuilds the face from that half. `roles` says by
    id, layer or group what paths are for. Raises FaceError, naming the file and every problem found, when the drawing
    cannot be used.
    """
    try:
        return _read(path, width, height, symmetry, roles or {})
    except FaceError as error:
        told = [p if p.startswith((path.name, str(path))) else f"{path.name}: {p}" for p in error.problems]
        more = [f"{path.name}: and {len(told) - MOST_TOLD} more problems like these"] if len(told) > MOST_TOLD else []
        raise FaceError([*told[:MOST_TOLD], *more]) from None
    except GeometryError as error:
        raise FaceError(f"{path.name}: {error}") from None


def traced(path: Path) -> Traced:
    """Give what an SVG or DXF file draws; raises FaceError for a file that cannot be read."""
    return (read_dxf if _is_dxf(path) else read_svg)(path)


def _is_dxf(path: Path) -> bool:
    return path.suffix.lower() == ".dxf"


def _read(path: Path, width: float | None, height: float | None, side: str, given: Mapping[str, str]) -> Drawing:
    source = traced(path)
    notes = Notes(y_up=_is_dxf(path))
    for name in source.ignored:
        notes.add("drawing-ignored", name)
    traces = with_roles(source.traces, given)
    for trace in traces:
        if trace.role == "ignore":
            notes.taken("ignored", trace.label)
    closed, left_open, lines = _closed([trace for trace in traces if trace.role != "ignore"], notes)
    closed, box = _without_page(closed, left_open, source.page, notes)
    unsure = _without_unit(box, source.unsized) if width is None and height is None and source.unsized else ""
    if unsure:
        notes.add("drawing-no-unit", unsure)
    try:
        scale = _scale(box, width, height)
        found = on_face(_loops(closed, scale, notes), lines, scale, notes)
        return _finished(path, found, width, side, notes)
    except FaceError as error:
        raise FaceError([*([sentence("drawing-no-unit", unsure)] if unsure else []), *error.problems]) from error


# --- from shapes to loops -------------------------------------------------------------------------------------------


def _closed(traces: Sequence[Trace], notes: Notes) -> tuple[list[Trace], Sequence[Trace], list[Trace]]:
    """Give the closed traces, those that were closed here among them, what is open still, and the lines to score."""
    lines = [trace for trace in traces if trace.role == "score" and not _is_closed(trace)]
    open_ones = [trace for trace in traces if trace.role != "score" and not _is_closed(trace)]
    closed = [_shut(trace, notes) for trace in traces if _is_closed(trace)]
    if not open_ones:
        return closed, (), lines
    open_ones, doubles = without_doubles(open_ones)
    for trace in doubles:
        notes.add("drawing-line-twice", trace.label)
    corners = np.vstack([trace.reach() for trace in open_ones])
    joined = join(open_ones, NEARLY_CLOSED * float(np.hypot(*np.ptp(corners, axis=0))))
    for trace, widest in joined.closed:
        notes.add("drawing-paths-joined", f"{trace.label} (widest gap {widest:.2g} mm)")
    if joined.open:
        _tell_open(joined.open, notes)
    return [*closed, *(trace for trace, _ in joined.closed)], joined.open, lines


def _is_closed(trace: Trace) -> bool:
    """Tell whether a trace is closed, or so nearly that it is closed here."""
    if trace.closed:
        return True
    nearly = NEARLY_CLOSED * float(np.hypot(*np.ptp(trace.reach(), axis=0)))
    return trace.gap <= nearly and not trace.is_single


def _shut(trace: Trace, notes: Notes) -> Trace:
    if not trace.closed and trace.gap > tolerances.SAME_POINT:
        notes.add("drawing-path-closed", f"{trace.label} ({trace.gap:.2g} mm)")
    return replace(trace, closed=True)


def _tell_open(traces: Sequence[Trace], notes: Notes) -> None:
    """Say of open traces how wide their gaps are and where; raises FaceError for those that must be closed."""
    problems = []
    for trace, (gap, (x, y)) in zip(traces, gaps(traces), strict=True):
        if trace.role:
            problems.append(f"{trace.label}: the {trace.role} is not closed; its ends are {trace.gap:.3g} mm apart")
        notes.add("drawing-path-open", f"{trace.label} (a gap of {gap:.3g} mm near {notes.place(x, y)})")
    if problems:
        raise FaceError(problems)


def _without_page(
    traces: Sequence[Trace], left_open: Sequence[Trace], page: Array | None, notes: Notes
) -> tuple[list[Trace], Box]:
    """Give the closed traces without the page, and the box of the outline, roughly, in the drawing's own millimetres.

    Raises FaceError where nothing is closed, or where what is left open would be a larger outline.
    """
    sizes = [_rough(trace) for trace in traces]
    dropped = pages(traces, sizes, page)
    for i in sorted(dropped):
        notes.add("drawing-page", traces[i].label)
    kept = [i for i in range(len(traces)) if i not in dropped]
    called = [i for i in kept if traces[i].role == "outline"] or [i for i in kept if not traces[i].role]
    if not called:
        still_open = named(notes.labels.get("drawing-path-open", []), most=MOST_NAMED)
        why = f"; close what is open: {still_open}" if still_open else ", only what has another role" * bool(traces)
        raise FaceError(f"no closed outline is drawn in it{why}")
    outline = max(called, key=lambda i: sizes[i].area)
    if not traces[outline].role and (larger := _larger(left_open, traces[outline], sizes[outline], notes)):
        raise FaceError(larger)
    return [traces[i] for i in kept], sizes[outline].box


def _larger(traces: Sequence[Trace], outline: Trace, size: Extent, notes: Notes) -> list[str]:
    """Say of open traces that would be larger, closed by a straight line, than what is taken for the outline, that
    they are not closed: the outline is likelier one of them."""
    areas = [_rough(trace).area for trace in traces]
    wider = [i for i, area in enumerate(areas) if area > size.area]
    where = gaps(traces) if wider else []
    return [
        f"{traces[i].label} is not closed: it has a gap of {where[i][0]:.3g} mm near "
        f"{notes.place(*where[i][1])} mm of the drawing, and without it the face would be the smaller {outline.label}; "
        f"join its ends there, or {no_outline(traces[i], outline)}"
        for i in sorted(wider, key=lambda i: -areas[i])
    ]


def _without_unit(box: Box, unsized: Unsized) -> str:
    """Say how large an outline without a unit is as taken, and in the other usual unit."""
    width, height = box.width * unsized.times, box.height * unsized.times
    return (
        f"taken as {unsized.taken}, the outline is {box.width:.1f} x {box.height:.1f} mm ({unsized.other} it would be "
        f"{width:.1f} x {height:.1f} mm)"
    )


def _scale(box: Box, width: float | None, height: float | None) -> float:
    """Give the factor from the drawing's own millimetres to the size asked for; raises FaceError for no face's size."""
    if not (np.isfinite([box.width, box.height]).all() and min(box.width, box.height) > NO_SIZE):
        raise FaceError(f"the outline is {box.width:g} x {box.height:g} mm; it has no area")
    scale = width / box.width if width is not None else height / box.height if height is not None else 1.0
    if width is not None and height is not None and abs(box.height * scale - height) > 0.005 * height:
        raise FaceError(
            f"a width of {width:g} mm makes the drawing {box.height * scale:.4g} mm high, not {height:g} mm; "
            "give only one of the two"
        )
    size = box.width * scale, box.height * scale
    if min(size) < LEAST_SIZE or max(size) > MOST_SIZE:
        raise FaceError(
            f"the outline measures {size[0]:.4g} x {size[1]:.4g} mm, which no face does "
            f"({LEAST_SIZE:g} to {MOST_SIZE:g} mm); check the drawing's unit or give the face's width"
        )
    return scale


def _rough(trace: Trace) -> Extent:
    """Give the area and the box of a contour, roughly, in the drawing's millimetres."""
    spread = float(np.ptp(trace.reach(), axis=0).max())
    if not np.isfinite(spread) or spread <= 0:
        return Extent(0.0, Box(0.0, 0.0, 0.0, 0.0))
    points = trace.flat(units.IDENTITY, ROUGH * spread)
    x, y = (points - points[0]).T
    area = abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2
    return Extent(area, Box(*points.min(axis=0).tolist(), *points.max(axis=0).tolist()))


def _loops(traces: Sequence[Trace], scale: float, notes: Notes) -> list[Loop]:
    """Give the loops of the face in mm, y up, at the final size."""
    loops: list[Loop] = []
    if len(traces) > MOST_LOOPS:
        raise FaceError(f"the drawing has {len(traces)} closed shapes; at most {MOST_LOOPS} are read; save the outline")
    for trace, points in zip(traces, flattened(traces, scale), strict=True):
        ring = rings.without_repeats(points, tolerances.SAME_POINT / 100)
        if len(ring) < 3:
            notes.add("drawing-path-open", trace.label)
            continue
        shape = _untangled(trace.label, ring, notes)
        if not shape.is_empty:
            loops.append(Loop(trace, shape))
    return loops


def _untangled(label: str, ring: Array, notes: Notes) -> Region:
    crossing = rings.crossing(ring)
    if crossing is None:
        return region.from_ring(ring)
    whole = rings.untangled(ring)
    pieces = sorted(region.solids(whole), key=lambda s: s.area, reverse=True)
    place = f"near {notes.place(crossing.x, -crossing.y)} mm of the drawing"
    if not pieces or sum(p.area for p in pieces[1:]) > MOST_LOST * whole.area:
        raise FaceError(f"{label}: its line crosses itself {place}, so that it is unclear what is inside; redraw it")
    notes.add("drawing-crosses-itself", f"{label} {place}")
    return region.as_region(pieces[0])


# --- the finished drawing -------------------------------------------------------------------------------------------


def _finished(path: Path, found: Drawing, width: float | None, side: str, notes: Notes) -> Drawing:
    """Put the centre of the outline's box at the origin, and rebuild the face from one `side` where that is asked."""
    box = region.bounds(found.outline)
    exact = 1.0 if width is None else width / box.width
    x, y = box.centre
    settled = found.changed(
        lambda shape: region.moved(shape, -x * exact, -y * exact, scale=exact),
        [(line - box.centre) * exact for line in found.scored],
    )
    measured = asymmetry(settled.outline)
    findings = list(notes.findings(path))
    if side in ("left", "right"):
        if settled.scored:
            raise FaceError(f'symmetry = "{side}" does not rebuild open lines to score; draw both halves of them')
        outline = rebuilt_outline(settled.outline, side)
        settled = replace(settled.changed(lambda shape: rebuilt(shape, side)), outline=outline)
        message = (
            f"{path.name}: the face is rebuilt from its {side} half; as drawn it was off by up to {measured:.2f} mm"
        )
        findings.append(Finding("drawing-mirrored", "note", message, measured=measured))
    elif ASYMMETRY_SEEN < measured < ASYMMETRY_MEANT * region.bounds(settled.outline).width:
        message = (
            f"{path.name}: the outline is off its mirror image by up to {measured:.2f} mm; if it is meant to be "
            'symmetric, set symmetry = "left" or "right"'
        )
        findings.append(Finding("drawing-asymmetric", "warning", message, measured=measured, allowed=ASYMMETRY_SEEN))
    return replace(settled, findings=tuple(findings), asymmetry=measured)


# --- symmetry about the upright axis through the centre of the outline's box ----------------------------------------


def asymmetry(outline: Region) -> float:
    """Give the largest distance in mm between a boundary and its mirror image.

    >>> asymmetry(region.rectangle(-2, 0, 2, 1))
    0.0
    >>> asymmetry(region.EMPTY)
    0.0
    """
    return region.hausdorff(outline, region.mirrored(outline))


def rebuilt(shape: Region, side: str) -> Region:
    """Make a region symmetric: keep its left or right half and mirror that.

    >>> rebuilt(region.rectangle(-1, 0, 2, 1), "right").bounds
    (-2.0, 0.0, 2.0, 1.0)
    >>> rebuilt(region.EMPTY, "left").is_empty
    True
    """
    if shape.is_empty:
        return shape
    box = region.bounds(shape)
    far = 1 + max(abs(box.x0), abs(box.x1))
    x0, x1 = (-far, 0.0) if side == "left" else (0.0, far)
    half = region.intersection(shape, region.rectangle(x0, box.y0 - 1, x1, box.y1 + 1))
    return cleaned(region.union(half, region.mirrored(half)))


def rebuilt_outline(outline: Region, side: str) -> Region:
    """Rebuild an outline from one half; raises FaceError when that leaves no single piece."""
    whole = rebuilt(outline, side)
    if len(region.solids(whole)) != 1:
        raise FaceError(
            f'symmetry = "{side}" leaves {len(region.solids(whole))} pieces instead of one outline; '
            "the drawing's middle must lie inside it"
        )
    return region.filled(whole)
