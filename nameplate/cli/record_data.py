"""`nameplate record`: lets the data of a job's record out, and makes a lost record anew from an out folder."""

from __future__ import annotations

from pathlib import Path

import click

from nameplate.cli.marking import record_there


@click.group()
def record() -> None:
    """Let the data of a job's record out, or make a lost record anew."""


@record.command()
@click.argument("ticket", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--csv", "as_csv", is_flag=True, help="Only the pieces, as a table.")
def export(ticket: Path, *, as_csv: bool) -> None:
    """Print what the record of TICKET knows as JSON."""
    from nameplate.record.export import pieces_csv, record_json
    from nameplate.record.runs import settle_record
    from nameplate.record.store import reading

    path = record_there(ticket)
    settle_record(path)
    with reading(path) as store:
        if store is not None:
            click.echo(pieces_csv(store) if as_csv else record_json(store), nl=False)
