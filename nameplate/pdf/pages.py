"""Draws pages of a PDF file: texts, rules and filled outlines. The only door to the library, with `text_face.py`.

Lengths are mm from the upper left corner of the page, y down; sizes of texts are points. Fonts are embedded, cut down
to the letters used. No clock and no chance: the same drawing gives the same bytes.

Known limit: all pages of a file are in memory until it is written, 42 kB a plate of a proof.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from typing import Any

import numpy as np

from nameplate.geometry.region import Array
from nameplate.pdf.paper import POINTS, Paper
from nameplate.pdf.text_face import printable, text_face, width_of

#: Outlines are drawn in whole hundredths of their mm, which keeps files small.
_UNITS = 100

#: Length of a dash (mm); the gap after it is half as long.
DASH = 0.8


@dataclass(frozen=True, slots=True)
class Stroke:
    """How lines are drawn: their width (mm on the page), their colour, and whether they are dashed."""

    width: float
    colour: str = "#000000"
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class OnPage:
    """Where a drawing in mm, y up, lies: the place of its origin, and how many of its mm are one on the page."""

    x: float
    y: float
    scale: float = 1.0


class PdfPages:
    """The pages of one file, from the first on; `next_page` begins another."""

    def __init__(self, paper: Paper, *, title: str) -> None:
        self.paper = paper
        self._file = BytesIO()
        self._canvas = _canvas(self._file, paper)
        self._canvas.setTitle(title)

    def text(self, x: float, y: float, text: str, size: float, *, colour: str = "#000000", align: float = 0.0) -> None:
        """Write a text on the baseline at ``y``; ``align`` is the share of its width that lies left of ``x``."""
        self._canvas.setFillColor(_colour(colour))
        self._canvas.setFont(text_face(), size)
        at = x - align * width_of(text, size)
        self._canvas.drawString(at * POINTS, self._up(y), printable(text))

    def rule(self, x0: float, y0: float, x1: float, y1: float, stroke: Stroke) -> None:
        """Draw a straight line."""
        self._take(stroke)
        self._canvas.line(x0 * POINTS, self._up(y0), x1 * POINTS, self._up(y1))

    def measure(self, x: float, y: float, length: float, tick: float, stroke: Stroke) -> None:
        """Draw a level line from ``x`` on that is to be measured, with a tick up and down at each end."""
        self.rule(x, y, x + length, y, stroke)
        for end in (x, x + length):
            self.rule(end, y - tick, end, y + tick, stroke)

    def box(self, x: float, y: float, width: float, height: float, stroke: Stroke) -> None:
        """Draw a rectangle from its upper left corner."""
        self._take(stroke)
        self._canvas.rect(x * POINTS, self._up(y + height), width * POINTS, height * POINTS, stroke=1, fill=0)

    def disc(self, x: float, y: float, radius: float, *, colour: str) -> None:
        """Fill a circle round a middle."""
        self._canvas.setFillColor(_colour(colour))
        self._canvas.circle(x * POINTS, self._up(y), radius * POINTS, stroke=0, fill=1)

    def outlines(
        self,
        rings: Sequence[Array],
        place: OnPage,
        *,
        fill: str = "",
        stroke: Stroke | None = None,
        closed: bool = True,
    ) -> None:
        """Draw polylines (n, 2) as one shape: filled by the even-odd rule, stroked, or both."""
        if not rings:
            return
        unit = POINTS / place.scale / _UNITS
        self._canvas.saveState()
        self._canvas.transform(unit, 0, 0, unit, place.x * POINTS, self._up(place.y))
        if fill:
            self._canvas.setFillColor(_colour(fill))
        if stroke:
            self._take(stroke, unit)
        paint = {(True, True): "B*", (True, False): "f*", (False, True): "S"}[bool(fill), stroke is not None]
        self._canvas.addLiteral("\n".join([*(_ring(ring, closed=closed) for ring in rings), paint]))
        self._canvas.restoreState()

    def operators(self, content: str) -> None:
        """Draw what is given in the operators of a page (ISO 32000-1, Annex A)."""
        self._canvas.saveState()
        self._canvas.addLiteral(content)
        self._canvas.restoreState()

    def next_page(self) -> None:
        """End the page."""
        self._canvas.showPage()

    def data(self) -> bytes:
        """Give the file; nothing can be drawn after that."""
        self._canvas.save()
        return self._file.getvalue()

    def _up(self, y: float) -> float:
        return (self.paper.height - y) * POINTS

    def _take(self, stroke: Stroke, unit: float = 1.0) -> None:
        """Draw lines so from here on, where a unit is so many points."""
        mm = POINTS / unit
        self._canvas.setStrokeColor(_colour(stroke.colour))
        self._canvas.setLineWidth(stroke.width * mm)
        self._canvas.setDash([DASH * mm, DASH / 2 * mm] if stroke.dashed else [])


def _ring(ring: Array, *, closed: bool) -> str:
    (x, y), *rest = np.rint(ring * _UNITS).astype(int).tolist()
    return "\n".join([f"{x} {y} m", *(f"{x} {y} l" for x, y in rest), *(["h"] if closed else [])])


@lru_cache(maxsize=64)
def _colour(name: str) -> Any:  # noqa: ANN401 - the library has no types
    """Give a colour as the library has it, which takes it from a text as long as a line takes to draw."""
    from reportlab.lib.colors import toColor

    return toColor(name)


def _canvas(file: BytesIO, paper: Paper) -> Any:  # noqa: ANN401 - the library has no types
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0  # pages as text would take a quarter more room, and most of the time
    size = (paper.width * POINTS, paper.height * POINTS)
    # with its own first font every page would name one that is not embedded
    canvas = Canvas(file, size, invariant=1, pageCompression=1, initialFontName=text_face(), lang="en")
    canvas.setCreator("nameplate")
    canvas.setAuthor("")
    canvas.setSubject("")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas
