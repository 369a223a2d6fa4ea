"""What a run leaves behind besides its cut files: jigs, paper, and the records for later runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from nameplate.cut.expectation import DropIn, SheetExpectation
from nameplate.cut.pdf import jig_pdf
from nameplate.cut.record import record
from nameplate.cut.svg import jig_svg
from nameplate.cutting import Sheet
from nameplate.nest.layout import layout_to_json
from nameplate.nest.offcuts import offcuts_to_json, remainders
from nameplate.output import Content
from nameplate.paperwork.cards import cards_html
from nameplate.paperwork.proof import proof_html
from nameplate.paperwork.worklist import worklist_csv, worklist_html
from nameplate.pipeline import Batch, timed

#: A file's name under the out folder (with `/`), and what is in it.
Named = tuple[str, Content]


def left_behind(
    batch: Batch, sheets: Sequence[Sheet], expected: Sequence[SheetExpectation], drop_ins: Sequence[DropIn]
) -> Iterator[Named]:
    """Give every file but the cut files and the summary, one after another."""
    with timed("jigs"):
        yield from _jigs(batch)
    with timed("records"):
        yield from _records(batch, sheets, expected, drop_ins)
    with timed("paperwork"):
        yield from _paper(batch, [s.file for s in sheets])


def _jigs(batch: Batch) -> Iterator[Named]:
    colours = batch.ticket.colours
    for work in batch.works:
        if work.jig is not None:
            name = str(work.plate.jig["file"])
            yield name, jig_svg(work.jig, colours)
            if batch.ticket.jig.style == "print":
                yield f"{name.removesuffix('.svg')}.pdf", jig_pdf(work.jig)
    if batch.shared.file:
        yield batch.shared.file, jig_svg(batch.shared.nominal, colours)


def _records(
    batch: Batch, sheets: Sequence[Sheet], expected: Sequence[SheetExpectation], drop_ins: Sequence[DropIn]
) -> Iterator[Named]:
    yield "layout.json", layout_to_json(batch.layout)
    kerf = {key: material.kerf for key, material in batch.ticket.material.items()}
    yield "offcuts.json", offcuts_to_json(remainders(batch.layout, batch.pieces, batch.ticket.nest.gap, kerf))
    yield "nominal.json", record([(s.file, e) for s, e in zip(sheets, expected, strict=True)], drop_ins)


def _paper(batch: Batch, files: Sequence[str]) -> Iterator[Named]:
    plates, face, title = batch.plates, batch.shop.face, batch.ticket.job.title
    yield "worklist.csv", worklist_csv(plates, batch.layout, files)
    yield (
        "worklist.html",
        worklist_html(
            plates,
            batch.layout,
            files,
            face,
            title=title,
            findings=batch.findings,
            shared=batch.shared.parts,
            carrier=batch.shared.record,
        ),
    )
    if batch.ticket.jig.style != "none":
        yield "cards.html", cards_html(plates, face, title=title, carrier=batch.shared.record)
    yield "proof.html", proof_html(plates, face, batch.findings, title=title)
