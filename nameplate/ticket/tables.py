"""Reads the tables of a job ticket or a workshop file. Each problem names the file, line, key, value, what is expected.

The fields of :mod:`nameplate.ticket.schema` say what each key accepts, so a key added there is read here without a
change.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import MISSING, dataclass, field, fields
from pathlib import Path
from typing import Any

from nameplate.errors import TicketError
from nameplate.findings import brief
from nameplate.system.reading import read_regular
from nameplate.ticket.cautions import why_never_cut
from nameplate.ticket.keys import read_value
from nameplate.ticket.lettering_schema import LineKeys
from nameplate.ticket.schema import Ticket
from nameplate.ticket.slips import key_lines, line_of, parse
from nameplate.ticket.values import Rules
from nameplate.ticket.words import closest, nearest, show
from nameplate.ticket.workshop_schema import MATERIALS, MaterialKeys, StockKeys

#: A ticket larger than this is some other file (bytes).
LARGEST = 1_000_000

#: Dots that may join keys: reading a key of so many parts takes the square of their number in steps.
MOST_DOTS = 2_000

#: A number with a point in it, which joins no keys.
_DECIMAL = re.compile(r"[+-]*\d+\.(?:\d+(?:e[+-]?\d*)?|e[+-]?\d+)", re.IGNORECASE)

#: Problems that are looked into for what was meant; sheet sizes and lines in one ticket.
MOST_HINTS = 100
MOST_STOCK = 200
MOST_LINES = 12

#: The tables of a ticket, except `line`, `material` and `stock`, with the record each is read into.
TABLES: Mapping[str, Any] = {
    f.name: f.default_factory
    for f in fields(Ticket)
    if f.default_factory is not MISSING and dataclasses.is_dataclass(f.default_factory)
}

#: The tables of a ticket that hold tables.
OTHER_TABLES = ("line", "design", "material", "stock")


def read_file(path: Path, *, what: str = "a job ticket") -> bytes:
    """Return the bytes of a file; raises TicketError where it cannot be read or is too large to be one of ours."""
    return read_regular(path, LARGEST, TicketError, what=what, larger="is it the right file?")


def document_of(data: bytes, file: str, *, what: str = "a job ticket") -> tuple[dict[str, Any], Mapping[str, int]]:
    """Return the document in a file's bytes and the lines of its keys; raises TicketError when it is not TOML."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise TicketError(f"{file}: byte {error.start + 1} is not UTF-8; save it as plain text in UTF-8") from None
    if _key_dots(text) > MOST_DOTS:
        raise TicketError(f"{file}: more than {MOST_DOTS} dots in names of keys or texts; {what} has few")
    try:
        document, slips = parse(text, file)
    except (ValueError, RecursionError):
        raise TicketError(f"{file}: a number is too long, or tables are nested too deeply") from None
    if slips:
        raise TicketError(slips)
    return document, key_lines(text)


def _key_dots(text: str) -> int:
    """Count the dots that may join keys: all but those of decimal numbers.

    >>> _key_dots("a.b = 1.5"), _key_dots("1.1.1 = -2.5e-3"), _key_dots("")
    (1, 2, 0)
    """
    words = re.findall(r"[\w.+-]+", text)
    return sum(word.count(".") for word in words if not _DECIMAL.fullmatch(word))


def keys_in(document: Mapping[str, Any]) -> frozenset[str]:
    """Return the keys that a document sets, by their tables.

    >>> sorted(keys_in({"nest": {"gap": 2}, "material": {"blank": {"kerf": 1}}}))
    ['material.blank.kerf', 'nest.gap']
    """
    tables = {name: table for name, table in document.items() if isinstance(table, dict)}
    inner = {f"{name}.{key}": t for name, table in tables.items() for key, t in table.items() if isinstance(t, dict)}
    found = {f"{name}.{key}" for name, table in (tables | inner).items() for key, t in table.items()}
    return frozenset(found - set(inner))


