"""The stages in order: what happens between a job ticket and a folder of cut files.

ticket -> face, roster -> orders -> plates (in parallel) -> layout -> cut files -> inspection -> out folder
"""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TypeAlias, TypedDict

from nameplate.face.making import make_face
from nameplate.findings import Finding, has_errors, sort_findings
from nameplate.jig.batch import judge_batch
from nameplate.jig.skeleton import cost_in_area, nestable, with_names, without_names
from nameplate.job.pools import draft_ready
from nameplate.job.progress import Progress, Silence, timed
from nameplate.model import Order, Part, Plate
from nameplate.nest.buying.quote import Quote, quote
from nameplate.nest.buying.spares import choose_spares, spares_message, with_spares
from nameplate.nest.layout import Layout, Piece, PieceKey, SheetLayout, pieces_of
from nameplate.nest.nesting import nest
from nameplate.nest.offcuts import read_offcuts
from nameplate.nest.search.effort import NestProgress
from nameplate.nest.search.trueshape import Store
from nameplate.nest.sheets import Offcut, on_hand_note, on_hand_of, rules_of
from nameplate.nest.stock_shapes import check_stock_shapes
from nameplate.plates.batch_parts import SharedWork, make_shared_work
from nameplate.plates.draft import draft_shared_work, draft_work, drafted_materials
from nameplate.plates.make import Shop, Work, baseline_at, font_files, make_work
from nameplate.plates.orders import make_orders
from nameplate.pool.interface import ITEM_LIMIT_S, Failure, Pool
from nameplate.pool.processes import Workers, crew_of, get_ready, pool_there, run_all
from nameplate.roster.reader import read_roster
from nameplate.system.shelf import Shelf, changed
from nameplate.ticket.cautions import material_findings
from nameplate.ticket.schema import NestKeys, Ticket

#: Lays parts on sheets: the nesting, or a stored layout.
Arrange: TypeAlias = Callable[[Sequence[Part]], Layout]

#: A batch of one size is this share smaller than its smallest name, which would have no room at all to stand otherwise.
UNIFORM_EASE = 1e-4


#: Letters up to which a name has the pool's time limit; one of twice as many has twice the time.
LONG_NAME = 60


#: Makes all works of some orders: shop, orders, the stage's name, progress, workers.
Make: TypeAlias = Callable[[Shop, Sequence[Order], str, Progress, Workers], tuple[Work, ...]]


@dataclass(frozen=True, slots=True)
class Batch:
    """Everything known about a job before anything is written.

    `left_out` are the cut files that turned out not to be trusted, and that are not handed over.
    """

    ticket: Ticket
    shop: Shop
    works: tuple[Work, ...]
    refused: tuple[Plate, ...]
    layout: Layout
    findings: tuple[Finding, ...]
    shared: SharedWork = field(default_factory=SharedWork)
    draft: bool = False
    left_out: tuple[str, ...] = ()

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every physical piece of the made plates, and of what the batch shares."""
        return pieces_of(self.parts)

    @property
    def parts(self) -> tuple[Part, ...]:
        """Every part of the made plates, and of what the batch shares."""
        return (*(part for w in self.works for part in w.plate.parts), *self.shared.parts)

    @property
    def plates(self) -> tuple[Plate, ...]:
        """All plates, made and refused, in the order of the roster."""
        every = [w.plate for w in self.works] + list(self.refused)
        return tuple(sorted(every, key=lambda p: p.order.row))

    @property
    def copies(self) -> dict[str, int]:
        """How many copies of each plate's name, or of its blank, lie on sheets that are handed over."""
        sheets = (sheet for sheet in self.layout.sheets if cut_file(sheet) not in self.left_out)
        return Counter(at.plate for sheet in sheets for at in sheet.placements if at.kind in ("lettering", "blank"))


def cut_file(sheet: SheetLayout) -> str:
    """Name the cut file of a sheet, under the out folder."""
    return f"cut/{sheet.material}-{sheet.number:02d}.svg"


