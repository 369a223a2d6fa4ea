"""What most commands begin with: the job that SOURCE is, a ticket or a list with options, and what is printed of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nameplate.errors import OutputError, TicketError
from nameplate.system.process import lost_output
from nameplate.system.reading import shown

if TYPE_CHECKING:
    from nameplate.ticket.schema import Ticket


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


def job_options(command: Any) -> Any:  # noqa: ANN401 - decorates any click command
    """Give a command SOURCE and the options that say what a list of names leaves out, and who does the work."""
    options = [
        click.argument("source", type=click.Path(exists=True, dir_okay=False, path_type=Path)),
        click.option(
            "--face",
            metavar="SHAPE:WxH",
            help="Face when SOURCE is a list: ellipse:110x80, face.svg, face.svg@90mm.",
        ),
        click.option("--sheet", metavar="WxH", help="Sheet size when SOURCE is a list: 600x300, 24inx12in."),
        click.option("--font", metavar="NAME|FILE", help="Font when SOURCE is a list (see: nameplate fonts)."),
        click.option(
            "--shop",
            type=click.Path(exists=True, dir_okay=False, path_type=Path),
            metavar="FILE",
            help="Workshop file with materials and stock; goes before the ticket's and your own.",
        ),
        click.option("--workers", type=click.IntRange(1, 64), help="Worker processes; one a core if left out."),
        click.option("--cluster", metavar="tcp://HOST:PORT", help="Work on the machines of this Dask scheduler."),
        click.option(
            "--name-limit",
            type=click.IntRange(5, 3600),
            metavar="SECONDS",
            help="Seconds a name may take before it is given up; 20 if left out.",
        ),
    ]
    for option in reversed(options):
        command = option(command)
    return command


def must_be_printed() -> None:
    """Raise OutputError when the answer of a command, which is all it gives, did not get onto a full disk."""
    if lost := lost_output():
        raise OutputError(f"the answer could not be written to the standard output: {lost}")


def ticket_from(source: Path, face: str | None, sheet: str | None, font: str | None, shop: Path | None) -> Ticket:
    """Read the ticket, or make one from a list of names and the options."""
    from nameplate.ticket.quick import quick_ticket
    from nameplate.ticket.reader import read_ticket
    from nameplate.ticket.workshop import own_shop, read_workshop

    own = own_shop()
    if source.suffix.lower() == ".toml":
        given = [f"--{n}" for n, v in (("face", face), ("sheet", sheet), ("font", font)) if v is not None]
        if given:
            raise TicketError(f"{source} is a job ticket, so {', '.join(given)} belong into it")
        return read_ticket(source, shop=shop, own=own)
    workshop = read_workshop(shop or own)
    has_sheets = any(stock.material == "lettering" for stock in workshop.stock)
    missing = [
        n for n, v in (("--face ellipse:110x80", face), ("--sheet 600x300", sheet or has_sheets or None)) if v is None
    ]
    if face is None or missing:
        raise TicketError(f"{source} is a list of names, not a job ticket; add {' and '.join(missing)}")
    return quick_ticket(roster=source, face=face, sheet=sheet, font=font, workshop=workshop)


def kept_ticket(file: Path, shop: Path | None) -> Ticket:
    """Read a ticket whose record is asked for; raises TicketError for a list, which has none."""
    if file.suffix.lower() != ".toml":
        raise TicketError(f"{shown(file)} is no job ticket (.toml), and only a job with a ticket has a record")
    return ticket_from(file, None, None, None, shop)
