"""How the lines of a cut file are drawn, which is what a laser's program tells operations by."""

from __future__ import annotations

from dataclasses import dataclass, field

from nameplate import tolerances
from nameplate.ticket.workshop_schema import ColourKeys, MachineKeys


@dataclass(frozen=True, slots=True)
class CutPen:
    """The colour of each operation, the `width` (mm) of drawn lines, and how many `decimals` their places have."""

    colours: ColourKeys = field(default_factory=ColourKeys)
    width: float = 0.1
    decimals: int = tolerances.DECIMALS

    @classmethod
    def of(cls, colours: ColourKeys, machine: MachineKeys) -> CutPen:
        """Take it from a ticket."""
        return cls(colours, round(machine.stroke, tolerances.DECIMALS), machine.decimals)


#: The pen where a ticket says nothing.
PLAIN_PEN = CutPen()
