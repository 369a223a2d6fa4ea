"""The workshop's notes: everything that was found about a job, first what is about all of it, then plate by plate."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from nameplate.findings import SEVERITIES, Finding, Severity
from nameplate.model import Plate
from nameplate.paperwork.worklist import BatchOnPaper
from nameplate.system.grouping import grouped
from nameplate.system.html_pages import render

_MARKS: Mapping[Severity, str] = {"error": "Not made", "warning": "Look", "note": "Note"}

_MEANINGS: Mapping[Severity, str] = {
    "error": "not made",
    "warning": "to look at before cutting",
    "note": "to do or to decide",
}


@dataclass(frozen=True, slots=True)
class PlateNotes:
    """What was found about one plate, or about a row that is none."""

    heading: str
    row: int | None
    findings: tuple[Finding, ...]


def notes_html(batch: BatchOnPaper) -> Iterator[str]:
    """Give, piece by piece, all findings of a job as a page; each plate's stand together, the most urgent first."""
    findings = batch.findings
    whole = tuple(f for f in findings if f.row is None and f.plate is None)
    counts = ((s, sum(f.severity == s for f in findings)) for s in SEVERITIES)
    values = {
        "title": batch.title,
        "paper": batch.paper,
        "total": len(findings),
        "counts": [(severity, count) for severity, count in counts if count],
        "whole": whole,
        "plates": _by_plate(batch.plates, [f for f in findings if f.row is not None or f.plate is not None]),
        "marks": _MARKS,
        "meanings": _MEANINGS,
    }
    return render("notes.html", values, room="paperwork")


def _by_plate(plates: Sequence[Plate], findings: Sequence[Finding]) -> tuple[PlateNotes, ...]:
    """Put findings with the plates of their rows, in the order of the list; rows without a plate have their number."""
    rows = {plate.order.id: plate.order.row for plate in plates}
    names = {plate.order.row: f"{plate.order.id} {plate.order.name}" for plate in plates}

    def whose(finding: Finding) -> tuple[int, str]:
        row = finding.row if finding.row is not None else rows.get(finding.plate or "", 0)
        return row, "" if row else finding.plate or ""

    return tuple(
        PlateNotes(names.get(row, f"Row {row}" if row else f"Plate {plate}"), row or None, tuple(own))
        for (row, plate), own in sorted(grouped((whose(f), f) for f in findings).items())
    )
