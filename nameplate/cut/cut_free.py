"""How the parts of one sheet come free: the tabs they hang by and where cuts begin, told from the burned lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from nameplate.cut.cut_style import CutStyle
from nameplate.cut.order import Step
from nameplate.cut.tabs import hangs
from nameplate.geometry.curves.curve import Curve
from nameplate.geometry.region import Array


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
        loose = (
            s.owner.toolpath.plate for s in cuts if s.operation == "cut-outside" and s.arc is None and _falls(s, style)
        )
        led = sum(step.lead_in > 0 for step in cuts)
        tabs = np.array(list(_tabs(cuts))).reshape(-1, 2)
        bare = [step.operation for step in cuts if not step.lead_in] if style.lead_in else []
        return cls(tabs, tuple(dict.fromkeys(loose)), led, len(bare), bare.count("cut-outside"))


#: What is to be told of a sheet whose cuts are closed and begin on their own lines.
PLAINLY_CUT = CutFree()


def _falls(step: Step, style: CutStyle) -> bool:
    return isinstance(step.line, Curve) and hangs(step.line, style)


def _tabs(cuts: Sequence[Step]) -> Iterator[Array]:
    """Yield the middle between the end of each arc and the start of the next one of its outline."""
    for number, step in enumerate(cuts):
        if step.arc is not None:
            own, count = step.arc
            after = cuts[number + 1 if own < count else number + 1 - count]
            yield (_curve(step).segments[-1, 3] + _start(after)) / 2


def _start(step: Step) -> Array:
    """Give where a line begins, behind its lead-in."""
    start: Array = _curve(step).segments[1 if step.lead_in else 0, 0]
    return start


def _curve(step: Step) -> Curve:
    assert isinstance(step.line, Curve)
    return step.line
