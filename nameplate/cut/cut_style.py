"""How parts are cut free of a sheet, where a workshop asks for more than closed cuts, one operation after the other.

Terms. *By part*: each part's inside cuts and its outline are burned before the next part is begun. A *lead-in* is a
short straight line from the waste to where a cut begins, so that the beam pierces beside the part. A *tab* is a
place where an outline is not cut, so that the part stays on the sheet until somebody snaps it out.
"""

from __future__ import annotations

from dataclasses import dataclass

from nameplate.ticket.workshop_schema import MachineKeys


@dataclass(frozen=True, slots=True)
class CutStyle:
    """What is asked for: the order, the length of lead-ins (mm, 0 for none), how many `tabs` a part gets and their
    width (mm). With a `bed_pitch` only parts that fall or tip between supports so far apart (mm) get any."""

    by_part: bool = False
    lead_in: float = 0.0
    tabs: int = 0
    tab_width: float = 0.6
    bed_pitch: float | None = None

    @classmethod
    def of(cls, machine: MachineKeys) -> CutStyle:
        """Take it from a ticket."""
        return cls(machine.order == "part", machine.lead_in, machine.tabs, machine.tab_width, machine.bed_pitch)

    @property
    def words(self) -> tuple[str, ...]:
        """What a cut file says of itself.

        >>> CutStyle().words, CutStyle(by_part=True, tabs=3).words
        ((), ('parts', 'tabs'))
        """
        asked = (self.by_part, self.lead_in > 0, self.tabs > 0)
        return tuple(word for word, wanted in zip(WORDS, asked, strict=True) if wanted)


@dataclass(frozen=True, slots=True)
class CutRules:
    """What the cuts of a sheet keep to: their style, kerf and least distance from other parts, the sheet's size; mm."""

    style: CutStyle = CutStyle()
    kerf: float = 0.0
    gap: float = 0.0
    width: float = 0.0
    height: float = 0.0

    @property
    def opening(self) -> float:
        """How wide an outline is open for a tab: the ends of its arcs burn half a kerf each."""
        return self.style.tab_width + self.kerf


#: What a cut file may say: each part is finished before the next is begun; cuts begin in the waste; parts hang by tabs.
WORDS = ("parts", "lead-ins", "tabs")

#: The style where nothing is asked for, and rules of nothing else.
PLAIN, PLAIN_RULES = CutStyle(), CutRules()
