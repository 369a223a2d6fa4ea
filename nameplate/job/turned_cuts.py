"""The lines of parts that lie turned, made anew for that turn where the beam is wider along one axis than the other.

What is cut of a plate is made and tried before the nest, for parts that lie upright. A round beam cuts the same however
a part lies; one that is no disc does not, and how a part lies is known only after the nest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from nameplate.cut.expectation import ExpectedPart
from nameplate.cut.kerf import Toolpath
from nameplate.errors import GeometryError
from nameplate.findings import Finding
from nameplate.geometry.beam import Kerf
from nameplate.jig.skeleton import own_cuts
from nameplate.job.prepare import Batch
from nameplate.job.progress import Progress
from nameplate.job.sheets import TurnedId, expected_parts, upright_turn
from nameplate.job.verdict import without_plates
from nameplate.model import Part, PartId
from nameplate.plates.mounts import refusals
from nameplate.plates.trial import cut_true
from nameplate.pool.interface import Failure, Pool
from nameplate.pool.processes import run_all
from nameplate.system.grouping import grouped
from nameplate.system.shelf import changed


@dataclass(frozen=True, slots=True)
class TurnedPart:
    """A part to be cut anew: what must be left of it, the beam, and by how many degrees it lies turned.

    Its scores are no matter here.
    """

    part: Part
    expected: ExpectedPart
    kerf: Kerf
    turn: float


def with_turned_cuts(batch: Batch, pool: Pool, progress: Progress) -> Batch:
    """Give a batch with the lines of all parts that lie turned under a beam that is no disc.

    Plates that cannot be cut so are taken out. What belongs to no plate keeps its lines, as does a plate whose worker
    failed: the inspection of their sheets refuses these.
    """
    tasks = list(_tasks(batch))
    if not tasks:
        return batch
    progress.stage("cuts of parts that lie turned", len(tasks))
    outcomes = run_all(_made, tasks, None, workers=pool, done=progress.step)
    made = [outcome for outcome in outcomes if not isinstance(outcome, Failure)]
    plates = batch.ids_made
    faults = {found[0].plate or "": found for _, found in made if found and found[0].plate in plates}
    batch = replace(batch, turned={key: path for paths, _ in made for key, path in paths.items()})
    return without_plates(batch, faults, why="as it lies turned on its sheet it cannot be cut") if faults else batch


def _tasks(batch: Batch) -> Iterator[tuple[TurnedPart, ...]]:
    """Yield what is to be made anew, plate by plate."""
    turns: dict[PartId, list[float]] = grouped(
        (at.part_id, turn)
        for sheet in batch.layout.uncut.sheets
        if not batch.material(sheet.material).kerf.is_round
        for at in sheet.placements
        if (turn := upright_turn(at, over=sheet.face_down)) != 0
    )
    by_plate = grouped((p.plate, p) for p in batch.parts if p.part_id in turns)
    expected = expected_parts(batch) if by_plate else {}
    for parts in by_plate.values():
        yield tuple(
            TurnedPart(part, changed(expected[part.part_id], marks=None), batch.material(part.material).kerf, turn)
            for part in parts
            for turn in sorted(set(turns[part.part_id]))
        )


def _made(shared: None, task: Sequence[TurnedPart]) -> tuple[dict[TurnedId, Toolpath], tuple[Finding, ...]]:
    """Make the lines of one plate's parts, and say what is wrong with others (runs in a worker)."""
    paths: dict[TurnedId, Toolpath] = {}
    faults: list[Finding] = []
    for one in task:
        part = one.part
        beside = [path for (*_, turn), path in paths.items() if turn == one.turn]
        try:
            path, found = cut_true(own_cuts(part), one.expected, one.kerf, beside=beside, turn=one.turn)
        except GeometryError as error:
            path, found = None, tuple(replace(f, plate=part.plate) for f in refusals("cannot-be-cut", error))
        faults += found
        if path is not None:
            paths[*part.part_id, one.turn] = path
    return paths, tuple(faults)
