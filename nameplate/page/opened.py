"""The job that is open in the browser: its ticket, found in a folder, and what its files say at the moment."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from nameplate.errors import NameplateError, TicketError
from nameplate.job.designs import make_contexts, make_shared
from nameplate.job.desk import before_of
from nameplate.job.kept_plates import Choice, as_listed, choose, cut_otherwise
from nameplate.job.sign_off import ListedJob, read_list
from nameplate.model import Order, in_a_line
from nameplate.page.picture_keys import is_uniform, picture_keys
from nameplate.page.versions import version_of_values
from nameplate.paperwork.looks import looks_of
from nameplate.pdf.paper import PAPERS
from nameplate.plates.make import PlateContext, PlateWork
from nameplate.plates.typeset import font_files
from nameplate.record.approvals import EMPTY_BOOK
from nameplate.record.store import record_of
from nameplate.roster.reader import read_bytes
from nameplate.system.digests import digest
from nameplate.system.reading import shown
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.schema import Ticket
from nameplate.ticket.starter import TICKET_NAME
from nameplate.ticket.workshop import SHOP_NAME, own_shop

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class OpenJob:
    """Which job is open: its folder, and its ticket there."""

    folder: Path
    ticket_file: Path

    @property
    def record(self) -> Path:
        """Where the record of the job lies, if it has one yet."""
        return record_of(self.ticket_file)

    @property
    def out(self) -> Path:
        """Where its files are made."""
        return self.folder / "out"

    @property
    def proof(self) -> Path:
        """Where its proof alone is made."""
        return self.folder / "proof"

    @property
    def proof_part(self) -> Path:
        """Where a proof of some of its plates is made."""
        return self.folder / "proof-part"

    def ticket(self, data: bytes | None = None) -> Ticket:
        """Read the ticket as it is now, or as these bytes would be; raises TicketError with all its problems."""
        return read_ticket(self.ticket_file, own=own_shop(), data=data)


def open_job(place: Path) -> OpenJob:
    """Find the job in a folder, or by its ticket; raises TicketError where there is none, or one cannot tell which."""
    if place.is_file():
        return OpenJob(place.absolute().parent, place.absolute())
    if not place.is_dir():
        raise TicketError(f"{shown(place)}: there is no such folder; nameplate new makes one with a first job")
    folder = place.absolute()
    own = folder / TICKET_NAME
    found = [own] if own.is_file() else sorted(path for path in folder.glob("*.toml") if path.name != SHOP_NAME)
    if not found:
        raise TicketError(f"{shown(folder)} has no job ticket ({TICKET_NAME}); nameplate new FOLDER writes a first one")
    if len(found) > 1:
        names = ", ".join(path.name for path in found)
        raise TicketError(f"{shown(folder)} has several job tickets; say which: {names}")
    return OpenJob(folder, found[0])


def unless_wrong(work: Callable[[], T], otherwise: T, problems: list[str] | None = None) -> T:
    """Give what some work gives; `otherwise` where the files of the job keep it from that.

    What is wrong with them is added to `problems`; without these it is said elsewhere.
    """
    try:
        return work()
    except NameplateError as error:
        if problems is not None:
            problems += [text for text in error.problems if text not in problems]
        return otherwise


def list_file(ticket: Ticket) -> Path:
    """Give where the list of names lies; raises TicketError where the ticket names none."""
    if ticket.job.roster is None:
        raise TicketError('job.roster is missing; name the list of names, like roster = "names.csv"')
    return ticket.job.roster


def text_of(order: Order) -> str:
    """Give what is on a plate, line by line.

    >>> text_of(Order("1", 2, "Wren Abara")), text_of(Order("1", 2, " "))
    ('Wren Abara', '(no name)')
    """
    return in_a_line(order.texts)


@dataclass(frozen=True, slots=True)
class JobView:
    """A job as its files say at one moment. `version` stands for its ticket, list, faces and fonts. `anew` are the
    orders that can be made, `on` the plates that were cut and stay as they are; those that were cut with another text
    than they have now are among `anew`, and `retold` has that text; `keys` stand for their pictures: the same key, the
    same picture. `looks` say by row what in the list itself is to be looked at; `orders` are all rows of the list, in
    its order. The `unproofed` plates are on no proof as they are to look now; those `on` would be made `otherwise` now,
    which no picture shows. `cut_sizes` are by design of one size the size and the baseline that it was cut in. `fonts`
    are where files of fonts lie, or would lie, by the names that the list and the ticket give them."""

    version: str
    ticket: Ticket
    listed: ListedJob
    contexts: Mapping[str, PlateContext]
    anew: Mapping[str, Order]
    on: Mapping[str, PlateWork]
    keys: Mapping[str, str]
    looks: Mapping[int, tuple[str, ...]]
    orders: tuple[Order, ...]
    retold: Mapping[str, str]
    unproofed: tuple[str, ...]
    otherwise: frozenset[str]
    cut_sizes: Mapping[str, tuple[float, float]]
    fonts: tuple[Path, ...]

    def together(self, order: Order) -> tuple[Order, ...]:
        """Give the orders that a plate is made with: itself, or all that have one size."""
        if not self.is_of_one_size(order):
            return (order,)
        return tuple(o for o in self.anew.values() if o.design == order.design and self.is_of_one_size(o))

    def is_of_one_size(self, order: Order) -> bool:
        """Tell whether the size of a plate depends on all others of its design."""
        return is_uniform(order, self.contexts)


def _keys(ticket: Ticket, contexts: Mapping[str, PlateContext], chosen: Choice) -> dict[str, str]:
    """Give what stands for the picture of each plate."""
    plates = (work.plate for work in chosen.going_on)
    return picture_keys(contexts, chosen.anew, plates, inches=told_in_inches(ticket))


def told_in_inches(ticket: Ticket) -> bool:
    """Tell whether sizes are told in inches, too."""
    return PAPERS[ticket.job.paper].inches


def _version(ticket: Ticket, orders: Sequence[Order]) -> str:
    """Give the version of a job by its ticket, its list, its faces and its fonts."""
    files = [own.face.file for own in tickets_of(ticket) if own.face.file]
    files += font_files(ticket.folder, orders)
    digests = [digest(path.read_bytes()) for path in files]
    return version_of_values(repr(ticket), digest(read_bytes(list_file(ticket))), digests)


def tried_view(view: JobView, ticket: Ticket, orders: Sequence[Order]) -> JobView:
    """Give a job as some of its orders would be by another ticket, none as it was cut; raises what faces raise."""
    contexts, _ = make_contexts(ticket, cuts=False)
    keys = _keys(ticket, contexts, Choice(tuple(orders)))
    return replace(view, ticket=ticket, contexts=contexts, on={}, anew={o.id: o for o in orders}, keys=keys)


def view_with(view: JobView, order: Order) -> JobView:
    """Give a job of one plate alone, as it would be by another order; what it has of a batch of one size is its own."""
    keys = _keys(view.ticket, view.contexts, Choice((order,)))
    return replace(view, on={}, anew={order.id: order}, keys=keys)


def view_of(job: OpenJob, ticket: Ticket) -> JobView:
    """Look at a job as it is now; writes nothing. Raises what reading its list, fonts, face and record raises."""
    before = before_of(job.record)
    listed = read_list(ticket, before)
    before = as_listed(before, listed.orders.orders)
    contexts, _ = make_contexts(ticket, cuts=False)
    orders, refused, held = listed.orders.orders, listed.orders.refused, listed.orders.held
    shared = make_shared(contexts, orders, title=ticket.job.title, draft=True)
    chosen = choose(listed.orders, contexts, before, {part.plate for own in shared.values() for part in own.parts})
    every = tuple(sorted((*orders, *refused, *held), key=lambda order: order.row))
    return JobView(
        version=_version(ticket, orders),
        ticket=ticket,
        listed=listed,
        contexts=contexts,
        anew={order.id: order for order in chosen.anew},
        on={work.plate.order.id: work for work in chosen.going_on},
        keys=_keys(ticket, contexts, chosen),
        looks=looks_of([*orders, *refused], listed.findings),
        orders=every,
        retold={p: in_a_line(before.kept.begun[p].texts) for p in cut_otherwise(orders, before.kept)},
        otherwise=chosen.otherwise,
        cut_sizes=chosen.cut_sizes,
        fonts=tuple(ticket.folder / spec for spec in dict.fromkeys(spec for o in every for spec in o.every_font)),
        unproofed=(before.book or EMPTY_BOOK).on_no_proof(listed.looks),
    )
