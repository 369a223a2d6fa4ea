"""Lengths that a person buys, drills or mounts by are told in inches, too, where the job is printed on Letter."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from nameplate.findings import Finding
from nameplate.pdf.paper import PAPERS
from nameplate.ticket.schema import Ticket
from nameplate.units import sentence_with_inches

#: Codes of findings by whose lengths a person buys sheets or plaques, puts a carrier together, drills and hangs.
ACTED_ON = frozenset(
    {
        "anchor-edge",
        "anchor-spacing",
        "carrier-height",
        "hole-hidden",
        "hole-seen",
        "too-large-for-stock",
        "wall-edge",
        "wall-hangers",
        "wall-high",
        "wall-low",
        "wall-sight",
        "would-read",
    }
)


def findings_with_inches(findings: Iterable[Finding], ticket: Ticket) -> tuple[Finding, ...]:
    """Tell the lengths of such findings in inches, too, where the ticket's paper has it so.

    >>> far = Finding("wall-edge", "warning", "001 sticks out by 25.4 mm")
    >>> findings_with_inches([far], Ticket()) == (far,)
    True
    """
    inches = PAPERS[ticket.job.paper].inches
    return tuple(
        replace(found, message=sentence_with_inches(found.message, inches=inches and found.code in ACTED_ON))
        for found in findings
    )
