"""A job as it would be with other words in its ticket: its hardest names drawn so, before anything is written.

Drafts are what `estimate` goes by: a name's form, size and whether it has room are about right, its ties and whether it
still reads are seen when it is made.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from nameplate.findings import Finding, errors_in
from nameplate.model import Order
from nameplate.page.drawing import DrawingRoom, PlateDrawing
from nameplate.page.opened import JobView, tried_view
from nameplate.page.studio import PlateCard, by_row
from nameplate.paperwork.looks import looks_of
from nameplate.plates.orders import make_orders
from nameplate.ticket.schema import Ticket
from nameplate.typesetting.fonts import clusters, load_font

#: Names that are shown of a job: more would take longer than a hand on a slider waits, and longer to look at.
MOST_SHOWN = 4


def orders_of(view: JobView, design: str) -> list[Order]:
    """Give the names of a design as the list orders them: those that can be made anew, where all were cut those."""
    anew = [order for order in view.anew.values() if order.design == design]
    return anew or [order for order in view.orders if order.design == design and order.id in view.on]


def hardest(view: JobView, design: str) -> tuple[Order, ...]:
    """Give the names of a design that are hardest to set: the longest, the one with most marks, those with something to
    look at, then the next longest; in the order of the list."""
    own = orders_of(view, design)
    by_length = sorted(own, key=lambda order: (-max(map(len, order.texts)), order.row))
    by_marks = sorted(filter(_marks, own), key=lambda order: (-_marks(order), order.row))
    looked_at = [order for order in by_length if order.row in view.looks]
    chosen = list(dict.fromkeys((*by_length[:1], *by_marks[:1], *looked_at, *by_length)))[:MOST_SHOWN]
    return tuple(sorted(chosen, key=lambda order: order.row))


def _marks(order: Order) -> int:
    """Count the marks above and below the letters of a name."""
    return sum(unicodedata.combining(letter) > 0 for letter in unicodedata.normalize("NFD", "".join(order.texts)))


def lacking(own: Ticket, orders: Iterable[Order]) -> tuple[str, ...]:
    """Give the letters of some names that no font of a design has."""
    lost = "".join(dict.fromkeys(c for order in orders for line in order.texts for c in clusters(line)))
    for font in own.lettering.font:
        lost = "".join(load_font(font, own.folder).missing(lost))
    return tuple(clusters(lost))


@dataclass(frozen=True, slots=True)
class Trial:
    """Some names of a job by another ticket: the job as it would be, and what was found wrong with rows by now."""

    view: JobView
    findings: tuple[Finding, ...]
    rows: tuple[Order, ...]

    def keys(self) -> list[str]:
        """Give the keys of the pictures of the names that can be drawn."""
        return [self.view.keys[order.id] for order in self.rows if order.id in self.view.keys]

    def drawn(self, room: DrawingRoom) -> list[PlateCard]:
        """Wait for the drafts of all names; raises CancelledError where a newer wish came in between."""
        waiting = {o.id: room.ask(self.view, o.id) for o in self.rows if o.id in self.view.keys}
        rows, _ = by_row(self.findings)
        drawn = {plate: future.result() for plate, future in waiting.items()}
        return [self._card(order, drawn.get(order.id), rows.get(order.row, [])) for order in self.rows]

    def _card(self, order: Order, drawn: PlateDrawing | None, findings: Sequence[Finding]) -> PlateCard:
        found = (*findings, *(drawn.findings if drawn else ()))
        looks = looks_of([], found).get(order.row, ())
        return PlateCard(order, self.view.keys.get(order.id, ""), drawn, looks, errors_in(found))


def trial_of(view: JobView, ticket: Ticket, orders: Sequence[Order]) -> Trial:
    """Order some rows of a job anew by another ticket; raises what that ticket's face and fonts raise."""
    ids = {order.row: order.id for order in orders}
    rows = tuple(row for row in view.listed.roster.rows if row.number in ids)
    made = make_orders(replace(view.listed.roster, rows=rows), ticket)
    every = tuple(replace(order, id=ids[order.row]) for order in made.every)
    refused = {order.row for order in made.refused}
    can_be = [order for order in every if order.row not in refused]
    return Trial(tried_view(view, ticket, can_be), made.findings, every)


@dataclass(frozen=True, slots=True)
class Count:
    """How many names of a design could not be made, or need a look, by their drafts."""

    total: int
    refused: int
    looks: int
    smallest: float


def count_of(trial: Trial, room: DrawingRoom) -> Count:
    """Count what is to be looked at; raises CancelledError where a newer wish came in between."""
    names = trial.drawn(room)
    heights = [name.drawn.capitals for name in names if name.drawn and name.drawn.svg]
    refused = sum(bool(name.problems) for name in names)
    looks = sum(bool(name.looks) and not name.problems for name in names)
    return Count(len(names), refused, looks, min(heights, default=0.0))
