"""The list of a job as its record knows it: whose plate each row is, how each is to look, and who has approved that."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace

from nameplate.errors import NameplateError
from nameplate.findings import Finding, counted
from nameplate.job.kept_plates import Before
from nameplate.job.progress import timed
from nameplate.model import Order
from nameplate.plates.line_orders import lettered_columns
from nameplate.plates.orders import Orders, list_remarks, make_orders
from nameplate.record.approvals import SignOff
from nameplate.record.ids import Numbering, listed_row, number_rows
from nameplate.record.look import Look, looks_to_sign
from nameplate.record.plate_list import PlateEntry, plate_entries
from nameplate.roster.reader import DUPLICATE, Roster, read_roster
from nameplate.roster.rules import quoted
from nameplate.system.grouping import grouped
from nameplate.ticket.schema import Ticket

#: What is said of each plate that is left out because nobody approved it.
TO_BE_APPROVED = "nameplate proof shows it, nameplate approve says who did"

#: Plates that one warning names with what changed; more would hide the others.
MOST_NAMED = 8


@dataclass(frozen=True, slots=True)
class ListedJob:
    """The list of a job: its rows, their orders, what was found out about them; of each plate that can be made its look
    and who approved it, also of one on hold whose approval stands. Nobody `ever` approved anything where that is so."""

    roster: Roster
    orders: Orders
    findings: tuple[Finding, ...]
    looks: Mapping[str, Look] = field(default_factory=dict)
    signs: Mapping[str, SignOff] = field(default_factory=dict)
    ever: bool = False

    @property
    def waiting(self) -> frozenset[str]:
        """The plates that could be made, and are not before somebody approves them."""
        return frozenset(order.id for order in self.orders.refused if order.id in self.looks)

    @property
    def entries(self) -> list[PlateEntry]:
        """What the record is to keep of the plates."""
        return plate_entries(self.orders.listed, self.orders.waiting, self.orders.every, self.looks)


def read_list(ticket: Ticket, before: Before) -> ListedJob:
    """Read the list of a job; ids are those of its record, where one is kept.

    That a row says the same as another is not told any more once its plate is approved, or cut. Raises what reading the
    list and its fonts raises.
    """
    assert ticket.job.roster is not None  # a ticket without a list is refused when it is read
    with timed("roster"):
        shown = lettered_columns(ticket)
        roster = read_roster(ticket.job.roster, designs=bool(ticket.designs), lettered=shown)
        orders = make_orders(roster, ticket, known=before.known, settled=_settled(before))
    book = before.book
    findings = (*roster.findings, *list_remarks(roster, shown, kept=book is not None), *orders.findings)
    if book is None:
        return ListedJob(roster, orders, findings)
    looks = looks_to_sign(orders.orders, ticket)
    signs = {plate: book.sign_off(plate, look) for plate, look in looks.items()}
    held = [order for order in orders.held if order.id in book.signed or order.id in book.withdrawn]
    signs_of_held = ((plate, book.sign_off(plate, look)) for plate, look in _looks_of_held(held, ticket))
    signs |= {plate: sign for plate, sign in signs_of_held if sign.by or sign.before or sign.withdrawn}
    meant = {order.row for order in orders.orders if signs[order.id].by or order.id in before.kept.begun}
    findings = tuple(f for f in findings if f.code != DUPLICATE or f.row not in meant)
    return ListedJob(roster, orders, findings, looks, signs, ever=bool(book.signed))


def numbering_of(job: ListedJob, before: Before) -> Numbering:
    """Give how the rows of a job have their numbers by its record, with what is asked about them."""
    return number_rows([listed_row(row) for row in job.roster.rows], before.known, _settled(before))


def _settled(before: Before) -> dict[str, str]:
    """Say of which plates another number would cost an approval, or what was cut."""
    signed = before.book.signed if before.book else {}
    return {**dict.fromkeys(signed, "approved"), **dict.fromkeys(before.kept.begun, "cut")}


def _looks_of_held(held: Sequence[Order], ticket: Ticket) -> Iterator[tuple[str, Look]]:
    """Yield how plates on hold are to look; what is wrong with one is told when it is made."""
    for order in held:
        with suppress(NameplateError, KeyError):
            yield order.id, looks_to_sign([order], ticket)[order.id]


def gated(job: ListedJob, approval: str, before: Before) -> ListedJob:
    """Refuse what nobody approved where that is `required`, or say what it is in one finding where it is to `warn`."""
    unsigned = [order for order in lacking(job, before) if before.wish.makes(order.id)]
    if approval == "none" or not unsigned:
        return job
    if approval == "warn":
        return replace(job, findings=(*job.findings, _warning(unsigned, job)))
    ids = {order.id for order in unsigned}
    made = tuple(order for order in job.orders.orders if order.id not in ids)
    refused = (*job.orders.refused, *unsigned)
    orders = replace(job.orders, orders=made, refused=tuple(sorted(refused, key=lambda order: order.row)))
    return replace(job, orders=orders, findings=(*job.findings, *_refusals(unsigned, job.signs)))


def lacking(job: ListedJob, before: Before) -> list[Order]:
    """Give what nobody approved as it is ordered now, but for plates that go on as they were cut.

    A job of which no record is kept lacks nothing.
    """
    on = {p: v.texts for p, v in before.kept.begun.items() if not before.wish.makes_again(p)}
    unsigned = (order for order in job.orders.orders if job.signs and not job.signs[order.id].by)
    return [order for order in unsigned if on.get(order.id) != order.texts]


def _refusals(orders: list[Order], signs: Mapping[str, SignOff]) -> Iterator[Finding]:
    for order in orders:
        text = f"{quoted(order.name)}: {signs[order.id].reason}; {TO_BE_APPROVED}"
        yield Finding("not-approved", "error", text, plate=order.id, row=order.row)


def _warning(unsigned: list[Order], job: ListedJob) -> Finding:
    """Say in one sentence what is made though nobody approved it; for a job that nobody approves in one short one."""
    if not job.ever:
        text = (
            "nobody has approved these names: nameplate proof shows them for that, nameplate approve says who did; "
            'where nobody needs to, write approval = "none" into [job]'
        )
        return Finding("not-approved", "note", text)
    some = unsigned[:MOST_NAMED]
    reasons = grouped((job.signs[order.id].reason, f"{order.id} {quoted(order.name)}") for order in some)
    named = "; ".join(f"{', '.join(plates)}: {reason}" for reason, plates in reasons.items())
    more = f"; and {len(unsigned) - MOST_NAMED} more" if len(unsigned) > MOST_NAMED else ""
    what = counted(len(unsigned), "plate", "is", "are")
    return Finding("not-approved", "warning", f"{what} made though not approved as now ordered: {named}{more}")
