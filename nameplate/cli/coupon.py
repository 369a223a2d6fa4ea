"""The commands of coupons: cut one before a batch, and keep the kerf that was measured on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nameplate.cli.source import FILE, PLACE, SHOP, Left, kept_ticket, together
from nameplate.errors import TicketError
from nameplate.system.reading import shown

if TYPE_CHECKING:
    from nameplate.cut.coupons import CouponKind
    from nameplate.cut.measured_kerf import MeasuredKerf
    from nameplate.geometry.beam import Kerf
    from nameplate.ticket.schema import Ticket
    from nameplate.ticket.toml_edit import Values
    from nameplate.ticket.workshop_schema import MaterialKeys

#: Most readings of one length; more are a slip.
MOST_READINGS = 20


@click.group()
def coupon() -> None:
    """Cut a coupon before a batch: what the beam removes, the thinnest strip, the play of a jig."""


_options = together(
    click.argument("ticket", required=False, type=FILE, metavar="[TICKET]"),
    click.option("-o", "--out", type=PLACE, default=Path("coupon"), show_default=True),
    SHOP,
)

_MATERIAL = click.option(
    "--material",
    "key",
    metavar="KEY",
    default="",
    help="Which [material.KEY]; if left out, what TICKET's names are cut from, without TICKET lettering.",
)


@coupon.command()
@_options
@_MATERIAL
@click.option(
    "--measured", multiple=True, metavar="MM", help="Length of the row of squares as measured; once for each reading."
)
@click.option(
    "--measured-y", multiple=True, metavar="MM", help="The same with every square turned by a quarter: along y."
)
@click.option("--gap", multiple=True, metavar="MM", help="Room that the squares leave in the window, as measured.")
@click.option("--batch", metavar="TEXT", default="", help="Which batch of the material it was measured on.")
@click.pass_obj
def kerf(
    left: Left,
    ticket: Path | None,
    out: Path,
    shop: Path | None,
    key: str,
    measured: tuple[str, ...],
    measured_y: tuple[str, ...],
    gap: tuple[str, ...],
    batch: str,
) -> None:
    """Make the kerf coupon; with --measured or --gap keep the kerf that it shows in the workshop file instead."""
    if not measured and not gap:
        if batch or measured_y:
            raise click.UsageError(f"--{'batch' if batch else 'measured-y'} goes with --measured or --gap")
        _leave(left, "kerf", ticket, out, shop, key)
        return
    left.ask = "the workshop file says what was kept"
    found, off = _worked_out(measured, gap, measured_y)
    told = f"{found.outside.x:.3f} mm" + ("" if found.is_round else f" along x, {found.outside.y:.3f} mm along y")
    click.echo(f"kerf {told}, off by at most {off:.3f} mm (some 95 %)")
    _keep(found, off, ticket, shop, key, batch, by_axis=bool(measured_y))


@coupon.command()
@_options
@_MATERIAL
@click.pass_obj
def web(left: Left, ticket: Path | None, out: Path, shop: Path | None, key: str) -> None:
    """Make the coupon of strips of rising width: the thinnest that survives says min_web."""
    _leave(left, "web", ticket, out, shop, key)


@coupon.command()
@_options
@_MATERIAL
@click.pass_obj
def fit(left: Left, ticket: Path | None, out: Path, shop: Path | None, key: str) -> None:
    """Make the fit ladder: pockets in the template's sheet, a plug in the lettering's; says the jig's clearance."""
    _leave(left, "fit", ticket, out, shop, key)


def _leave(left: Left, kind: CouponKind, ticket: Path | None, out: Path, shop: Path | None, key: str) -> None:
    from nameplate.cli import screen
    from nameplate.job.coupons import coupon_sheets, leave_coupon
    from nameplate.ticket.cautions import material_findings
    from nameplate.ticket.schema import Ticket

    job = _job(ticket, shop)
    key = key or _own_material(kind, job, ticket)
    materials = _materials(job, key)
    used = {sheet.material: materials[sheet.material] for sheet in coupon_sheets(kind, materials, key).values()}
    screen.show_findings(material_findings(Ticket(material=used)), every=True)
    files = leave_coupon(kind, out, job, materials, key, left.placed)
    left.say()
    click.echo(f"{', '.join(files)} written to {shown(out)}")


def _job(ticket: Path | None, shop: Path | None) -> Ticket:
    """Read the ticket; without one give what the workshop file says, and defaults."""
    from nameplate.ticket.schema import Ticket
    from nameplate.ticket.workshop import own_shop, read_workshop
    from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS

    if ticket is not None:
        return kept_ticket(ticket, shop)
    workshop = read_workshop(shop or own_shop())
    material = {**DEFAULT_MATERIALS, **workshop.material}
    return Ticket(material=material, colours=workshop.colours, machine=workshop.machine)


def _own_material(kind: CouponKind, job: Ticket, ticket: Path | None) -> str:
    """Give the material that the job's names are cut from; where that are several, the first, and say so.

    Raises TicketError for a fit of a job whose names go by no jig.
    """
    from nameplate.findings import enumerated
    from nameplate.job.coupons import coupon_materials

    if ticket is None:
        return "lettering"
    keys = coupon_materials(kind, job)
    if not keys:
        raise TicketError(
            f"{shown(ticket)}: its names are not glued on by a jig that is cut, so there is no clearance to find; "
            "say --material, like --material lettering, where some in its list are"
        )
    if len(keys) > 1:
        others = f"--material {enumerated(keys[1:], 'or')} is for the other{'s' * (len(keys) > 2)}"
        told = f"the names of {shown(ticket)} are cut from {enumerated(keys)}, and this is for {keys[0]}; {others}"
        click.echo(f"note: {told}", err=True)
    return keys[0]


