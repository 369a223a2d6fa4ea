"""What the command line shows: progress and messages on stderr, results on stdout."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import compress
from pathlib import Path
from typing import TYPE_CHECKING

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
from rich.progress import Progress as Bars
from rich.table import Table

from nameplate.findings import Finding, Kind, kinds_of

if TYPE_CHECKING:
    from nameplate.nest.estimate import Estimate
    from nameplate.pipeline import Batch, Progress

#: Columns when the output is not a terminal: wide enough that no table wraps.
PIPE_COLUMNS = 160

#: Rows named for the notes of one kind: as many as a line holds.
ROWS = 12

_STYLES = {"error": "red", "warning": "yellow", "note": "cyan"}


class _Stages:
    """Shows each stage as a bar of its own."""

    def __init__(self, bars: Bars) -> None:
        self._bars = bars
        self._task = None if bars.disable else bars.add_task("reading", total=None)

    def stage(self, name: str, steps: int) -> None:
        if self._task is not None:
            self._bars.reset(self._task, total=max(steps, 1), description=name)

    def step(self) -> None:
        if self._task is not None:
            self._bars.advance(self._task)

    def say(self, text: str) -> None:
        if self._task is not None:
            self._bars.update(self._task, description=text)


@contextmanager
def progress() -> Iterator[Progress]:
    """Show progress on a terminal; nothing in a pipe."""
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Bars(*columns, console=Console(stderr=True), transient=True, disable=not sys.stderr.isatty()) as bars:
        yield _Stages(bars)


def show_findings(findings: Sequence[Finding], *, every: bool = False, where: str = "") -> None:
    """Print findings on stderr: errors and warnings in full, of each kind of note on rows the worst and how many more.

    `every` prints all notes too; `where` says where those left out can be read.
    """
    in_kinds = [not every and f.severity == "note" and f.row is not None for f in findings]
    for finding, hidden in zip(findings, in_kinds, strict=True):
        if not hidden:
            _show_finding(finding)
    kinds = kinds_of(compress(findings, in_kinds))
    for kind in kinds:
        _show_finding(kind.worst)
        if len(kind.findings) > 1:
            click.echo(f"      and {_more_of(kind)}", err=True)
    if where and any(len(kind.findings) > 1 for kind in kinds):
        click.echo(f"every note in full: {where}", err=True)


def warn(text: str) -> None:
    """Print a warning about the run itself on stderr."""
    click.echo(f"warning: {text}", err=True)


def _show_finding(finding: Finding) -> None:
    place = [f"row {finding.row}" if finding.row else "", f"plate {finding.plate}" if finding.plate else ""]
    if finding.message.startswith(f"plate {finding.plate} "):
        place.pop()  # it says so itself
    where = ", ".join(p for p in place if p)
    mark = click.style(f"{finding.severity}:", fg=_STYLES[finding.severity])
    click.echo(f"{mark} {where + ': ' if where else ''}{finding.message}", err=True)


def _more_of(kind: Kind) -> str:
    """Count the other findings of a kind and name the rows of the worst of them."""
    others = kind.findings[1:]
    rows = list(dict.fromkeys(str(f.row) for f in others))
    named = f"{', '.join(rows[:ROWS])}{', ...' * (len(rows) > ROWS)}"
    return f"{len(others)} more like this, {'in row' if len(rows) == 1 else 'in rows'} {named}"


def show_result(batch: Batch, estimate: Estimate, out: Path) -> None:
    """Print the closing table of a run: what to buy, what it costs, how many names were made."""
    print_purchase(estimate)
    plates = batch.plates
    made = sum(p.lettering is not None for p in plates)
    count = {s: sum(f.severity == s for f in batch.findings) for s in ("error", "warning", "note")}
    click.echo(
        f"{made} of {len(plates)} names made; "
        + ", ".join(f"{number} {severity}{'' if number == 1 else 's'}" for severity, number in count.items())
    )
    if batch.layout.sheets:
        click.echo(f"written to {out}: every cut file was read back and burned virtually without a fault")
    else:
        click.echo(f"written to {out}: there is nothing to cut; proof.html says why")


def print_purchase(estimate: Estimate) -> None:
    """Print the table of what to buy, and what it costs."""
    table = Table(
        "material", "sheet (mm)", "sheets", "on hand", "to buy", "price", "cost", "full", "at least", box=None
    )
    for column in table.columns[2:]:
        column.justify = "right"
    bounds = dict(estimate.bounds)
    for line in estimate.sizes:
        bound = bounds.get(line.material)
        table.add_row(
            line.material,
            f"{line.width:.4g} x {line.height:.4g}",
            str(line.count),
            str(line.on_hand),
            str(line.to_buy),
            "offcut" if line.offcut else f"{line.price:.2f}",
            f"{line.cost:.2f}",
            f"{line.density:.0%}",
            sheets_in_words(bound.sheets) if bound else "",
        )
    console().print(table)
    click.echo(f"total cost {estimate.cost:.2f}")


def sheets_in_words(count: int) -> str:
    """Give a number of sheets in words.

    >>> sheets_in_words(1), sheets_in_words(2)
    ('1 sheet', '2 sheets')
    """
    return "1 sheet" if count == 1 else f"{count} sheets"


def show_fonts(web: float) -> None:
    """Print the bundled fonts and the smallest capitals at which each holds a minimum web of `web` mm."""
    from nameplate.lettering.fonts import bundled_fonts, least_cap_height, load_font

    table = Table("font", "licence", "letters", "scripts", f"capitals for a {web:g} mm web", box=None)
    for info in bundled_fonts():
        height = least_cap_height(load_font(info.name), web)
        table.add_row(info.name, info.licence, str(info.letters), ", ".join(info.scripts), f"{height:.0f} mm")
    console().print(table)


def console() -> Console:
    """Give the console for results: as wide as the terminal, or wide enough that nothing wraps."""
    return Console(width=None if sys.stdout.isatty() else PIPE_COLUMNS, highlight=False)