def prepare(
    ticket: Ticket,
    *,
    progress: Progress | None = None,
    workers: Workers = None,
    arrange: Arrange | None = None,
    cuts: bool = True,
    draft: bool = False,
    stores: dict[str, Store] | None = None,
    shelf: Shelf | None = None,
) -> Batch:
    """Do everything up to the layout. `arrange` replaces the nesting (a stored layout); no `cuts`, no toolpaths.

    A `draft` has parts that are about what would be cut, nested quickly. `stores` keep, by material, what the nesting
    prepared, for a quote. The plates' outlines and toolpaths are kept on the `shelf`, else in memory.

    Raises the NameplateError of the stage that cannot go on: Ticket-, Layout-, Roster-, Face- or FontError.
    """
    progress = progress or Silence()
    check_stock_shapes(ticket.stock, margin=ticket.nest.edge_margin, gap=ticket.nest.gap)
    offcuts_of(ticket)  # a file that is no list of offcuts is refused before any name is made
    with timed("roster"):
        roster = read_roster(_roster_path(ticket))
        orders = make_orders(roster, ticket)
    with crew_of(workers, ready=draft_ready if draft else get_ready) as crew:
        crew.hire(len(orders.orders))  # they get ready while the face is read
        crew.bring(font_files(ticket, orders.orders))
        with timed("face"):
            face, findings = make_face(ticket.face)
        shop = Shop(ticket, face, cuts and not draft)
        with timed("carrier"):
            shared = (draft_shared_work if draft else make_shared_work)(shop, orders.orders)
        findings += (*shared.findings, *material_findings(ticket), *roster.findings, *orders.findings)
        with timed("plates"):
            make = partial(_run, draft_work if draft else make_work, shelf.keep if shelf else _as_it_is)
            works = _make_works(make, shop, orders.orders, progress, crew)
            works, more = _with_spares(works, ticket)
            findings += more
    with timed("nest"):
        nest_keys = replace(ticket.nest, effort="quick") if draft else ticket.nest
        arrange = arrange or partial(_nest, ticket, nest_keys, progress, stores, draft, crew=pool_there(workers))
        works, shared, layout = _arrange(works, shared, progress, arrange)
    refused = tuple(Plate(order, None) for order in orders.refused)
    findings += tuple(f for w in works for f in w.plate.findings) + _with_rows(layout.findings, orders.orders)
    findings += _on_hand(ticket, layout)
    findings += cost_in_area([part for w in works for part in w.plate.parts])
    findings += judge_batch([w.plate for w in works], shared.parts, face, ticket.jig)
    return Batch(ticket, shop, works, refused, layout, sort_findings(findings), shared, draft)


def _with_rows(findings: Sequence[Finding], orders: Sequence[Order]) -> tuple[Finding, ...]:
    """Say of each finding about a plate in which row it stands."""
    rows = {order.id: order.row for order in orders}
    return tuple(replace(f, row=rows.get(f.plate or "", f.row)) for f in findings)


def _roster_path(ticket: Ticket) -> Path:
    from nameplate.errors import TicketError

    if ticket.job.roster is None:
        raise TicketError('job.roster is missing; name the list of names, like roster = "names.csv"')
    return ticket.job.roster


def _make_works(
    make: Make, shop: Shop, orders: Sequence[Order], progress: Progress, workers: Workers
) -> tuple[Work, ...]:
    """Make every plate; with `size = "uniform"` find each one's size first, then make all at the least of them.

    Rows with a size of their own keep it. All stand on one baseline.
    """
    if shop.ticket.lettering.size != "uniform":
        return make(shop, orders, "lettering", progress, workers)
    first = make(_sizing(shop), orders, "sizes", progress, workers)
    sizes = [w.plate.lettering.size for w in first if w.plate.lettering and w.plate.order.size is None]
    least = min(sizes, default=None)
    common = None if least is None else least * (1 - UNIFORM_EASE)
    baseline = baseline_at(shop, common) if common is not None else None
    again = [
        replace(w.plate.order, size=w.plate.order.size or common, baseline=baseline) for w in first if w.plate.lettering
    ]
    made = iter(make(shop, again, "one size for all", progress, workers))
    return tuple(next(made) if w.plate.lettering else w for w in first)


