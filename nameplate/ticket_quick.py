"""The ticket of a job described on the command line alone: a list, a face and a sheet size."""

from __future__ import annotations

import re
from pathlib import Path

from nameplate.errors import TicketError
from nameplate.ticket import DEFAULT_MATERIALS, SHAPES, FaceKeys, JobKeys, LetteringKeys, StockKeys, Ticket
from nameplate.ticket_checks import check_ticket, complete_stock
from nameplate.ticket_values import nearest, read_value, show
from nameplate.units import MM_PER_UNIT

_SIZE = {"kind": "length", "above": 0}
_UNIT = "|".join(sorted((re.escape(u) for u in MM_PER_UNIT), key=len, reverse=True))
_ONE = rf"\d[\d.,/ -]*?\s*(?:{_UNIT})?"
_PAIR = re.compile(rf"\s*(?P<a>{_ONE})\s*[x×*]\s*(?P<b>{_ONE})\s*", re.IGNORECASE)
_HAS_UNIT = re.compile(rf"(?:{_UNIT})\s*$", re.IGNORECASE)


def quick_ticket(*, roster: Path, face: str, sheet: str, font: str | None = None) -> Ticket:
    """Return the ticket for a list of names, a face and a sheet size; all else takes its default.

    ``face`` is `SHAPE:WIDTHxHEIGHT`, `circle:DIAMETER`, or a drawing, `face.svg` or `face.svg:WIDTH`; ``sheet`` is
    `WIDTHxHEIGHT`. Lengths are millimetres or carry a unit; a unit after the second length alone counts for both.

    Raises TicketError with every problem found.
    """
    problems: list[str] = []
    face_keys, stock = FaceKeys(), StockKeys()
    try:
        face_keys = parse_face(face)
    except ValueError as error:
        problems.append(f"--face {show(face)}: {error}")
    try:
        width, height = parse_pair(sheet)
        stock = StockKeys(width=width, height=height)
    except ValueError as error:
        problems.append(f"--sheet {show(sheet)}: {error}")
    if not roster.is_file():
        problems.append(f"{roster}: there is no such list of names")
    lettering = LetteringKeys(font=(font,)) if font is not None else LetteringKeys()
    ticket = Ticket(
        job=JobKeys(title=roster.stem or "Name plates", roster=roster),
        face=face_keys,
        lettering=lettering,
        material=DEFAULT_MATERIALS,
        stock=(stock,),
    )
    if not problems:
        problems = list(check_ticket(ticket))
    if problems:
        raise TicketError(problems)
    return complete_stock(ticket)


def parse_pair(text: str) -> tuple[float, float]:
    """Return the two lengths of `WIDTHxHEIGHT` in mm.

    >>> parse_pair("600x300"), parse_pair("24inx12in"), parse_pair("24 x 12 in"), parse_pair("60cm×300mm")
    ((600.0, 300.0), (609.6, 304.8), (609.6, 304.8), (600.0, 300.0))
    >>> parse_pair("")
    Traceback (most recent call last):
    ...
    ValueError: expected WIDTHxHEIGHT, like 600x300 or 24inx12in
    """
    match = _PAIR.fullmatch(text)
    if match is None:
        raise ValueError("expected WIDTHxHEIGHT, like 600x300 or 24inx12in")
    first, second = match["a"].strip(), match["b"].strip()
    unit = _HAS_UNIT.search(second)
    if unit and not _HAS_UNIT.search(first):
        first += unit[0]
    return _length(first), _length(second)


def parse_face(text: str) -> FaceKeys:
    """Return the face that a word on the command line describes.

    >>> parse_face("ellipse:110x80").width, parse_face("circle:3in").height
    (110.0, 76.2)
    >>> parse_face("elipse:110x80")
    Traceback (most recent call last):
    ...
    ValueError: unknown shape "elipse"; did you mean ellipse?
    """
    drawing = _drawing(text)
    if drawing is not None:
        return drawing
    shape, colon, size = text.partition(":")
    shape = shape.strip().casefold()
    if shape not in SHAPES:
        raise ValueError(f"unknown shape {show(shape)}; {nearest(shape, SHAPES)}")
    if shape == "circle":
        width = height = _diameter(size)
    elif colon:
        width, height = parse_pair(size)
    else:
        raise ValueError(f"expected {shape}:WIDTHxHEIGHT, like {shape}:110x80")
    return FaceKeys(shape=shape, width=width, height=height)


def _diameter(text: str) -> float:
    if not text.strip():
        raise ValueError("expected circle:DIAMETER, like circle:80")
    if _PAIR.fullmatch(text):
        width, height = parse_pair(text)
        if width != height:
            raise ValueError("a circle has one diameter, like circle:80; use ellipse for two")
        return width
    return _length(text)


def _drawing(text: str) -> FaceKeys | None:
    """Return the face when the text names an SVG file, with or without a width behind a colon."""
    path, colon, size = text.rpartition(":")
    if colon and path.strip().casefold().endswith(".svg"):
        file, width = path.strip(), _length(size)
    elif text.strip().casefold().endswith(".svg"):
        file, width = text.strip(), None
    else:
        return None
    return FaceKeys(file=_existing(file), width=width)


def _existing(file: str) -> Path:
    path: Path = read_value(file, {"kind": "path"}, Path())
    return path


def _length(text: str) -> float:
    length: float = read_value(text.strip(), _SIZE, Path())
    return length
