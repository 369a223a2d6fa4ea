"""What a run leaves behind besides its cut files and jigs: paper, and the records for later runs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from nameplate.cut.expectation import DropIn, SheetExpectation
from nameplate.cut.nominal_file import RECORD, record_lines, sheet_entry
from nameplate.job.bundles import Recorded
from nameplate.job.out_folder import Content
from nameplate.job.prepare import Batch
from nameplate.job.progress import timed
from nameplate.nest.layout import layout_to_json
from nameplate.nest.offcuts import Remainder, offcuts_to_json
from nameplate.paperwork.cards import cards_html
from nameplate.paperwork.notes import notes_html
from nameplate.paperwork.order import order_csv, sheets_needed
from nameplate.paperwork.proof import proof_html
from nameplate.paperwork.worklist import worklist_csv, worklist_html

#: A file's name under the out folder (with `/`), and what is in it.
Named = tuple[str, Content]


def paper(batch: Batch, files: Sequence[str]) -> Iterator[Named]:
    """Give what people read, one file after another; `files` are the cut files, in the order of the sheets."""
    with timed("paperwork"):
        yield from _paper(batch, [f"{file} (left out)" if file in batch.left_out else file for file in files])


def proofs(batch: Batch) -> Iterator[Named]:
    """Give what the customer looks at and signs."""
    signs = {} if batch.listed is None else batch.listed.signs
    yield (
        "proof.html",
        proof_html(
            batch.plates,
            {name: context.face for name, context in batch.contexts.items()},
            batch.findings,
            title=batch.ticket.job.title,
            materials={name: context.materials for name, context in batch.contexts.items()},
            per_page=batch.ticket.proof.per_page,
            signed={plate: sign.plainly for plate, sign in signs.items()},
        ),
    )


def records(
    batch: Batch,
    expected: Mapping[str, SheetExpectation],
    rests: Iterable[Remainder],
    drop_ins: Sequence[DropIn],
    recorded: Sequence[Recorded],
) -> Iterator[Named]:
    """Give what later runs and inspections read: where everything lies, what is left, what it must all come to.

    `expected` says by cut file what must be left of each sheet that is handed over.
    """
    with timed("records"):
        yield "layout.json", layout_to_json(batch.layout)
        yield "offcuts.json", offcuts_to_json(list(rests))
        parts = (part for own in recorded for part in own.parts)
        sheets = ((file, sheet_entry(sheet)) for file, sheet in expected.items())
        jigs = (jig for own in recorded for jig in own.jigs)
        yield RECORD, record_lines(parts, sheets, jigs, drop_ins)


def _paper(batch: Batch, files: Sequence[str]) -> Iterator[Named]:
    plates, title = batch.plates, batch.ticket.job.title
    faces = {name: context.face for name, context in batch.contexts.items()}
    carriers = {name: own.record for name, own in batch.shared.items() if own.record}
    yield "worklist.csv", worklist_csv(plates, batch.layout, files)
    yield (
        "worklist.html",
        worklist_html(
            plates,
            batch.layout,
            files,
            faces,
            title=title,
            findings=batch.findings,
            shared=batch.shared_parts,
            carriers=carriers,
        ),
    )
    yield "cards.html", cards_html(plates, faces, title=title, carriers=carriers)
    yield from proofs(batch)
    yield "order.csv", order_csv(sheets_needed(batch.layout.sheets, batch.ticket.material))
    yield "notes.html", notes_html(plates, batch.findings, title=title)
