"""What a batch has to be ordered: the sheets of its layout, card for the drilling strips of its wall, and the plaques
that are made elsewhere."""

from __future__ import annotations

from collections.abc import Mapping

from nameplate.geometry.region import bounds
from nameplate.job.prepare import Batch
from nameplate.job.summary import states_of
from nameplate.nest.buying.spares import spares_needed
from nameplate.paperwork.order import PlaquesNeeded, SheetsNeeded, sheets_needed
from nameplate.plates.make import PlateWork
from nameplate.record.plate_json import unpacked_plate
from nameplate.ticket.materials import GLUED
from nameplate.wall.strip_sheets import strip_sheets

#: What the card of drilling strips is called; the ticket says no more of it than its size.
CARD = "card for drilling strips"


def to_order(batch: Batch, perhaps: Mapping[str, int] | None = None) -> tuple[SheetsNeeded, ...]:
    """Count the sheets that a batch needs, by what they are to the shop: first those to buy.

    `perhaps` gives by the material's key how many sheets more an estimate may take.
    """
    sheets = sheets_needed(batch.layout.uncut.sheets, batch.ticket.material, perhaps)
    return tuple(sorted((*sheets, *card_of(batch)), key=lambda line: line.source != "buy"))


def plaques_of(batch: Batch) -> tuple[PlaquesNeeded, ...]:
    """Count by design the plaques that names are glued on and that are not cut here, for what is made now; with as many
    spare ones as the ticket's loss asks for."""
    keys = batch.ticket.spares
    found = []
    for design in batch.designs:
        face, plates = design.context.face, {plate.order.id for plate in design.plates}
        works = (work for work in batch.works if work.plate.order.id in plates and not (face.cut or face.free))
        if count := sum(_plaques(work, batch) for work in works):
            box, spare = bounds(face.outline), spares_needed(count, keys.loss, keys.confidence)
            found.append(PlaquesNeeded(design.name, box.width, box.height, count + spare, spare))
    return tuple(found)


def _plaques(work: PlateWork, batch: Batch) -> int:
    """Count the plaques that a plate takes and has not had yet: of one that goes on those of copies that came to it, of
    one that is made anew those that a name was glued on."""
    order, kept = work.plate.order, batch.before.kept
    if order.mount not in GLUED or work.plate.lettering is None:
        return 0
    if work.on:
        cut = max((part.copies for part in work.plate.parts if part.kind == "lettering"), default=0)
        if not cut:
            return 0
        first = unpacked_plate(kept.begun[order.id].made, name=f"plate {order.id}").plate.order.copies
        return min(cut, max(0, order.copies - first))
    pieces = [piece for version in kept.versions if version.plate == order.id for piece in version.pieces]
    glued = sum(piece.key[1] == "lettering" and piece.state in ("fitted", "hung") for piece in pieces)
    return min(order.copies, glued) if pieces else order.copies


def card_of(batch: Batch) -> tuple[SheetsNeeded, ...]:
    """Count the sheets of card with a strip for a plate that does not hang yet."""
    if batch.wall is None or batch.wall.keys.strip is None:
        return ()
    hung = {plate for plate, state in states_of(batch).items() if state == "hung"}
    strips = [[strip for strip, _, _ in sheet.laid] for sheet in strip_sheets(batch.wall)]
    plates = [{own.hanging.plate.order.id for strip in sheet for own in strip.holes} for sheet in strips]
    count = sum(not own <= hung for own in plates)
    return (SheetsNeeded("buy", CARD, 0.0, *batch.wall.keys.strip, 0.0, count),) if count else ()
