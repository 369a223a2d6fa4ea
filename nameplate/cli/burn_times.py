"""The command of burning times: what a sheet is foreseen to take, and what a run of it took."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nameplate.cli.coupon import keep_measured
from nameplate.cli.source import FOLDER, SHOP, TICKET, Left, kept_ticket
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
@click.option("-o", "--out", type=FOLDER, default=Path("out"), show_default=True, help="The out folder of the run.")
@SHOP
@click.pass_obj
def time(left: Left, ticket: Path, sheet: str, measured: str | None, out: Path, shop: Path | None) -> None:
    """Say how long a sheet of TICKET takes to burn; --measured keeps how long it took, and later times go by it."""
    from nameplate.record.clock import today

    job = kept_ticket(ticket, shop)
    plain = _plain_seconds(job, out, sheet)
    told = plain * job.machine.time_factor
    click.echo(f"{sheet}: {clock(told)} foreseen")
    if measured is None:
        return
    left.ask = "the workshop file says what was kept"
    took = _seconds(measured)
    if not 1 / MOST_OFF <= took / plain <= MOST_OFF:
        raise TicketError(
            f"--measured {measured}: {clock(plain)} was reckoned for {sheet}, which is too far from it; expected the "
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


def _plain_seconds(job: Ticket, out: Path, sheet: str) -> float:
    """Give what is reckoned for a sheet without an earlier measurement; raises TicketError and OutputError."""
    from nameplate.job.burning import file_seconds, speeds_of

    name = sheet.removesuffix(".svg")
    path = out / "cut" / f"{name}.svg"
    there = sorted(file.stem for file in (out / "cut").glob("*.svg"))
    if name not in there:
        raise TicketError(
            f"--sheet {name[:60]}: {shown(out)} has no such cut file; it has {', '.join(there) or 'none'}"
        )
    key = name.rpartition("-")[0]
    material = job.material.get(key)
    speeds = None if material is None else speeds_of(material, replace(job.machine, time_factor=1.0))
    if speeds is None:
        raise TicketError(f"[material.{key}] has no cut_speed, so no time can be told; add it in mm/s")
    return file_seconds(path, speeds, job.machine)