def _sizing(shop: Shop) -> Shop:
    """Give a shop that only finds out how large each name can be."""
    return replace(shop, cuts=False, ticket=replace(shop.ticket, jig=replace(shop.ticket.jig, style="none")))


def _with_spares(works: Sequence[Work], ticket: Ticket) -> tuple[tuple[Work, ...], tuple[Finding, ...]]:
    """Add spare pieces of the fragile names, as the ticket's loss rate asks."""
    if not ticket.spares.loss:
        return tuple(works), ()
    spares = choose_spares([w.plate for w in works], loss=ticket.spares.loss, confidence=ticket.spares.confidence)
    message = spares_message(spares, loss=ticket.spares.loss, confidence=ticket.spares.confidence)
    extra = dict(spares.pieces)
    spared = tuple(replace(w, plate=with_spares(w.plate, extra.get(w.plate.order.id, 0))) for w in works)
    return spared, (Finding("spares", "note", message),)


def _run(
    work: Callable[[Shop, Order], Work],
    keep: Callable[[Work], Work],
    shop: Shop,
    orders: Sequence[Order],
    stage: str,
    progress: Progress,
    workers: Workers,
) -> tuple[Work, ...]:
    progress.stage(stage, len(orders))
    limit = partial(_limit, getattr(pool_there(workers), "limit_s", ITEM_LIMIT_S))
    outcomes = run_all(work, orders, shop, workers=workers, done=progress.step, size=_letters, limit_s=limit, keep=keep)
    return tuple(
        _lost(order, outcome) if isinstance(outcome, Failure) else outcome
        for order, outcome in zip(orders, outcomes, strict=True)
    )


def _as_it_is(work: Work) -> Work:
    return work


def _letters(order: Order) -> int:
    """Tell how long a plate takes to make, roughly."""
    return len(order.name) + len(order.line2)


def _limit(limit_s: float, order: Order) -> float:
    """Give the seconds that a plate may take, of which a very long name has more."""
    return limit_s * max(1.0, _letters(order) / LONG_NAME)


def _lost(order: Order, failure: Failure) -> Work:
    logging.getLogger("nameplate").debug("%s", failure.detail)
    why = (
        "; give it a plainer font, or more time with --name-limit where the machine is busy"
        if failure.late
        else "; that is a fault of the program, not of the name (--debug tells more)"
    )
    message = f"“{order.name}” {failure.reason}{why}; the other names are not affected"
    return Work(Plate(order, None, findings=(Finding("not-made", "error", message, order.id, order.row),)))


def _arrange(
    works: Sequence[Work], shared: SharedWork, progress: Progress, arrange: Arrange
) -> tuple[tuple[Work, ...], SharedWork, Layout]:
    """Lay all parts on sheets. A plate one of whose parts finds no place leaves the layout with all its parts."""
    progress.stage("nesting", 1)
    findings: tuple[Finding, ...] = ()
    unplaced: tuple[PieceKey, ...] = ()
    not_made = tuple(work.plate.order.id for work in works if work.plate.lettering is None)
    while True:
        parts = [*(part for work in works for part in work.plate.parts), *shared.parts]
        layout = arrange(parts)
        findings += layout.findings
        lost = {plate for plate, *_ in layout.unplaced} & {part.plate for part in parts}
        if not lost:
            break
        unplaced += tuple(piece.key for piece in pieces_of(p for p in parts if p.plate in lost))
        works = tuple(without_parts(w) if w.plate.order.id in lost else w for w in works)
        shared = shared.without(lost)
    progress.step()
    findings = tuple(dict.fromkeys(findings))
    return tuple(works), shared, replace(layout, findings=findings, unplaced=unplaced, not_made=not_made)


