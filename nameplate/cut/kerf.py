"""Adds the kerf: turns a nominal part into the lines along which the beam's middle runs.

The beam removes a strip one kerf wide, so its middle runs half a kerf outside the part: outside of outer outlines,
inside of holes. Corners are mitred, so that a sharp corner is cut sharp; a mitre that is cut off (as that of a needle
is) leaves the burned corner whole too, since the beam's middle stays half a kerf clear of it. Then cubics are fitted,
once. A beam that is no disc stays as it is when a part is turned on its sheet: its lines are made for the turn.

Known limit: in a crevice narrower than the kerf the beam cannot follow; it cuts the part as if closed by half a kerf.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeAlias

import numpy as np

from nameplate import tolerances
from nameplate.errors import GeometryError
from nameplate.geometry import region
from nameplate.geometry.beam import Kerf
from nameplate.geometry.curves.curve import Curve
from nameplate.geometry.curves.fit import fit_rings
from nameplate.geometry.elliptic import beam_grown
from nameplate.geometry.nearby import Index
from nameplate.geometry.region import Array
from nameplate.model import Feature, Part, PartId, PartKind
from nameplate.system.shelf import lays_away

#: Parts that people look at: their outlines get the fewest cubics that fit.
SHOWN: frozenset[PartKind] = frozenset({"lettering", "backing", "blank"})

CutOperation: TypeAlias = Literal["cut-inside", "cut-outside"]

#: A hole that the kerf closes down to less than this (mm2) would be a dot burned into the part.
LEAST_HOLE = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class CutContour:
    """One closed line to cut, in plate coordinates; `feature` says what an inner contour of a jig is for."""

    operation: CutOperation
    curve: Curve
    feature: Feature | None = None


@lays_away("contours", "marks")
@dataclass(frozen=True, slots=True, eq=False)
class Toolpath:
    """What the beam does for one part, in plate coordinates: closed contours, and open polylines (n, 2) to score."""

    plate: str
    kind: PartKind
    layer: int
    contours: tuple[CutContour, ...]
    marks: tuple[Array, ...] = ()

    @property
    def part_id(self) -> PartId:
        """By what the part goes in a batch, whatever its copy."""
        return self.plate, self.kind, self.layer


def toolpath(
    part: Part,
    kerf: Kerf | float,
    *,
    beside: Sequence[Toolpath] = (),
    within: float = tolerances.CURVE,
    turn: float = 0.0,
) -> Toolpath:
    """Give the lines to cut for a part: inner contours first, each as cubics `within` so many mm of its offset.

    They are in plate coordinates, for a part that lies turned by `turn` degrees on its sheet, along whose axes those of
    the beam are. A kerf of 0 gives the nominal outline. Lettering, whose every cubic shows, gets the fewest; other
    parts are fitted faster (`fit_rings`), with the knots of the toolpaths of other parts of their plate, whose outlines
    run `beside` theirs as parallels: that is faster, and smooth in the same places. Raises GeometryError, all problems
    at once, where the kerf would close a hole or melt two pieces of the part together: such a part cannot be cut.
    """
    kerf = Kerf.of(kerf)
    grown = _grown(part.region, kerf, turn)
    problems = [*_lost_holes(part, grown, kerf), *_melted(part, grown, kerf)]
    if grown.is_empty:
        problems.append(f"plate {part.plate}: the {part.kind} is empty; there is nothing to cut")
    if problems:
        raise GeometryError(problems)
    holes = [ring for ring in region.hole_rings(grown) if region.from_ring(ring).area >= LEAST_HOLE]
    outlines = region.outer_rings(grown)
    models = [contour.curve for path in beside for contour in path.contours]
    curves = _fitted(part, holes, outlines, within, models)
    inner = [CutContour("cut-inside", c, _feature(h, part.features)) for h, c in zip(holes, curves, strict=False)]
    outer = [CutContour("cut-outside", c) for c in curves[len(holes) :]]
    return Toolpath(part.plate, part.kind, part.layer, (*inner, *outer), part.marks)


def _grown(shape: region.Region, kerf: Kerf, turn: float) -> region.Region:
    if kerf.is_round or turn % 180 == 0:
        return beam_grown(shape, kerf)
    return region.moved(beam_grown(region.moved(shape, turn=turn), kerf), turn=-turn)


def _fitted(
    part: Part, holes: Sequence[Array], outlines: Sequence[Array], tolerance: float, models: Sequence[Curve]
) -> tuple[Curve, ...]:
    if part.kind in SHOWN:
        return fit_rings([*holes, *outlines], tolerance)
    shared = tuple(_shared_outline(ring.tobytes(), tolerance) for ring in outlines)
    return (*fit_rings(holes, tolerance, fewest=False, beside=models), *shared)


@lru_cache(maxsize=16)
def _shared_outline(ring: bytes, tolerance: float) -> Curve:
    """Fit the outline of a jig's part; every template of a batch has the same, so it is fitted once a process."""
    return fit_rings([np.frombuffer(ring).reshape(-1, 2)], tolerance)[0]


def _lost_holes(part: Part, grown: region.Region, kerf: Kerf) -> list[str]:
    left = Index([h for h in region.solids(region.holes(grown)) if h.area >= LEAST_HOLE])
    lost = [region.bounds(h).centre for h in region.solids(region.holes(part.region)) if not left.near(h)]
    return [
        f"plate {part.plate}: a hole of the {part.kind} near ({x:.1f}, {y:.1f}) is narrower than the kerf of "
        f"{kerf.inside.told()} and would vanish; fill it, or make it wider"
        for x, y in lost
    ]


def _melted(part: Part, grown: region.Region, kerf: Kerf) -> list[str]:
    want, got = len(region.solids(part.region)), len(region.solids(grown))
    if got >= want:
        return []
    return [
        f"plate {part.plate}: pieces of the {part.kind} lie nearer to each other than the kerf of "
        f"{kerf.outside.told()}, so that {want} would come out as {got}; move them apart"
    ]


def _feature(hole: Array, features: Sequence[tuple[Feature, region.Region]]) -> Feature | None:
    """Give the first feature whose region covers the hole, let out by what fitting and facets may cost."""
    shape = region.from_ring(hole)
    for name, area in features:
        if region.covers(area, shape) or region.covers(region.offset(area, tolerances.BURN), shape):
            return name
    return None
