"""A whole run: prepare the batch, write its files beside the old ones, inspect them, only then put them in place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from nameplate.cut.burn import PartKey
from nameplate.cut.drop_in import judge_drop_ins
from nameplate.cut.expectation import DropIn
from nameplate.cut.sheet_files import examine_jig
from nameplate.cutting import CutSheet, SheetTask, cut_sheet, expectations, sheets_of, task_of
from nameplate.digests import digest_of_file
from nameplate.drop_ins import drop_ins
from nameplate.errors import InspectionError, LayoutError, OutputError
from nameplate.findings import Finding
from nameplate.foreign import shown
from nameplate.geometry.region import Region
from nameplate.jig.skeleton import nestable, with_names, without_names
from nameplate.leaving import JigDrawings, left_behind
from nameplate.nest.estimate import Estimate, estimate
from nameplate.nest.layout import Layout, pieces_of, same_places, strangers
from nameplate.nest.sheets import rules_of
from nameplate.nest.stored import as_stocked, left_out, read_layout
from nameplate.nest.verify import verify
from nameplate.output import Placed, check_folder, staged, write_file
from nameplate.parts import Part
from nameplate.pipeline import Batch, Progress, Silence, offcuts_of, prepare, timed
from nameplate.plates import get_ready
from nameplate.summary import summary_json
from nameplate.ticket import MaterialKeys, Ticket
from nameplate.workers import Crew, Failure, Job, Workers, crew_of

#: How a run that hands nothing over ends.
NOTHING_HANDED = "nothing was put into the out folder"

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
    arrange = None if layout_file is None else partial(stored_layout, layout_file, ticket)
    with crew_of(workers, ready=get_ready) as crew:
        batch = prepare(ticket, progress=progress, workers=crew, arrange=arrange)
        # the crew stops before the stage moves or vanishes, so that no worker still writes into it
        with staged(out, placed=lambda where, more: placed(where, (*said, *more))) as stage, crew, timed(WRITING):
            figures = _leave(stage, batch, progress, crew)
    return batch, figures


def stored_layout(path: Path, ticket: Ticket, parts: Sequence[Part]) -> Layout:
    """Read a layout and check that it belongs to these parts and still holds; raises LayoutError with every reason."""
    advice = f"{shown(path)} does not fit this job; nest it anew without --layout"
    try:
        layout = read_layout(path)
    except LayoutError as error:
        raise LayoutError([*error.problems, advice]) from error
    if problems := strangers(layout, pieces_of(parts)):
        raise LayoutError([*(f"{path.name}: {problem}" for problem in problems), advice])
    used = {part.material: ticket.material.get(part.material, MaterialKeys()) for part in parts}
    rules = {key: rules_of(ticket.nest, material.kerf, grain=material.grain) for key, material in used.items()}
    bare, pieces = without_names(layout, parts), pieces_of(nestable(parts))
    whole, problems = as_stocked(bare, ticket.stock, rules, offcuts_of(ticket))
    problems += [f.message for f in verify(bare, pieces, rules)]
    if not problems and not same_places(whole := with_names(whole, parts), layout):
        problems = ["a name that is cut from its template does not lie where the template lies"]
    if problems:
        raise LayoutError([*(f"{path.name}: {problem}" for problem in problems), advice])
    return replace(whole, findings=left_out(layout, pieces_of(parts)))


def _leave(stage: Path, batch: Batch, progress: Progress, crew: Crew) -> Estimate:
    """Write every file; the crew writes and inspects the sheets, while everything else is written here.

    Raises OutputError when a file cannot be written, InspectionError with every fault of the cut files.
    """
    ticket, sheets = batch.ticket, sheets_of(batch)
    expected, drops = expectations(batch, sheets), fits_of(batch)
    tasks = [task_of(batch, sheet, e) for sheet, e in zip(sheets, expected, strict=True)]
    progress.stage("writing and inspecting", len(tasks))
    job = Job(crew, cut_sheet, tasks, stage, done=progress.step, size=lambda task: len(task.toolpaths))
    digests: dict[str, str] = {}
    drawings = JigDrawings(batch)
    for name, content in left_behind(batch, sheets, expected, drops, drawings):
        digests[name] = write_file(stage, name, content)
        job.tend()
    wrong: list[Finding] = []
    for files, drawing in drawings:
        wrong += examine_jig(stage, files, drawing)
        job.tend()
    figures = estimate(batch.layout, batch.pieces, ticket.stock, ticket.nest)
    done = _without_faults(tasks, job.finish(), drops, wrong)
    for sheet in done:
        digests |= sheet.digests
    burning = {task.file: (sheet.cut_length, sheet.seconds) for task, sheet in zip(tasks, done, strict=True)}
    digests["summary.json"] = write_file(stage, "summary.json", summary_json(batch, figures, burning, list(digests)))
    _check_written(stage, digests)
    return figures


def _digest(path: Path) -> str | None:
    try:
        return digest_of_file(path)
    except OSError:
        return None


def _check_written(stage: Path, digests: Mapping[str, str]) -> None:
    """Read every file back; raises InspectionError when one is not on the disk as it was written."""
    changed = [name for name, wanted in digests.items() if _digest(stage / name) != wanted]
    if changed:
        raise InspectionError([*(f"{name} is not on the disk as it was written" for name in changed), NOTHING_HANDED])


def fits_of(batch: Batch) -> tuple[DropIn, ...]:
    """Say what must drop into what once the batch is cut."""
    plates = [w.plate for w in batch.works]
    kerf = {key: material.kerf for key, material in batch.ticket.material.items()}
    return drop_ins(plates, batch.shared.parts, batch.shop.face, batch.ticket.jig, kerf=kerf)


def _without_faults(
    tasks: Sequence[SheetTask],
    outcomes: Sequence[CutSheet | Failure],
    drops: Sequence[DropIn],
    wrong: Sequence[Finding],
) -> list[CutSheet]:
    """Give the sheets when all is well with them; raises OutputError or InspectionError otherwise.

    `wrong` is what was found in the other files.
    """
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
    faults += [f.message for f in (*judge_drop_ins(drops, burned), *wrong)]
    if faults:
        raise InspectionError([*faults, NOTHING_HANDED])
    return done
