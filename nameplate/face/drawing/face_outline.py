"""A face from an SVG drawing: its outline, what to keep clear of, and where lettering may lie.

Method. The largest closed contour is the outline; closed contours inside it are keep-outs; the shape with the id
`zone` is where lettering may lie. Sizes come from the document (96 pixels an inch where it names no unit) or from the
ticket, which wins. Whatever is closed, left out or repaired on the way is a finding.

Known limits: stroke widths are not looked at (the outline is the middle of its line), nor are clips and masks; a
background drawn larger than the face is taken for the face.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from nameplate import tolerances
from nameplate.errors import FaceError, GeometryError
from nameplate.face import symmetry
from nameplate.face.drawing import paths, tree, units, xml_text
from nameplate.findings import Finding
from nameplate.geometry import region, rings
from nameplate.geometry.nearby import prepare
from nameplate.geometry.region import EMPTY, Array, Box, Region

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

#: A contour that differs from the outline by less than this share of its area is the outline drawn again.
DRAWN_TWICE = 0.002

#: Most closed shapes in a drawing, most that cross its outline, and most that make up its zone: bounds on work that
#: grows with their number times the points of the outline.
MOST_LOOPS = 5_000
MOST_CROSSING = 200
MOST_ZONES = 200

#: Most problems of one drawing that are told; the rest is counted.
MOST_TOLD = 20

#: Drawings smaller than this (mm) have no size at all.
NO_SIZE = 1e-9

#: The most of an outline's area that untangling may take away.
MOST_LOST = 0.01

#: Relative tolerance of the first, rough look at a drawing, of its size.
ROUGH = 1e-4


@dataclass(frozen=True, slots=True)
class Drawing:
    """A face as drawn, in mm, y up, the centre of the outline's box at the origin.

    `outline` has no holes; `keep_outs` lie inside it; `zone` is None when the drawing names none; `asymmetry` is the
    largest distance (mm) between the drawn outline and its mirror image.
    """

    outline: Region
    keep_outs: Region
    zone: Region | None
    findings: tuple[Finding, ...]
    asymmetry: float


@dataclass(frozen=True, slots=True)
class _Curve:
    """One contour of one drawn shape, with its matrix to millimetres."""

    label: str
    contour: paths.Contour
    matrix: Array
    zone: bool


@dataclass(frozen=True, slots=True)
class _Loop:
    """One closed contour, flattened, as a region."""

    label: str
    shape: Region


@dataclass(slots=True)
class _Notes:
    """Collects findings, one a kind, so that five hundred stray lines make one sentence."""

    labels: dict[str, list[str]] = field(default_factory=dict)

    def add(self, code: str, label: str) -> None:
        self.labels.setdefault(code, []).append(label)


def read_face_svg(
    path: Path, *, width: float | None = None, height: float | None = None, symmetry: str = "none"
) -> Drawing:
    """Read a face from an SVG file.

    `width` or `height` (mm) sets the size of the outline whatever the drawing says; both only when they agree with
    the drawing's proportions. `symmetry` "left" or "right" rebuilds the face from that half. Raises FaceError, naming
    the file and every problem found, when the drawing cannot be used.
    """
    try:
        return _read(path, width, height, symmetry)
    except FaceError as error:
        named = [p if p.startswith((path.name, str(path))) else f"{path.name}: {p}" for p in error.problems]
        more = [f"{path.name}: and {len(named) - MOST_TOLD} more problems like these"] if len(named) > MOST_TOLD else []
        raise FaceError([*named[:MOST_TOLD], *more]) from None
    except GeometryError as error:
        raise FaceError(f"{path.name}: {error}") from None


def _read(path: Path, width: float | None, height: float | None, side: str) -> Drawing:
    contents = tree.read_shapes(xml_text.read_root(path))
    notes = _Notes()
    for name in contents.ignored:
        notes.add("drawing-ignored", f"<{name}>")
    curves = [c for c in _curves(contents.shapes) if _is_loop(c, notes)]
    scale = _scale(curves, width, height)
    if width is None and height is None and not contents.sized:
        notes.add("drawing-no-unit", "")
    loops, zones = _loops(curves, scale, notes)
    outline, others = _outline(loops)
    keep_outs = _keep_outs(outline, others, notes)
    return _finished(path, outline, keep_outs, _zone(zones), width, side, notes)


# --- from shapes to loops -------------------------------------------------------------------------------------------


def _curves(shapes: Iterable[tree.Drawn]) -> list[_Curve]:
    found: list[_Curve] = []
    problems, count = [], 0
    read: dict[str, tuple[paths.Contour, ...]] = {}
    for shape in shapes:
        try:
            if shape.data not in read:
                read[shape.data] = paths.contours(shape.data)
            for contour in read[shape.data]:
                count += len(contour.segments)
                found.append(_Curve(shape.label, contour, shape.matrix, shape.zone))
        except FaceError as error:
            problems += [f"{shape.label}: {p}" for p in error.problems]
        if count > paths.MOST_SEGMENTS:
            raise FaceError(f"the drawing has more than {paths.MOST_SEGMENTS} segments; simplify the outline")
    if problems:
        raise FaceError(problems)
    if not found:
        raise FaceError("nothing is drawn in it that could be an outline")
    return found


def _is_loop(curve: _Curve, notes: _Notes) -> bool:
    """Tell whether a contour is closed, or so nearly that it is closed here, with a finding."""
    if curve.contour.closed:
        return True
    reach = paths.reach(curve.contour, curve.matrix)
    ends = paths.ends(curve.contour, curve.matrix)
    gap = float(np.hypot(*(ends[1] - ends[0])))
    if gap <= NEARLY_CLOSED * float(np.hypot(*np.ptp(reach, axis=0))) and len(curve.contour.segments) > 1:
        if gap > tolerances.SAME_POINT:
            notes.add("drawing-path-closed", f"{curve.label} ({gap:.2g} mm)")
        return True
    if curve.zone:
        raise FaceError(f"{curve.label}: the zone is not closed; its ends are {gap:.3g} mm apart")
    notes.add("drawing-path-open", curve.label)
    return False


def _scale(curves: Sequence[_Curve], width: float | None, height: float | None) -> float:
    """Give the factor from the drawing's own millimetres to the size asked for."""
    outer = [c for c in curves if not c.zone]
    if not outer:
        raise FaceError("no closed outline is drawn in it")
    sizes = [_rough(c) for c in outer]
    box = max(sizes, key=lambda s: s[0])[1]
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


