"""Reads a written jig or sheet PDF back, strictly: the lines that are drawn, in the coordinates of its SVG.

The form: the file that the writer makes of its pages and of nothing else; on each page the same drawing, at one scale,
shifted and clipped so that the pages together show all of it; below it a line of exactly 100 mm to check by. A sheet is
one page of its size, without any of these, whose lines have colours.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import numpy as np

from nameplate.cut.path_data import drawn
from nameplate.cut.pdf import put_together
from nameplate.errors import OutputError
from nameplate.geometry.region import Array
from nameplate.pdf.paper import CHECK_LINE, POINTS, Paper
from nameplate.system.reading import read_regular

Drawn = TypeVar("Drawn")

#: Largest PDF read (bytes); one page of a jig is about 50 kB.
LARGEST = 50_000_000

_STREAM, _STREAM_END = "stream\n", "\nendstream"
_BOX = re.compile(r"/MediaBox \[0 0 ([0-9.]{1,12}) ([0-9.]{1,12})\]")
_NUMBER = re.compile(r"-?[0-9]{1,9}(?:\.[0-9]{1,9})?")

#: How many numbers an operator takes (ISO 32000-1, Annex A).
_TAKES = {"cm": 6, "re": 4, "w": 1, "J": 1, "j": 1, "m": 2, "l": 2, "c": 6, "RG": 3} | dict.fromkeys("qQWnhS", 0)

#: The operators that a line is drawn by.
_OF_PATHS = ("m", "l", "c", "h")

#: Farthest (mm) one number may be off another that should be the same.
_SAME = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class PdfLine:
    """One line of a page: flattened points (n, 2) in mm, whether it closes, and its colour, on a sheet's page."""

    points: Array
    closed: bool
    colour: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class PdfSheet:
    """A sheet's page: its size in mm, and its lines."""

    width: float
    height: float
    lines: tuple[PdfLine, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Page:
    lines: tuple[PdfLine, ...]
    foot: tuple[PdfLine, ...]
    low: Array
    high: Array


def read_jig_pdf(path: Path) -> tuple[PdfLine, ...]:
    """Give the lines of a jig's PDF, the same on each of its pages; raises OutputError, naming the file, otherwise."""
    return _read(path, "the PDF of a jig", lambda pages, _: _lines(pages))


def read_sheet_pdf(path: Path, stroke: float) -> PdfSheet:
    """Give what a sheet's PDF draws; raises OutputError, naming the file, when it is anything else."""
    return _read(path, "the PDF of a sheet", lambda pages, paper: _sheet(pages, paper, stroke))


def _read(path: Path, what: str, read: Callable[[list[str], Paper], Drawn]) -> Drawn:
    """Read the operators of each page, and the size of all, of a file that has nothing else."""
    data = read_regular(path, LARGEST, OutputError, what=what)
    try:
        text = data.decode("ascii")
        box, pages = _BOX.search(text), _contents(text)
        if box is None or not pages:
            raise ValueError("it has no pages")
        paper = Paper(float(box[1]) / POINTS, float(box[2]) / POINTS)
        if put_together(pages, paper) != data:
            raise ValueError("something stands in it besides its pages")
        return read(pages, paper)
    except ValueError as error:
        raise OutputError(f"{path.name} is not {what}: {error}") from error


def _sheet(pages: Sequence[str], paper: Paper, stroke: float) -> PdfSheet:
    if len(pages) != 1:
        raise ValueError("it has not one page")
    colour, lines, path = "", [], list[tuple[str, list[float]]]()
    head, _, drawing = pages[0].partition(" w\n")
    _judge_head(list(_operators(f"{head} w")), stroke)
    for operator, numbers in _operators(drawing):
        if operator == "RG":
            colour = "#" + "".join(f"{round(255 * share):02x}" for share in numbers)
        elif operator == "S":
            lines.append(replace(_drawn(path), colour=colour))
            path = []
        elif operator in _OF_PATHS:
            path.append((operator, numbers))
        else:
            raise ValueError(f"the operator {operator} stands where it should not")
    return PdfSheet(paper.width, paper.height, tuple(lines))


def _judge_head(head: Sequence[tuple[str, list[float]]], stroke: float) -> None:
    """Raise ValueError unless the lines are scaled once, from mm to points, and as wide as in an SVG."""
    if [operator for operator, _ in head] != ["cm", "J", "j", "w"]:
        raise ValueError("something stands where its scale and the width of its lines are told")
    if not _is_true_size(head[0][1]):
        raise ValueError("its scale is not 1:1")
    if head[-1][1] != [stroke]:
        raise ValueError(f"its lines are not {stroke:g} mm wide")


def _is_true_size(scale: Sequence[float]) -> bool:
    """Tell whether the numbers of a `cm` operator turn mm into points, and nothing else."""
    return bool(np.abs(np.array(scale) - [POINTS, 0, 0, POINTS, 0, 0]).max() < 1e-6)


def _lines(contents: Sequence[str]) -> tuple[PdfLine, ...]:
    pages = [_page(content) for content in contents]
    lines = pages[0].lines
    for page in pages:
        pairs = zip(page.lines, lines, strict=False)
        if len(page.lines) != len(lines) or not all(np.array_equal(a.points, b.points) for a, b in pairs):
            raise ValueError("its pages do not show the same drawing")
        if not any(_is_check_line(line) for line in page.foot):
            raise ValueError(f"a page has no line of {CHECK_LINE:g} mm to check by")
    _covered(pages, lines)
    return lines


def _contents(text: str) -> list[str]:
    """Give what stands in each stream, found without a pattern: one would look on to the end from every start."""
    contents: list[str] = []
    end = 0
    while (start := text.find(_STREAM, end)) >= 0 and (end := text.find(_STREAM_END, start + len(_STREAM))) >= 0:
        contents.append(text[start + len(_STREAM) : end])
        end += len(_STREAM_END)
    return contents


def _is_check_line(line: PdfLine) -> bool:
    return len(line.points) == 2 and abs(float(np.hypot(*(line.points[1] - line.points[0]))) - CHECK_LINE) < _SAME


def _covered(pages: Sequence[_Page], lines: Sequence[PdfLine]) -> None:
    """Raise ValueError where the pages together do not show every point of the drawing."""
    points = np.vstack([line.points for line in lines])
    shown = np.zeros(len(points), dtype=bool)
    for page in pages:
        shown |= ((points >= page.low - _SAME) & (points <= page.high + _SAME)).all(axis=1)
    if not shown.all():
        x, y = points[~shown][0]
        raise ValueError(f"no page shows the drawing at ({x:.1f}, {y:.1f})")


# --- one page -------------------------------------------------------------------------------------------------------


def _page(content: str) -> _Page:
    """Follow the operators of one page; raises ValueError for any that the form does not have."""
    scale, within, shift = None, None, None
    inside = done = False
    drawn: dict[bool, list[PdfLine]] = {True: [], False: []}
    path: list[tuple[str, list[float]]] = []
    for operator, numbers in _operators(content):
        if operator == "cm" and scale is None:
            scale = numbers
        elif operator == "q" and not done and not inside:
            inside = True
        elif operator == "cm" and inside and shift is None and numbers[:4] == [1, 0, 0, 1]:
            shift = np.array(numbers[4:])
        elif operator == "re" and inside and within is None:
            within = np.array(numbers)
        elif operator == "Q" and inside:
            inside, done = False, True
        elif operator in _OF_PATHS:
            path.append((operator, numbers))
        elif operator == "S":
            drawn[inside].append(_drawn(path))
            path = []
        elif operator not in ("W", "n", "w", "J", "j"):
            raise ValueError(f"the operator {operator} stands where it should not")
    if scale is None or not _is_true_size(scale):
        raise ValueError("its scale is not 1:1")
    if within is None or shift is None or not done or not drawn[True]:
        raise ValueError("a page shows no drawing")
    low = within[:2] - shift
    return _Page(tuple(drawn[True]), tuple(drawn[False]), low, low + within[2:])


def _operators(content: str) -> Iterator[tuple[str, list[float]]]:
    numbers: list[float] = []
    for word in content.split():
        if word in _TAKES:
            if len(numbers) != _TAKES[word]:
                raise ValueError(f"the operator {word} has {len(numbers)} numbers")
            yield word, numbers
            numbers = []
        elif _NUMBER.fullmatch(word):
            numbers.append(float(word))
        else:
            raise ValueError(f"{word[:20]!r} is no operator of a drawing")


def _drawn(path: Sequence[tuple[str, list[float]]]) -> PdfLine:
    """Flatten one path of m, then l and c, then h where it closes."""
    letters = "".join(letter for letter, _ in path)
    if not re.fullmatch(r"m[lc]+h?", letters):
        raise ValueError(f"a line is drawn by {letters[:12]!r}")
    closed = letters.endswith("h")
    places = np.array([number for _, numbers in path for number in numbers]).reshape(-1, 2)
    points = drawn(letters.removesuffix("h").upper(), places)
    if closed and not np.array_equal(points[0], points[-1]):
        points = np.vstack([points, points[:1]])
    return PdfLine(points, closed)
