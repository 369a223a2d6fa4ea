"""How far the head travels with the beam off: in the burning order, and by the nearest neighbour.

    python -m tests.benchmarks --travel 50 200 500

The nearest neighbour is counted twice: with every line begun where it was drawn, and with every line begun at whichever
of its knots is nearest. Both take scores, inside cuts and outside cuts one after the other, as the burning order must,
begin at the sheet's lower left corner and end there.
"""

from __future__ import annotations

import random
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from nameplate.cut.kerf import Toolpath
from nameplate.cut.order import OPERATIONS, PlacedToolpath, Step, burning_order
from nameplate.face.making import make_face
from nameplate.geometry.curves.curve import Curve, moved
from nameplate.job.prepare import prepare
from nameplate.job.sheets import expected_parts, tasks_of
from nameplate.model import Order
from nameplate.plates.make import PlateContext, make_work
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.schema import FaceKeys, Ticket
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS

#: The example's ticket.
ORCHARD = Path(__file__).parents[2] / "examples" / "orchard" / "job.toml"

#: So many different names are made for a generated sheet, however many parts it has.
NAMES = ("Wren Abara", "Jo", "Thora Quill", "Agnes", "Katinka Ruiz", "Lio Berg", "Marigold", "Szilvia")


@dataclass(frozen=True, slots=True)
class Travels:
    """Ways with the beam off over one sheet (mm), the CPU seconds of the burning order, parts and lines."""

    parts: int
    lines: int
    drawn: float
    nearest: float
    ordered: float
    seconds: float


def measured(placed: Sequence[PlacedToolpath]) -> Travels:
    """Measure one sheet."""
    start = time.process_time()
    steps = burning_order(placed)
    seconds = time.process_time() - start
    return Travels(
        len(placed),
        len(steps),
        nearest_neighbour(placed, anywhere=False),
        nearest_neighbour(placed, anywhere=True),
        travel(steps),
        seconds,
    )


def travel(steps: Sequence[Step]) -> float:
    """Give the way with the beam off (mm) from the corner past all steps, and back to it."""
    at, way = np.zeros(2), 0.0
    for step in steps:
        points = step.line.segments[:1, 0] if isinstance(step.line, Curve) else step.line
        way += float(np.hypot(*(points[0] - at)))
        at = points[-1]
    return way + float(np.hypot(*at))


def nearest_neighbour(placed: Sequence[PlacedToolpath], *, anywhere: bool) -> float:
    """Give the way (mm) of always going to the nearest line of an operation; closed ones are entered `anywhere`."""
    at, way = np.zeros(2), 0.0
    for operation in OPERATIONS:
        ends = [own for p in placed for own in _ends(p, operation, anywhere=anywhere)]
        if not ends:
            continue
        entries, exits = (np.vstack([own[side] for own in ends]) for side in (0, 1))
        owner = np.repeat(np.arange(len(ends)), [len(own[0]) for own in ends])
        left = entries.copy()
        for _ in ends:
            far = np.hypot(*(left - at).T)
            nearest = int(far.argmin())
            way += float(far[nearest])
            at = exits[nearest]
            left[owner == owner[nearest]] = np.inf
    return way + float(np.hypot(*at))


def _ends(placed: PlacedToolpath, operation: str, *, anywhere: bool) -> list[tuple[np.ndarray, np.ndarray]]:
    """Give where each line of a part may be entered, (n, 2), and where it is left then."""
    if operation == "score":
        marks = placed.lie.lines(placed.toolpath.marks)
        return [(mark[[0, -1]], mark[[-1, 0]]) for mark in marks]
    curves = [c.curve for c in placed.toolpath.contours if c.operation == operation]
    knots = [moved(c, placed.x, placed.y, placed.turn).segments[:, 0] for c in curves]
    return [(k, k) if anywhere else (k[:1], k[:1]) for k in knots]


def orchard_sheets(workers: int | None) -> dict[str, tuple[PlacedToolpath, ...]]:
    """Make the example up to its sheets and give what lies on each, by the sheet's file."""
    batch = prepare(read_ticket(ORCHARD), workers=workers)
    return {task.file: task.toolpaths for task in tasks_of(batch, expected_parts(batch))}


def made_toolpaths(count: int = len(NAMES)) -> list[Toolpath]:
    """Make the first few names of NAMES in earnest and give the toolpaths of their lettering."""
    keys = FaceKeys(shape="ellipse", width=110, height=80)
    ticket = Ticket(face=keys, lettering=LetteringKeys(), material=DEFAULT_MATERIALS, folder=Path())
    context = PlateContext.of(ticket, make_face(keys)[0])
    works = [make_work(context, Order(f"{k:03d}", k + 2, name)) for k, name in enumerate(NAMES[:count])]
    return [path for work in works for path in work.toolpaths if path.kind == "lettering"]


def generated_sheet(paths: Sequence[Toolpath], count: int) -> list[PlacedToolpath]:
    """Lay so many copies of some toolpaths in rows, 2 mm apart, upright or upside down, by a seeded chance."""
    rng = random.Random(count)
    boxes = [_box(path) for path in paths]
    width = 1.5 * np.sqrt(np.mean([size.prod() for _, size in boxes]) * count)
    copies, placed = [0] * len(paths), []
    x = y = row = 2.0
    for _ in range(count):
        k, turn = rng.randrange(len(paths)), rng.choice((0.0, 180.0))
        low, size = boxes[k]
        w, h = size.tolist()
        if x + w > width:
            x, y = 2.0, row
        corner = low if turn == 0 else -(low + size)
        copies[k] += 1
        placed.append(PlacedToolpath(paths[k], copies[k], x - corner[0], y - corner[1], turn))
        x, row = x + w + 2, max(row, y + h + 2)
    return placed


def _box(path: Toolpath) -> tuple[np.ndarray, np.ndarray]:
    """Give the lower left corner and the size of what is cut of a toolpath."""
    points = np.concatenate([c.curve.segments.reshape(-1, 2) for c in path.contours])
    return points.min(axis=0), np.ptp(points, axis=0)


def print_travels(counts: Sequence[int], workers: int | None) -> None:
    """Print the ways over the sheets of the example and over generated ones of so many parts."""
    paths = made_toolpaths()
    burning_order(generated_sheet(paths, 2))  # what is imported now is not counted
    sheets = {f"{count} parts": generated_sheet(paths, count) for count in counts}
    for name, placed in [*orchard_sheets(workers).items(), *sheets.items()]:
        got = measured(placed)
        print(
            f"{name:26s} {got.parts:4d} parts {got.lines:6d} lines  {got.ordered / 1000:7.2f} m; nearest neighbour "
            f"{got.drawn / 1000:7.2f} m ({got.ordered / got.drawn:.3f}), entered anywhere {got.nearest / 1000:7.2f} m "
            f"({got.ordered / got.nearest:.3f})  {got.seconds:5.2f} s CPU",
            flush=True,
        )
