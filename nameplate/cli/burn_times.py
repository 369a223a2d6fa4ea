"""The command of burning times: what a sheet is foreseen to take, and what a run of it took."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nameplate.cli.coupon import keep_measured
from nameplate.cli.source import FOLDER, SHOP, TICKET, Left, kept_ticket, record_path
from nameplate.errors import TicketError
from nameplate.system.reading import shown

if TYPE_CHECKING:
    from nameplate.ticket.schema import Ticket
    from nameplate.ticket.toml_edit import Values

#: A measured time may be so many times the one that was told, or that part of it; beyond, one is of another sheet.
MOST_OFF = 4.0

_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):([0-5]\d)")


@click.command()
@TICKET
@click.option("--sheet", required=True, metavar="NAME", help="Which sheet: lettering-01.")
@click.option("--measured", metavar="M:SS", help="How long it took: 12:40, or 1:02:05.")
@click.option(
    "-o", "--out", type=FOLDER, help="The out folder of the run; where make left the last one of TICKET if left out."
)
@SHOP
@click.pass_obj
def time(left: Left, ticket: Path, sheet: str, measured: str | None, out: Path | None, shop: Path | None) -> None:
    """Say how long a sheet of TICKET takes to burn; --measured keeps how long it took, and later times go by it."""
    from nameplate.record.clock import today

    job = kept_ticket(ticket, shop)
    name, plain = _plain_seconds(job, out or _last_out(ticket), sheet)
    told = plain * job.machine.time_factor
    click.echo(f"{name}: {clock(told)} foreseen")
    if measured is None:
        return
    left.ask = "the workshop file says what was kept"
    took = _seconds(measured)
    if not 1 / MOST_OFF <= took / plain <= MOST_OFF:
        raise TicketError(
            f"--measured {measured}: {clock(plain)} was reckoned for {name}, which is too far from it; expected the "
            "time of that sheet, and the cut_speed, score_speed and acceleration that it was burned with"
        )
    values: Values = {"time_factor": round(took / plain, 3), "time_date": today()}
    keep_measured(shop or job.job.shop, ticket, ("machine",), values)


def clock(seconds: float) -> str:
    """Give seconds as minutes, and hours where it takes one.

    >>> clock(760), clock(3725.4)
    ('12:40', '1:02:05')
    """
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02}" if minutes < 60 else f"{minutes // 60}:{minutes % 60:02}:{rest:02}"


def _seconds(text: str) -> int:
    found = _CLOCK.fullmatch(text.strip())
    took = sum(int(part or 0) * unit for part, unit in zip(found.groups(), (3600, 60, 1), strict=True)) if found else 0
    if not took:
        raise TicketError(f"--measured {text[:40]}: expected minutes and seconds, like 12:40, or 1:02:05 with hours")
    return took


def _last_out(ticket: Path) -> Path:
    """Give where make left the last run of a ticket: as its record has it, else beside it, or where the command runs.

    Raises TicketError where nothing is.
    """
    from nameplate.record.runs import last_out

    places = [place for place in (last_out(record_path(ticket)), ticket.parent / "out", Path("out")) if place]
    if there := next((place for place in places if place.is_dir()), None):
        return there
    looked = " or ".join(dict.fromkeys(shown(place) for place in places))
    raise TicketError(f"no run of {shown(ticket)} is in {looked}; make it, or say with -o where it is")


def _plain_seconds(job: Ticket, out: Path, sheet: str) -> tuple[str, float]:
    """Give which sheet is meant, and what is reckoned for it without an earlier measurement; raises TicketError and
    OutputError."""
    from nameplate.job.burning import file_seconds, speeds_of
    from nameplate.record.marks import sheet_called

    there = sorted(file.stem for file in (out / "cut").glob("*.svg"))
    name = sheet_called(sheet, there)
    if not name:
        raise TicketError(
            f"--sheet {sheet[:60]}: {shown(out)} has no such cut file; it has {', '.join(there) or 'none'}"
        )
    key = name.rpartition("-")[0]
    material = job.material.get(key)
    speeds = None if material is None else speeds_of(material, replace(job.machine, time_factor=1.0))
    if speeds is None:
        raise TicketError(f"[material.{key}] has no cut_speed, so no time can be told; add it in mm/s")
    return name, file_seconds(out / "cut" / f"{name}.svg", speeds, job.machine)
