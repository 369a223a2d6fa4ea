"""The page sizes that can be asked for, and the unit of a PDF file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

#: One millimetre in points; a PDF's unit is 1/72 inch (ISO 32000-1, 8.3.2.3).
POINTS = 72 / 25.4

#: Length (mm) of the line by which the size of a print is checked.
CHECK_LINE = 100.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A page size in mm, upright; whether lengths are told in inches, too, where pages of it are used."""

    width: float
    height: float
    inches: bool = False


#: ISO 216.
A4 = Paper(210.0, 297.0)

#: ANSI/ASME Y14.1, size A: 8.5 by 11 inches.
LETTER = Paper(215.9, 279.4, inches=True)

#: The sizes by the word that a ticket has for them (`[job] paper`).
PAPERS: Mapping[str, Paper] = {"a4": A4, "letter": LETTER}
