"""Reads a job ticket. All problems are found in one go; each names the file, the key, the value and what is expected.

The fields of :mod:`nameplate.ticket.schema` say what each key accepts, so a key added there is read here without a
change.
"""

from __future__ import annotations

import dataclasses
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, Field, dataclass, field, fields
from pathlib import Path
from typing import Any

from nameplate.errors import TicketError
from nameplate.system.reading import read_regular, shown
from nameplate.ticket.cautions import why_never_cut
from nameplate.ticket.checks import check_ticket, complete_stock, needed_materials, superseded
from nameplate.ticket.quick import quick_ticket
from nameplate.ticket.schema import DEFAULT_MATERIALS, MATERIALS, MaterialKeys, StockKeys, Ticket
from nameplate.ticket.values import nearest, read_value, show

__all__ = ["quick_ticket", "read_ticket"]

#: A ticket larger than this is some other file (bytes).
LARGEST = 1_000_000

#: Dots that may join keys: reading a key of so many parts takes the square of their number in steps.
MOST_DOTS = 2_000

#: Problems that are looked into for what was meant, and sheet sizes in one ticket.
MOST_HINTS = 100
MOST_STOCK = 200

#: The tables of a ticket, except `material` and `stock`, with the record each is read into.
TABLES: Mapping[str, Any] = {
    f.name: f.default_factory
    for f in fields(Ticket)
    if f.default_factory is not MISSING and dataclasses.is_dataclass(f.default_factory)
}


def read_ticket(path: Path) -> Ticket:
    """Return the checked ticket of a TOML file.

    Lengths become millimetres; relative paths start at the ticket's folder; what the ticket leaves out and had to be
    filled in is listed in ``assumptions``. Raises TicketError with every problem found.
    """
    file = shown(Path(path.name))
    document = _load(path, file)
    reader = _Reader(file, path.parent)
    tables = {name: reader.table(document, name, record) for name, record in TABLES.items()}
    material, stock = reader.materials(document), reader.stock(document)
    for name in document:
        if name not in (*TABLES, "material", "stock"):
            reader.unknown(f"[{brief(name)}]", "table", reader.nearest(name, (*TABLES, "material", "stock")))
    ticket = Ticket(**tables, material=material, stock=stock, folder=path.parent)
    assumed = tuple(text for key, text in reader.assumed.items() if key in needed_materials(ticket))
    ticket = dataclasses.replace(ticket, assumptions=(*assumed, *superseded(ticket)))
    reader.problems += [f"{file}, {p}" for p in check_ticket(ticket, tainted=frozenset(reader.bad))]
    if reader.problems:
        raise TicketError(reader.problems)
    return complete_stock(ticket)


def _load(path: Path, file: str) -> dict[str, Any]:
    data = read_regular(path, LARGEST, TicketError, what="a job ticket", larger="is it the right file?")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise TicketError(f"{file}: byte {error.start + 1} is not UTF-8; save it as plain text in UTF-8") from None
    if _key_dots(text) > MOST_DOTS:
        raise TicketError(f"{file}: more than {MOST_DOTS} dots in names of keys or texts; a job ticket has few")
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        raise TicketError(f"{file}: {_in_words(error, text)}") from None
    except (ValueError, RecursionError):
        raise TicketError(f"{file}: a number is too long, or tables are nested too deeply") from None


def _key_dots(text: str) -> int:
    """Count the dots that may join keys: all but those of decimal numbers.

    >>> _key_dots("a.b = 1.5"), _key_dots("1.1.1 = -2.5e-3"), _key_dots("")
    (1, 2, 0)
    """
    words = re.findall(r"[\w.+-]+", text)
    return sum(w.count(".") for w in words if not _is_decimal(w))


def _is_decimal(word: str) -> bool:
    before, _, after = word.lower().replace("e+", "e").replace("e-", "e").partition(".")
    return before.lstrip("+-").isdigit() and after.replace("e", "", 1).isdigit()


def _in_words(error: tomllib.TOMLDecodeError, text: str) -> str:
    """Turn the parser's complaint into one that starts with the line and quotes it."""
    what, _, place = str(error).rpartition(" (at ")
    lines = text.splitlines()
    numbers = re.findall(r"\d+", place)
    if place.startswith("line ") and len(numbers) == 2:
        number, column = int(numbers[0]), f", column {numbers[1]}"
    elif place.startswith("end of document"):
        number, column = max(len(lines), 1), " (the end)"
    else:
        return f"not valid TOML: {str(error)[:200]}"
    quoted = lines[number - 1].strip()[:60] if number <= len(lines) else ""
    return f"line {number}{column}: not valid TOML: {what.lower()[:200]}: {quoted!r}"


