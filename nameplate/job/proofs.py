"""`nameplate proof`: every name made, nothing nested; the proof alone is written, and what it shows is kept, to tell
the next one what changed since."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from nameplate.errors import OutputError, RecordError
from nameplate.job.deliverables import proofs
from nameplate.job.designs import faces_of
from nameplate.job.desk import before_of
from nameplate.job.kept_plates import Before
from nameplate.job.out_folder import Placed, check_folder, staged, write_file
from nameplate.job.prepare import Batch, prepare
from nameplate.job.progress import Progress, timed
from nameplate.model import Plate
from nameplate.nest.layout import Layout
from nameplate.paperwork.seen import seen_of
from nameplate.pool.processes import Workers
from nameplate.record.clock import now
from nameplate.record.plate_list import keep_plates, keep_proof, known_plates
from nameplate.record.plate_lists import plates_among
from nameplate.record.runs import settled_writing
from nameplate.record.store import Say
from nameplate.system.reading import shown
from nameplate.ticket.schema import Ticket


def make_proof(
    ticket: Ticket,
    out: Path,
    *,
    record: Path | None,
    say: Say,
    progress: Progress,
    workers: Workers,
    placed: Placed,
    only: Sequence[str],
    unsigned: bool,
) -> tuple[Batch, tuple[Plate, ...]]:
    """Make the proof of a job and leave it alone in the folder `out`; what it shows goes into the `record`.

    A plate that was cut with another text than the list has now is shown as it would be made again. All plates are
    shown, or `only` those of these lists of ids, and of them those that nobody has approved as they are now where it is
    for the `unsigned` ones. Gives the batch and the plates shown. Raises OutputError when `out` is not ours to write or
    holds what another command left, or there is nothing to show, RecordError, and what
    :func:`~nameplate.job.prepare.prepare` raises.
    """
    said = check_folder(out, page="proof.html")
    before = before_of(record)
    with staged(out, placed=placed, said=said) as stage:
        batch = prepare(
            ticket,
            progress=progress,
            workers=workers,
            arrange=lambda *_: Layout(),
            cuts=False,
            before=before,
            to_sign=True,
        )
        plates = _chosen(batch, only, unsigned=unsigned)
        with timed("paperwork"):
            for name, content in proofs(batch, plates):
                write_file(stage, name, content)
        if record is not None:
            _keep(record, batch, plates, before, say)
    return batch, plates


def _chosen(batch: Batch, only: Sequence[str], *, unsigned: bool) -> tuple[Plate, ...]:
    """Choose the plates to show; raises OutputError for ids that are no plate's, and where none is left."""
    every = batch.plates_shown
    ids, problems = plates_among(only, [plate.order.id for plate in every]) if only else ((), ())
    if problems:
        raise OutputError(list(problems))
    meant = batch.unsigned if unsigned else frozenset(plate.order.id for plate in every)
    plates = tuple(p for p in every if p.order.id in meant and (not only or p.order.id in ids))
    if every and not plates:
        raise OutputError(
            "every plate that can be made is approved, or stays as it was cut; without --unsigned the proof shows all"
        )
    return plates


def _keep(record: Path, batch: Batch, plates: Sequence[Plate], before: Before, say: Say) -> None:
    """Put into the record what the proof shows, and the numbers of all plates; raises RecordError.

    Where there is no record, and none can be made, that is said: the proof is as good without one.
    """
    assert batch.listed is not None
    faces = faces_of(batch.contexts)
    seen = {plate.order.id: seen_of(plate, faces[plate.order.design]) for plate in plates}
    entries = [entry if entry["id"] in seen else {**entry, "look": ""} for entry in batch.listed.entries]
    with _unless_there_is_none(record, say), settled_writing(record, say=say) as store, store.transaction():
        if known_plates(store) != before.known:
            raise RecordError(
                f"another command changed {shown(record)} meanwhile; nothing was changed, make the proof again"
            )
        at = now()
        keep_plates(store, entries, at)
        keep_proof(store, {entry["id"]: seen[entry["id"]] for entry in entries if entry.get("look")}, at)


@contextmanager
def _unless_there_is_none(record: Path, say: Say) -> Iterator[None]:
    """Say what keeps a record from being made, rather than raise it; what is wrong with one that is there is raised."""
    try:
        yield
    except RecordError as error:
        with suppress(OSError):
            if record.stat().st_size:
                raise
        say(
            "no record of this job is kept, so nobody can approve its names here, and the next proof cannot tell what "
            f"changed: {'; '.join(error.problems)}"
        )
