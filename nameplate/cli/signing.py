"""The commands of the sign-off: the proof, who approved it or corrected it, and where the batch stands."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from nameplate.cli.source import (
    FILE,
    NOTES,
    PLACE,
    SHOP,
    TICKET,
    JobCall,
    Left,
    job_options,
    kept_ticket,
    must_be_printed,
)
from nameplate.errors import EXIT_OK, EXIT_SOME_REFUSED


@click.command()
@job_options
@click.option("-o", "--out", type=PLACE, help="[default: proof; of some plates, proof-part]")
@NOTES
@click.option("--only", metavar="PLATES", default="", help="Show only these plates: 049-055.")
@click.option("--unsigned", is_flag=True, help="Show only plates that nobody has approved as they are now.")
@click.pass_obj
def proof(left: Left, job: JobCall, out: Path | None, *, every_note: bool, only: str, unsigned: bool) -> None:
    """Make only the proof of SOURCE, for the customer: every plate as it will be, nothing nested and nothing to cut."""
    from nameplate.cli import screen
    from nameplate.job.pools import make_pool
    from nameplate.job.proofs import make_proof

    out = out or Path("proof-part" if only or unsigned else "proof")
    ticket = job.ticket()
    with make_pool(*job.hands, warn=screen.warn) as pool, screen.progress() as progress:
        batch, shown = make_proof(
            ticket,
            out,
            record=job.record,
            say=screen.warn,
            progress=progress,
            workers=pool,
            placed=left.placed,
            only=[only] if only else [],
            unsigned=unsigned,
        )
    left.say()
    rows = {plate.order.row for plate in shown}
    told = [
        f
        for f in batch.findings
        if f.row in rows or (f.row is None and f.severity == "error") or f.code == "would-read"
    ]
    screen.show_findings(told, every=every_note, where="with --notes")
    made = [plate for plate in shown if not plate.order.hold]
    lettered, names = sum(plate.lettering is not None for plate in made), len(made)
    more = "" if len(shown) == len(batch.plates) else f"; the list has {len(batch.plates)}"
    click.echo(f"{out / 'proof.html'}: {lettered} of {names} names{more}")
    sys.exit(EXIT_OK if lettered == names else EXIT_SOME_REFUSED)


@click.command()
@TICKET
@click.argument("plates", nargs=-1)
@click.option("--by", metavar="WHO", help="Who approves them, or withdraws that.")
@click.option("--all", "every", is_flag=True, help="Every plate that can be made.")
@click.option("--except", "but", metavar="PLATES", default="", help="With --all: every plate but these.")
@click.option(
    "--corrections",
    type=FILE,
    metavar="FILE",
    help="A table of ids and new texts (columns id, text and, if need be, line2): say what it changes in the list.",
)
@click.option("--withdraw", is_flag=True, help="Take back what WHO approved of PLATES; approvals of others stay.")
@click.option("--apply", "write", is_flag=True, help="Write the corrections into the list.")
@SHOP
@click.pass_obj
def approve(
    left: Left,
    ticket: Path,
    plates: tuple[str, ...],
    by: str | None,
    but: str,
    corrections: Path | None,
    shop: Path | None,
    *,
    every: bool,
    write: bool,
    withdraw: bool,
) -> None:
    """Keep who approved which PLATES of TICKET (ids as on the proof: 007, 003-012) exactly as they are ordered now.

    With --corrections the list is corrected first, and nothing is approved unless they are written.
    """
    from nameplate.cli import screen
    from nameplate.job.approving import approve_plates, correct_list, withdraw_plates
    from nameplate.record.store import record_of

    slips = {
        "--all means every plate: leave out the others or --all, or write --except with commas (006,011)": (
            plates and every
        ),
        "which plates? Write their ids as on the proof, or --all": not (plates or every or corrections),
        "who approves them? Write --by WHO": (plates or every) and not (by and by.strip()),
        "--apply writes corrections; say which with --corrections FILE": write and not corrections,
        "--withdraw takes approvals back, --corrections changes the list: one after the other": withdraw
        and corrections,
        "--except leaves plates out of --all; leave it out, or write --all": but and (withdraw or not every),
    }
    for told, is_so in slips.items():
        if is_so:
            raise click.UsageError(told)
    left.ask = "nameplate status tells what was kept"
    job, record = kept_ticket(ticket, shop), record_of(ticket)
    if corrections is not None:
        corrected = correct_list(job, record, corrections, write=write, say=click.echo)
        if not corrected:
            return
    if plates or every:
        if withdraw:
            said = withdraw_plates(job, record, plates, by=by or "", say=screen.warn)
        else:
            said = approve_plates(job, record, plates, by=by or "", say=screen.warn, but=[but] if but else [])
        for sentence in said:
            click.echo(sentence)


@click.command()
@TICKET
@SHOP
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
def status(ticket: Path, shop: Path | None, *, as_json: bool) -> None:
    """Tell where the batch of TICKET stands: what is to be approved, made, cut, fitted and hung."""
    from nameplate.cli.status_table import show_status
    from nameplate.job.status import status_of
    from nameplate.record.store import record_of

    record = record_of(ticket)
    show_status(status_of(kept_ticket(ticket, shop), record), record, as_json=as_json)
    must_be_printed()