def rules_of(record: Any) -> dict[str, Rules]:  # noqa: ANN401 - a record of keys, or its class
    """Return what the fields of a record say, by their keys.

    >>> list(rules_of(StockKeys))[:3]
    ['material', 'width', 'height']
    """
    return {f.name: f.metadata for f in fields(record)}


def homes_of(key: str) -> str:
    """Return the headings of the tables that have a key, empty when none has.

    >>> homes_of("gap"), homes_of("width"), homes_of("kerf"), homes_of("x")
    ('[nest] or [[line]]', '[face] or [wall] or [[stock]]', '[material.lettering] or another material', '')
    """
    headings = {f"[{name}]": record for name, record in TABLES.items()}
    headings["[material.lettering] or another material"] = MaterialKeys
    headings |= {"[[line]]": LineKeys, "[[stock]]": StockKeys}
    return " or ".join(heading for heading, record in headings.items() if key in rules_of(record))


@dataclass(slots=True)
class TableReader:
    """Collects problems while one document is read. ``bad`` holds the `table.key` of every refused value.

    A misspelt key counts as its right spelling there, so that it is not missed a second time.
    """

    file: str
    folder: Path
    lines: Mapping[str, int] = field(default_factory=dict)
    problems: list[str] = field(default_factory=list)
    bad: set[str] = field(default_factory=set)

    def place(self, *keys: str) -> str:
        """Return the file and, where one is known, the line of the first of some keys."""
        line = next((found for key in keys if (found := line_of(key, self.lines))), None)
        return f"{self.file}, line {line}" if line else self.file

    def problem(self, where: str, message: str) -> None:
        """Note what is wrong with a key or a table, and that it was refused."""
        self.problems.append(f"{self.place(where)}, {where}{message}")
        self.bad.add(where)

    def unknown(self, where: str, what: str, hint: str) -> None:
        """Say that a file has a word that nothing knows."""
        self.problem(where, f": unknown {what}; {hint}")

    def unknown_table(self, name: str, value: object, known: Sequence[str] = (*TABLES, *OTHER_TABLES)) -> None:
        """Say what a name at the top of a file may have been meant for, whose tables are ``known``."""
        homes = homes_of(name)
        if homes and not isinstance(value, dict | list):
            self.problem(brief(name), f" = {show(value)}: stands above all tables; write it below {homes}")
        elif name in MATERIALS:
            self.unknown(f"[{name}]", "table", f"did you mean [material.{name}]?")
        else:
            self.unknown(f"[{brief(name)}]", "table", self.nearest(name, known))

    def nearest(self, word: str, known: Iterable[str]) -> str:
        """Return what was meant by a word; after many problems only what is known, because comparing takes time."""
        return nearest(self._compared(word), known)

    def closest(self, word: str, known: Iterable[str]) -> str:
        """Return the word that was meant, empty where none is near, or after many problems."""
        return closest(self._compared(word), known)

    def _compared(self, word: str) -> str:
        return word if len(self.problems) < MOST_HINTS else ""

    def table(self, document: Mapping[str, Any], name: str, base: Any) -> Any:  # noqa: ANN401 - any record of a table
        """Return ``base`` with the values of the table of that name (`machine.colours`: of one within another)."""
        raw: Any = document
        for part in name.split("."):
            raw = raw.get(part, {}) if isinstance(raw, dict) else {}
        if not isinstance(raw, dict):
            self.problem(f"[{name}]", f": {show(raw)}: expected a table, written as [{name}] on a line of its own")
            raw = {}
        return self.record(raw, name, base)

    def record(self, raw: Mapping[str, Any], where: str, base: Any) -> Any:  # noqa: ANN401 - any record of a table
        """Return ``base`` with the values of one table in place of its own."""
        known = rules_of(base)

        def hint(key: str) -> str:
            if homes := homes_of(key):
                return f"it belongs below {homes}"
            if near := self.closest(key, known):
                self.bad.add(f"{where}.{near}")
            return self.nearest(key, known)

        return dataclasses.replace(base, **dict(self.values(raw, where, known, hint)))

    def values(
        self, raw: Mapping[str, Any], where: str, known: Mapping[str, Rules], hint: Callable[[str], str]
    ) -> Iterator[tuple[str, Any]]:
        """Yield the keys of one table with their values, each by its rules; ``hint`` says where an unknown belongs."""
        for key, value in raw.items():
            if key not in known:
                self.unknown(f"{where}.{brief(key)}", "key", hint(key))
                continue
            try:
                yield key, read_value(value, known[key], self.folder)
            except ValueError as error:
                self.problem(f"{where}.{key}", f" = {show(value)}: {error}")

    def materials(
        self, document: Mapping[str, Any], bases: Mapping[str, MaterialKeys], *, used: Sequence[str]
    ) -> dict[str, MaterialKeys]:
        """Return the materials of a document that are ``used``, each with ``bases`` for what it leaves out."""
        raw = document.get("material", {})
        if not isinstance(raw, dict):
            self.problem("[material]", f": {show(raw)}: expected tables like [material.lettering]")
            raw = {}
        for key in raw:
            if key not in used:
                self.unknown(f"[material.{brief(key)}]", "material", self.nearest(key, used))
        return {key: self._material(key, raw[key], bases.get(key, MaterialKeys())) for key in used if key in raw}

    def _material(self, key: str, raw: object, base: MaterialKeys) -> MaterialKeys:
        where = f"material.{key}"
        if not isinstance(raw, dict):
            self.problem(f"[{where}]", f": {show(raw)}: expected a table, written as [{where}] on a line of its own")
            return base
        material: MaterialKeys = self.record(raw, where, base.unmeasured if "kerf" in raw else base)
        reason = why_never_cut(material.name)
        if reason and "name" in raw:
            self.problem(f"{where}.name", f" = {show(material.name)}: {reason}")
        return material

    def line_tables(self, raw: object, where: str = "line") -> tuple[LineKeys, ...]:
        """Return the lines that a list of tables `[[line]]` asks for; ``where`` is the list's place in the ticket."""
        tables = self._tables(raw, where, MOST_LINES)
        lines = tuple(self.record(one, f"{where} {number}", LineKeys()) for number, one in enumerate(tables, 1))
        for number, one in enumerate(tables, 1):
            if "text" not in one and f"{where} {number}.text" not in self.bad:
                self.problem(f"{where} {number}.text", ': missing; a line needs a text, like text = "{name}"')
            if "size" not in one and "scale" not in one and any("size" in other for other in tables):
                message = ": neither size nor scale, and another line has a size; give each line one of them"
                self.problem(f"{where} {number}.scale", message)
            if "size" in one and "scale" in one:
                self.problem(f"{where} {number}.scale", " and size both say how large the line is: leave one out")
        return lines

    def _tables(self, raw: object, name: str, most: int) -> Sequence[Mapping[str, Any]]:
        """Return what stands in a list of tables, empty where it is none or has too many."""
        heading = f"[[{name}]]"
        if not isinstance(raw, list) or not all(isinstance(s, dict) for s in raw):
            self.problem(heading, f": {show(raw)}: expected tables, each written as {heading} on a line of its own")
            return ()
        if len(raw) > most:
            self.problem(heading, f": {len(raw)} tables; expected at most {most}")
            return ()
        return raw

    def stock(self, document: Mapping[str, Any], *, used: Sequence[str]) -> tuple[StockKeys, ...]:
        """Return the sheet sizes of a document, which are of materials that are ``used``."""
        raw = self._tables(document.get("stock", []), "stock", MOST_STOCK)
        sheets = tuple(self.record(one, f"stock {number}", StockKeys()) for number, one in enumerate(raw, 1))
        for number, (one, sheet) in enumerate(zip(raw, sheets, strict=True), 1):
            if sheet.material not in used:
                hint = self.nearest(sheet.material, used)
                self.problem(f"stock {number}.material", f" = {show(sheet.material)}: unknown material; {hint}")
            for key in ("width", "height"):
                if key not in one and f"stock {number}.{key}" not in self.bad:
                    self.problem(f"stock {number}.{key}", ": missing; a sheet needs a width and a height")
        return sheets
