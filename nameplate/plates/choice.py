"""Which design a row is made by: the one that its column `design` or `tier` names, else the ticket's own tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from nameplate.findings import Finding, counted, row_ranges
from nameplate.model import Order
from nameplate.roster.reader import Row, fold
from nameplate.roster.rules import quoted
from nameplate.ticket.checks import is_complete
from nameplate.ticket.schema import Ticket
from nameplate.ticket.words import nearest


def chosen_design(row: Row, ticket: Ticket) -> str:
    """Give the design that a row asks for, as the ticket spells it; as the row does where there is no such one."""
    if not ticket.designs:
        return ""
    return next((name for name in ticket.designs if fold(name) == fold(row.design)), row.design)


def ticket_of(design: str, ticket: Ticket) -> Ticket:
    """Give the ticket that rows of a design are made by; the ticket itself where there is no such design."""
    return ticket.of(design if design in ticket.designs else "")


def design_problems(order: Order, ticket: Ticket) -> Iterator[Finding]:
    """Yield why an order has no design that it could be made by."""
    names, where = ", ".join(ticket.designs), quoted(order.name)
    if order.design and order.design not in ticket.designs:
        hint = nearest(order.design, ticket.designs)
        known = "" if hint.startswith("known") else f" (known: {names})"
        text = f"{where}: the ticket has no design {quoted(order.design)}; {hint}{known}"
        yield Finding("unknown-design", "error", text, plate=order.id, row=order.row)
    elif not order.design and ticket.designs and not is_complete(ticket):
        text = (
            f"{where} has no design, and the ticket is not complete without one; write one in the column design or "
            f"tier (known: {names}), or give the ticket a [face] and sheets for rows without one"
        )
        yield Finding("no-design", "error", text, plate=order.id, row=order.row)


def design_remarks(orders: Sequence[Order], ticket: Ticket) -> Iterator[Finding]:
    """Say once which rows have no design and are made by the ticket's own tables."""
    plain = [order.row for order in orders if not order.design]
    if ticket.designs and plain:
        text = (
            f"{counted(len(plain), 'row')} without a design ({row_ranges(plain)}): made as [face], [lettering] and "
            f"[jig] say; designs that could be named there: {', '.join(ticket.designs)}"
        )
        yield Finding("without-design", "note", text)
