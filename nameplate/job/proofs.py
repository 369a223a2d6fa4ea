"""`nameplate proof`: every name made, nothing nested; the proof alone is written, and what it shows is kept."""

from __future__ import annotations

from pathlib import Path

from nameplate.errors import OutputError, RecordError
from nameplate.job.deliverables import proofs
from nameplate.job.desk import before_of
from nameplate.job.holdings import SUMMARY
from nameplate.job.kept_plates import Before
from nameplate.job.out_folder import Placed, check_folder, staged, write_file
from nameplate.job.prepare import Batch, prepare
from nameplate.job.progress import SILENCE, Progress, timed
from nameplate.nest.layout import Layout
from nameplate.pool.processes import Workers
from nameplate.record.clock import now
from nameplate.record.plate_list import keep_plates, known_plates
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
    progress: Progress = SILENCE,
    workers: Workers = None,
    placed: Placed = lambda where, said: None,
) -> Batch:
    """Make the proof of a job and leave it alone in the folder `out`; the plates' ids and looks go into the `record`.

    Raises OutputError when `out` is not ours to write or holds a finished run, RecordError, and what
    :func:`~nameplate.job.prepare.prepare` raises.
    """
    if (out / SUMMARY).exists() or (out / "cut").exists():
        raise OutputError(
            f"{shown(out)} holds a finished run, which is not replaced by a proof; choose another folder with -o"
        )
    said = check_folder(out)
    before = before_of(record)
    with staged(out, placed=placed, said=said) as stage:
        batch = prepare(
            ticket, progress=progress, workers=workers, arrange=lambda *_: Layout(), cuts=False, before=before
        )
        with timed("paperwork"):
            for name, content in proofs(batch):
                write_file(stage, name, content)
        if record is not None:
            _keep(record, batch, before, say)
    return batch


def _keep(record: Path, batch: Batch, before: Before, say: Say) -> None:
    """Put into the record what the proof shows, so that its numbers stay; raises RecordError."""
    assert batch.listed is not None
    with settled_writing(record, say=say) as store, store.transaction():
        if known_plates(store) != before.known:
            raise RecordError(
                f"another command changed {shown(record)} meanwhile; nothing was changed, make the proof again"
            )
        keep_plates(store, batch.listed.entries, now())
