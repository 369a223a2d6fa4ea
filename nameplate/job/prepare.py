"""The stages in order: what happens between a job ticket and a folder of cut files.

ticket -> face, roster -> orders -> plates (in parallel) -> layout -> cut files -> inspection -> out folder
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from nameplate.errors import TicketError
from nameplate.findings import Finding, has_errors, sort_findings
from nameplate.jig.skeleton import without_names
from nameplate.job.designs import DesignWork, designs_of, judge_design, make_contexts, make_shared, styles_of
from nameplate.job.layout_stage import Arrange, NestArrange, lay_out, layout_findings, nest_request
from nameplate.job.plate_stage import ByDesign, PlateMaker, add_spares, as_it_is, make_plates
from nameplate.job.pools import draft_ready
from nameplate.job.progress import Progress, Silence, timed
from nameplate.job.remedies import find_remedies
from nameplate.model import Part, Plate
from nameplate.nest.buying.quote import Quote, quote
from nameplate.nest.layout import Layout, Piece, SheetLayout, pieces_of
from nameplate.nest.offcuts import read_offcuts
from nameplate.nest.request import NestRequest
from nameplate.nest.search.part_masks import NestStore
from nameplate.nest.stock_shapes import check_stock_shapes
from nameplate.plates.batch_parts import SharedWork
from nameplate.plates.draft import draft_work
from nameplate.plates.line_orders import columns_of
from nameplate.plates.make import PlateContext, PlateWork, make_work
from nameplate.plates.orders import Orders, list_remarks, make_orders
from nameplate.plates.typeset import font_files
from nameplate.pool.processes import Workers, get_ready, pool_of, pool_there
from nameplate.roster.reader import read_roster
from nameplate.system.shelf import Shelf, changed
from nameplate.ticket.cautions import material_findings
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.schema import Ticket
from nameplate.ticket.workshop_schema import MaterialKeys


@dataclass(frozen=True, slots=True)
class Batch:
    """Everything known about a job before anything is written.

    `contexts` and `shared` are by design: what its plates are made by, and what they share. `supply` is what there was
    to nest on; `left_out` are the cut files that turned out not to be trusted, and that are not handed over. Plates
    that are `held` are kept and not made, as the list has it.
    """

    ticket: Ticket
    contexts: Mapping[str, PlateContext]
    works: tuple[PlateWork, ...]
    refused: tuple[Plate, ...]
    layout: Layout
    findings: tuple[Finding, ...]
    supply: NestRequest
    shared: Mapping[str, SharedWork] = field(default_factory=dict)
    draft: bool = False
    left_out: tuple[str, ...] = ()
    held: tuple[Plate, ...] = ()

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every physical piece of the made plates, and of what the batch shares."""
        return pieces_of(self.parts)

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
        return designs_of(self.contexts, [work.plate for work in self.works], self.shared)

    @property
    def jig_styles(self) -> frozenset[str]:
        """The styles of all designs' jigs."""
        return styles_of(self.contexts)

    def material(self, key: str) -> MaterialKeys:
        """Give a material by its key in the ticket."""
        return self.ticket.material.get(key, MaterialKeys())

    @property
    def plates(self) -> tuple[Plate, ...]:
        """All plates, made, refused and held, in the order of the roster."""
        every = [*(w.plate for w in self.works), *self.refused, *self.held]
        return tuple(sorted(every, key=lambda p: p.order.row))

    @property
    def files_of_names(self) -> dict[str, list[str]]:
        """The cut files, of those handed over, on which each plate's name lies, or its blank where that is all there
        is: once for each copy."""
        lettered = {part.plate for part in self.parts if part.kind == "lettering"}
        found: dict[str, list[str]] = {}
        for sheet in self.layout.sheets:
            if (file := cut_file(sheet)) not in self.left_out:
                for at in sheet.placements:
                    if at.kind == ("lettering" if at.plate in lettered else "blank"):
                        found.setdefault(at.plate, []).append(file)
        return found


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
    stores: dict[str, NestStore] | None = None,
    shelf: Shelf | None = None,
) -> Batch:
    """Do everything up to the layout. `arrange` replaces the nesting (a stored layout); no `cuts`, no toolpaths.

    A `draft` has parts that are about what would be cut, nested quickly. `stores` keep, by material, what the nesting
    prepared, for a quote. The plates' outlines and toolpaths are kept on the `shelf`, else in memory.

    Raises the NameplateError of the stage that cannot go on: Ticket-, Layout-, Roster-, Face- or FontError.
    """
    progress = progress or Silence()
    orders, supply, findings = _read(ticket)
    with pool_of(workers, ready=draft_ready if draft else get_ready) as pool:
        pool.hire(len(orders.orders))  # they get ready while the face is read
        pool.bring(font_files(ticket.folder, orders.orders))
        with timed("face"):
            contexts, about_face = make_contexts(ticket, cuts=cuts and not draft)
        with timed("carrier"):
            shared = make_shared(contexts, orders.orders, title=ticket.job.title, draft=draft)
        with timed("plates"):
            make = ByDesign(draft_work if draft else make_work)
            maker = PlateMaker(make, progress, pool, shelf.keep if shelf else as_it_is)
            works, about_size = make_plates(maker, contexts, orders.orders)
        with timed("what would read better"):
            about_reading = () if draft else find_remedies(maker, ticket, contexts, works)
        works, about_spares = add_spares(works, ticket.spares)
    with timed("nest"):
        progress.stage("nesting", 1)
        arrange = arrange or NestArrange(styles_of(contexts), draft, stores, pool_there(workers))
        arranged = lay_out(works, shared, supply, arrange)
        progress.step()
    plates = [work.plate for work in arranged.works]
    every = (
        *about_face,
        *(found for own in shared.values() for found in own.findings),
        *findings,
        *about_size,
        *about_reading,
        *about_spares,
        *(f for plate in plates for f in plate.findings),
        *layout_findings(arranged.layout, orders.orders),
        *(found for one in designs_of(contexts, plates, arranged.shared) for found in judge_design(one)),
    )
    refused = tuple(Plate(order, None) for order in orders.refused)
    held = tuple(Plate(order, None) for order in orders.held)
    found = sort_findings(every)
    return Batch(
        ticket, contexts, arranged.works, refused, arranged.layout, found, supply, arranged.shared, draft, held=held
    )