def _nest(
    ticket: Ticket,
    keys: NestKeys,
    progress: Progress,
    stores: dict[str, Store] | None,
    draft: bool,
    parts: Sequence[Part],
    *,
    crew: Pool | None = None,
) -> Layout:
    """Nest parts on the ticket's stock and offcuts."""

    def report(now: NestProgress) -> None:
        left = "" if now.seconds_left is None else f", {now.seconds_left:.0f} s left"
        progress.say(f"{now.material}: {now.sheets} sheets, {now.density:.0%} full{left}")

    pieces = pieces_of(nestable(parts))
    coarse = drafted_materials(parts, ticket.jig.style) if draft else ()
    floor = _shop_floor(ticket)
    layout = nest(
        pieces,
        ticket.stock,
        keys,
        **floor,
        report=report,
        stores=stores,
        coarse=coarse,
        count_only=draft,
        crew=crew,
    )
    return with_names(layout, parts)


class _ShopFloor(TypedDict):
    """What nesting must know of the materials, by their keys, and the offcuts on the shelf."""

    kerf: dict[str, float]
    grain: list[str]
    offcuts: tuple[Offcut, ...]


def _shop_floor(ticket: Ticket) -> _ShopFloor:
    return {
        "kerf": {key: material.kerf for key, material in ticket.material.items()},
        "grain": [key for key, material in ticket.material.items() if material.grain],
        "offcuts": offcuts_of(ticket),
    }


def offcuts_of(ticket: Ticket) -> tuple[Offcut, ...]:
    """Read the offcuts on the shelf, where the ticket names their file; raises LayoutError when it is not one."""
    return read_offcuts(ticket.nest.offcuts) if ticket.nest.offcuts else ()


def _on_hand(ticket: Ticket, layout: Layout) -> tuple[Finding, ...]:
    """Say by which rules the sheets and offcuts on hand were used; nothing where there were none."""
    offcuts = _shop_floor(ticket)["offcuts"]
    found = []
    for material in sorted({sheet.material for sheet in layout.sheets}):
        on_hand = on_hand_of(ticket.stock, material, rules_of(ticket.nest), offcuts)
        if on_hand:
            note = on_hand_note(on_hand, [s for s in layout.sheets if s.material == material])
            found.append(Finding("on-hand-first", "note", note))
    return tuple(found)


def quote_of(batch: Batch, stores: dict[str, Store] | None = None) -> Quote:
    """Work out what to buy for a batch: each size alone, the best mix, the bounds, what more names would cost."""
    with timed("quote"):
        parts = batch.parts
        layout, pieces = without_names(batch.layout, parts), pieces_of(nestable(parts))
        coarse = drafted_materials(parts, batch.ticket.jig.style) if batch.draft else ()
        floor = _shop_floor(batch.ticket)
        return quote(layout, pieces, batch.ticket.stock, batch.ticket.nest, **floor, stores=stores, coarse=coarse)


def without_spares(batch: Batch, stores: dict[str, Store] | None = None) -> Layout:
    """Nest a batch again, quickly, as if no piece could fail: of each part as many as were ordered."""
    plates = [work.plate for work in batch.works]
    parts = [changed(part, copies=min(part.copies, plate.order.copies)) for plate in plates for part in plate.parts]
    keys = replace(batch.ticket.nest, effort="quick")
    return _nest(batch.ticket, keys, Silence(), stores, batch.draft, [*parts, *batch.shared.parts])


def without_parts(work: Work) -> Work:
    """Give a plate that is not made, with what was found about it."""
    return Work(Plate(work.plate.order, None, findings=work.plate.findings))


def all_made(batch: Batch) -> bool:
    """Tell whether every row of the roster became a plate with a place on a sheet."""
    return not batch.refused and all(w.plate.lettering for w in batch.works) and not has_errors(batch.findings)
