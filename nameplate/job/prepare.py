"""The stages in order: what happens between a job ticket and a folder of cut files.

ticket -> face, roster -> orders -> plates (in parallel) -> layout -> cut files -> inspection -> out folder
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from nameplate.cut.expectation import DropIn
from nameplate.cut.kerf import Toolpath
from nameplate.errors import LayoutError
from nameplate.findings import Finding, has_errors, sort_findings
from nameplate.geometry.region import Array
from nameplate.jig.batch import judge_batch
from nameplate.jig.skeleton import without_names
from nameplate.job.designs import Contexts, DesignWork, faces_of, make_contexts, make_shared, one_for_all
from nameplate.job.face_down import turned_over
from nameplate.job.inches import findings_with_inches
from nameplate.job.kept_plates import FIRST, Before, as_listed, called_by_id, choose, numbered_on, shared_going_on
from nameplate.job.layout_stage import Arrange, NestArrange, grain_findings, lay_out, nest_request, with_cut
from nameplate.job.looks import look_of
from nameplate.job.plate_stage import ByDesign, PlateMaker, add_spares, make_going_on, make_plates
from nameplate.job.pools import draft_ready
from nameplate.job.progress import SILENCE, Progress, timed
from nameplate.job.remedies import find_remedies
from nameplate.job.sign_off import ListedJob, gated, read_list
from nameplate.job.taken_over import take_over
from nameplate.job.wall_plan import already_hung
from nameplate.model import Part, Plate
from nameplate.nest.buying.quote import Quote, RoomLeft, quote, room_left
from nameplate.nest.layout import Layout, Piece, PieceKey, pieces_of
from nameplate.nest.offcuts import read_offcuts
from nameplate.nest.request import NestRequest
from nameplate.nest.search.part_masks import NestStore
from nameplate.nest.stock_shapes import check_stock_shapes
from nameplate.plates.batch_parts import SharedWork, of_design
from nameplate.plates.draft import draft_work
from nameplate.plates.make import PlateWork, make_work
from nameplate.plates.typeset import font_files
from nameplate.pool.interface import as_it_is
from nameplate.pool.processes import Workers, get_ready, pool_of
from nameplate.record.kept import Kept
from nameplate.system.grouping import grouped
from nameplate.system.shelf import Shelf, changed
from nameplate.ticket.cautions import material_findings
from nameplate.ticket.materials import off_the_bed
from nameplate.ticket.schema import Ticket
from nameplate.ticket.workshop_schema import MaterialKeys
from nameplate.wall.plan import WallPlan, plan_wall
from nameplate.wall.shapes import hanger_findings

#: Stands for the row of a plate that is no longer in the list: it comes after all that are.
UNLISTED = 10**9


@dataclass(frozen=True, slots=True)
class Batch:
    """Everything known about a job before anything is written.

    `contexts` and `shared` are by design: what its plates are made by, and what they share. `supply` is what there was
    to nest on; `left_out` are the cut files that turned out not to be trusted, and that are not handed over. Plates
    that are `held` are kept and not made, as the list has it; of those that only this run leaves out, or that wait for
    an approval, `shown` has the plates as they will be. `burning` says how many seconds each cut file takes, as
    far as that is known; `room` how many more names of each design there is room for, where that was looked into.
    `wall` says where all of them hang, if the ticket does. `listed` is the list that it was made from.

    What was cut `before` lies on sheets of the layout that are marked so; its `drop_ins` are by plate, and `superseded`
    plates are made anew in place of what was cut of them, but for pieces `taken_over`. `looks` tell by plate what its
    row and the ticket say. `labels` are the lines that are scored to tell pieces apart, in the coordinates of their
    sheets. `turned` is what is cut of parts (plate, kind, layer) that lie turned by so many degrees, where it differs
    from what is cut upright.
    """

    ticket: Ticket
    contexts: Contexts
    works: tuple[PlateWork, ...]
    refused: tuple[Plate, ...]
    layout: Layout
    findings: tuple[Finding, ...]
    supply: NestRequest
    shared: Mapping[str, SharedWork] = field(default_factory=dict)
    draft: bool = False
    left_out: tuple[str, ...] = ()
    held: tuple[Plate, ...] = ()
    burning: Mapping[str, float] = field(default_factory=dict)
    room: Sequence[RoomLeft] = ()
    wall: WallPlan | None = None
    listed: ListedJob | None = None
    before: Before = FIRST
    drop_ins: Mapping[str, tuple[DropIn, ...]] = field(default_factory=dict)
    superseded: tuple[str, ...] = ()
    taken_over: frozenset[PieceKey] = frozenset()
    looks: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    shown: tuple[Plate, ...] = ()
    labels: Mapping[PieceKey, tuple[Array, ...]] = field(default_factory=dict)
    turned: Mapping[tuple[str, str, int, float], Toolpath] = field(default_factory=dict)

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every physical piece that is to be cut of the made plates, and of what the batch shares."""
        return pieces_of(self.parts, self.supply.face_down)

    @property
    def parts(self) -> tuple[Part, ...]:
        """Every part of the made plates, and of what the batch shares."""
        return (*(part for w in self.works for part in w.plate.parts), *self.shared_parts)

    @property
    def shared_parts(self) -> tuple[Part, ...]:
        """The parts that belong to no plate, of all designs."""
        return tuple(part for own in self.shared.values() for part in own.parts)

    @property
    def designs(self) -> tuple[DesignWork, ...]:
        """The batch design by design: each with its made plates and what they share."""
        plates = [work.plate for work in self.works]
        return tuple(
            DesignWork(name, context, tuple(p for p in plates if p.order.design == name), self.shared[name])
            for name, context in self.contexts.items()
        )

    @property
    def jig_styles(self) -> frozenset[str]:
        """The styles of all designs' jigs."""
        return frozenset(context.jig.style for context in self.contexts.values())

    def material(self, key: str) -> MaterialKeys:
        """Give a material by its key in the ticket."""
        return self.ticket.material.get(key, MaterialKeys())

    @property
    def plates(self) -> tuple[Plate, ...]:
        """All plates, made, refused and held, in the order of the roster."""
        every = [*(w.plate for w in self.works), *self.refused, *self.held]
        return tuple(sorted(every, key=lambda p: p.order.row or UNLISTED))

    @property
    def plates_shown(self) -> tuple[Plate, ...]:
        """All plates as a customer is to see them: which of them this run leaves out is the workshop's matter."""
        shown = {plate.order.id: plate for plate in self.shown}
        return tuple(shown.get(plate.order.id, plate) for plate in self.plates)

    @property
    def unsigned(self) -> frozenset[str]:
        """The plates with lettering that nobody has approved as they are shown, but for those that stay as cut."""
        signs = self.listed.signs if self.listed else {}
        drawn = {plate.order.id for plate in self.plates_shown if plate.lettering is not None}
        return frozenset(drawn - self.ids_on - {plate for plate, sign in signs.items() if sign.by})

    @property
    def files_of_names(self) -> dict[str, list[str]]:
        """The cut files, of those handed over, on which each plate's name lies, or its blank where that is all there
        is: once for each copy, those that cannot be used any more last."""
        lettered = {part.plate for part in self.parts if part.kind == "lettering"}
        lost = self.lost_pieces
        handed = (sheet for sheet in self.layout.sheets if sheet.file not in self.left_out)
        every = ((at, sheet.file) for sheet in handed for at in sheet.placements)
        names = [(at, file) for at, file in every if at.kind == ("lettering" if at.plate in lettered else "blank")]
        return grouped((at.plate, file) for at, file in sorted(names, key=lambda name: name[0].key in lost))

    @property
    def going_on(self) -> dict[str, int]:
        """The number of the version that each plate, or what designs share by its name, goes on with."""
        return {p: v.number for p, v in self.before.kept.begun.items() if p not in self.superseded}

    @property
    def ids_on(self) -> frozenset[str]:
        """The plates that go on as they were cut."""
        return frozenset(work.plate.order.id for work in self.works if work.on)

    @property
    def ids_made(self) -> frozenset[str]:
        """The plates that have a lettering."""
        return frozenset(work.plate.order.id for work in self.works if work.plate.lettering is not None)

    @property
    def lost_pieces(self) -> dict[PieceKey, str]:
        """Why pieces that were cut are of no use any more: they are spoiled, or the plate is made anew."""
        going_on = self.going_on
        every = (piece for sheet in self.before.kept.sheets for piece in sheet.pieces)
        others = (p for p in every if p.key not in self.taken_over)
        lost = (piece for piece in others if not piece.stands or piece.version != going_on.get(piece.key[0]))
        return {piece.key: "spoiled" if piece.state == "spoiled" else "made anew" for piece in lost}

    @property
    def states(self) -> dict[PieceKey, str]:
        """What became of every piece that was cut."""
        cut = {piece.key: piece.state for sheet in self.before.kept.sheets for piece in sheet.pieces}
        return {**cut, **self.lost_pieces}


