"""The hanging plan alone: from ticket and list, without lettering, so that it is there in seconds."""

from __future__ import annotations

from pathlib import Path

from nameplate.errors import OutputError, TicketError
from nameplate.findings import Finding, sort_findings
from nameplate.job.designs import make_contexts
from nameplate.job.holdings import SUMMARY
from nameplate.job.kept_plates import FIRST, Before
from nameplate.job.out_folder import Placed, check_folder, staged, write_file
from nameplate.job.sign_off import read_list
from nameplate.pdf.paper import PAPERS
from nameplate.system.reading import shown
from nameplate.ticket.schema import Ticket
from nameplate.wall.files import wall_files
from nameplate.wall.plan import WallPlan, plan_wall


def leave_wall(
    ticket: Ticket, out: Path, *, before: Before = FIRST, placed: Placed = lambda where, said: None
) -> tuple[WallPlan, tuple[Finding, ...]]:
    """Plan the wall of a ticket and leave its files in the folder `out`, or leave `out` as it was.

    Rows that only the making would refuse are on it like those that are made; plates have the ids that they had
    `before`. Gives the plan, and what was found in the
    list and on the wall. Raises TicketError without a wall, OutputError when `out` is not ours to write or holds a
    whole run, which these files would replace, and what reading list and faces raises.
    """
    if (out / SUMMARY).exists():
        raise OutputError(
            f"{shown(out)} holds a whole run; make writes the plan there, or choose another folder with -o"
        )
    said = check_folder(out)
    listed = read_list(ticket, before)
    orders, findings = listed.orders, listed.findings
    contexts, _ = make_contexts(ticket, cuts=False)
    plan = plan_wall(ticket.wall, orders.every, {name: context.face for name, context in contexts.items()})
    if plan is None:
        raise TicketError(
            "the ticket has no wall; add [wall] with width, height, columns, rows and pitch or fit = true"
        )
    missing = {**{order.id: "refused" for order in orders.refused}, **{order.id: "held" for order in orders.held}}
    with staged(out, placed=lambda where, more: placed(where, (*said, *more))) as stage:
        for name, content in wall_files(plan, missing, PAPERS[ticket.job.paper], title=ticket.job.title):
            write_file(stage, name, content)
    return plan, sort_findings((*findings, *plan.findings))