def _materials(job: Ticket, key: str) -> Mapping[str, MaterialKeys]:
    """Give all materials by their keys; raises TicketError where this one is not among them."""
    from nameplate.ticket.words import nearest, show
    from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS

    known = {**DEFAULT_MATERIALS, **job.material}
    if key not in known:
        raise TicketError(f"--material {show(key)}: there is no [material.{key}]; {nearest(key, known)}")
    return known


def _worked_out(rows: Sequence[str], gaps: Sequence[str], rows_y: Sequence[str]) -> tuple[Kerf, float]:
    """Work the kerf, and how far it may be off (mm), out of readings; raises TicketError with all that is wrong."""
    from nameplate.cut.measured_kerf import joined_kerf, kerf_by_axis, kerf_of_gap, kerf_of_row
    from nameplate.ticket.quick import read_option
    from nameplate.ticket.values import read_length

    def length(text: str) -> float:
        return read_length(text, {"above": 0}, Path())

    problems: list[str] = []
    ways = (("--measured", rows, kerf_of_row), ("--gap", gaps, kerf_of_gap), ("--measured-y", rows_y, kerf_of_row))
    found: dict[str, MeasuredKerf] = {}
    for option, texts, formula in ways:
        if len(texts) > MOST_READINGS:
            problems.append(f"{option}: {len(texts)} readings; expected at most {MOST_READINGS}")
            continue
        every = [read_option(option, text, length, problems) for text in texts]
        readings = [reading for reading in every if reading is not None]
        if readings and len(readings) == len(texts):
            try:
                found[option] = formula(readings)
            except ValueError as error:
                problems.append(f"{option}: {error}")
    if problems:
        raise TicketError(problems)
    along_y = found.pop("--measured-y", None)
    try:
        along_x = joined_kerf(list(found.values()))
    except ValueError as error:
        raise TicketError(f"--measured and --gap: {error}") from error
    try:
        return kerf_by_axis(along_x, along_y)
    except ValueError as error:
        raise TicketError(f"--measured-y: {error}") from error


def _keep(
    found: Kerf, off: float, ticket: Path | None, shop: Path | None, key: str, batch: str, *, by_axis: bool
) -> None:
    """Write a kerf into the workshop file that the job goes by; `by_axis`: it was measured along both axes."""
    from nameplate.record.clock import today
    from nameplate.ticket.keys import read_value
    from nameplate.ticket.words import show
    from nameplate.ticket.workshop import own_shop

    job = _job(ticket, shop)
    key = key or _own_material("kerf", job, ticket)
    _materials(job, key)
    try:
        batch = read_value(batch, {"kind": "title"}, Path())
    except ValueError as error:
        raise TicketError(f"--batch {show(batch)}: {error}") from error
    off = max(round(off, 4), 0.0001)
    values: Values = {"kerf": found.keys, "kerf_off": off, "kerf_date": today(), "kerf_batch": batch}
    file = shop or job.job.shop or own_shop()
    lost = _told_apart(file, key, by_axis=by_axis)
    keep_measured(file, ticket, ("material", key), values)
    if lost:
        click.echo(f"note: {lost}", err=True)


def _told_apart(file: Path | None, key: str, *, by_axis: bool) -> str:
    """Say what a workshop file tells apart of a kerf and new readings do not; empty where nothing is lost."""
    from nameplate.ticket.workshop import read_workshop

    material = read_workshop(file).material.get(key)
    if material is None or (material.kerf.is_even and (by_axis or material.kerf.is_round)):
        return ""
    again = (
        "measure with --measured-y, too, to keep a width for each axis"
        if material.kerf.is_even
        else "write it by hand where inside and outside cuts still differ"
    )
    return f"the kerf there was {material.kerf.told()}, which these readings do not tell apart; {again}"


def keep_measured(shop: Path | None, ticket: Path | None, table: tuple[str, ...], values: Values) -> None:
    """Write values into a table of the workshop file, else of the user's own; say where the ticket goes before it.

    The first of the values is the one that counts. Raises TicketError where there is no workshop file.
    """
    from nameplate.ticket.tables import document_of, keys_in, read_file
    from nameplate.ticket.toml_edit import write_values
    from nameplate.ticket.workshop import own_shop, read_workshop

    file = shop or own_shop()
    if file is None:
        raise TicketError("there is no workshop file to keep it in; make one with nameplate new --shop, or say --shop")
    read_workshop(file)  # it must be one that can be read, before it is changed
    write_values(file, table, values)
    heading = f"[{'.'.join(table)}]"
    click.echo(f"kept below {heading} in {shown(file)}")
    first = next(iter(values))
    if ticket is not None and f"{'.'.join(table)}.{first}" in keys_in(document_of(read_file(ticket), shown(ticket))[0]):
        said = f"{shown(ticket)} has its own {first} below {heading}, which goes before it; take it out there"
        click.echo(f"note: {said}", err=True)
