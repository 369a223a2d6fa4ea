"""`nameplate status`: where a batch stands, from its list as it is now and its record."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from nameplate.findings import counted
from nameplate.job.desk import before_in
from nameplate.job.kept_plates import Before, cut_otherwise
from nameplate.job.sign_off import ListedJob, lacking, read_list
from nameplate.job.stale_sheets import Stale, stale_sheets
from nameplate.record.approvals import approvers
from nameplate.record.overview import (
    Overview,
    PieceState,
    SheetState,
    ShelfRest,
    pieces_by_kind,
    read_overview,
    shelf_of,
    state_of_plate,
    there,
)
from nameplate.record.runs import settled_reading
from nameplate.ticket.materials import GLUED
from nameplate.ticket.schema import Ticket
from nameplate.ticket.workshop_schema import StockKeys

#: What a plate can come to, in the order of the work; `refused` cannot be made as the list has it.
STATES: tuple[str, ...] = ("refused", "held", "new", "begun", "planned", "spoiled", "cut", "fitted", "hung")

#: States of plates of which pieces were cut.
BEGUN = frozenset({"begun", "spoiled", "cut", "fitted", "hung"})


@dataclass(frozen=True, slots=True)
class PlateStatus:
    """Where one plate stands, and who approved it. One that is not `listed` was cut and left the list."""

    id: str
    name: str
    design: str
    state: str
    approved: tuple[str, ...] = ()
    listed: bool = True


@dataclass(frozen=True, slots=True)
class Due:
    """What is to be done next: ids of plates, and of what is to be cut the sheets. Those that are `stale` are to be
    planned anew first: by sheet the plates that changed since. Plates to make `again` were cut with another text; they
    are neither to be fitted nor hung. `recut` counts by plate the pieces that were spoiled, with none cut in their
    place yet."""

    mend: tuple[str, ...]
    approve: tuple[str, ...]
    make: tuple[str, ...]
    again: tuple[str, ...]
    stale: Mapping[str, tuple[str, ...]]
    cut: tuple[SheetState, ...]
    recut: Mapping[str, int]
    fit: tuple[str, ...]
    hang: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Status:
    """Where a batch stands; `is_kept` tells whether it has a record. `pieces` are counted by kind and state; costs are
    those of sheets cut and of sheets to cut. `stock` are the ticket's sizes, with what is on hand of them still."""

    title: str
    is_kept: bool
    plates: tuple[PlateStatus, ...]
    pieces: Mapping[str, Mapping[str, int]]
    due: Due
    shelf: tuple[ShelfRest, ...]
    stock: tuple[StockKeys, ...]
    spent: float
    planned: float

    def states(self, design: str | None = None) -> dict[str, int]:
        """Count the plates of a design, or all, by state, in the order of the work."""
        own = Counter(plate.state for plate in self.plates if design is None or plate.design == design)
        return {state: own[state] for state in STATES if own[state]}

    @property
    def approvers(self) -> tuple[str, ...]:
        """Everybody who approved a plate as it is now, or as it was cut."""
        return tuple(dict.fromkeys(who for plate in self.plates for who in plate.approved))

    @property
    def designs(self) -> tuple[str, ...]:
        """The designs that plates have, in the order of the list."""
        return tuple(dict.fromkeys(plate.design for plate in self.plates))


def status_of(ticket: Ticket, record: Path) -> Status:
    """Tell where the batch of a ticket stands; writes nothing. Raises RecordError, and what reading the list raises."""
    with settled_reading(record) as store:
        before = before_in(store)
        seen = Overview() if store is None else read_overview(store)
        job = read_list(ticket, before)
        stale = {} if store is None else stale_sheets(job, store, before, ticket.job.approval)
    plates = tuple(_plates(job, seen))
    return Status(
        ticket.job.title,
        store is not None,
        plates,
        pieces_by_kind(seen.pieces),
        _due(job, seen, before, ticket.job.approval, plates, stale),
        shelf_of(before.kept),
        before.kept.left_of(ticket.stock),
        sum(sheet.cost for sheet in seen.sheets if sheet.cut),
        sum(sheet.cost for sheet in seen.sheets if not sheet.cut),
    )