def _rough(curve: _Curve) -> tuple[float, Box]:
    """Give the area and the box of a contour, roughly, in the drawing's millimetres."""
    spread = float(np.ptp(paths.reach(curve.contour, curve.matrix), axis=0).max())
    if not np.isfinite(spread) or spread <= 0:
        return 0.0, Box(0.0, 0.0, 0.0, 0.0)
    points = paths.flat(curve.contour, curve.matrix, ROUGH * spread)
    x, y = (points - points[0]).T
    area = abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2
    low, high = points.min(axis=0), points.max(axis=0)
    return area, Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def _loops(curves: Sequence[_Curve], scale: float, notes: _Notes) -> tuple[list[_Loop], list[_Loop]]:
    """Give the loops of the face and those of the zone, in mm, y up, at the final size."""
    flip = units.scaling(scale, -scale)
    loops: list[_Loop] = []
    zones: list[_Loop] = []
    if len(curves) > MOST_LOOPS:
        raise FaceError(f"the drawing has {len(curves)} closed shapes; at most {MOST_LOOPS} are read; save the outline")
    left = paths.MOST_POINTS
    for curve in curves:
        points = paths.flat(curve.contour, flip @ curve.matrix, most=left)
        left -= len(points)
        ring = rings.without_repeats(points, tolerances.SAME_POINT / 100)
        if len(ring) < 3:
            notes.add("drawing-path-open", curve.label)
            continue
        shape = _untangled(curve.label, ring, notes)
        if not shape.is_empty:
            (zones if curve.zone else loops).append(_Loop(curve.label, shape))
    return loops, zones


def _untangled(label: str, ring: Array, notes: _Notes) -> Region:
    crossing = rings.crossing(ring)
    if crossing is None:
        return region.from_ring(ring)
    whole = rings.untangled(ring)
    pieces = sorted(region.solids(whole), key=lambda s: s.area, reverse=True)
    place = f"near x {crossing.x:.1f}, y {-crossing.y:.1f} mm of the drawing"
    if not pieces or sum(p.area for p in pieces[1:]) > MOST_LOST * whole.area:
        raise FaceError(f"{label}: its line crosses itself {place}, so that it is unclear what is inside; redraw it")
    notes.add("drawing-crosses-itself", f"{label} {place}")
    return region.as_region(pieces[0])


# --- what each loop is ----------------------------------------------------------------------------------------------


def _outline(loops: Sequence[_Loop]) -> tuple[Region, list[_Loop]]:
    if not loops:
        raise FaceError("no closed outline is drawn in it")
    largest = max(range(len(loops)), key=lambda i: loops[i].shape.area)
    return region.filled(loops[largest].shape), [s for i, s in enumerate(loops) if i != largest]


