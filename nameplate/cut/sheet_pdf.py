"""Writes a sheet as PDF at true size, one page as large as the sheet, for machines that are driven as printers.

Nothing is on the page but the lines of the sheet, in burning order, each operation in its colour; y is up, as in PDF.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from nameplate.cut.order import Step, operation_colours
from nameplate.cut.pdf import line_operators, put_together
from nameplate.cut.pen import PLAIN_PEN, CutPen
from nameplate.pdf.paper import POINTS, Paper


def steps_pdf(width: float, height: float, steps: Sequence[Step], pen: CutPen = PLAIN_PEN) -> bytes:
    """Give the PDF of one sheet of `width` by `height` mm, its origin at the lower left; `steps` are in order."""
    of = operation_colours(pen.colours)
    parts = [f"{POINTS:.9f} 0 0 {POINTS:.9f} 0 0 cm 1 J 1 j\n{pen.width:g} w\n"]
    for operation, group in groupby(steps, key=lambda step: step.operation):
        parts += [f"{_shares(of[operation])} RG\n", *(line_operators(step.line, pen.decimals) for step in group)]
    return put_together(["".join(parts)], Paper(width, height))


def _shares(colour: str) -> str:
    """Give a colour as PDF has it.

    >>> _shares("#ff0080")
    '1.0000 0.0000 0.5020'
    """
    return " ".join(f"{channel / 255:.4f}" for channel in bytes.fromhex(colour.lstrip("#")))
