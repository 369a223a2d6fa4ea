"""From about a fit to an exact one, in a zone of any form: successive linear programming.

Terms. The *field* of a zone holds its walls and, on a square raster, how deep each place lies inside it. A *contact* is
a place where lettering and zone (nearly) touch: a point of the lettering at the zone's boundary, or an inward corner of
the zone at the lettering's.

Method: replace the zone by its tangents at the contacts near a pose, solve that linear programme in scale, x and y
within a trusted distance, look for the contacts anew there, until nothing moves (`Climb.refined`). At the scale found,
`Climb.towards` steps to a target in the same manner.

Known limit: it ends at the nearest largest fit, which need not be the largest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry import linear
from nameplate.geometry.region import Array
from nameplate.placement.active_walls import Walls, behind, walls
from nameplate.placement.objective import Pose
from nameplate.placement.raster import Raster

#: Most refining steps; each about squares the error, so five or six usually do.
STEPS = 25

#: After the first so many steps a fit is given up when another step like the last would still leave it smaller than
#: the best one so far. Fewer give up words in a ring that climb late.
HOPE = 2

#: A refining step smaller than this (shares of half the zone's size) is the end.
STILL = 1e-9

#: A fit that comes this near (cells) to one already found will end there too, and is given up. Larger values save
#: steps and may take two places for one.
SAME = 0.25

#: Nothing moves farther in a step than this many times what scale, x and y may each change by (|p| <= 1.42).
REACH = 2.5

#: The outlines of the first stage are within this share of half the lettering's size of it.
SIMPLE = 1e-3

#: The last refinement, with the whole outline, trusts itself this far (shares of half the zone's size).
LAST_TRUST = 4e-3


@dataclass(frozen=True, slots=True)
class Field:
    """A zone of half-size 1 about the origin: its walls, its raster, its inward corners.

    `margin` is how far inside a fit stays; `simply` means without holes.
    """

    walls: Walls
    raster: Raster
    inward: Array
    margin: float
    simply: bool

    @property
    def cell(self) -> float:
        """The size of the raster's cells."""
        return self.raster.cell


def near_top(fits: list[Pose], share: float) -> list[Pose]:
    """Keep the fits whose scale is within a share of the largest one's."""
    top = max((f.scale for f in fits), default=0.0)
    return [f for f in fits if f.scale >= top * (1 - share)]


@dataclass(frozen=True, slots=True)
class Climb:
    """Lettering of half-size 1 about the origin in a zone's field: its corners, and the walls that keep others out."""

    points: Array
    walls: Walls
    field: Field

    @classmethod
    def of(cls, rings: tuple[Array, ...], field: Field) -> Climb:
        """Take lettering by its rings, outer ones counter-clockwise and holes clockwise."""
        return cls(np.vstack(rings), walls(tuple(r[::-1] for r in rings)), field)

    def _rows(self, scale: float, shift: Array, reach: float) -> tuple[Array, Array]:
        """Give rows and limits in (scale, x, y) that hold while nothing moves farther than `reach`."""
        placed = scale * self.points + shift
        near = self.field.raster.read(placed) < reach
        points = self.points[near]
        half = behind(placed[near], self.field.walls, reach)
        rows = np.column_stack([(half.normals * points[half.point]).sum(axis=1), half.normals])
        limits = half.limits - self.field.margin
        corners = (self.field.inward - shift) / scale
        corners = corners[(np.abs(corners) < 1 + reach / scale).all(axis=1)]
        if len(corners) == 0:
            return rows, limits
        half = behind(corners, self.walls, reach / scale)
        # the corner c stays behind the letter's wall: normal . (c - shift) <= scale * limit
        fixed = corners[half.point] * scale + shift
        more = np.column_stack([-half.limits, -half.normals])
        bounds = -(half.normals * fixed).sum(axis=1) - self.field.margin
        return np.vstack([rows, more]), np.concatenate([limits, bounds])

    def refined(
        self,
        start: Pose,
        cap: float,
        band: tuple[Array, Array],
        *,
        trust: float = LAST_TRUST,
        still: float = STILL,
        known: Sequence[Pose] = (),
    ) -> Pose | None:
        """Climb from a rough fit to the nearest largest one within a band, until a step is smaller than `still`.

        None when the way is lost, or when it clearly ends below the largest fit known, or at one of those.
        """
        if start.easy:
            return start
        x = np.array([start.scale, *start.shift])
        size = np.array([1.0, 0.0, 0.0])
        for count in range(STEPS):
            rows, limits = self._rows(float(x[0]), x[1:], REACH * trust)
            rows, limits = np.vstack([rows, band[0], size]), np.concatenate([limits, band[1], [cap]])
            step = linear.best(size, rows, limits - rows @ x, reach=trust)
            if step is None:  # too far out to come back within the trusted distance: let go of size
                step = np.array([-trust, 0.0, 0.0])
            x = x + step
            if x[0] <= 0 or (count + 1 >= HOPE and self._hopeless(x, float(step[0]), known)):
                return None
            longest = float(np.abs(step).max())
            if longest < still:
                break
            trust = max(2 * longest, trust / 10) if longest < trust / 2 else trust * 0.8
        return Pose(float(x[0]), x[1:])

    def _hopeless(self, x: Array, rise: float, known: Sequence[Pose]) -> bool:
        """Tell whether (scale, x, y), about to rise again as last, ends clearly below the largest known, or at one."""
        if not known:
            return False
        if x[0] + max(rise, 0.0) < max(f.scale for f in known) * (1 - 4 * SIMPLE):
            return True
        there = np.array([(f.scale, *f.shift) for f in known])
        return bool((np.abs(there - x).max(axis=1) < SAME * self.field.cell).any())

    def towards(self, start: Pose, target: Array, band: tuple[Array, Array]) -> Pose:
        """Step to the target shift as far as the scale and the band allow."""
        shift, trust = start.shift, LAST_TRUST
        square = np.vstack([np.eye(2), -np.eye(2)])
        for _ in range(STEPS):
            rows, limits = self._rows(start.scale, shift, REACH * trust)
            rows, limits = np.vstack([rows, band[0]]), np.concatenate([limits, band[1]])
            rows, limits = rows[:, 1:], np.maximum(limits - start.scale * rows[:, 0] - rows[:, 1:] @ shift, 0.0)
            rows, limits = np.vstack([rows, square]), np.append(limits, np.full(4, trust))
            step = linear.nearest(target - shift, rows, limits)
            if step is None:
                break
            shift = shift + step
            longest = float(np.abs(step).max())
            if longest < STILL * 1000:
                break
            trust = min(2 * trust, 2 * self.field.cell) if longest > 0.9 * trust else max(longest, trust / 10)
        return Pose(start.scale, shift)
