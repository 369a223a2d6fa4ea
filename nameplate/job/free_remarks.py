"""What is to be said of how parts are cut free: tabs to snap, parts without any, cuts that begin on their own line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from nameplate.cut.cut_free import CutFree
from nameplate.cut.cut_style import CutStyle
from nameplate.findings import Finding, named

#: Plates named in a finding.
NAMED = 8


def remarks_on(sheets: Mapping[str, CutFree], style: CutStyle) -> Iterator[Finding]:
    """Say of a run's sheets, by their cut files, what somebody must do about tabs and lead-ins: once for all.

    >>> list(remarks_on({}, CutStyle()))
    []
    """
    tabs, not_led = sum(len(own.tabs) for own in sheets.values()), sum(own.not_led for own in sheets.values())
    loose = sorted({plate for own in sheets.values() for plate in own.loose})
    if loose:
        message = (
            f"{named(loose, most=NAMED)}: no place for a tab, straight and away from tips and ties; hold their parts "
            "from below, or lay the sheet on closer supports"
        )
        yield Finding("no-tab", "warning", message, measured=len(loose), allowed=0)
    if tabs:
        message = (
            f"parts hang by {tabs} tabs, {style.tab_width:g} mm wide: lift the sheet off with them, snap them out, and "
            "sand off what is left of the tabs"
        )
        yield Finding("held-by-tabs", "note", message, measured=tabs)
    if not_led:
        every = not_led + sum(own.led for own in sheets.values())
        where, more = "in the waste", "a shorter lead_in or a larger gap leaves more"
        if not any(own.outlines_not_led for own in sheets.values()):
            where = "in what falls out of them: all are inside cuts, as inside an o"
            more = "no harm but a small mark there, and a larger gap changes nothing; a shorter lead_in leaves fewer"
        message = (
            f"{not_led} of {every} cuts begin on their own line, as there is no room for a lead-in of "
            f"{style.lead_in:g} mm {where}; {more}"
        )
        yield Finding("no-lead-in", "note", message, measured=not_led, allowed=0)


def told(own: CutFree, style: CutStyle) -> dict[str, Any]:
    """Tell for a sheet's entry in summary.json how its parts are cut free; nothing where nothing was asked for.

    >>> told(CutFree(), CutStyle()), told(CutFree(), CutStyle(by_part=True))
    ({}, {'cuts': {'order': 'part', 'lead_ins': 0, 'tabs': 0}})
    """
    order = "part" if style.by_part else "operation"
    return {"cuts": {"order": order, "lead_ins": own.led, "tabs": len(own.tabs)}} if style.words else {}
