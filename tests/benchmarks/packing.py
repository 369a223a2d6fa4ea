"""Known packing problems through our engine, with its density beside the published ones.

A problem is a strip of fixed height and endless length; the engine fills a long sheet from the left, and the length it
used counts. A density well above the best known one would mean that parts overlap.
"""

from __future__ import annotations

import json
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nameplate.errors import LayoutError
from nameplate.geometry.region import Region, bounds, from_ring
from nameplate.nest.layout import Layout, Piece, SheetLayout, placed, placement
from nameplate.nest.search.budget import LARGEST_FIRST, SearchBudget
from nameplate.nest.search.by_sheet import pack_shapes
from nameplate.nest.search.part_masks import NestStore
from nameplate.nest.sheets import Blank, Rules, with_usable
from nameplate.nest.verify import verify

#: Best densities known to us, in per cent (Elkeran, EJOR 231, 2013; from memory).
BEST_KNOWN: Mapping[str, float] = {
    "fu": 92.41,
    "jakobs1": 89.10,
    "jakobs2": 87.73,
    "shapes0": 68.79,
    "shapes1": 76.73,
    "marques": 90.59,
    "albano": 89.58,
    "blaz": 84.84,
}

#: Turns where a file gives none: what the literature uses.
QUARTERS = (0.0, 90.0, 180.0, 270.0)

#: Ways in which the next part is chosen among several.
WAYS = 6

#: The sheet is this many times as long as parts without any waste would need.
ROOM = 2.5


@dataclass(frozen=True, slots=True)
class Problem:
    """One strip-packing problem: its pieces (demand expanded), the strip's height and the allowed turns."""

    name: str
    height: float
    pieces: tuple[Piece, ...]
    turns: tuple[float, ...]
    published: tuple[Mapping[str, Any], ...] = ()

    @property
    def area(self) -> float:
        """The area of all pieces."""
        return float(sum(p.region.area for p in self.pieces))


@dataclass(frozen=True, slots=True)
class Row:
    """The engine's result on one problem. Densities in per cent; `seconds` of wall time."""

    name: str
    pieces: int
    length: float
    density: float
    best_known: float | None
    seconds: float
    faults: int


def read_problem(path: Path) -> Problem:
    """Read a problem from a JSON file: name, strip_height, items (id, demand, orientations, polygon)."""
    document = json.loads(path.read_text(encoding="utf-8"))
    pieces, turns = [], list(QUARTERS)
    for item in document["items"]:
        region = from_ring(item["polygon"])
        pieces += [Piece(item["id"], "blank", copy, 1, "m", region) for copy in range(1, item["demand"] + 1)]
        turns = item.get("orientations", turns)
    return Problem(
        path.stem,
        float(document["strip_height"]),
        tuple(pieces),
        tuple(float(t) for t in turns),
        tuple(document.get("published_solutions", ())),
    )


def published_layout(problem: Problem, number: int, *, mirror_y: bool = False) -> tuple[Layout, tuple[Piece, ...]]:
    """Give a published layout of a problem, and its pieces in the order it uses them.

    Raises LayoutError when it speaks of a piece that the problem does not have.
    """
    shapes = {p.plate: p.region for p in problem.pieces}
    pieces, rows, used = [], [], dict.fromkeys(shapes, 0)
    for row in problem.published[number]["placements"]:
        name = row["idPiece"]
        if name not in shapes:
            raise LayoutError(f"{problem.name}: the published layout has the unknown piece {name}")
        used[name] += 1
        region = _mirrored_y(shapes[name]) if mirror_y else shapes[name]
        piece = Piece(name, "blank", used[name], 1, "m", region)
        pieces.append(piece)
        rows.append(placement(piece, row["x"], row["y"], row["angle"]))
    sheet = SheetLayout("m", 100 * problem.height, problem.height, 0, 0.0, tuple(rows))
    return Layout((sheet,)), tuple(pieces)


def _mirrored_y(region: Region) -> Region:
    return from_ring([(x, -y) for x, y in region.geoms[0].exterior.coords[:-1]])


def solve(problem: Problem) -> Row:
    """Pack one problem with the greedy placer in several ways, with no gap; keep the shortest."""
    start = time.perf_counter()
    rules = Rules(gap=0.0, edge=0.0, turns=problem.turns)
    blank = with_usable(Blank("m", ROOM * problem.area / problem.height, problem.height, 0), rules)
    looks = WAYS * len(problem.pieces) * len(problem.turns)
    best: tuple[float, Layout] | None = None
    store = NestStore()
    for budget in (LARGEST_FIRST, SearchBudget(looks)):
        packed = pack_shapes(problem.pieces, [blank], rules, budget, store=store)
        if not packed.left:
            layout = Layout((blank.sheet(packed.placements[0]),))
            length = _used(layout, problem.pieces)
            best = min(best or (length, layout), (length, layout), key=lambda found: found[0])
    if best is None:
        raise LayoutError(f"{problem.name}: the pieces did not fit a strip {ROOM:g} times as long as they need")
    length, layout = best
    return Row(
        problem.name,
        len(problem.pieces),
        length,
        100 * problem.area / (problem.height * length),
        BEST_KNOWN.get(problem.name),
        time.perf_counter() - start,
        len(verify(layout, problem.pieces, rules)),
    )


def _used(layout: Layout, pieces: Sequence[Piece]) -> float:
    by_key = {piece.key: piece for piece in pieces}
    return max(bounds(placed(by_key[at.key], at)).x1 for at in layout.sheets[0].placements)


def run(folder: Path, names: Sequence[str] = ("fu", "shapes1", "jakobs1", "marques", "albano")) -> tuple[Row, ...]:
    """Pack the problems found in a folder, in the order of the names; those not there are left out."""
    paths = [folder / f"{name}.json" for name in names]
    return tuple(solve(read_problem(path)) for path in paths if path.is_file())
