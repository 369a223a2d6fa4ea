"""What the command line shows: progress and messages on stderr, results on stdout."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
from rich.progress import Progress as Bars
from rich.table import Table

from nameplate.cli.alike import in_one, part_alike
from nameplate.findings import SEVERITIES, Finding, counted, kinds_of, row_ranges
from nameplate.job.progress import Progress
from nameplate.record.plate_lists import in_ranges

if TYPE_CHECKING:
    from nameplate.job.prepare import Batch
    from nameplate.ticket.schema import Ticket

#: Columns when the output is not a terminal: wide enough that no table wraps.
PIPE_COLUMNS = 160

#: Rows, or runs of rows, named for the findings of one kind: as many as a line holds.
ROWS = 12

#: Errors of one kind that are printed in full: more than a person reads, few enough to find the others.
IN_FULL = 50

#: How the codes begin of what is said of the face.
OF_FACE = ("drawing-", "zone-")

_STYLES = {"error": "red", "warning": "yellow", "note": "cyan"}


class _Stages(Progress):
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


@contextmanager
def progress() -> Iterator[Progress]:
    """Show progress on a terminal; nothing in a pipe."""
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Bars(*columns, console=Console(stderr=True), transient=True, disable=not sys.stderr.isatty()) as bars:
        yield _Stages(bars)


def show_findings(findings: Sequence[Finding], *, every: bool = False, where: str = "") -> None:
    """Print findings on stderr: errors, of each kind of warning and note on rows the worst and how many more.

    Errors that say the same of several rows are one sentence, and what is said of the face, which may be why, comes
    before them; of other errors of one kind at most IN_FULL stand in full. `every` prints all; `where` says where those
    left out can be read.
    """
    left_out, of_rows = False, [f for f in findings if f.severity == "error" and f.row is not None]
    alike, single = part_alike(of_rows)
    if alike:
        for finding in (f for f in findings if _of_face(f) or (f.severity == "error" and f.row is None)):
            _show_finding(finding)
        for kind in () if every else alike:
            _show_finding(replace(kind[0], message=in_one(kind, most=ROWS), row=None, plate=None))
        left_out = not every
        findings = [
            *(of_rows if every else single),
            *(f for f in findings if f.severity != "error" and not _of_face(f)),
        ]
    for severity in SEVERITIES:
        for kind in kinds_of((f for f in findings if f.severity == severity), worst_first=severity != "error"):
            left_out |= _show_kind(kind, len(kind) if every else IN_FULL if severity == "error" else 1)
    if where and left_out:
        click.echo(f"all of them: {where}", err=True)


def _of_face(finding: Finding) -> bool:
    """Tell whether a finding is a warning about the face that all names are set on."""
    return finding.severity == "warning" and finding.row is None and finding.code.startswith(OF_FACE)


def _show_kind(kind: Sequence[Finding], most: int) -> bool:
    """Print the first `most` findings of a kind that are on rows, and all others; tell whether some were left out."""
    for finding in kind:
        if finding.row is None:
            _show_finding(finding)
    rows = [f for f in kind if f.row is not None]
    shown, more = rows[:most], rows[most:]
    for finding in shown[:-1]:
        _show_finding(finding)
    others = row_ranges(sorted({f.row for f in more if f.row is not None}), most=ROWS)
    for finding in shown[-1:]:
        _show_finding(finding, f" ({len(more)} more like this: {others})" if more else "")
    return bool(more)


def warn(text: str) -> None:
    """Print a warning about the run itself on stderr."""
    click.echo(f"warning: {text}", err=True)


def warn_of_sides(ticket: Ticket) -> tuple[str, ...]:
    """Print, before anything is made, which materials cannot lie as the ticket asks; give what was printed."""
    from nameplate.job.face_down import known_to_lie_face_up

    told = known_to_lie_face_up(ticket)
    for text in told:
        warn(text)
    return told


def _show_finding(finding: Finding, more: str = "") -> None:
    place = [f"row {finding.row}" if finding.row else "", f"plate {finding.plate}" if finding.plate else ""]
    if f" plate {finding.plate}, " in finding.message or finding.message.startswith(f"plate {finding.plate} "):
        place.pop()  # it says so itself
    where = ", ".join(p for p in place if p)
    mark = click.style(f"{finding.severity}:", fg=_STYLES[finding.severity])
    click.echo(f"{mark} {where + ': ' if where else ''}{finding.message}{more}", err=True)


def show_result(batch: Batch, out: Path) -> None:
    """Print how a run ended: what to order, how many names were made, where the files are."""
    for sentence in order_told(batch):
        click.echo(sentence)
    plates = batch.plates
    count = {s: sum(f.severity == s for f in batch.findings) for s in SEVERITIES}
    aside = sum(plate.order.aside for plate in plates)
    held = sum(plate.order.hold and not plate.order.aside for plate in plates)
    left = (f"; {held} on hold" if held else "") + (f"; {aside} not in this run" if aside else "")
    wrong = {f.plate for f in batch.findings if f.severity == "error" and f.plate}
    if refused := batch.ids_on & wrong:
        left += f"; refused as now ordered, so left as cut before: {in_ranges(refused)}"
    click.echo(
        f"{_made(batch)} of {_wanted(batch)} names made{left}; "
        + ", ".join(counted(number, severity) for severity, number in count.items())
    )
    if cut := len(batch.before.kept.sheets):
        new = len(batch.layout.uncut.sheets)
        click.echo(f"{counted(cut, 'sheet')} cut before, kept as {'it is' if cut == 1 else 'they are'}; {new} new")
    if batch.left_out:
        click.echo(
            f"written to {out} without {', '.join(batch.left_out)}: the others were read back, "
            "and burning them was simulated without a fault"
        )
    elif batch.layout.sheets:
        click.echo(f"written to {out}: every cut file was read back, and burning it was simulated without a fault")
    else:
        click.echo(f"written to {out}: there is nothing to cut; notes.html says why")
    if batch.layout.sheets:
        click.echo(f"Next: {_to_sign(batch)}worklist.html and cards.html go to the laser and the bench")


def _made(batch: Batch) -> int:
    """Count the names that have a place on a sheet that is handed over."""
    there = batch.files_of_names
    return sum(plate.lettering is not None and plate.order.id in there for plate in batch.plates)


def _wanted(batch: Batch) -> int:
    """Count the names that are to be made: all but those that are held or not in this run."""
    return sum(not plate.order.hold and not plate.order.aside for plate in batch.plates)


def _refused(batch: Batch) -> str:
    """Say how many names cannot be made yet, those that wait for an approval among them; nothing where all can."""
    wanted, refused = _wanted(batch), _wanted(batch) - _made(batch)
    return f"{refused} of {counted(wanted, 'name')} cannot be made yet" if refused else ""


def _to_sign(batch: Batch) -> str:
    """Ask for the signatures that are missing: none of plates that stay as they were cut, nor where nobody approves."""
    missing = batch.unsigned
    if batch.ticket.job.approval == "none" or not missing:
        return ""
    drawn = {plate.order.id for plate in batch.plates_shown if plate.lettering is not None} - batch.ids_on
    which = "" if missing == drawn else f"{counted(len(missing), 'name')} more of "
    return f"have {which}proof.html signed; "


def order_told(batch: Batch, perhaps: Mapping[str, int] | None = None, *, off: float = 0.0) -> list[str]:
    """Say what to order and what to take from the shop; how much room that leaves, how long it burns, what it costs.

    Where names cannot be made, how many these are comes first. `perhaps` are by material the sheets more that an
    estimate, `off` by a share, may take.
    """
    from nameplate.job.burning import money_of
    from nameplate.job.ordering import plaques_of, to_order
    from nameplate.paperwork import order
    from nameplate.pdf.paper import PAPERS

    inches, sheets, money = PAPERS[batch.ticket.job.paper].inches, batch.layout.uncut.sheets, money_of(batch)
    needed = to_order(batch, perhaps)
    asked = order.sheets_needed(batch.before.planned, batch.ticket.material)
    rate = batch.ticket.machine.rate
    told = (
        _refused(batch),
        *order.order_sentences(needed, off=off, inches=inches),
        order.asked_sentence(needed, asked, inches=inches),
        *(order.plaques_sentence(line, inches=inches) for line in plaques_of(batch)),
        order.room_sentence(batch.room),
        order.burning_sentence(sheets, [batch.burning.get(sheet.file) for sheet in sheets]),
        order.plate_sentence(money.plates, material=money.material, machine=money.machine, rate=rate),
    )
    return [sentence for sentence in told if sentence]


def show_fonts(web: float) -> None:
    """Print the bundled fonts and the smallest capitals at which each holds a minimum web of `web` mm, and pierced."""
    from nameplate.lettering.least_pierced import least_pierced_cap_height
    from nameplate.typesetting.fonts import bundled_fonts, load_font

    table = Table("font", "licence", "letters", "scripts", f"capitals for a {web:g} mm web", "pierced", box=None)
    for info in bundled_fonts():
        font = load_font(info.name)
        height, pierced = font.least_cap_height(web), least_pierced_cap_height(font, web)
        least = "not legibly" if pierced is None else f"{pierced:.0f} mm"
        table.add_row(info.name, info.licence, str(info.letters), ", ".join(info.scripts), f"{height:.0f} mm", least)
    console().print(table)


def console() -> Console:
    """Give the console for results: as wide as the terminal, or wide enough that nothing wraps."""
    return Console(width=None if sys.stdout.isatty() else PIPE_COLUMNS, highlight=False)
