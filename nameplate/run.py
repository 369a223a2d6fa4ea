"""A whole run: prepare the batch, write its files beside the old ones, inspect them, only then put them in place."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from nameplate.cut.burn import PartKey
from nameplate.cut.drop_in import judge_drop_ins
from nameplate.cut.dxf import check_library
from nameplate.cut.expectation import DropIn
from nameplate.cutting import CutSheet, SheetTask, expectations, files_of, sheets_of, task_of
from nameplate.drop_ins import drop_ins
from nameplate.errors import InspectionError, LayoutError, OutputError
from nameplate.geometry.region import Region
from nameplate.handover import begin_sheets, sheets_made
from nameplate.jig.skeleton import nestable, without_names
from nameplate.leaving import left_behind
from nameplate.nest.estimate import Estimate, estimate
from nameplate.nest.layout import Layout, layout_from_json, pieces_of
from nameplate.nest.sheets import rules_of
from nameplate.nest.verify import verify
from nameplate.output import Placed, check_folder, staged, write_file
from nameplate.parts import Part
from nameplate.pipeline import Batch, Progress, Silence, prepare, timed
from nameplate.plates import get_ready
from nameplate.pool import Failure, Pool
from nameplate.summary import summary_json
from nameplate.ticket import MaterialKeys, Ticket
from nameplate.workers import Workers, crew_of

#: What `--timing` calls the last stage.
WRITING = "write and inspect"


def make_job(
    ticket: Ticket,
    out: Path,
    *,
    progress: Progress | None = None,
    workers: Workers = None,
    layout_file: Path | None = None,
    placed: Placed = lambda where, said: None,
) -> tuple[Batch, Estimate]:
    """Make a whole job and leave it in the folder `out`, or leave `out` as it was.

    `placed` is told where the finished files are, as soon as they are there, and what to say about earlier ones.

    Raises OutputError when `out` is not ours to write or a library is missing, InspectionError when a written file
    does not keep its promise, and what :func:`~nameplate.pipeline.prepare` raises.
    """
    progress = progress or Silence()
    said = check_folder(out)
    if ticket.job.dxf:
        check_library()
    arrange = None if layout_file is None else partial(stored_layout, layout_file, ticket)
    with crew_of(workers, ready=get_ready) as crew:
        batch = prepare(ticket, progress=progress, workers=crew, arrange=arrange)
        with staged(out, placed=lambda where, more: placed(where, (*said, *more))) as stage, timed(WRITING):
            figures = _leave(stage, batch, progress, crew)
    return batch, figures


def stored_layout(path: Path, ticket: Ticket, parts: Sequence[Part]) -> Layout:
    """Read a layout and check that it belongs to these parts and still holds; raises LayoutError with every reason."""
    advice = f"{path} does not fit this job; nest it anew without --layout"
    try:
        layout = layout_from_json(path.read_text(encoding="utf-8"), pieces=pieces_of(parts))
    except (OSError, UnicodeDecodeError) as error:
        raise LayoutError(f"{path} cannot be read: {error}") from error
    except LayoutError as error:
        raise LayoutError([*(f"{path.name}: {problem}" for problem in error.problems), advice]) from error
    used = {part.material: ticket.material.get(part.material, MaterialKeys()) for part in parts}
    rules = {key: rules_of(ticket.nest, material.kerf, grain=material.grain) for key, material in used.items()}
    faults = verify(without_names(layout, parts), pieces_of(nestable(parts)), rules)
    if faults:
        raise LayoutError([*(f"{path.name}: {f.message}" for f in faults), advice])
    return layout


def _leave(stage: Path, batch: Batch, progress: Progress, crew: Pool) -> Estimate:
    """Write every file; the crew writes and inspects the sheets, while everything else is written here.

    Raises OutputError when a file cannot be written, InspectionError with every fault of the cut files.
    """
    ticket, sheets = batch.ticket, sheets_of(batch)
    expected, drops = expectations(batch, sheets), fits_of(batch)
    tasks = [task_of(batch, sheet, e) for sheet, e in zip(sheets, expected, strict=True)]
    progress.stage("writing and inspecting", len(tasks))
    job = begin_sheets(crew, tasks, stage, done=progress.step)
    names = [name for task in tasks for name in files_of(task)]
    for name, content in left_behind(batch, sheets, expected, drops):
        write_file(stage, name, content)
        names.append(name)
        job.tend()
    figures = estimate(batch.layout, batch.pieces, ticket.stock, ticket.nest)
    done = _without_faults(tasks, sheets_made(job), drops)
    burning = {task.file: (sheet.cut_length, sheet.seconds) for task, sheet in zip(tasks, done, strict=True)}
    write_file(stage, "summary.json", summary_json(batch, figures, burning, names))
    return figures


def fits_of(batch: Batch) -> tuple[DropIn, ...]:
    """Say what must drop into what once the batch is cut."""
    plates = [w.plate for w in batch.works]
    kerf = {key: material.kerf for key, material in batch.ticket.material.items()}
    return drop_ins(plates, batch.shared.parts, batch.shop.face, batch.ticket.jig, kerf=kerf)


def _without_faults(
    tasks: Sequence[SheetTask], outcomes: Sequence[CutSheet | Failure], drops: Sequence[DropIn]
) -> list[CutSheet]:
    """Give the sheets when all is well with them; raises OutputError or InspectionError otherwise."""
    done = [outcome for outcome in outcomes if isinstance(outcome, CutSheet)]
    problems = [problem for sheet in done for problem in sheet.problems]
    if problems:
        raise OutputError(problems)
    faults: list[str] = []
    burned: dict[PartKey, Region] = {}
    for task, outcome in zip(tasks, outcomes, strict=True):
        if isinstance(outcome, Failure):
            faults.append(f"{task.file}: the inspection {outcome.reason}")
        else:
            found = outcome.inspected.findings
            faults += [f"{task.file}: {f'plate {f.plate}: ' if f.plate else ''}{f.message}" for f in found]
            burned |= outcome.inspected.burned
    faults += [f.message for f in judge_drop_ins(drops, burned)]
    if faults:
        raise InspectionError([*faults, "nothing was put into the out folder"])
    return done
