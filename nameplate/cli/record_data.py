"""`nameplate record`: lets the data of a job's record out, and makes a lost record anew from an out folder."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nameplate.cli.source import FILE, FOLDER, TICKET, record_path, record_there
from nameplate.errors import RecordError
from nameplate.findings import counted
from nameplate.record.plate_lists import in_ranges

if TYPE_CHECKING:
    from nameplate.record.rebuild import Rebuilt


@click.group()
def record() -> None:
    """Let the data of a job's record out, or make a lost record anew."""


@record.command()
@TICKET
@click.option("--csv", "as_csv", is_flag=True, help="Only the pieces, as a table.")
@click.option(
    "-o", "--out", "file", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE", help="Into a file instead."
)
def export(ticket: Path, *, as_csv: bool, file: Path | None) -> None:
    """Print what the record of TICKET knows as JSON."""
    from nameplate.record.export import pieces_csv, record_json
    from nameplate.record.runs import settled_reading
    from nameplate.system.writing import write_text_atomic

    with settled_reading(record_there(ticket)) as store:
        text = "" if store is None else pieces_csv(store) if as_csv else record_json(store)
    if file is not None:
        write_text_atomic(file, text)
    else:
        click.echo(text, nl=False)


@record.command()
@TICKET
@click.argument("out", required=False, type=FOLDER)
@click.option(
    "--from",
    "export",
    type=FILE,
    metavar="FILE",
    help="What record export printed (JSON), in place of OUT: all of it is put back.",
)
@click.option("--by", metavar="WHO", help="Who does it; your login name if left out.")
def rebuild(ticket: Path, out: Path | None, export: Path | None, by: str | None) -> None:
    """Make a lost record of TICKET anew from the out folder OUT, as far as that tells, or wholly from an export."""
    from nameplate.cli.screen import warn
    from nameplate.record.clock import user
    from nameplate.record.export import put_back
    from nameplate.record.rebuild import rebuild as rebuilt
    from nameplate.record.runs import settle
    from nameplate.record.store import reading, writing

    if (out is None) == (export is None):
        raise click.UsageError("name the out folder, or an export with --from: one of the two")
    path = record_path(ticket)
    with reading(path) as store:
        there = store is not None and any(store.rows(f"SELECT 1 FROM {table}") for table in ("runs", "plates"))
    if there:
        raise RecordError(f"there is a record, {path}; move it elsewhere first, where it is to be made anew")
    with _new(path), writing(path, say=warn) as store:
        if export is not None:
            put_back(store, export)
            settle(store)
            click.echo(f"{path}: all that {export} has")
        elif out is not None:
            for line in _said(rebuilt(store, out, who=user(by)), path, out):
                click.echo(line)


@contextmanager
def _new(path: Path) -> Iterator[None]:
    """Leave no empty record where there was none, and none could be made."""
    fresh = not path.exists()
    try:
        yield
    except BaseException:
        if fresh:
            path.unlink(missing_ok=True)
        raise


def _said(told: Rebuilt, path: Path, out: Path) -> Iterator[str]:
    """Say what of a record was made anew from an out folder, and what nobody can tell from that."""
    sheets = counted(told.cut, "sheet")
    yield f"{path}: {told.pieces} pieces, {sheets} of them cut, and {told.approvals} approvals, as {out} has them"
    yield (
        "not in the folder: what was marked, approved or withdrawn since its run; who made the marks; how plates were "
        "to look before"
    )
    if told.unsigned:
        yield f"not in the folder: the approvals of {in_ranges(told.unsigned)}; approve them again"
    if told.begun:
        keys = f"by which keys {in_ranges(told.begun)} were made"
        yield f"not in the folder: {keys}; of these only another text will be told"
    yield "mark and approve what was done since"