def brief(key: str) -> str:
    """Return a key as it fits a message.

    >>> brief("width"), len(brief("x" * 1000))
    ('width', 60)
    """
    return key if len(key) <= 60 else f"{key[:57]}..."


@dataclass(slots=True)
class _Reader:
    """Collects problems while one document is read. ``bad`` holds the `table.key` of every refused value.

    A misspelt key counts as its right spelling there, so that it is not missed a second time.
    """

    file: str
    folder: Path
    problems: list[str] = field(default_factory=list)
    assumed: dict[str, str] = field(default_factory=dict)
    bad: set[str] = field(default_factory=set)

    def problem(self, where: str, message: str) -> None:
        self.problems.append(f"{self.file}, {where}{message}")
        self.bad.add(where)

    def unknown(self, where: str, what: str, hint: str) -> None:
        self.problem(where, f": unknown {what}; {hint}")

    def nearest(self, word: str, known: Iterable[str]) -> str:
        """Return what was meant by a word; after many problems only what is known, because comparing takes time."""
        return nearest(word if len(self.problems) < MOST_HINTS else "", known)

    def table(self, document: Mapping[str, Any], name: str, record: Any) -> Any:  # noqa: ANN401 - any record of a table
        raw = document.get(name, {})
        if not isinstance(raw, dict):
            self.problem(f"[{name}]", f": {show(raw)}: expected a table, written as [{name}] on a line of its own")
            raw = {}
        return self.record(raw, name, record())

    def record(self, raw: Mapping[str, Any], where: str, base: Any) -> Any:  # noqa: ANN401 - any record of a table
        """Return ``base`` with the values of one table in place of its own."""
        known: dict[str, Field[Any]] = {f.name: f for f in fields(base)}
        read: dict[str, Any] = {}
        for key, value in raw.items():
            if key not in known:
                hint = self.nearest(key, known)
                self.unknown(f"{where}.{brief(key)}", "key", hint)
                self.bad.update(f"{where}.{name}" for name in known if hint == f"did you mean {name}?")
                continue
            try:
                read[key] = read_value(value, known[key].metadata, self.folder)
            except ValueError as error:
                self.problem(f"{where}.{key}", f" = {show(value)}: {error}")
        return dataclasses.replace(base, **read)

    def materials(self, document: Mapping[str, Any]) -> dict[str, MaterialKeys]:
        """Return every material, those that every job needs filled in."""
        raw = document.get("material", {})
        if not isinstance(raw, dict):
            self.problem("[material]", f": {show(raw)}: expected tables like [material.lettering]")
            raw = {}
        for key in raw:
            if key not in MATERIALS:
                self.unknown(f"[material.{brief(key)}]", "material", self.nearest(key, MATERIALS))
        return {key: self.material(key, raw.get(key)) for key in MATERIALS if key in raw or key in DEFAULT_MATERIALS}

    def material(self, key: str, raw: object) -> MaterialKeys:
        where = f"material.{key}"
        base = DEFAULT_MATERIALS.get(key, MaterialKeys())
        if raw is None:
            self.assumed[key] = (
                f"[{where}] is not in the ticket: taken as {base.name}, {base.thickness:g} mm, kerf {base.kerf:g} mm"
            )
            return base
        if not isinstance(raw, dict):
            self.problem(f"[{where}]", f": {show(raw)}: expected a table, written as [{where}] on a line of its own")
            return base
        material: MaterialKeys = self.record(raw, where, base)
        reason = why_never_cut(material.name)
        if reason:
            self.problem(f"{where}.name", f" = {show(material.name)}: {reason}")
        return material

    def stock(self, document: Mapping[str, Any]) -> tuple[StockKeys, ...]:
        raw = document.get("stock", [])
        if not isinstance(raw, list) or not all(isinstance(s, dict) for s in raw):
            self.problem("[[stock]]", f": {show(raw)}: expected tables, each written as [[stock]] on a line of its own")
            return ()
        if len(raw) > MOST_STOCK:
            self.problem("[[stock]]", f": {len(raw)} tables; expected at most {MOST_STOCK}")
            return ()
        for number, one in enumerate(raw, 1):
            for key in ("width", "height"):
                if key not in one:
                    self.problem(f"stock {number}.{key}", ": missing; a sheet needs a width and a height")
        return tuple(self.record(one, f"stock {number}", StockKeys()) for number, one in enumerate(raw, 1))
