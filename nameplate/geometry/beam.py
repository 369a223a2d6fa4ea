"""The kerf: the strip that the beam takes out, which may differ by operation and by the machine's axes.

A beam that is wider along x than along y is an ellipse with its axes along those of the machine: it stays so however a
part is turned or mirrored on its sheet.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TypeAlias

#: A kerf as it is written for others: a number of mm, or the strips of inside and outside cuts, each by its axes.
KerfTable: TypeAlias = float | dict[str, dict[str, float]]

#: How many times as wide a kerf may be along one axis as along the other; more is a slip, and mitres would not hold.
MOST_UNEVEN = 3.0


@dataclass(frozen=True, slots=True)
class Strip:
    """What one operation takes out: a strip so wide (mm) measured along the sheet's x, and along its y."""

    x: float
    y: float

    @property
    def widest(self) -> float:
        """The larger width, mm."""
        return max(self.x, self.y)

    @property
    def narrowest(self) -> float:
        """The smaller width, mm."""
        return min(self.x, self.y)

    @property
    def is_round(self) -> bool:
        """Whether it is as wide along both axes."""
        return self.x == self.y

    @property
    def is_too_uneven(self) -> bool:
        """Whether its widths differ by more than those of a beam do."""
        return self.widest > MOST_UNEVEN * self.narrowest

    def wider(self, by: float) -> Strip:
        """Give a strip so many mm wider along both axes."""
        return Strip(self.x + by, self.y + by)

    def told(self) -> str:
        """Say how wide it is.

        >>> Strip(0.2, 0.2).told(), Strip(0.2, 0.16).told()
        ('0.2 mm', '0.2 mm along x and 0.16 along y')
        """
        return f"{self.x:g} mm" if self.is_round else f"{self.x:g} mm along x and {self.y:g} along y"


@dataclass(frozen=True, slots=True)
class Kerf:
    """What inside cuts take out of a sheet, and what outside cuts do."""

    inside: Strip
    outside: Strip

    @classmethod
    def of(cls, width: float | Kerf) -> Kerf:
        """Give the kerf that is as wide (mm) in every cut and along both axes; a kerf as it is.

        >>> Kerf.of(0.2).plain, Kerf.of(Kerf.of(0.2)).widest
        (0.2, 0.2)
        """
        return width if isinstance(width, Kerf) else cls.of_strip(Strip(width, width))

    @classmethod
    def of_strip(cls, strip: Strip) -> Kerf:
        """Give the kerf that is the same in every cut."""
        return cls(strip, strip)

    @property
    def widest(self) -> float:
        """The largest width (mm) of any cut along any axis."""
        return max(self.inside.widest, self.outside.widest)

    @property
    def envelope(self) -> Strip:
        """The strip as wide along each axis as that of any cut."""
        return Strip(max(s.x for s in self.strips), max(s.y for s in self.strips))

    def strip(self, operation: str) -> Strip:
        """Give what is taken out by an operation, `cut-inside` or `cut-outside`."""
        return self.inside if operation == "cut-inside" else self.outside

    @property
    def strips(self) -> tuple[Strip, Strip]:
        """The strips of inside and of outside cuts."""
        return self.inside, self.outside

    @property
    def widths(self) -> tuple[float, ...]:
        """All widths (mm) that occur, each once.

        >>> Kerf(Strip(0.1, 0.1), Strip(0.2, 0.1)).widths
        (0.1, 0.2)
        """
        return tuple(dict.fromkeys(width for strip in self.strips for width in (strip.x, strip.y)))

    @property
    def is_even(self) -> bool:
        """Whether inside and outside cuts take out the same strip."""
        return self.inside == self.outside

    @property
    def is_round(self) -> bool:
        """Whether it is the same along both axes, so that it does not matter how a part is turned."""
        return all(strip.is_round for strip in self.strips)

    @property
    def plain(self) -> KerfTable:
        """The one width (mm) of all cuts where there is one, else each of them by operation and axis."""
        return self.inside.x if self.is_even and self.is_round else asdict(self)

    @property
    def keys(self) -> float | dict[str, float] | dict[str, dict[str, float]]:
        """The shortest form that a ticket reads."""
        return asdict(self.inside) if self.is_even and not self.is_round else self.plain

    def wider(self, by: float) -> Kerf:
        """Give a kerf so many mm wider in all cuts and along both axes."""
        return Kerf(self.inside.wider(by), self.outside.wider(by))

    def told(self) -> str:
        """Say how wide it is.

        >>> Kerf.of(0.2).told(), Kerf(Strip(0.1, 0.1), Strip(0.2, 0.16)).told()
        ('0.2 mm', '0.1 mm inside, 0.2 mm along x and 0.16 along y outside')
        """
        if self.is_even:
            return self.inside.told()
        return f"{self.inside.told()} inside, {self.outside.told()} outside"
