"""The ticket of a job described on the command line alone: a list, a face and a sheet size."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from nameplate.errors import TicketError
from nameplate.system.reading import shown
from nameplate.ticket.checks import check_ticket, complete_stock
from nameplate.ticket.keys import read_value
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import NO_FACE, SHAPES, FaceKeys, JobKeys, Ticket
from nameplate.ticket.tables import rules_of
from nameplate.ticket.values import Rules, read_length
from nameplate.ticket.words import nearest, show
from nameplate.ticket.workshop import NO_WORKSHOP, Workshop
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, MATERIALS, StockKeys
from nameplate.units import parse_length

T = TypeVar("T")

_SIDE = rules_of(FaceKeys)["width"]
_SHEET = rules_of(StockKeys)["width"]
_FONT = rules_of(LetteringKeys)["font"]

#: How the names of drawings end.
DRAWINGS = (".svg", ".dxf")

#: What may stand between two lengths, and no pair of them is longer (characters).
_TIMES = "xX×*"
_LONGEST_PAIR = 100
_DIGITS = frozenset("0123456789")


def quick_ticket(
    *, roster: Path, face: str, sheet: str | None = None, font: str | None = None, workshop: Workshop = NO_WORKSHOP
) -> Ticket:
    """Return the ticket for a list of names, a face and a sheet size; all else is the workshop's, or its default.

    ``face`` is `SHAPE:WIDTHxHEIGHT`, `circle:DIAMETER`, or a drawing (SVG, DXF), `face.svg` or `face.svg@WIDTH`;
    ``sheet`` is `WIDTHxHEIGHT`, or left out where the workshop file has sheets for lettering. Lengths are millimetres
    or carry a unit; a unit after the second length alone counts for both.

    Raises TicketError with every problem found.
    """
    problems: list[str] = []
    face_keys = read_option("--face", face, parse_face, problems) or FaceKeys()
    size = read_option("--sheet", sheet, parse_pair, problems)
    if not roster.is_file():
        problems.append(f"{shown(roster)}: there is no such list of names")
    fonts = read_option("--font", font, lambda text: read_value(text, _FONT, Path()), problems)
    stock = workshop.stock
    if size is not None:
        stock = (StockKeys(width=size[0], height=size[1]), *(s for s in stock if s.material != "lettering"))
    material = {**DEFAULT_MATERIALS, **workshop.material}
    ticket = Ticket(
        job=JobKeys(title=shown(Path(roster.stem)), roster=roster),
        face=face_keys,
        lettering=LetteringKeys() if fonts is None else LetteringKeys(font=fonts),
        material={key: sheet for key, sheet in material.items() if key in MATERIALS},
        stock=tuple(sheet for sheet in stock if sheet.material in MATERIALS),
        colours=workshop.colours,
        machine=workshop.machine,
        assumptions=(workshop.remark,) if workshop.file else (),
    )
    if problems := problems or [text for _, text in check_ticket(ticket)]:
        raise TicketError(problems)
    return complete_stock(ticket)


def read_option(option: str, text: str | None, read: Callable[[str], T], problems: list[str]) -> T | None:
    """Return what an option says; None where it is left out, or where it is refused, which `problems` then says."""
    try:
        return None if text is None else read(text)
    except ValueError as error:
        problems.append(f"{option} {show(text)}: {error}")
        return None


def parse_pair(text: str, rules: Rules = _SHEET) -> tuple[float, float]:
    """Return the two lengths of `WIDTHxHEIGHT` in mm, each within the rules for a key of the ticket.

    >>> parse_pair("600x300"), parse_pair("24inx12in"), parse_pair("24 x 12 in"), parse_pair("60cm×300mm")
    ((600.0, 300.0), (609.6, 304.8), (609.6, 304.8), (600.0, 300.0))
    >>> parse_pair("")
    Traceback (most recent call last):
    ...
    ValueError: expected WIDTHxHEIGHT, like 600x300 or 24inx12in
    >>> parse_pair("8ft6inx4ft"), parse_pair("24x12in")
    ((2590.8, 1219.2), (609.6, 304.8))
    >>> parse_pair("2x8ft6in")
    Traceback (most recent call last):
    ...
    ValueError: expected a unit behind both lengths where one is in feet and inches
    """
    pair = _pair(text)
    if pair is None:
        raise ValueError("expected WIDTHxHEIGHT, like 600x300 or 24inx12in")
    first, second = pair
    if not _unit(first) and not _DIGITS.isdisjoint(_unit(second)):  # which of feet and inches the first one is in
        raise ValueError("expected a unit behind both lengths where one is in feet and inches")
    return _length(first if _unit(first) else first + _unit(second), rules), _length(second, rules)


def _pair(text: str) -> tuple[str, str] | None:
    """Return the texts of two lengths, parted at the first sign of multiplication that leaves two (`px` has one)."""
    for at, c in enumerate(text[: _LONGEST_PAIR + 1]):
        if c in _TIMES and len(text) <= _LONGEST_PAIR and _is_length(text[:at]) and _is_length(text[at + 1 :]):
            return text[:at].strip(), text[at + 1 :].strip()
    return None


def _is_length(text: str) -> bool:
    try:
        parse_length(text)
    except ValueError:
        return False
    return True


def _unit(length: str) -> str:
    return length.lstrip("0123456789.,/ +-\t")


def parse_face(text: str) -> FaceKeys:
    """Return the face that a word on the command line describes.

    >>> parse_face("ellipse:110x80").width, parse_face("circle:3in").height
    (110.0, 76.2)
    >>> parse_face("elipse:110x80")
    Traceback (most recent call last):
    ...
    ValueError: unknown shape "elipse"; did you mean ellipse?
    """
    if drawing := _drawing(text):
        return drawing
    shape, colon, size = text.partition(":")
    shape = shape.strip().casefold()
    known = (*SHAPES, NO_FACE)
    if shape not in known:
        raise ValueError(f"unknown shape {show(shape)}; {nearest(shape, known)}")
    if shape == "circle":
        width = height = _diameter(size)
    elif colon:
        width, height = parse_pair(size, _SIDE)
    else:
        raise ValueError(f"expected {shape}:WIDTHxHEIGHT, like {shape}:110x80")
    return FaceKeys(shape=shape, width=width, height=height)


def _diameter(text: str) -> float:
    if not text.strip():
        raise ValueError("expected circle:DIAMETER, like circle:80")
    if _pair(text):
        width, height = parse_pair(text, _SIDE)
        if width != height:
            raise ValueError("a circle has one diameter, like circle:80; use ellipse for two")
        return width
    return _length(text, _SIDE)


def _drawing(text: str) -> FaceKeys | None:
    """Return the face when the text names a drawing, with or without a width behind an @ (or a colon)."""
    at = max(text.rfind("@"), text.rfind(":"))
    if at >= 0 and text[:at].strip().casefold().endswith(DRAWINGS):
        file, width = text[:at].strip(), _length(text[at + 1 :], _SIDE)
    elif text.strip().casefold().endswith(DRAWINGS):
        file, width = text.strip(), None
    else:
        return None
    return FaceKeys(file=read_value(file, {"kind": "path"}, Path()), width=width)


def _length(text: str, rules: Rules) -> float:
    return read_length(text.strip(), rules, Path())
