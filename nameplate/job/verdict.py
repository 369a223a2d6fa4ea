"""Who is to blame for what the inspection found: a plate, or a whole sheet; and the batch without them.

A fault that belongs to a plate costs that plate: it leaves the batch with all its parts, on all sheets. A fault that
belongs to no plate (a file that cannot be read, a worker that died, a carrier that does not hold its plaque) costs the
sheet: its file is not handed over, and no plate is blamed for what else is wrong with it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from nameplate.cut.burn import PartKey
from nameplate.cut.drop_in import judge_drop_ins
from nameplate.cut.expectation import DropIn
from nameplate.errors import InspectionError
from nameplate.findings import Finding, sort_findings
from nameplate.geometry.region import Region
from nameplate.job.layout_stage import without_parts
from nameplate.job.prepare import Batch
from nameplate.job.sheets import CutSheet, SheetTask
from nameplate.nest.layout import Layout, SheetLayout, pieces_of
from nameplate.pool.interface import Failure
from nameplate.system.grouping import grouped
from nameplate.system.shelf import Drawers

#: Reasons named of a sheet that is left out; a broken file can have hundreds.
REASONS = 3


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is wrong: sentences by plate id, and by cut file; `files` are the cut files with anything wrong in them."""

    plates: Mapping[str, Sequence[Finding]]
    sheets: Mapping[str, Sequence[str]]
    files: frozenset[str]


def judged(
    batch: Batch,
    tasks: Sequence[SheetTask],
    outcomes: Mapping[str, CutSheet | Failure],
    drop_ins: Sequence[DropIn],
    wrong: Sequence[Finding] = (),
) -> Verdict:
    """Say which plates and sheets are to blame; `outcomes` has what became of each task, by its file.

    `wrong` is what was found in the drawings of jigs. Raises InspectionError where that belongs to no plate.
    """
    plates: dict[str, list[Finding]] = {}
    sheets: dict[str, list[str]] = {}
    burned: Drawers[PartKey, Region] = Drawers({})
    made = batch.ids_made
    for task in tasks:
        outcome = outcomes[task.file]
        if isinstance(outcome, Failure):
            sheets[task.file] = [f"its inspection {outcome.reason}"]
            continue
        burned = burned.joined(outcome.inspected.burned)
        found = outcome.inspected.findings
        if any(f.plate not in made for f in found):
            sheets[task.file] = [f.message for f in sorted(found, key=lambda f: f.plate in made)]
            continue
        alone = [fault for fault in found if fault.code != "gap"]
        for fault in alone or found:  # a part that is not as it should be may be why it is too near to another
            plates.setdefault(fault.plate or "", []).append(fault)
    files = {*sheets, *(t.file for t in tasks if isinstance(o := outcomes[t.file], CutSheet) and o.inspected.findings)}
    if nobody := [fault.message for fault in wrong if fault.plate not in made]:
        raise InspectionError(nobody)
    for fault in (*judge_drop_ins(drop_ins, burned), *wrong):
        if fault.plate in made:
            plates.setdefault(fault.plate or "", []).append(fault)
        else:
            for task in tasks:
                if any(part.plate == fault.plate for part in task.expected.parts):
                    sheets.setdefault(task.file, []).append(fault.message)
    return Verdict(plates, sheets, frozenset(files))


def without_plates(
    batch: Batch,
    faults: Mapping[str, Sequence[Finding]],
    *,
    why: str = "its cut file did not come out right, which is a fault of the program",
) -> Batch:
    """Take plates out of a batch and its layout, with the findings that say why; sheets left empty go too."""
    orders = {work.plate.order.id: work.plate.order for work in batch.works}
    gone = tuple(piece.key for piece in pieces_of(part for part in batch.parts if part.plate in faults))
    told = [
        replace(
            fault,
            message=f"“{orders[plate].name}” was taken out, since {why}: {fault.message}",
            plate=plate,
            row=orders[plate].row,
        )
        for plate, own in faults.items()
        for fault in own
    ]
    return replace(
        batch,
        works=tuple(without_parts(w) if w.plate.order.id in faults else w for w in batch.works),
        shared={name: own.without(faults) for name, own in batch.shared.items()},
        layout=replace(
            batch.layout, sheets=tuple(_kept(batch.layout, faults)), unplaced=(*batch.layout.unplaced, *gone)
        ),
        findings=sort_findings((*batch.findings, *told)),
    )


def _kept(layout: Layout, gone: Collection[str]) -> Iterator[SheetLayout]:
    """Give the sheets without the parts of some plates, each with its number, but not those that are empty then.

    What was cut stays as it is.
    """
    for sheet in layout.sheets:
        placements = tuple(at for at in sheet.placements if sheet.cut or at.plate not in gone)
        if placements:
            yield replace(sheet, placements=placements)


def leaving_out(batch: Batch, sheets: Mapping[str, Sequence[str]]) -> Batch:
    """Say of a batch that these cut files are not handed over, and why, and which plates that leaves incomplete."""
    told = []
    for file, reasons in sheets.items():
        more = f"; and {len(reasons) - REASONS} more" if len(reasons) > REASONS else ""
        text = (
            f"{file} cannot be trusted and was left out: {'; '.join(reasons[:REASONS])}{more}; its plates are named, "
            "all else was handed over; make it again with --layout layout.json"
        )
        told.append(Finding("sheet-left-out", "error", text))
    orders = {work.plate.order.id: work.plate.order for work in batch.works}
    for sheet in (sheet for sheet in batch.layout.sheets if sheet.file in sheets):
        kinds = grouped(dict.fromkeys((at.plate, at.kind) for at in sheet.placements))
        for plate, own in kinds.items():
            if order := orders.get(plate):
                text = f"“{order.name}”: its {' and '.join(own)} would lie on {sheet.file}, which was left out"
                told.append(Finding("plate-left-out", "error", text, plate, order.row))
    return replace(batch, left_out=tuple(sheets), findings=sort_findings((*batch.findings, *told)))