def _keep_outs(outline: Region, others: Sequence[_Loop], notes: _Notes) -> Region:
    inside = []
    prepare(outline)
    crossing = 0
    for loop in others:
        within = region.covers(outline, loop.shape)
        crossing += not within and region.intersects(outline, loop.shape)
        if crossing > MOST_CROSSING:
            raise FaceError(f"more than {MOST_CROSSING} shapes cross the outline; delete them or draw them inside it")
        share = loop.shape.area if within else _shared(outline, loop.shape)
        if share == 0:
            notes.add("drawing-outside-outline", loop.label)
        elif share > (1 - DRAWN_TWICE) * outline.area:
            notes.add("drawing-drawn-twice", loop.label)
        else:
            if share < (1 - DRAWN_TWICE) * loop.shape.area:
                notes.add("drawing-crosses-outline", loop.label)
            inside.append(loop.shape)
    return region.intersection(outline, region.union(*inside)) if inside else EMPTY


def _shared(outline: Region, shape: Region) -> float:
    return region.intersection(outline, shape).area if region.intersects(outline, shape) else 0.0


def _zone(loops: Sequence[_Loop]) -> Region | None:
    """Join the zone's loops: what lies inside an odd number of them."""
    zone: Region | None = None
    if len(loops) > MOST_ZONES:
        raise FaceError(f"the zone is drawn as {len(loops)} shapes; at most {MOST_ZONES} are read")
    for loop in loops:
        if zone is None:
            zone = loop.shape
        else:
            zone = region.union(region.difference(zone, loop.shape), region.difference(loop.shape, zone))
    return zone


# --- the finished drawing -------------------------------------------------------------------------------------------


def _finished(
    path: Path,
    outline: Region,
    keep_outs: Region,
    zone: Region | None,
    width: float | None,
    side: str,
    notes: _Notes,
) -> Drawing:
    box = region.bounds(outline)
    exact = 1.0 if width is None else width / box.width
    x, y = box.centre

    def settle(shape: Region) -> Region:
        return region.moved(shape, -x * exact, -y * exact, scale=exact)

    outline, keep_outs = settle(outline), settle(keep_outs)
    zone = None if zone is None else settle(zone)
    measured = symmetry.asymmetry(outline)
    findings = [_finding(code, path, labels) for code, labels in notes.labels.items()]
    if side in ("left", "right"):
        outline = symmetry.rebuilt_outline(outline, side)
        keep_outs = symmetry.rebuilt(keep_outs, side)
        zone = None if zone is None else symmetry.rebuilt(zone, side)
        findings.append(_mirrored(path, side, measured))
    elif ASYMMETRY_SEEN < measured < ASYMMETRY_MEANT * region.bounds(outline).width:
        findings.append(_asymmetric(path, measured))
    return Drawing(outline, keep_outs, zone, tuple(findings), measured)


_SENTENCES = {
    "drawing-no-unit": "the drawing names no unit, so 96 of its units are one inch; give the face's width to be sure",
    "drawing-path-closed": "closed a path whose ends nearly met: {labels}",
    "drawing-path-open": "left out, because not closed: {labels}",
    "drawing-outside-outline": "left out, because outside the outline: {labels}",
    "drawing-crosses-outline": "crosses the outline; what lies inside is kept free of lettering: {labels}",
    "drawing-drawn-twice": "the outline is drawn again, which is left out: {labels}",
    "drawing-crosses-itself": "crosses itself; the small loops were cut off: {labels}",
    "drawing-ignored": "text and pictures are not part of an outline and were left out: {labels}",
}
_NOTES_ONLY = frozenset({"drawing-drawn-twice", "drawing-ignored"})


def _finding(code: str, path: Path, labels: Sequence[str]) -> Finding:
    shown = ", ".join(labels[:3]) + (f" and {len(labels) - 3} more" if len(labels) > 3 else "")
    sentence = _SENTENCES[code].format(labels=shown)
    return Finding(code, "note" if code in _NOTES_ONLY else "warning", f"{path.name}: {sentence}")


def _asymmetric(path: Path, measured: float) -> Finding:
    message = (
        f"{path.name}: the outline is off its mirror image by up to {measured:.2f} mm; if it is meant to be symmetric, "
        'set symmetry = "left" or "right"'
    )
    return Finding("drawing-asymmetric", "warning", message, measured=measured, allowed=ASYMMETRY_SEEN)


def _mirrored(path: Path, side: str, measured: float) -> Finding:
    message = f"{path.name}: the face is rebuilt from its {side} half; as drawn it was off by up to {measured:.2f} mm"
    return Finding("drawing-mirrored", "note", message, measured=measured)
