"""The room of the sheets: what to order, what lies on the shelf, and every sheet as it was made, to look at closely."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from nameplate.cut.read_back import LARGEST, ReadPath, read_text
from nameplate.errors import NameplateError, OutputError
from nameplate.job.holdings import LARGEST_SUMMARY
from nameplate.nest.layout import SheetLayout
from nameplate.nest.offcuts import read_offcuts
from nameplate.nest.sheets import kind_count
from nameplate.nest.stored import read_layout
from nameplate.page.answers import Form, page
from nameplate.page.downloads import file_in
from nameplate.page.opened import unless_wrong
from nameplate.page.running import with_links
from nameplate.page.studio import Studio
from nameplate.paperwork.order import material_in_words, rest_words, sheet_words
from nameplate.paperwork.pictures import path_data
from nameplate.paperwork.worklist_page import left_of_sentence, sheet_name
from nameplate.pdf.paper import PAPERS
from nameplate.record.overview import ShelfRest
from nameplate.system.reading import read_json, read_regular
from nameplate.ticket.schema import Ticket
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, StockKeys
from nameplate.units import size_in_words, with_inches

#: A path's outline as a cut file writes it.
_DATA = re.compile(r' fill="none" d="([^"]*+)"')


@dataclass(frozen=True, slots=True)
class SheetPiece:
    """A piece on a sheet: what it is in words, and its lines as the file has them, by operation."""

    words: str
    lines: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SheetDrawing:
    """A cut file to look at: its size (mm) and its pieces in burning order."""

    width: float
    height: float
    pieces: tuple[SheetPiece, ...]


def drawing_of(text: str, name: str, names: Mapping[str, str]) -> SheetDrawing:
    """Take a cut file apart into its pieces; `names` are those of plates by their ids. Raises OutputError for a file
    that is not as a run writes it: nobody knows what else is in it."""
    try:
        sheet = read_text(text, name)
    except ValueError as error:
        raise OutputError(str(error)) from error
    data = _DATA.findall(text)
    if sheet.faults or len(data) != len(sheet.paths):
        raise OutputError(f"{name} is not as it was made; nameplate inspect says what is changed in it")
    pieces: dict[tuple[str, str, int, int], dict[str, str]] = {}
    for path, lines in zip(sheet.paths, data, strict=True):
        own = pieces.setdefault(path.key, {})
        own[path.operation] = own.get(path.operation, "") + html.unescape(lines)
    words = {path.key: _words(path, names) for path in sheet.paths}
    return SheetDrawing(sheet.width, sheet.height, tuple(SheetPiece(words[key], own) for key, own in pieces.items()))


def _words(path: ReadPath, names: Mapping[str, str]) -> str:
    """Say which piece this is.

    >>> import numpy as np
    >>> piece = ReadPath("cut-outside", "007", "template", 2, 1, np.zeros((0, 2)), True, 0)
    >>> _words(piece, {"007": "Wren Abara"})
    '007 Wren Abara, template, piece 2'
    >>> plaque = ReadPath("cut-outside", "007", "blank", 1, 1, np.zeros((0, 2)), True, 0)
    >>> _words(plaque, {})
    '007, plaque'
    """
    whose = f"{path.plate} {names.get(path.plate, '')}".strip()
    layer = f", layer {path.layer}" if path.layer > 1 else ""
    return f"{whose}, {sheet_words(path.kind)}{layer}" + (f", piece {path.copy}" if path.copy > 1 else "")


def laid_sheets(studio: Studio) -> Mapping[str, SheetLayout]:
    """Give the sheets of the last run as they lie, by the names of their cut files; none where that cannot be read."""
    path = studio.job.out / "layout.json"
    try:
        stat = path.stat()
        return _laid(path, stat.st_mtime_ns, stat.st_size)
    except (OSError, NameplateError):
        return {}


@lru_cache(maxsize=2)
def _laid(path: Path, _changed: int, _size: int) -> Mapping[str, SheetLayout]:
    return {Path(sheet.file).stem: sheet for sheet in read_layout(path).sheets}


def called_sheets(studio: Studio) -> Mapping[str, str]:
    """Give what the sheets of the last run are called on paper, by the names of their cut files."""
    return {name: sheet_name(sheet, "") for name, sheet in laid_sheets(studio).items()}


def left_of(studio: Studio) -> Mapping[str, str]:
    """Say of each sheet that lies on what is left of another where it does, as the worklist says it."""
    laid, inches = laid_sheets(studio), _words_for(studio)[2]
    every = tuple(laid.values())
    told = ((name, left_of_sentence(sheet, every, inches=inches)) for name, sheet in laid.items())
    return {name: sentence for name, sentence in told if sentence}


def outline_data(sheet: SheetLayout | None) -> str:
    """Give the outline of a sheet that is no rectangle as path data in hundredths of a mm, from its lower left corner;
    empty for all others.

    >>> outline_data(None)
    ''
    """
    return "" if sheet is None or sheet.outline is None else path_data(sheet.outline)


def _made(studio: Studio) -> dict[str, Any]:
    """Read the summary of the last run; empty where there was none."""
    summary = studio.job.out / "summary.json"
    made = read_json(summary, LARGEST_SUMMARY, OutputError, what="the summary of a run") if summary.is_file() else {}
    return made if isinstance(made, dict) else {}


def sheets(studio: Studio, request: Request, form: Form) -> Response:
    """Show what to order, what is on hand, and the sheets that were made."""
    order = studio.runner.last("order")
    answer = json.loads(order.answer) if order and order.is_done and order.code in (0, 1) else {}
    stock, shelf = _on_hand(studio)
    called, size, inches = _words_for(studio)
    offcuts, known = studio.job.out / "offcuts.json", {rest.name for rest in shelf}
    rests = read_offcuts(offcuts) if offcuts.is_file() else ()
    values = {
        "sheets": _made(studio).get("sheets", []),
        "left_of": left_of(studio),
        "on_paper": called_sheets(studio),
        "order": order,
        "answer": answer,
        "is_outdated": studio.ordered != studio.state(),
        "with_links": with_links,
        "called": called,
        "size": size,
        "rest_words": partial(rest_words, inches=inches),
        "stock": stock,
        "shelf": shelf,
        "rests": [rest for rest in rests if rest.name not in known],
    }
    return page(studio, "sheets.html", values, at="/sheets")


def _words_for(studio: Studio) -> tuple[Callable[[str], str], Callable[..., str], bool]:
    """Give what says materials and sizes as the ticket does, and whether in inches, too, as its paper goes with these;
    as a ticket without a word would where it cannot be read."""
    ticket = unless_wrong(studio.job.ticket, Ticket())
    inches, materials = PAPERS[ticket.job.paper].inches, {**DEFAULT_MATERIALS, **ticket.material}
    return partial(material_in_words, materials, inches=inches), partial(_size, inches=inches), inches


def _size(width: float, height: float, unit: str = "", *, inches: bool) -> str:
    """Say the size (mm) of a sheet.

    >>> _size(609.6, 1220 / 3, inches=False), _size(609.6, 304.8, " mm", inches=True)
    ('609.6 × 406.6', '609.6 × 304.8 mm (24 x 12 in)')
    """
    size = size_in_words(width, height).replace(" x ", " × ")
    return with_inches(f"{size}{unit}", width, height, inches=inches)


def _on_hand(studio: Studio) -> tuple[tuple[StockKeys, ...], tuple[ShelfRest, ...]]:
    """Give the sizes that can be bought or are on hand still, and what is left of sheets that were cut."""
    try:
        status = studio.status()
        return tuple(keys for keys in status.stock if kind_count(keys) or not keys.offcut), status.shelf
    except NameplateError:  # what is wrong with them is said where they are put right
        return (), ()


def sheet(studio: Studio, request: Request, form: Form) -> Response:
    """Show one sheet closely, with a list of its pieces."""
    name = request.path_params["name"]
    path = file_in(studio.job.out / "cut", f"{name}.svg")
    if path is None:
        return PlainTextResponse("There is no such sheet.", status_code=404)
    made = _made(studio)
    names = {str(plate.get("id")): str(plate.get("name", "")) for plate in made.get("plates", [])}
    drawing = drawing_of(_text(path), path.name, names)
    about: dict[str, Any] = next((s for s in made.get("sheets", []) if Path(str(s.get("file"))).name == path.name), {})
    called, size, _ = _words_for(studio)
    values = {
        "name": name,
        "on_paper": called_sheets(studio).get(name, ""),
        "drawing": drawing,
        "outline": outline_data(laid_sheets(studio).get(name)),
        "left_of": left_of(studio).get(name, ""),
        "about": about,
        "material": called(about["material"]) if "material" in about else "",
        "size": size(drawing.width, drawing.height, " mm"),
    }
    return page(studio, "sheet.html", values, at="/sheets")


def _text(path: Path) -> str:
    data = read_regular(path, LARGEST, OutputError, what="a cut file")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise OutputError(f"{path.name} is not UTF-8 text, as a run writes it") from error
