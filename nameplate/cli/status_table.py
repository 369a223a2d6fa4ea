"""How a status is printed: the plates by design and state, what is due, what is on the shelf, what it cost."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click
from rich.table import Table

from nameplate.cli.screen import console
from nameplate.findings import counted, named
from nameplate.record.plate_lists import in_ranges
from nameplate.system.reading import shown
from nameplate.system.writing import json_text

if TYPE_CHECKING:
    from nameplate.job.status import Due, Status


def show_status(status: Status, record: Path, *, as_json: bool) -> None:
    """Print where a batch stands, as tables or as JSON."""
    from nameplate.job.status import status_record
    from nameplate.paperwork.order import rest_words

    if as_json:
        click.echo(json_text(status_record(status)), nl=False)
        return
    click.echo(f"{status.title}: {counted(len(status.plates), 'plate')}")
    if status.approvers:
        done = sum(bool(plate.approved) for plate in status.plates)
        click.echo(f"approved: {done} of {len(status.plates)}, by {', '.join(status.approvers)}")
    console().print(_by_design(status))
    for kind, states in status.pieces.items():
        click.echo(f"{kind}: {', '.join(f'{count} {state}' for state, count in states.items())}")
    if not status.is_kept:
        click.echo(
            f"there is no record of this job yet ({shown(record)}): nameplate proof, approve or make begins one; a "
            "lost one is made anew by nameplate record rebuild"
        )
    due = list(_due(status))
    click.echo("due:" if due else "nothing is due")
    for line in due:
        click.echo(f"  {line}")
    for rest in status.shelf:
        click.echo(f"on the shelf: {rest.name}, {rest_words(rest)}")
    if status.spent or status.planned:
        click.echo(f"cost so far {status.spent:.2f}; of the sheets to cut {status.planned:.2f}")


def _by_design(status: Status) -> Table:
    states = status.states()
    table = Table("design", *states, box=None)
    designs = status.designs if len(status.designs) > 1 else ()
    for design in designs:
        own = status.states(design)
        table.add_row(design or "(none)", *(str(own.get(state, "")) for state in states))
    table.add_row("all", *map(str, states.values()), style="bold")
    return table


def _due(status: Status) -> Iterator[str]:
    from nameplate.job.stale_sheets import in_sentence
    from nameplate.job.status import recut_in_words

    due = status.due
    sheets = [f"{sheet.name} ({counted(sheet.pieces, 'piece')})" for sheet in due.cut]
    yield from _of_plates(due, "mend", "approve", "make", "again")
    for sheet, plates in due.stale.items():
        yield f"make     {in_sentence(sheet, plates)}"
    if sheets:
        yield f"cut      {counted(len(sheets), 'sheet')}: {named(sheets)}; then nameplate mark cut"
    yield from _of_plates(due, "recut", "fit", "hang", recut=f": {recut_in_words(sum(due.recut.values()))}")


#: What is said behind the plates of which something is due.
_TOLD = {
    "mend": "; nameplate proof says why they cannot be made",
    "approve": "; nameplate proof shows them, nameplate approve says who did",
    "make": "; nameplate make lays them on sheets",
    "again": ", cut with another text than the list has; nameplate make --again ID",
    "fit": "; then nameplate mark fitted",
    "hang": "; then nameplate mark hung",
}


def _of_plates(due: Due, *whats: str, **told: str) -> Iterator[str]:
    for what in whats:
        if ids := getattr(due, what):
            yield f"{what:9}{counted(len(ids), 'plate')}: {in_ranges(ids)}{(_TOLD | told)[what]}"
