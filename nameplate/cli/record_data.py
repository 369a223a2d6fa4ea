"""`nameplate record`: lets the data of a job's record out, and makes a lost record anew from an out folder."""

from __future__ import annotations

from pathlib import Path

import click

from nameplate.cli.marking import record_path, record_there
from nameplate.errors import RecordError


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


@record.command()
@click.argument("ticket", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("out", type=click.Path(exists=True, file_okay=False, path_type=Path))
@click.option("--by", metavar="WHO", help="Who does it; your login name if left out.")
def rebuild(ticket: Path, out: Path, by: str | None) -> None:
    """Make a lost record of TICKET anew from the out folder OUT, as far as that tells."""
    from nameplate.cli.screen import warn
    from nameplate.record.clock import user
    from nameplate.record.rebuild import rebuild as rebuilt
    from nameplate.record.store import reading, writing

    path = record_path(ticket)
    with reading(path) as store:
        there = store is not None and store.rows("SELECT 1 FROM runs")
    if there:
        raise RecordError(f"there is a record, {path}; move it elsewhere first, where it is to be made anew")
    with writing(path, say=warn) as store:
        count = rebuilt(store, out, who=user(by))
    click.echo(f"{path}: {count} pieces, as {out} has them; mark what was done since the run that left it")
