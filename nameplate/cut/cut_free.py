"""How the parts of one sheet come free: the tabs they hang by and where cuts begin, told from the burned lines.

And what is to be said of that: tabs to snap, parts without any, cuts that begin on their own line.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from nameplate.cut.machine import CutStyle
from nameplate.cut.order import Step
from nameplate.cut.tabs import hangs
from nameplate.findings import Finding, named
from nameplate.geometry.region import Array

#: Plates named in a finding.
NAMED = 8


@dataclass(frozen=True, slots=True, eq=False)
class CutFree:
    """The middles of the tabs (n, 2) in sheet coordinates; the plates of parts that should hang by tabs and have no
    place for any; how many cuts begin in the waste, and how many should and have no room to, outlines among them."""

    tabs: Array = field(default_factory=lambda: np.empty((0, 2)))
    loose: tuple[str, ...] = ()
    led: int = 0
    not_led: int = 0
    outlines_not_led: int = 0

    @classmethod
    def of(cls, steps: Sequence[Step], style: CutStyle) -> CutFree:
        """Tell it of the lines of a sheet; nothing where nothing was asked for.

        >>> CutFree.of([], CutStyle(tabs=3)).loose
        ()
        """
        cuts = [step for step in steps if step.operation != "score"]
        whole = [step for step in cuts if step.operation == "cut-outside" and step.arc is None]
        loose = (step.owner.toolpath.plate for step in whole if hangs(step.curve, style))
        led = sum(step.lead_in > 0 for step in cuts)
        tabs = np.array(list(_tabs(cuts))).reshape(-1, 2)
        bare = [step.operation for step in cuts if not step.lead_in] if style.lead_in else []
        return cls(tabs, tuple(dict.fromkeys(loose)), led, len(bare), bare.count("cut-outside"))


#: What is to be told of a sheet whose cuts are closed and begin on their own lines.
PLAINLY_CUT = CutFree()


def _tabs(cuts: Sequence[Step]) -> Iterator[Array]:
    """Yield the middle between the end of each arc and the start of the next one of its outline."""
    for number, step in enumerate(cuts):
        if step.arc is not None:
            own, count = step.arc
            after = cuts[number + 1 if own < count else number + 1 - count]
            begins = after.curve.segments[1 if after.lead_in else 0, 0]  # behind its lead-in
            yield (step.curve.segments[-1, 3] + begins) / 2


# --- what is said --------------------------------------------------------------------------------------------------


def remarks_on(sheets: Mapping[str, CutFree], style: CutStyle) -> Iterator[Finding]:
    """Say of a run's sheets, by their cut files, what somebody must do about tabs and lead-ins: once for all.

    >>> list(remarks_on({}, CutStyle()))
    []
    """
    tabs, not_led = sum(len(own.tabs) for own in sheets.values()), sum(own.not_led for own in sheets.values())
    if loose := sorted({plate for own in sheets.values() for plate in own.loose}):
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
