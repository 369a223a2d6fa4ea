"""The hanging plan alone: from ticket and list, without lettering, so that it is there in seconds.

Names that stand free are as large as their lettering: of these drafts are made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from nameplate.cut.machine import CutPen
from nameplate.errors import TicketError
from nameplate.findings import Finding, counted, sort_findings
from nameplate.job.designs import Contexts, faces_of, make_contexts
from nameplate.job.inches import findings_with_inches
from nameplate.job.kept_plates import FIRST, Before
from nameplate.job.out_folder import Placed, check_folder, staged, write_file
from nameplate.job.plate_stage import ByDesign, PlateMaker, make_plates
from nameplate.job.pools import draft_ready
from nameplate.job.progress import SILENCE
from nameplate.job.sign_off import read_list
from nameplate.model import Lettering, Order
from nameplate.pdf.paper import PAPERS
from nameplate.plates.draft import draft_work
from nameplate.plates.typeset import font_files
from nameplate.pool.processes import Workers, pool_of
from nameplate.record.states import OF_THE_PLATE
from nameplate.system.grouping import grouped
from nameplate.ticket.schema import Ticket
from nameplate.wall.files import wall_files
from nameplate.wall.hanging import MOVING
from nameplate.wall.plan import WallPlan, plan_wall


def leave_wall(
    ticket: Ticket,
    out: Path,
    *,
    before: Before = FIRST,
    workers: Workers = None,
    placed: Placed = lambda where, said: None,
) -> tuple[WallPlan, tuple[Finding, ...]]:
    """Plan the wall of a ticket and leave its files in the folder `out`, or leave `out` as it was.

    Rows that only the making would refuse are on it like those that are made; plates have the ids that they had
    `before`. Gives the plan, and what was found in the list and on the wall. Raises TicketError without a wall,
    OutputError when `out` is not ours to write or holds what another command left, and what reading
    list and faces raises.
    """
    said = check_folder(out, page="wall.html")
    listed = read_list(ticket, before)
    orders, findings = listed.orders, listed.findings
    contexts, _ = make_contexts(ticket, cuts=False)
    drafts = _drafts(ticket.folder, contexts, orders.orders, workers) if ticket.wall.width else {}
    plan = plan_wall(ticket.wall, orders.every, faces_of(contexts), drafts)
    if plan is None:
        raise TicketError(
            "the ticket has no wall; add [wall] with width, height, columns, rows and pitch or fit = true"
        )
    told = findings_with_inches(plan.findings, ticket)
    plan = replace(plan, findings=(*told, *already_hung(plan, before)))
    if drafts:
        text = (
            f"{counted(len(drafts), 'name', 'that stands', 'that stand')} free: size and rings are those of a draft "
            "here, about as they will be; drill by the plan that make leaves"
        )
        about = Finding("wall-draft", "note", f"[wall] {text}", measured=len(drafts))
        plan = replace(plan, findings=(*plan.findings, about))
    missing = {**{order.id: "refused" for order in orders.refused}, **{order.id: "held" for order in orders.held}}
    with staged(out, placed=placed, said=said) as stage:
        paper, pen = PAPERS[ticket.job.paper], CutPen.of(ticket.colours, ticket.machine)
        for name, content in wall_files(with_drilled(plan, before), missing, paper, title=ticket.job.title, pen=pen):
            write_file(stage, name, content)
    return plan, sort_findings((*findings, *plan.findings))


def _drafts(folder: Path, contexts: Contexts, orders: Sequence[Order], workers: Workers) -> dict[str, Lettering]:
    """Draft the lettering of names that stand free, by plate; what cannot be made is not among it."""
    free = [order for order in orders if contexts[order.design].face.free]
    if not free:
        return {}
    with pool_of(workers, ready=draft_ready) as pool:
        pool.hire(len(free))
        pool.bring(font_files(folder, free))
        works, _ = make_plates(PlateMaker(ByDesign(draft_work), SILENCE, pool), contexts, free)
    return {work.plate.order.id: work.plate.lettering for work in works if work.plate.lettering}


def with_drilled(plan: WallPlan, before: Before) -> WallPlan:
    """Give a plan on which the holes of plates are drilled of which every copy is marked as hung."""
    standing = (piece for sheet in before.kept.sheets for piece in sheet.pieces if piece.stands)
    pieces = grouped((piece.key[0], piece) for piece in standing if piece.key[1] in OF_THE_PLATE)

    def hangs(order: Order) -> bool:
        own = pieces.get(order.id, [])
        copies = {piece.key[2] for piece in own}
        return len(copies) >= order.copies and all(piece.state == "hung" for piece in own)

    hung = {h.plate.order.id for h in plan.hangings if hangs(h.plate.order)}
    return replace(plan, hangings=tuple(h.all_drilled() if h.plate.order.id in hung else h for h in plan.hangings))


def already_hung(plan: WallPlan, before: Before) -> tuple[Finding, ...]:
    """Warn of plates that hang already where names that are added may move them on the plan."""
    hung = {piece.key[0] for sheet in before.kept.sheets for piece in sheet.pieces if piece.state == "hung"}
    count = sum(hanging.plate.order.id in hung for hanging in plan.hangings)
    if not count or plan.keys.order not in MOVING:
        return ()
    hang, them = ("hangs", "it") if count == 1 else ("hang", "them")
    text = (
        f'[wall] {counted(count, "plate")} {hang} already, and with order = "{plan.keys.order}" names that came since '
        f"may have moved {them} on this plan: compare it with the wall before you drill; with their places in the "
        'column position, order = "position" keeps all where they hang'
    )
    return (Finding("wall-order", "warning", text, measured=count),)
