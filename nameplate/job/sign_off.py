"""The list of a job as its record knows it: whose plate each row is, how each is to look, and who has approved that."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from nameplate.errors import TicketError
from nameplate.findings import Finding
from nameplate.job.progress import timed
from nameplate.model import Order
from nameplate.plates.line_orders import columns_of
from nameplate.plates.orders import Orders, list_remarks, make_orders
from nameplate.record.approvals import SignOff, any_approved, sign_offs
from nameplate.record.look import Look, looks_to_sign
from nameplate.record.plate_list import PlateEntry, known_plates, plate_entries
from nameplate.record.store import Store
from nameplate.roster.reader import Roster, read_roster
from nameplate.roster.rules import quoted
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.schema import Ticket

#: Plates that one warning names with what changed; more would hide the others.
MOST_NAMED = 8


@dataclass(frozen=True, slots=True)
class ListedJob:
    """The list of a job: its rows, their orders, what was found out about them; of each plate that can be made its look
    and who approved it. Nobody `ever` approved anything where that is so."""

    roster: Roster
    orders: Orders
    findings: tuple[Finding, ...]
    looks: Mapping[str, Look] = field(default_factory=dict)
    signs: Mapping[str, SignOff] = field(default_factory=dict)
    ever: bool = False

    @property
    def entries(self) -> list[PlateEntry]:
        """What the record is to keep of the plates."""
        orders = (*self.orders.orders, *self.orders.refused, *self.orders.held)
        return plate_entries(self.orders.listed, self.orders.waiting, orders, self.looks)


def read_list(ticket: Ticket, record: Store | None, *, kept: bool) -> ListedJob:
    """Read the list of a job; ids are those of its `record`, if it has one by now, and are `kept` if it will have one.

    Raises what reading the list and its fonts raises, and RecordError.
    """
    if ticket.job.roster is None:
        raise TicketError('job.roster is missing; name the list of names, like roster = "names.csv"')
    with timed("roster"):
        shown = columns_of([line for own in tickets_of(ticket) for line in own.line])
        roster = read_roster(ticket.job.roster, designs=bool(ticket.designs), lettered=shown)
        orders = make_orders(roster, ticket, known=known_plates(record))
    findings = (*roster.findings, *list_remarks(roster, shown, kept=kept), *orders.findings)
    if not kept:
        return ListedJob(roster, orders, findings)
    looks = looks_to_sign(orders.orders, ticket)
    return ListedJob(roster, orders, findings, looks, sign_offs(record, looks), any_approved(record))


def gated(job: ListedJob, approval: str) -> ListedJob:
    """Refuse what nobody approved where that is `required`, or say what it is in one finding where it is to `warn`."""
    lacking = [order for order in job.orders.orders if not job.signs[order.id].by]
    if approval == "none" or not lacking:
        return job
    if approval == "warn":
        return replace(job, findings=(*job.findings, _warning(lacking, job)))
    ids = {order.id for order in lacking}
    made = tuple(order for order in job.orders.orders if order.id not in ids)
    refused = (*job.orders.refused, *lacking)
    orders = replace(job.orders, orders=made, refused=tuple(sorted(refused, key=lambda order: order.row)))
    return replace(job, orders=orders, findings=(*job.findings, *_refusals(lacking, job.signs)))


def _refusals(orders: list[Order], signs: Mapping[str, SignOff]) -> Iterator[Finding]:
    for order in orders:
        text = (
            f"{quoted(order.name)}: {signs[order.id].reason}; nameplate proof shows it, nameplate approve says who did"
        )
        yield Finding("not-approved", "error", text, plate=order.id, row=order.row)


def _warning(lacking: list[Order], job: ListedJob) -> Finding:
    """Say in one sentence what is made though nobody approved it; for a job that nobody approves in one short one."""
    if not job.ever:
        text = (
            "nobody has approved these names: nameplate proof shows them for that, nameplate approve says who did; "
            'where nobody needs to, write approval = "none" into [job]'
        )
        return Finding("not-approved", "note", text)
    named = "; ".join(
        f"{order.id} {quoted(order.name)}: {job.signs[order.id].reason}" for order in lacking[:MOST_NAMED]
    )
    more = f"; and {len(lacking) - MOST_NAMED} more" if len(lacking) > MOST_NAMED else ""
    what = "1 plate is" if len(lacking) == 1 else f"{len(lacking)} plates are"
    return Finding("not-approved", "warning", f"{what} made though not approved as now ordered: {named}{more}")