def prepare(
    ticket: Ticket,
    *,
    progress: Progress = SILENCE,
    workers: Workers = None,
    arrange: Arrange | None = None,
    cuts: bool = True,
    draft: bool = False,
    stores: dict[str, NestStore] | None = None,
    shelf: Shelf | None = None,
    before: Before = FIRST,
    gate: bool = False,
    to_sign: bool = False,
) -> Batch:
    """Do everything up to the layout. `arrange` replaces the nesting (a stored layout); no `cuts`, no toolpaths.

    What was cut `before` is not made again; `to_sign` all that was cut with another text than the list has now is made
    as if it were. With a `gate` what nobody approved is refused, or said, as the ticket has it.

    A `draft` has parts that are about what would be cut, nested quickly. `stores` keep, by material, what the nesting
    prepared, for a quote. The plates' outlines and toolpaths are kept on the `shelf`, else in memory.

    Raises the NameplateError of the stage that cannot go on: Ticket-, Layout-, Roster-, Face-, Font- or RecordError.
    """
    supply = _supply(ticket, before.kept)
    listed = read_list(ticket, before)
    before = called_by_id(before, listed.orders)
    before = as_listed(before, listed.orders.orders) if to_sign else before
    listed = gated(listed, ticket.job.approval, before) if gate else listed
    orders = listed.orders
    with pool_of(workers, ready=draft_ready if draft else get_ready) as pool:
        pool.hire(len(orders.orders))  # they get ready while the face is read
        pool.bring(font_files(ticket.folder, orders.orders))
        with timed("face"):
            contexts, about_face = make_contexts(ticket, cuts=cuts and not draft, orders=orders.every)
        with timed("shared parts"):
            shared = make_shared(contexts, orders.orders, title=ticket.job.title, draft=draft)
            chosen = choose(orders, contexts, before, {part.plate for own in shared.values() for part in own.parts})
            on = shared_going_on(shared, contexts, before)
        with timed("plates"):
            awaited = listed.waiting
            waiting = [order for order in chosen.refused if order.id in awaited]
            aside = frozenset(order.id for order in (*chosen.aside, *waiting))
            make = ByDesign(draft_work if draft else make_work, aside)
            maker = PlateMaker(make, progress, pool, shelf.keep if shelf else as_it_is)
            of_list = sorted((*chosen.anew, *chosen.aside, *waiting), key=lambda order: order.row)
            lettered, about_size = make_plates(maker, contexts, of_list)
            works = tuple(work for work in lettered if work.plate.order.id not in aside)
            shown = tuple(work.plate for work in lettered if work.plate.order.id in aside)
        with timed("what would read better"):
            about_reading = () if draft else find_remedies(maker, ticket, contexts, works)
        with timed("plates that go on"):
            works, about_spares = add_spares(works, ticket.spares)
            going_on = make_going_on(maker, contexts, chosen.going_on)
            taken = take_over(numbered_on(works, before.kept), contexts, before, chosen.superseded)
            # plates that the list has no longer come last
            works = tuple(sorted((*taken.works, *going_on), key=lambda work: work.plate.order.row or UNLISTED))
        supply, about_sides = turned_over(supply, works, on.shared, ticket)
        with timed("nest"):
            progress.stage("nesting", 1)
            styles = {context.jig.style for context in contexts.values()}
            arrange = arrange or NestArrange(styles, draft, stores, pool)
            arranged = lay_out(works, on.shared, supply, arrange)
            progress.step()
    plates = [work.plate for work in arranged.works]
    made = {plate.order.id for plate in plates if plate.lettering is not None}
    lettering = {plate.order.id: plate.lettering for plate in (*plates, *shown) if plate.lettering}
    wall = plan_wall(ticket.wall, orders.every, faces_of(contexts), lettering)
    wall = wall and replace(wall, findings=findings_with_inches(wall.findings, ticket))
    rows = {order.id: order.row for order in orders.orders}
    every = (
        *about_face,
        *(found for own in shared.values() for found in own.findings),
        *material_findings(ticket, {sheet.material for sheet in arranged.layout.sheets}),
        *listed.findings,
        *chosen.findings,
        *taken.findings,
        *on.findings,
        *about_size,
        *about_reading,
        *about_spares,
        *about_sides,
        *(f for plate in plates for f in plate.findings),
        *(replace(f, row=rows.get(f.plate or "", f.row)) for f in arranged.layout.findings),
        *grain_findings(arranged.layout, ticket.material),
        *(
            found
            for name, context in contexts.items()
            for found in of_design(name, judge_batch([p for p in plates if p.order.design == name], context.jig))
        ),
        *((*wall.findings, *already_hung(wall, before)) if wall else ()),
        *hanger_findings(ticket.wall, orders.every, faces_of(contexts), lettering),
    )
    return Batch(
        ticket,
        contexts,
        arranged.works,
        tuple(Plate(order, None) for order in chosen.refused),
        with_cut(arranged.layout, before.kept),
        sort_findings(findings_with_inches(one_for_all(every, contexts), ticket)),
        supply,
        arranged.shared,
        draft,
        held=(
            *(Plate(order, None) for order in chosen.held),
            *(Plate(replace(order, hold=True, aside=True), None) for order in chosen.aside),
        ),
        wall=wall,
        before=before,
        drop_ins={**chosen.drop_ins, **on.drop_ins},
        superseded=(*(plate for plate in chosen.superseded if plate in made), *on.superseded),
        taken_over=taken.pieces,
        looks={order.id: look_of(order, contexts[order.design]) for order in orders.orders},
        listed=listed,
        shown=shown,
    )


