"""What most commands begin with: the job that SOURCE is, a ticket or a list with options, and what is printed of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from functools import reduce, wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nameplate.errors import OutputError, RecordError, TicketError
from nameplate.system.process import lost_output
from nameplate.system.reading import shown

if TYPE_CHECKING:
    from nameplate.job.kept_plates import Wish
    from nameplate.ticket.schema import Ticket

#: The types of arguments and options: a file that is there, a folder that is there, any place.
FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
FOLDER = click.Path(exists=True, file_okay=False, path_type=Path)
PLACE = click.Path(path_type=Path)


@dataclass(slots=True)
class Left:
    """Where this command's finished files are, as soon as they are there; by it messages stay true.

    Of a command that writes no folder, `ask` says how to see what it did.
    """

    where: Path | None = None
    said: tuple[str, ...] = ()
    ask: str = ""

    def placed(self, where: Path, said: Sequence[str]) -> None:
        """Take down that the finished files are there, and what to say of earlier ones."""
        self.where, self.said = where, tuple(said)

    def say(self) -> None:
        """Print what is to be said of earlier ones."""
        for sentence in self.said:
            click.echo(f"warning: {sentence}", err=True)

    def tell(self) -> str:
        """Say what became of the out folder when a command ends before its time."""
        if self.ask:
            return self.ask
        return "nothing was written" if self.where is None else f"the finished files are in {shown(self.where)}"


@dataclass(frozen=True, slots=True)
class JobCall:
    """What a command was called with of a job: SOURCE, what a list of names leaves out, and who does the work."""

    source: Path
    face: str | None = None
    sheet: str | None = None
    font: str | None = None
    shop: Path | None = None
    workers: int | None = None
    cluster: str | None = None
    name_limit: int | None = None

    @property
    def record(self) -> Path | None:
        """Where the record of the job lies: beside its ticket. A list of names by itself has none."""
        return record_path(self.source) if _is_ticket(self.source) else None

    @property
    def hands(self) -> tuple[int | None, str | None, int | None]:
        """Who does the work, as the makers of pools take it."""
        return self.workers, self.cluster, self.name_limit

    def ticket(self) -> Ticket:
        """Read the ticket, or make one from a list of names and the options."""
        from nameplate.ticket.quick import quick_ticket
        from nameplate.ticket.reader import read_ticket
        from nameplate.ticket.workshop import own_shop, read_workshop

        own, options = own_shop(), {"face": self.face, "sheet": self.sheet, "font": self.font}
        if _is_ticket(self.source):
            if given := [f"--{name}" for name, value in options.items() if value is not None]:
                raise TicketError(f"{self.source} is a job ticket, so {', '.join(given)} belong into it")
            try:
                return read_ticket(self.source, shop=self.shop, own=own)
            except TicketError as error:
                from nameplate.face.misnamed import misnamed_roles

                raise TicketError([*error.problems, *misnamed_roles(self.source)]) from None
        workshop = read_workshop(self.shop or own)
        has_sheets = any(stock.material == "lettering" for stock in workshop.stock)
        missing = ["--face ellipse:110x80"] * (self.face is None)
        missing += ["--sheet 600x300"] * (self.sheet is None and not has_sheets)
        if self.face is None or missing:
            raise TicketError(f"{self.source} is a list of names, not a job ticket; add {' and '.join(missing)}")
        return quick_ticket(roster=self.source, face=self.face, sheet=self.sheet, font=self.font, workshop=workshop)


def together(*options: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """Make one decorator of several arguments and options of click, which a command then has in their order."""
    return lambda command: reduce(lambda made, option: option(made), reversed(options), command)


def _shop(what: str) -> Callable[[Any], Any]:
    told = f"Workshop file with {what}; goes before the ticket's and your own."
    return click.option("--shop", type=FILE, metavar="FILE", help=told)


TICKET = click.argument("ticket", type=FILE)

SHOP = _shop("materials")

NOTES = click.option(
    "--notes", "every_note", is_flag=True, help="Print every warning and note, not only the worst of each kind."
)

_OF_A_JOB = together(
    click.argument("source", type=FILE),
    click.option(
        "--face", metavar="SHAPE:WxH", help="Face when SOURCE is a list: ellipse:110x80, face.svg, face.svg@90mm."
    ),
    click.option("--sheet", metavar="WxH", help="Sheet size when SOURCE is a list: 600x300, 24inx12in."),
    click.option("--font", metavar="NAME|FILE", help="Font when SOURCE is a list (see: nameplate fonts)."),
    _shop("materials and stock"),
    click.option("--workers", type=click.IntRange(1, 64), help="Worker processes; one a core if left out."),
    click.option("--cluster", metavar="tcp://HOST:PORT", help="Work on the machines of this Dask scheduler."),
    click.option(
        "--name-limit",
        type=click.IntRange(5, 3600),
        metavar="SECONDS",
        help="Seconds a name may take before it is given up; 20 if left out.",
    ),
)


def job_options(command: Any) -> Any:  # noqa: ANN401 - decorates any click command
    """Give a command SOURCE and the options of a job, all of them in its argument `job`."""

    @wraps(command)
    def gathered(**given: Any) -> Any:  # noqa: ANN401 - whatever the command has
        own = {spec.name: given.pop(spec.name) for spec in fields(JobCall)}
        return command(job=JobCall(**own), **given)

    return _OF_A_JOB(gathered)


def must_be_printed() -> None:
    """Raise OutputError when the answer of a command, which is all it gives, did not get onto a full disk."""
    if lost := lost_output():
        raise OutputError(f"the answer could not be written to the standard output: {lost}")


def kept_ticket(file: Path, shop: Path | None) -> Ticket:
    """Read a ticket whose record is asked for; raises TicketError for a list, which has none."""
    if not _is_ticket(file):
        raise TicketError(f"{shown(file)} is no job ticket (.toml), and only a job with a ticket has a record")
    return JobCall(file, shop=shop).ticket()


def record_path(ticket: Path) -> Path:
    """Give where the record of a ticket lies; raises RecordError where there can be none."""
    from nameplate.record.store import record_of

    if not _is_ticket(ticket):
        raise RecordError(f"{ticket} is no job ticket; a list of names by itself has no record, so make a ticket of it")
    return record_of(ticket)


def record_there(ticket: Path) -> Path:
    """Give the record of a ticket; raises RecordError where none is there yet."""
    record = record_path(ticket)
    if not record.exists():
        raise RecordError(f"{ticket} was not made yet: there is no {record.name} beside it; run nameplate make first")
    return record


def wish_of(again: str, only: str) -> Wish:
    """Give what a run is restricted to, from the plates that its options list."""
    from nameplate.job.kept_plates import Wish
    from nameplate.record.plate_lists import plates_in

    return Wish(frozenset(plates_in(again)), frozenset(plates_in(only)) if only.strip() else None)


def _is_ticket(source: Path) -> bool:
    return source.suffix.lower() == ".toml"
