"""What a run leaves behind besides its cut files and jigs: paper, and the records for later runs."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from nameplate.cut.expectation import DropIn
from nameplate.cut.kept_entries import needed
from nameplate.cut.machine import CutPen
from nameplate.cut.nominal_file import RECORD, record_lines, sheet_entry
from nameplate.jig.locating import TURNING
from nameplate.job.bundles import Recorded
from nameplate.job.designs import faces_of
from nameplate.job.ordering import plaques_of, to_order
from nameplate.job.out_folder import Content
from nameplate.job.prepare import Batch
from nameplate.job.progress import timed
from nameplate.job.sheets import MadeSheet
from nameplate.job.summary import states_of
from nameplate.job.wall_plan import with_drilled
from nameplate.model import Plate
from nameplate.nest.layout import PieceKey, layout_to_json
from nameplate.nest.offcuts import offcuts_to_json
from nameplate.paperwork.cards import cards_html
from nameplate.paperwork.notes import notes_html
from nameplate.paperwork.order import order_csv
from nameplate.paperwork.paper_jigs import PaperJig, paper_jigs_pdf
from nameplate.paperwork.proof import BEGUN_ALREADY, CUT_ALREADY, CUT_OTHERWISE, WAITS, proof_of
from nameplate.paperwork.proof_html import proof_html
from nameplate.paperwork.proof_pdf import proof_pdf
from nameplate.paperwork.seen import differences, seen_of
from nameplate.paperwork.worklist import (
    BatchOnPaper,
    MappedSheet,
    mapped_sheets,
    on_the_bed,
    worklist_csv,
    worklist_rows,
    worklist_xlsx,
)
from nameplate.paperwork.worklist_page import worklist_html
from nameplate.pdf.paper import PAPERS
from nameplate.record.approvals import SignOff
from nameplate.record.kept import KeptSheet
from nameplate.record.plate_json import unpacked_plate
from nameplate.ticket.workshop_schema import MachineKeys
from nameplate.wall.files import wall_files

#: A file's name under the out folder (with `/`), and what is in it.
Named = tuple[str, Content]

#: All paper jigs in one file; the name of one plate's has a dash in it.
PAPER_JIGS = "jigs/all.pdf"


def paper(batch: Batch) -> Iterator[Named]:
    """Give what people read that says nothing of how parts come free, one file after another."""
    with timed("paperwork"):
        yield from proofs(batch)
        yield from _paper_jigs(batch)
        yield "order.csv", order_csv(to_order(batch), plaques_of(batch))
        yield from _wall(batch)


def proofs(batch: Batch, plates: Sequence[Plate] | None = None) -> Iterator[Named]:
    """Give what the customer looks at and signs: of all plates, or of some."""
    page_size = PAPERS[batch.ticket.job.paper]
    proof = proof_of(
        batch.plates_shown if plates is None else plates,
        faces_of(batch.contexts),
        batch.findings,
        title=batch.ticket.job.title,
        materials={name: context.materials for name, context in batch.contexts.items()},
        per_page=batch.ticket.proof.per_page,
        signed=dict(_signed(batch)),
        inches=page_size.inches,
        beside=[plate.order for plate in batch.plates_shown],
    )
    yield "proof.html", proof_html(proof)
    yield "proof.pdf", proof_pdf(proof, page_size)


def _signed(batch: Batch) -> Iterator[tuple[str, str]]:
    """Say of each plate who approved it, or what changed; one that stays as it was cut shows no change."""
    if batch.listed is None:
        return
    begun, on = batch.before.kept.begun, batch.ids_on
    waiting = batch.listed.waiting
    listed = {order.id: order.texts for order in batch.listed.orders.orders}
    as_shown = {plate.order.id: plate.order.texts for plate in batch.plates_shown}
    made = {plate.order.id: plate for plate in batch.plates_shown}
    for plate, sign in batch.listed.signs.items():
        said = sign.in_plain_words(_otherwise(sign, made.get(plate), batch))
        if plate in waiting:
            yield plate, "; ".join(filter(None, (WAITS, said)))
        elif plate in on and begun[plate].is_named and plate in listed and listed[plate] != as_shown.get(plate):
            yield plate, f"{CUT_OTHERWISE} “{' / '.join(listed[plate])}”"
        else:
            stays = plate in on and not sign.by
            yield plate, _as_cut(sign, is_named=begun[plate].is_named) if stays else said


def _otherwise(sign: SignOff, plate: Plate | None, batch: Batch) -> tuple[str, ...] | None:
    """Say what of a plate is seen that was not on the proof that it is compared with; None where that is not known."""
    if plate is None or plate.lettering is None or not (sign.shown and sign.changed):
        return None
    now = seen_of(plate, batch.contexts[plate.order.design].face)
    return differences(json.loads(sign.shown), json.loads(now))


def _as_cut(sign: SignOff, *, is_named: bool) -> str:
    """Say of a plate of which something was cut, perhaps its name, that it stays so, and who approved it."""
    what = CUT_ALREADY if is_named else BEGUN_ALREADY
    return f"{what}; approved by {sign.who_as_cut}" if sign.who_as_cut else what


def records(
    batch: Batch, made: Sequence[MadeSheet], drop_ins: Sequence[DropIn], recorded: Sequence[Recorded]
) -> Iterator[Named]:
    """Give what later runs and inspections read: where everything lies, what is left, what it must all come to.

    `made` are the sheets that are handed over. Sheets that were cut before are told as they were then.
    """
    with timed("records"):
        kept = batch.before.kept
        yield "layout.json", layout_to_json(batch.layout)
        rests = [rest for own in made if (rest := own.cut.rest) is not None]
        cut_up = {(sheet.material, sheet.offcut) for sheet in batch.layout.uncut.sheets if sheet.offcut}
        left = [rest for rest in kept.rests if (rest["material"], rest["name"]) not in cut_up]
        yield "offcuts.json", offcuts_to_json(rests, left)
        parts = tuple(part for own in recorded for part in own.parts)
        sheets = [(own.task.file, sheet_entry(own.expected)) for own in made]
        jigs = [jig for own in recorded for jig in own.jigs]
        if kept.sheets:
            parts = needed(parts, [entry for _, entry in (*sheets, *jigs)])
            going_on = batch.going_on
            before = [sheet.entries(_stale(sheet, going_on, batch.taken_over)) for sheet in kept.sheets]
            parts += tuple({part.same: part for own in before for part in own.parts}.values())
            sheets = [*((own.file, own.sheet) for own in before), *sheets]
        yield RECORD, record_lines(parts, sheets, jigs, drop_ins)


def _stale(sheet: KeptSheet, going_on: Mapping[str, int], taken_over: Collection[PieceKey]) -> frozenset[str]:
    """Name the plates of whose superseded version pieces lie on a sheet that was cut, spoiled or not."""
    return frozenset(p.key[0] for p in sheet.pieces if p.version != going_on.get(p.key[0]) and p.key not in taken_over)


def _superseded(batch: Batch) -> Iterator[tuple[PieceKey, Plate]]:
    """Yield of the pieces that were cut before their plate was made anew the plate as it was then."""
    going_on = batch.going_on
    for version in batch.before.kept.versions:
        if version.number != going_on.get(version.plate) and "shared" not in version.look:
            plate = unpacked_plate(version.made, name=f"plate {version.plate}").plate
            yield from ((piece.key, plate) for piece in version.pieces if piece.key not in batch.taken_over)


@dataclass(frozen=True, slots=True)
class WorkshopPages:
    """What the workshop reads, laid on its maps. The worklist is a page by itself: it names what is left of the sheets,
    which is known when these are written."""

    told: BatchOnPaper
    sheets: Sequence[MappedSheet]
    rows: Sequence[dict[str, str]]

    def others(self) -> Iterator[Named]:
        """Give all but the worklist to print, one file after another."""
        with timed("workshop pages"):
            yield "worklist.csv", worklist_csv(self.rows)
            yield "worklist.xlsx", worklist_xlsx(self.rows)
            yield "cards.html", cards_html(self.told, self.sheets)
            yield "notes.html", notes_html(self.told)

    def worklist(self, rests: Mapping[str, str]) -> Iterator[Named]:
        """Give the worklist to print; `rests` names what is left of sheets by their cut files."""
        with timed("worklist"):
            yield "worklist.html", worklist_html(replace(self.told, rests=rests), self.sheets, self.rows)


def workshop_pages(batch: Batch, tabs: Mapping[str, int] = {}) -> WorkshopPages:
    """Lay what the workshop reads on its maps; `tabs` are counted by the cut files that have any."""
    with timed("maps of sheets"):
        told = _on_paper(batch, tabs)
        sheets = mapped_sheets(told)
        return WorkshopPages(told, sheets, worklist_rows(told, sheets))


def _on_paper(batch: Batch, tabs: Mapping[str, int]) -> BatchOnPaper:
    ticket, files = batch.ticket, [sheet.file for sheet in batch.layout.sheets]
    return BatchOnPaper(
        batch.plates,
        faces_of(batch.contexts),
        ticket.job.title,
        ticket.job.paper,
        ticket.cards.per_page,
        ticket.material,
        batch.layout,
        [f"{file} (left out)" if file in batch.left_out else file for file in files],
        batch.findings,
        carriers={name: own.record for name, own in batch.shared.items() if own.record},
        shared={name: own.parts for name, own in batch.shared.items()},
        slots=batch.wall.slots if batch.wall else None,
        bed=on_the_bed(batch.layout, label=ticket.files.label),
        zero=_machine_zero(ticket.machine.origin),
        tabs=tabs,
        ready={plate for plate, state in states_of(batch).items() if state in ("fitted", "hung")},
        states=batch.states,
        as_cut=dict(_superseded(batch)),
        turning={name for name, own in batch.shared.items() if not TURNING.isdisjoint(f.code for f in own.findings)},
    )


def _machine_zero(origin: str) -> str:
    """Name the corner that a machine counts from where paper counts from another, else nothing.

    >>> _machine_zero("top-left"), _machine_zero("bottom-left")
    ('top left', '')
    """
    return "" if origin == MachineKeys().origin else origin.replace("-", " ")


def _paper_jigs(batch: Batch) -> Iterator[Named]:
    jigs = (
        PaperJig(work.plate.order.id, work.plate.order.name, path)
        for work in batch.works
        if (path := work.jig) is not None and work.plate.jig["style"] == "print"
    )
    if (first := next(jigs, None)) is not None:
        paper = PAPERS[batch.ticket.job.paper]
        yield PAPER_JIGS, paper_jigs_pdf(chain([first], jigs), paper, title=batch.ticket.job.title)


def _wall(batch: Batch) -> Iterator[Named]:
    if batch.wall:
        plates = batch.plates_shown
        waiting = batch.listed.waiting if batch.listed else frozenset[str]()
        waiting &= {plate.order.id for plate in batch.shown}
        absent = [plate.order for plate in plates if plate.lettering is None or plate.order.id in waiting]
        missing = {order.id: "held" if order.hold else "refused" for order in absent}
        paper, title = PAPERS[batch.ticket.job.paper], batch.ticket.job.title
        pen = CutPen.of(batch.ticket.colours, batch.ticket.machine)
        plan = with_drilled(batch.wall, batch.before)
        yield from wall_files(plan, missing, paper, title=title, pen=pen)