def _supply(ticket: Ticket, kept: Kept) -> NestRequest:
    """Read what there is to nest on, without pieces yet, after what was cut: what is wrong with it is said before any
    name is made."""
    check_stock_shapes(ticket.stock, margin=ticket.nest.edge_margin, gap=ticket.nest.gap)
    offcuts = read_offcuts(ticket.nest.offcuts) if ticket.nest.offcuts else ()
    whys = {offcut.name: off_the_bed(offcut.width, offcut.height, ticket.machine.bed) for offcut in offcuts}
    if problems := [f"the offcut “{name}”: {why}, or leave it out of the list" for name, why in whys.items() if why]:
        raise LayoutError(problems)
    return NestRequest(
        (),
        kept.left_of(ticket.stock),
        ticket.nest,
        kerf={key: material.kerf.widest for key, material in ticket.material.items()},
        grain=[key for key, material in ticket.material.items() if material.grain],
        offcuts=kept.offcuts(offcuts),
        numbered_after=kept.last_numbers,
    )


def all_made(batch: Batch) -> bool:
    """Tell whether every row of the roster became a plate with a place on a sheet."""
    return not batch.refused and all(w.plate.lettering for w in batch.works) and not has_errors(batch.findings)


def quote_of(batch: Batch, stores: dict[str, NestStore]) -> Quote:
    """Work out what to buy for a batch: each size alone, the best mix, the bounds, what more names would cost."""
    with timed("quote"):
        return quote(*_nested(batch), designs=_designs(batch), stores=stores)


def room_of(batch: Batch) -> tuple[RoomLeft, ...]:
    """Work out for how many more names of each design the sheets of a batch have room."""
    return room_left(*_nested(batch), designs=_designs(batch))


def _designs(batch: Batch) -> dict[str, str]:
    """Give the design of each plate that is made."""
    return {work.plate.order.id: work.plate.order.design for work in batch.works}


def _nested(batch: Batch) -> tuple[Layout, NestRequest]:
    """Give the layout of what is to be cut as it was nested, and what the nest was asked for."""
    request = nest_request(batch.parts, batch.supply, jig_styles=batch.jig_styles, draft=batch.draft)
    return without_names(batch.layout.uncut, batch.parts), request


def without_spares(batch: Batch, stores: dict[str, NestStore]) -> Layout:
    """Nest a batch again as if no piece could fail: of each part as many as were ordered."""
    plates = [work.plate for work in batch.works]
    parts = [changed(part, copies=min(part.copies, plate.order.copies)) for plate in plates for part in plate.parts]
    nested = NestArrange(batch.jig_styles, batch.draft, stores)
    return nested([*parts, *batch.shared_parts], batch.supply)
