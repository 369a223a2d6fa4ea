"""A whole run: prepare the batch, write its files beside the old ones, inspect them, only then put them in place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path

from nameplate.cut.cut_free import remarks_on, told
from nameplate.cut.expectation import DropIn
from nameplate.cut.machine import CutStyle
from nameplate.errors import InspectionError, OutputError
from nameplate.findings import sort_findings
from nameplate.job.assembly_checks import drop_ins
from nameplate.job.bundles import Bundle, Recorded, bundles_of
from nameplate.job.deliverables import Named, WorkshopPages, paper, records, workshop_pages
from nameplate.job.desk import NO_DESK, Desk
from nameplate.job.handover import Underway, begin_cutting
from nameplate.job.holdings import is_as_written
from nameplate.job.labelling import labelled
from nameplate.job.layout_stage import StoredArrange
from nameplate.job.out_folder import Content, Placed, check_folder, keep_only, staged, write_file
from nameplate.job.prepare import Batch, prepare, room_of
from nameplate.job.progress import SILENCE, Progress, timed
from nameplate.job.sheets import CutSheet, MadeSheet, SheetTask, expected_parts, tasks_of
from nameplate.job.summary import sheet_records, summary_json
from nameplate.job.turned_cuts import with_turned_cuts
from nameplate.job.verdict import Verdict, judged, leaving_out, without_plates
from nameplate.job.work_folder import KEPT
from nameplate.nest.buying.figures import Estimate, estimate
from nameplate.nest.buying.quote import RoomLeft
from nameplate.pool.interface import Failure, Pool
from nameplate.pool.processes import Workers, get_ready, pool_of
from nameplate.system.shelf import Shelf
from nameplate.ticket.schema import Ticket

#: How a run that hands nothing over ends.
NOTHING_HANDED = "nothing was put into the out folder"

#: Pieces of a long file, a few plates' worth, after which the pool is looked after. Fewer cost more looks than they
#: save waiting.
TENDED = 64

#: What `--timing` calls the last stage.
WRITING = "write and inspect"


def make_job(
    ticket: Ticket,
    out: Path,
    *,
    progress: Progress = SILENCE,
    workers: Workers = None,
    layout_file: Path | None = None,
    placed: Placed = lambda where, said: None,
    desk: Desk = NO_DESK,
) -> tuple[Batch, Estimate]:
    """Make a whole job and leave it in the folder `out`, or leave `out` as it was.

    `placed` is told where the finished files are, as soon as they are there, and what to say about earlier ones. The
    `desk` has the job's record: what was cut before, which is not made again; it changes together with the folder.

    What the inspection refuses is not handed over: plates are taken out of the batch, whose findings say why, and cut
    files that cannot be trusted are in its `left_out`. Raises OutputError when `out` is not ours to write,
    InspectionError when nothing can be handed over, and what :func:`~nameplate.job.prepare.prepare` raises.
    """
    said = check_folder(out)
    desk.check(out)
    # read first: a file that is no layout must not cost the making of every name
    arrange = None if layout_file is None else StoredArrange.read(layout_file)

    def in_place(where: Path, more: Sequence[str]) -> None:
        desk.in_place(where)
        placed(where, more)

    with (
        staged(out, ready=lambda stage: desk.ready(stage, out), placed=in_place, said=said) as stage,
        Shelf(stage.with_name(KEPT)) as shelf,
        pool_of(workers, ready=get_ready) as pool,
    ):
        batch = prepare(
            ticket, progress=progress, workers=pool, arrange=arrange, shelf=shelf, before=desk.before, gate=True
        )
        with timed("labels"):
            batch = labelled(batch)
        with timed("turned cuts"):
            batch = with_turned_cuts(batch, pool, progress)
        with timed(WRITING):
            batch, figures = _leave(stage, batch, progress, pool, shelf, desk)
    return batch, figures


@dataclass(frozen=True, slots=True)
class _Plan:
    """A batch as it is to be written: what must fit, and the errands."""

    batch: Batch
    drops: tuple[DropIn, ...]
    tasks: tuple[SheetTask, ...]
    bundles: tuple[Bundle, ...]


@dataclass(frozen=True, slots=True)
class _Beside:
    """What is made while the pool writes sheets: the digests of what people read (by name), and what there is to buy
    and room for. Workshop pages that tell how parts come free are made when that is known, and are None till then."""

    paper: Mapping[str, str]
    workshop: WorkshopPages | None
    figures: Estimate
    room: Sequence[RoomLeft]


@dataclass(frozen=True, slots=True)
class _Cut:
    """What came out of the writing: the plan as it was in the end, what became of each of its sheets (by file), the
    faults that are left (those of whole sheets), its bundles, and what was made beside them."""

    plan: _Plan
    done: Mapping[str, CutSheet | Failure]
    verdict: Verdict
    recorded: Sequence[Recorded]
    beside: _Beside


def _plan_of(batch: Batch) -> _Plan:
    parts = expected_parts(batch)
    return _Plan(batch, drop_ins(batch), tasks_of(batch, parts), tuple(bundles_of(batch, parts)))


def _leave(
    stage: Path, batch: Batch, progress: Progress, pool: Pool, shelf: Shelf, desk: Desk
) -> tuple[Batch, Estimate]:
    """Write every file, and give the batch as it is handed over: without the plates and cut files that failed.

    Raises OutputError when a file cannot be written, InspectionError when one does not stay as it was written,
    RecordError when the record has lost the files of a sheet.
    """
    kept = _write(stage, desk.files_that_were_cut())
    cut = _cut(stage, _plan_of(batch), progress, pool, shelf)
    batch, drops, figures = cut.plan.batch, cut.plan.drops, cut.beside.figures
    sound = {
        file: own for file, own in cut.done.items() if isinstance(own, CutSheet) and file not in cut.verdict.sheets
    }
    freed, style = {file: own.freed for file, own in sound.items()}, CutStyle.of(batch.ticket.machine)
    paper_files, workshop = dict(cut.beside.paper), cut.beside.workshop
    if cut.verdict.sheets or workshop is None:
        batch = leaving_out(batch, cut.verdict.sheets)
        batch = replace(batch, findings=sort_findings((*batch.findings, *remarks_on(freed, style))))
        anew = paper(batch) if cut.verdict.sheets else ()
        tabs = {file: count for file, own in freed.items() if (count := len(own.tabs))}
        workshop = workshop_pages(batch, tabs)
        paper_files |= _write(stage, chain(anew, workshop.others()))
    rests = {file: own.rest.name for file, own in sound.items() if own.rest is not None}
    paper_files |= _write(stage, workshop.worklist(rests))
    done = {task.file: cut.done[task.file] for task in cut.plan.tasks}
    burning = {f: (0.0, None) if isinstance(o, Failure) else (o.cut_length, o.seconds) for f, o in done.items()}
    known = {file: seconds for file, (_, seconds) in burning.items() if seconds is not None}
    sheets = sheet_records(batch, figures, burning, {file: told(own, style) for file, own in freed.items()})
    made = [MadeSheet(task, sound[f], sheets[f]) for task in cut.plan.tasks if (f := task.file) in sound]
    written = _write(stage, records(batch, made, drops, cut.recorded))
    every = (kept, *(own.cut.digests for own in made), *(own.digests for own in cut.recorded), paper_files, written)
    digests = {name: digest for own in every for name, digest in own.items()}
    keep_only(stage, digests)
    batch = replace(batch, burning=known, room=cut.beside.room)
    summary = summary_json(batch, figures, list(sheets.values()), list(digests))
    digests["summary.json"] = write_file(stage, "summary.json", summary)
    if changed := [name for name, wanted in digests.items() if not is_as_written(stage / name, wanted)]:
        raise InspectionError([*(f"{name} is not on the disk as it was written" for name in changed), NOTHING_HANDED])
    desk.made(batch, made, drops, cut.recorded)
    return batch, figures


def _cut(stage: Path, plan: _Plan, progress: Progress, pool: Pool, shelf: Shelf) -> _Cut:
    """Have sheets and jigs written and inspected, the paper being written meanwhile, until no plate is at fault.

    A sheet with a fault is written once more, since a worker or a disk may have failed; what is wrong then stays wrong.
    A plate at fault is taken out, and the sheets that it lay on are written again without it.
    """
    done: dict[str, CutSheet | Failure] = {}
    tried_again: frozenset[str] = frozenset()
    beside: _Beside | None = None
    recorded: Sequence[Recorded] = ()
    while True:
        tasks = [task for task in plan.tasks if task.file not in done]
        bundles = plan.bundles if beside is None else ()
        progress.stage("writing and inspecting", len(tasks) + len(bundles))
        underway = begin_cutting(pool, tasks, bundles, stage, done=progress.step, keep=shelf.keep)
        beside = beside or _made_beside(stage, plan, underway)
        with timed("sheets not ready yet"):
            sheets, made = underway.finish()
        done |= {task.file: outcome for task, outcome in zip(tasks, sheets, strict=True)}
        recorded = made if bundles else recorded
        put_down = (outcome for outcome in (*done.values(), *recorded) if not isinstance(outcome, Failure))
        if problems := [problem for outcome in put_down for problem in outcome.problems]:
            raise OutputError(problems)
        with timed("drop-ins"):
            wrong = [fault for own in recorded for fault in own.wrong]
            verdict = judged(plan.batch, plan.tasks, done, plan.drops, wrong)
        again = verdict.files - tried_again
        if not again:
            if not verdict.plates:
                return _Cut(plan, done, verdict, recorded, beside)
            again = frozenset(t.file for t in plan.tasks if verdict.plates.keys() & {p.plate for p in t.expected.parts})
            plan, beside = _plan_of(without_plates(plan.batch, verdict.plates)), None
        tried_again |= again
        done = {file: outcome for file, outcome in done.items() if file not in again}


def _made_beside(stage: Path, plan: _Plan, underway: Underway) -> _Beside:
    """Do what this process does alone, while others write sheets; what is under way is tended meanwhile."""
    batch, ticket = plan.batch, plan.batch.ticket
    with timed("figures"):
        figures = estimate(batch.layout.uncut, batch.pieces, ticket.nest)
    underway.tend()
    with timed("room left"):
        room = room_of(batch)
    underway.tend()
    workshop = None if CutStyle.of(ticket.machine).words else workshop_pages(batch)
    underway.tend()
    known = () if workshop is None else workshop.others()
    return _Beside(_write(stage, chain(paper(batch), known), underway), workshop, figures, room)


def _write(stage: Path, named: Iterable[Named], underway: Underway | None = None) -> dict[str, str]:
    """Write files, and give their digests by name; what is under way is tended meanwhile."""
    return {name: write_file(stage, name, _tended(content, underway)) for name, content in named}


def _tended(content: Content, underway: Underway | None) -> Iterator[str | bytes]:
    """Let a file be made while the pool goes on working."""
    for number, piece in enumerate((content,) if isinstance(content, str | bytes) else content):
        if underway is not None and number % TENDED == 0:
            underway.tend()
        yield piece
