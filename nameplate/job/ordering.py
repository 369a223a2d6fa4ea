"""What a batch has to be ordered: the sheets of its layout, and card for the drilling strips of its wall."""

from __future__ import annotations

from collections.abc import Mapping

from nameplate.job.prepare import Batch
from nameplate.job.summary import states_of
from nameplate.paperwork.order import SheetsNeeded, sheets_needed
from nameplate.wall.strip_sheets import strip_sheets

#: What the card of drilling strips is called; the ticket says no more of it than its size.
CARD = "card for drilling strips"


def to_order(batch: Batch, perhaps: Mapping[str, int] | None = None) -> tuple[SheetsNeeded, ...]:
    """Count the sheets that a batch needs, by what they are to the shop: first those to buy.

    `perhaps` gives by the material's key how many sheets more an estimate may take.
    """
    sheets = sheets_needed(batch.layout.uncut.sheets, batch.ticket.material, perhaps)
    return tuple(sorted((*sheets, *card_of(batch)), key=lambda line: line.source != "buy"))


def card_of(batch: Batch) -> tuple[SheetsNeeded, ...]:
    """Count the sheets of card with a strip for a plate that does not hang yet."""
    if batch.wall is None or batch.wall.keys.strip is None:
        return ()
    hung = {plate for plate, state in states_of(batch).items() if state == "hung"}
    strips = [[strip for strip, _, _ in sheet.laid] for sheet in strip_sheets(batch.wall)]
    plates = [{own.hanging.plate.order.id for strip in sheet for own in strip.holes} for sheet in strips]
    count = sum(not own <= hung for own in plates)
    return (SheetsNeeded("buy", CARD, 0.0, *batch.wall.keys.strip, 0.0, count),) if count else ()