def _read(ticket: Ticket) -> tuple[Orders, NestRequest, tuple[Finding, ...]]:
    """Read all files but the face's: what to make, what to nest it on (without pieces yet), and what was found.

    Stock and offcuts come first: what is wrong with them is said before any name is made.
    """
    check_stock_shapes(ticket.stock, margin=ticket.nest.edge_margin, gap=ticket.nest.gap)
    supply = NestRequest(
        (),
        ticket.stock,
        ticket.nest,
        kerf={key: material.kerf for key, material in ticket.material.items()},
        grain=[key for key, material in ticket.material.items() if material.grain],
        offcuts=read_offcuts(ticket.nest.offcuts) if ticket.nest.offcuts else (),
    )
    if ticket.job.roster is None:
        raise TicketError('job.roster is missing; name the list of names, like roster = "names.csv"')
    with timed("roster"):
        shown = columns_of([line for own in tickets_of(ticket) for line in own.line])
        roster = read_roster(ticket.job.roster, designs=bool(ticket.designs), lettered=shown)
        orders = make_orders(roster, ticket)
    remarks = list_remarks(roster, shown)
    return orders, supply, (*material_findings(ticket), *roster.findings, *remarks, *orders.findings)


def all_made(batch: Batch) -> bool:
    """Tell whether every row of the roster became a plate with a place on a sheet."""
    return not batch.refused and all(w.plate.lettering for w in batch.works) and not has_errors(batch.findings)


def quote_of(batch: Batch, stores: dict[str, NestStore] | None = None) -> Quote:
    """Work out what to buy for a batch: each size alone, the best mix, the bounds, what more names would cost."""
    with timed("quote"):
        request = nest_request(batch.parts, batch.supply, jig_styles=batch.jig_styles, draft=batch.draft)
        return quote(without_names(batch.layout, batch.parts), request, stores=stores)


def without_spares(batch: Batch, stores: dict[str, NestStore] | None = None) -> Layout:
    """Nest a batch again as if no piece could fail: of each part as many as were ordered."""
    plates = [work.plate for work in batch.works]
    parts = [changed(part, copies=min(part.copies, plate.order.copies)) for plate in plates for part in plate.parts]
    nested = NestArrange(batch.jig_styles, batch.draft, stores)
    return nested([*parts, *batch.shared_parts], batch.supply)
