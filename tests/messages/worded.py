"""Messages that a job leads to seldom, slowly or only by a fault of the program: worded by the function that words them.

The first line of each function's description stands in the list in place of a command.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.inspect import examine
from nameplate.cut.read_back import read_text
from nameplate.findings import Finding
from nameplate.geometry import region


@dataclass(frozen=True)
class Worded:
    """Findings that are asked of one function, by small values."""

    title: str
    findings: Callable[[], Iterable[Finding]]


def square(x: float, y: float, side: float = 20.0) -> region.Region:
    return region.rectangle(x, y, x + side, y + side)


def cut_square(x: float, y: float, side: float, owner: str) -> str:
    """Give a path of a cut file (y down from the top of a sheet 100 high) round a square, half a kerf of 0.2 outside."""
    low, high = x - 0.1, x + side + 0.1
    top, bottom = 100 - y - side - 0.1, 100 - y + 0.1
    return f'<path {owner} fill="none" d="M{low:g} {top:g}L{high:g} {top:g}L{high:g} {bottom:g}L{low:g} {bottom:g}Z"/>'


def owner(plate: str, kind: str = "lettering") -> str:
    return f'data-plate="{plate}" data-part="{kind}" data-copy="1"'


def sheet_text(groups: str) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">{groups}</svg>'


def group(operation: str, paths: str) -> str:
    return f'<g data-operation="{operation}" fill="none" stroke="#000000" stroke-width="0.1">{paths}</g>'


def a_sheet_with_everything_wrong() -> Iterable[Finding]:
    """what the inspection says of one sheet"""
    label = np.array([(20.0, 20.0), (24.0, 20.0)])
    parts = [
        ExpectedPart("001", "lettering", 1, 1, square(10, 10), marks=(), labels=(label,)),
        ExpectedPart("002", "lettering", 1, 1, square(31, 10)),
        ExpectedPart("003", "lettering", 1, 1, square(97, 10, 2)),
        ExpectedPart("004", "lettering", 1, 1, square(60, 60)),
    ]
    cuts = (
        cut_square(10, 10, 20, owner("001"))
        + cut_square(31, 10, 20, owner("002"))
        + cut_square(97, 10, 4, owner("003"))
        + cut_square(10, 60, 20, owner("009"))
        + cut_square(12, 62, 2, owner("008"))
        + cut_square(10, 60, 20, owner(""))
        + cut_square(60, 10, 2, owner("010")).replace("L", "Q")
    )
    score = f'<path {owner("001")} fill="none" d="M12 86L16 86"/>'
    text = sheet_text(group("score", score) + group("engrave", "") + group("cut-outside", cuts))
    expected = SheetExpectation("lettering", 101.0, 100.0, 0.2, 2.0, 5.0, 1.5, tuple(parts))
    return examine(read_text(text, "lettering-01.svg"), expected, "lettering-01.svg").findings


WORDED = (Worded("a sheet with everything wrong", a_sheet_with_everything_wrong),)
