"""What a workshop asks of its cut files: where its machine counts from, how lines are drawn, how parts come free.

A machine counts its millimetres from a corner of the sheet, and one way or the other: so are the numbers of forms that
have no rule for it, as a DXF. An SVG and a PDF have their own rules and are the same for every machine.

Parts come free by closed cuts, one operation after the other, where no more is asked for. *By part*: each part's inside
cuts and its outline are burned before the next part is begun. A *lead-in* is a short straight line from the waste to
where a cut begins, so that the beam pierces beside the part. A *tab* is a place where an outline is not cut, so that
the part stays on the sheet until somebody snaps it out.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from nameplate import tolerances
from nameplate.geometry.region import Array
from nameplate.ticket.workshop_schema import ColourKeys, MachineKeys


@dataclass(frozen=True, slots=True)
class Axes:
    """A machine's zero, a corner of the sheet like "top-left", and whether its x grows to the `left`, its y `down`.

    Where just one of these is so, its numbers drawn with x to the right and y up show the sheet mirrored; the machine,
    which counts that way, does not.
    """

    origin: str = "bottom-left"
    left: bool = False
    down: bool = False

    @classmethod
    def of(cls, machine: MachineKeys) -> Axes:
        """Take them from a ticket; an axis that it does not give grows into the sheet.

        >>> Axes.of(MachineKeys(origin="top-right"))
        Axes(origin='top-right', left=True, down=True)
        """
        left = machine.origin.endswith("right") if machine.x_axis is None else machine.x_axis == "left"
        down = machine.origin.startswith("top") if machine.y_axis is None else machine.y_axis == "down"
        return cls(machine.origin, left, down)

    def corner(self, width: float, height: float) -> tuple[float, float]:
        """Give the machine's zero on a sheet of this size (mm), from its lower left corner.

        >>> Axes("top-right").corner(600, 300), Axes().corner(600, 300)
        ((600, 300), (0.0, 0.0))
        """
        return (width if self.origin.endswith("right") else 0.0, height if self.origin.startswith("top") else 0.0)

    def counted(self, points: Array, width: float, height: float) -> Array:
        """Give points (n, 2) of a sheet, from its lower left corner, as the machine counts them.

        >>> Axes("top-left", down=True).counted(np.array([(10.0, 290.0)]), 600, 300).tolist()
        [[10.0, 10.0]]
        """
        off = points - self.corner(width, height)
        return np.where(self._back, -off, off) + 0.0  # 0.0 in place of -0.0

    def on_sheet(self, counted: Array, width: float, height: float) -> Array:
        """Undo `counted`."""
        return np.where(self._back, -counted, counted) + self.corner(width, height)

    @property
    def _back(self) -> tuple[bool, bool]:
        return self.left, self.down


#: Counted from the lower left corner, x to the right and y up: where a ticket says nothing.
BOTTOM_LEFT = Axes()


@dataclass(frozen=True, slots=True)
class CutPen:
    """How lines are drawn, which is what a laser's program tells operations by.

    The colour of each operation, the `width` (mm) of drawn lines, and how many `decimals` their places have.
    """

    colours: ColourKeys = field(default_factory=ColourKeys)
    width: float = 0.1
    decimals: int = tolerances.DECIMALS

    @classmethod
    def of(cls, colours: ColourKeys, machine: MachineKeys) -> CutPen:
        """Take it from a ticket."""
        return cls(colours, round(machine.stroke, tolerances.DECIMALS), machine.decimals)


#: The pen where a ticket says nothing.
PLAIN_PEN = CutPen()


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
