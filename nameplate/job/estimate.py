"""What a job will need, worked out before anything is made: a draft of the batch, or the batch, and its quote."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from math import ceil
from typing import Any

from nameplate.job.burning import foreseen, money_of
from nameplate.job.kept_plates import FIRST, Before
from nameplate.job.layout_stage import on_hand_used
from nameplate.job.ordering import card_of, plaques_of
from nameplate.job.prepare import Batch, prepare, quote_of, without_spares
from nameplate.job.progress import SILENCE, Progress
from nameplate.job.sign_off import lacking
from nameplate.job.summary import estimate_record
from nameplate.nest.buying.figures import Estimate, estimate
from nameplate.nest.buying.quote import EXACT, Quote
from nameplate.nest.layout import Piece
from nameplate.nest.search.part_masks import NestStore
from nameplate.plates.draft import drafted_materials
from nameplate.pool.processes import Workers
from nameplate.ticket.schema import Ticket

#: Drafts may take this share more or fewer sheets than what is cut. Measured on jobs of 48, 50, 120 and 147 names in
#: twelve fonts, on an apple, a heart and ellipses: 0 to 4 % more.
OFF = 0.05


@dataclass(frozen=True, slots=True)
class Need:
    """What one material is needed for, and how many sheets: the count nested, and from where to where it may come out.

    `parts` counts the pieces of each kind, spares and copies included.
    """

    material: str
    parts: tuple[tuple[str, int], ...]
    sheets: int
    least: int
    most: int


@dataclass(frozen=True, slots=True)
class SpareNeed:
    """The spare pieces of a batch, by plate, and the sheets and money that they add.

    `exact` tells a nest without them from their share of the area.
    """

    pieces: tuple[tuple[str, int], ...]
    sheets: int
    cost: float
    exact: bool


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer of `nameplate estimate`. `off` is the share by which a draft's sheets may be wrong, 0 when exact.

    `spares` is None when the ticket asks for none. Of the plates that are counted some may be `waiting` for an approval
    that the ticket requires (ids): `make` refuses these.
    """

    batch: Batch
    figures: Estimate
    quote: Quote
    needs: tuple[Need, ...]
    off: float
    spares: SpareNeed | None = None
    waiting: tuple[str, ...] = ()


def work_out(
    ticket: Ticket,
    *,
    exact: bool = False,
    progress: Progress = SILENCE,
    workers: Workers = None,
    before: Before = FIRST,
) -> Answer:
    """Work out what a job needs from drafts of its lettering, or, when `exact`, from the lettering itself.

    What was cut `before` needs nothing more.

    Raises what `prepare` raises.
    """
    stores: dict[str, NestStore] = {}
    batch = prepare(
        ticket, progress=progress, workers=workers, cuts=False, draft=not exact, stores=stores, before=before
    )
    figures = estimate(batch.layout.uncut, batch.pieces, ticket.nest)
    batch = replace(batch, burning=foreseen(batch))
    off = 0.0 if exact else OFF
    progress.stage("what more would cost", 1)
    offer = quote_of(batch, stores)
    batch = replace(batch, room=offer.more)
    spares = spares_need(batch, figures, stores) if ticket.spares.loss else None
    progress.step()
    return Answer(batch, figures, offer, needs(batch, figures, off), off, spares, _waiting(batch))


def _waiting(batch: Batch) -> tuple[str, ...]:
    """Name the plates to be cut that `make` would refuse, since nobody approved them."""
    job, before = batch.listed, batch.before
    if batch.ticket.job.approval != "required" or job is None:
        return ()
    counted = {work.plate.order.id for work in batch.works if any(part.copies for part in work.plate.parts)}
    return tuple(order.id for order in lacking(job, before) if order.id in counted)


def spares_need(batch: Batch, figures: Estimate, stores: dict[str, NestStore]) -> SpareNeed:
    """Say what the spares of a batch add to what it needs."""
    new = [work.plate for work in batch.works if not work.on]
    last = {part.plate: part.first + plate.order.copies - 1 for plate in new for part in plate.parts}
    extra = [p for p in batch.pieces if p.kind == "lettering" and p.copy > last.get(p.plate, p.copy)]
    pieces = tuple(Counter(p.plate for p in extra).items())
    if not extra:
        return SpareNeed((), 0, 0.0, exact=True)
    if len(batch.pieces) <= EXACT:
        without = without_spares(batch, stores).sheets
        saved = round(figures.cost - sum(sheet.cost for sheet in without), 6)
        return SpareNeed(pieces, max(0, len(figures.sheets) - len(without)), max(0.0, saved), exact=True)
    shares = [_share_of(material, extra, figures) for material in sorted({piece.material for piece in extra})]
    return SpareNeed(pieces, sum(n for n, _ in shares), round(sum(cost for _, cost in shares), 6), exact=False)


def _share_of(material: str, extra: Sequence[Piece], figures: Estimate) -> tuple[int, float]:
    """Tell the sheets and the money that spare pieces add by their share of the area of a material."""
    area = sum(sheet.area for sheet in figures.sheets if sheet.material == material)
    used, own = dict(figures.sheets_used)[material], sum(p.region.area for p in extra if p.material == material)
    sheets = ceil(used) - ceil(used * (1 - own / area))
    bought = [line.price for line in figures.sizes if line.material == material and line.to_buy]
    return sheets, sheets * max(bought, default=0.0)


def needs(batch: Batch, figures: Estimate, off: float) -> tuple[Need, ...]:
    """Say for each material what is cut from it and how many sheets that may take, off by the share `off`."""
    drafted = drafted_materials(batch.parts, batch.jig_styles)
    found = []
    for material, used in figures.sheets_used:
        parts = Counter(piece.kind for piece in batch.pieces if piece.material == material)
        share = off if material in drafted else 0.0
        count = sum(sheet.material == material for sheet in figures.sheets)
        found.append(Need(material, tuple(sorted(parts.items())), count, *span(used, count, share)))
    return tuple(found)


def span(used: float, count: int, share: float) -> tuple[int, int]:
    """Give the fewest and the most sheets when `used` (the last only as far as it is used) may be a share off.

    >>> span(1.99, 2, 0.04), span(1.02, 2, 0.04), span(1.5, 2, 0.04), span(1.99, 2, 0.0)
    ((2, 3), (1, 2), (2, 2), (2, 2))
    """
    least, most = (ceil(round(used * (1 + by), 9)) for by in (-share, share))
    return min(least, count), max(most, count)


def answer_record(answer: Answer) -> dict[str, Any]:
    """Give an answer as plain values for JSON; README describes them."""
    plates, held = answer.batch.plates, len(answer.batch.held)
    made = sum(plate.lettering is not None for plate in plates)
    return {
        "names": {"made": made, "refused": len(plates) - held - made, "held": held},
        "draft": bool(answer.off),
        "off": answer.off,
        "needs": {
            n.material: {"parts": dict(n.parts), "sheets": n.sheets, "least": n.least, "most": n.most}
            for n in answer.needs
        },
        **estimate_record(answer.figures),
        "card": [{"width": line.width, "height": line.height, "sheets": line.count} for line in card_of(answer.batch)],
        "plaques": [asdict(line) for line in plaques_of(answer.batch)],
        "plate_cost": asdict(money_of(answer.batch)),
        "on_hand": on_hand_used(answer.batch.layout.uncut, answer.batch.supply),
        "quote": asdict(answer.quote),
        "spares": None if answer.spares is None else {**asdict(answer.spares), "pieces": dict(answer.spares.pieces)},
        "waiting": list(answer.waiting),
        "findings": [asdict(finding) for finding in answer.batch.findings],
    }