def _plates(job: ListedJob, seen: Overview) -> Iterator[PlateStatus]:
    refused = {order.id for order in job.orders.refused}
    orders = job.orders.every
    for order in orders:
        state = state_of_plate(seen.pieces.get(order.id, ()), order.copies, seen.parts.get(order.id, frozenset()))
        if state == "new":
            state = "held" if order.hold else "refused" if order.id in refused else state
        sign = job.signs.get(order.id)
        by = () if sign is None else sign.by_as_cut if state in BEGUN else sign.by
        yield PlateStatus(order.id, order.name, order.design, state, approvers(by))
    listed = {order.id for order in orders}
    for plate, (name, design) in seen.names.items():
        pieces = tuple(piece for piece in seen.pieces.get(plate, ()) if piece.state != "planned")
        if plate not in listed and pieces:
            yield PlateStatus(plate, name, design, state_of_plate(pieces, 0), listed=False)


def _due(
    job: ListedJob, seen: Overview, before: Before, approval: str, plates: Sequence[PlateStatus], stale: Stale
) -> Due:
    unsigned = () if approval == "none" else tuple(order.id for order in lacking(job, before))
    waiting = frozenset(unsigned if approval == "required" else ())
    otherwise = cut_otherwise(job.orders.orders, before.kept)
    orders = {order.id: order for order in job.orders.orders}
    glued = {order.id for order in job.orders.every if order.mount in GLUED}
    states = {plate.id: plate.state for plate in plates if plate.listed}
    good = {plate: state for plate, state in states.items() if plate not in otherwise}
    return Due(
        mend=tuple(order.id for order in job.orders.refused),
        approve=unsigned,
        make=tuple(p for p in orders if states[p] in ("new", "begun", "spoiled") and p not in waiting),
        again=otherwise,
        stale=stale,
        cut=tuple(sheet for sheet in seen.sheets if not sheet.cut and sheet.name not in stale),
        recut={p: n for p, order in orders.items() if (n := _recut(seen.pieces.get(p, ()), order.copies))},
        fit=tuple(plate for plate, state in good.items() if state == "cut" and plate in glued),
        hang=tuple(p for p, state in good.items() if state == "fitted" or (state == "cut" and p not in glued)),
    )


def _recut(pieces: tuple[PieceState, ...], copies: int) -> int:
    """Count the pieces of a plate that were spoiled and have no other in their place yet.

    >>> lost, cut = PieceState("lettering", 1, "spoiled"), PieceState("lettering", 1, "cut")
    >>> [_recut((lost, lost), 3), _recut((lost, lost, cut, cut), 3), _recut((lost, cut), 1), _recut((), 1)]
    [2, 1, 0, 0]
    """
    spoiled = Counter((piece.kind, piece.layer) for piece in pieces if piece.state == "spoiled")
    return sum(min(spoiled[key], max(0, copies - count)) for key, count in there(pieces, planned=False).items())


def recut_in_words(pieces: int) -> str:
    """Say that so many pieces were spoiled, with none cut in their place yet.

    >>> recut_in_words(1), recut_in_words(2)
    ('1 piece was spoiled, to be cut again', '2 pieces were spoiled, to be cut again')
    """
    return f"{counted(pieces, 'piece', 'was', 'were')} spoiled, to be cut again"


def status_record(status: Status) -> dict[str, Any]:
    """Give a status as plain values for JSON; README describes them."""
    listed = ("mend", "approve", "make", "again", "recut", "fit", "hang")
    return {
        "title": status.title,
        "record": status.is_kept,
        "states": status.states(),
        "pieces": status.pieces,
        "designs": {design: status.states(design) for design in status.designs},
        "due": {
            **{name: list(getattr(status.due, name)) for name in listed},
            "stale": {sheet: list(plates) for sheet, plates in status.due.stale.items()},
            "cut": [{"sheet": sheet.name, "pieces": sheet.pieces} for sheet in status.due.cut],
        },
        "shelf": [asdict(rest) for rest in status.shelf],
        "cost": {"cut": round(status.spent, 2), "planned": round(status.planned, 2)},
        "plates": [{**asdict(plate), "approved": ", ".join(plate.approved) or None} for plate in status.plates],
    }
