"""A whole run: prepare the batch, write its files beside the old ones, inspect them, only then put them in place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from nameplate.cut.dxf import check_library
from nameplate.cut.expectation import DropIn, SheetExpectation
from nameplate.cutting import CutSheet, Sheet, SheetTask, cut_sheet, expectations, files_of, sheets_of, task_of
from nameplate.drop_ins import drop_ins
from nameplate.errors import LayoutError, OutputError
from nameplate.jig.skeleton import nestable, without_names
from nameplate.leaving import left_behind
from nameplate.nest.estimate import Estimate, estimate
from nameplate.nest.layout import Layout, layout_from_json, pieces_of
from nameplate.nest.sheets import rules_of
from nameplate.nest.verify import verify
from nameplate.output import check_folder, keep_only, staged, write_file
from nameplate.parts import Part
from nameplate.pipeline import Batch, Progress, Silence, prepare, timed
from nameplate.plates import get_ready
from nameplate.summary import summary_json
from nameplate.ticket import MaterialKeys, Ticket
from nameplate.verdict import Verdict, judged, leaving_out, without_plates
from nameplate.workers import Crew, Failure, Job, Workers, crew_of


def make_job(
    ticket: Ticket,
    out: Path,
    *,
    progress: Progress | None = None,
    workers: Workers = None,
    layout_file: Path | None = None,
) -> tuple[Batch, Estimate]:
    """Make a whole job and leave it in the folder `out`, or leave `out` as it was.

    What the inspection refuses is not handed over: plates are taken out of the batch, whose findings say why, and cut
    files that cannot be trusted are in its `left_out`. Raises OutputError when `out` is not ours to write or a library
    is missing, and what :func:`~nameplate.pipeline.prepare` raises.
    """
    progress = progress or Silence()
    check_folder(out)
    if ticket.job.dxf:
        check_library()
    arrange = None if layout_file is None else partial(stored_layout, layout_file, ticket)
    with crew_of(workers, ready=get_ready) as crew:
        batch = prepare(ticket, progress=progress, workers=crew, arrange=arrange)
        with staged(out) as stage, timed("write and inspect"):
            batch, figures = _leave(stage, batch, progress, crew)
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


@dataclass(frozen=True, slots=True)
class _Plan:
    """A batch as it is to be written: its sheets, what must be left of each, what must fit, and the tasks."""

    batch: Batch
    sheets: tuple[Sheet, ...]
    expected: tuple[SheetExpectation, ...]
    drops: tuple[DropIn, ...]
    tasks: tuple[SheetTask, ...]


@dataclass(frozen=True, slots=True)
class _Cut:
    """What came out of the writing: the plan as it was in the end, what became of each of its sheets (by file), the
    faults that are left (those of whole sheets), and the names of all other files."""

    plan: _Plan
    done: Mapping[str, CutSheet | Failure]
    verdict: Verdict
    others: tuple[str, ...]


def _plan_of(batch: Batch) -> _Plan:
    sheets = sheets_of(batch)
    expected = expectations(batch, sheets)
    tasks = tuple(task_of(batch, sheet, e) for sheet, e in zip(sheets, expected, strict=True))
    return _Plan(batch, sheets, expected, fits_of(batch), tasks)


def _leave(stage: Path, batch: Batch, progress: Progress, crew: Crew) -> tuple[Batch, Estimate]:
    """Write every file, and give the batch as it is handed over: without the plates and cut files that failed.

    Raises OutputError when a file cannot be written.
    """
    cut = _cut(stage, _plan_of(batch), progress, crew)
    plan, others = cut.plan, cut.others
    if cut.verdict.sheets:
        plan = replace(plan, batch=leaving_out(plan.batch, cut.verdict.sheets))
        others = _write_others(stage, plan)
    batch, ticket = plan.batch, plan.batch.ticket
    figures = estimate(batch.layout, batch.pieces, ticket.stock, ticket.nest)
    burning = {task.file: _burning(cut.done[task.file]) for task in plan.tasks}
    names = [name for task in plan.tasks if task.file not in batch.left_out for name in files_of(task)]
    names += others
    keep_only(stage, names)
    write_file(stage, "summary.json", summary_json(batch, figures, burning, names))
    return batch, figures


def _cut(stage: Path, plan: _Plan, progress: Progress, crew: Crew) -> _Cut:
    """Have the sheets written and inspected, everything else being written meanwhile, until no plate is at fault.

    A sheet with a fault is written once more, since a worker or a disk may have failed; what is wrong then stays wrong.
    A plate at fault is taken out, and the sheets that it lay on are written again without it.
    """
    done: dict[str, CutSheet | Failure] = {}
    tried_again: frozenset[str] = frozenset()
    others: tuple[str, ...] = ()
    while True:
        tasks = [task for task in plan.tasks if task.file not in done]
        progress.stage("writing and inspecting", len(tasks))
        job = Job(crew, cut_sheet, tasks, stage, done=progress.step, size=lambda task: len(task.toolpaths))
        others = others or _write_others(stage, plan, job.tend)
        done |= {task.file: outcome for task, outcome in zip(tasks, job.finish(), strict=True)}
        _check_written(done.values())
        verdict = judged(plan.batch, plan.tasks, done, plan.drops)
        again = verdict.files - tried_again
        if not again:
            if not verdict.plates:
                return _Cut(plan, done, verdict, others)
            again = frozenset(t.file for t in plan.tasks if verdict.plates.keys() & {p.plate for p in t.expected.parts})
            plan, others = _plan_of(without_plates(plan.batch, verdict.plates)), ()
        tried_again |= again
        done = {file: outcome for file, outcome in done.items() if file not in again}


def _write_others(stage: Path, plan: _Plan, tend: Callable[[], None] = lambda: None) -> tuple[str, ...]:
    """Write every file but the cut files and the summary, and give their names; `tend` is called after each."""
    names = []
    for name, content in left_behind(plan.batch, plan.sheets, plan.expected, plan.drops):
        write_file(stage, name, content)
        names.append(name)
        tend()
    return tuple(names)


def _check_written(outcomes: Iterable[CutSheet | Failure]) -> None:
    """Raise OutputError with every problem of writing the cut files."""
    problems = [problem for outcome in outcomes if isinstance(outcome, CutSheet) for problem in outcome.problems]
    if problems:
        raise OutputError(problems)


def _burning(outcome: CutSheet | Failure) -> tuple[float, float | None]:
    return (0.0, None) if isinstance(outcome, Failure) else (outcome.cut_length, outcome.seconds)


def fits_of(batch: Batch) -> tuple[DropIn, ...]:
    """Say what must drop into what once the batch is cut."""
    plates = [w.plate for w in batch.works]
    kerf = {key: material.kerf for key, material in batch.ticket.material.items()}
    return drop_ins(plates, batch.shared.parts, batch.shop.face, batch.ticket.jig, kerf=kerf)
