"""Says what the keys of a ticket mean: `nameplate explain`. All of it comes from the fields that check the keys."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, Field, dataclass, fields, replace
from datetime import date
from typing import Any

from nameplate.errors import TicketError
from nameplate.geometry.beam import Kerf
from nameplate.system.grouping import grouped
from nameplate.ticket.keys import accepted
from nameplate.ticket.lettering_schema import LineKeys
from nameplate.ticket.schema import DesignKeys
from nameplate.ticket.tables import TABLES
from nameplate.ticket.words import closest, printable
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, MATERIALS, MaterialKeys, StockKeys

#: Columns of the text.
WIDTH = 80

_HEAD = """\
The keys of a job ticket. nameplate explain KEY tells of one of them
(lettering.font, or font), or of those of a table (lettering).
lettering.font stands in the ticket below the line [lettering].
Lengths are millimetres, or texts with a unit: "12 mm", "3/8in", "8 ft".
"""


@dataclass(frozen=True, slots=True)
class Entry:
    """One key: its table's heading, its name, and in words what it means, accepts, takes when left out; an example."""

    heading: str
    key: str
    meaning: str
    accepts: str
    default: str
    example: str
    choices: tuple[str, ...] = ()
    kind: str = ""

    @property
    def name(self) -> str:
        """What `explain` calls it."""
        return f"{self.heading.strip('[]').removesuffix('.NAME')}.{self.key}"


@dataclass(frozen=True, slots=True)
class ToldTable:
    """A table: its heading, what it is about, its keys."""

    heading: str
    about: str
    entries: tuple[Entry, ...]


#: The tables in the order of a ticket: the word for each, its heading, and the record it is read into.
_RECORDS: Mapping[str, tuple[str, Any]] = {
    **{name: (f"[{name}]", record) for name, record in TABLES.items()},
    "line": ("[[line]]", LineKeys),
    "design": ("[design.NAME]", DesignKeys),
    "material": ("[material.NAME]", MaterialKeys),
    "stock": ("[[stock]]", StockKeys),
}


def tables() -> dict[str, ToldTable]:
    """Return the tables there are, by the word for each."""
    return {word: _told(heading, record) for word, (heading, record) in _RECORDS.items()}


def _told(heading: str, record: Any) -> ToldTable:  # noqa: ANN401 - a record of keys
    about = (record.__doc__ or "").partition("\n")[0].partition("`: ")[2].rstrip(".")
    return ToldTable(heading, about, tuple(_entry(heading, field) for field in fields(record)))


def entries() -> tuple[Entry, ...]:
    """Return every key there is, table by table."""
    return tuple(entry for table in tables().values() for entry in table.entries)


def _entry(heading: str, field: Field[Any]) -> Entry:
    rules = field.metadata
    default = field.default_factory() if field.default_factory is not MISSING else field.default
    return Entry(
        heading=heading,
        key=field.name,
        meaning=rules["help"],
        accepts=accepted(rules),
        default=_default(heading, field.name, default, rules),
        example=f"{field.name} = {toml_value(rules.get('example', default is False or default))}",
        choices=tuple(map(str, rules.get("choices", ()))),
        kind=rules["kind"],
    )


def _default(heading: str, key: str, default: object, rules: Mapping[str, Any]) -> str:
    if heading == "[material.NAME]":
        values = {name: getattr(DEFAULT_MATERIALS.get(name, MaterialKeys()), key) for name in MATERIALS}
        by_value = grouped(("" if value is None else toml_value(value), name) for name, value in values.items())
        if len(by_value) > 1:
            return ", ".join(f"{value} ({', '.join(names)})" for value, names in by_value.items())
    if "unset" in rules:
        return f"none: {rules['unset']}"
    return "none" if default is None or default == () else toml_value(default)


def explain(word: str = "", *, column: str = "") -> str:
    """Return what a key or a table means, or the keys that a word is a value of; without a word, what all do.

    Raises TicketError when there is no such key or table: with the column of the list that the word means, if any, or
    with the nearest word.

    >>> print(explain("min_web"))
    [lettering]
    lettering.min_web: no part of a letter is narrower than this
      accepts  a length (mm, or text with a unit), at least 0.2 and at most 50
      default  1.5
      example  min_web = 1.5
    """
    if not word:
        return "\n".join([_HEAD, *map(_table, _RECORDS)])
    plain = word.strip().strip("[]").casefold()
    table = _table_called(plain)
    if table:
        return _table(table).rstrip("\n")
    found = [entry for entry in entries() if plain in _names_of(entry)]
    if not found and not column:
        found = [replace(entry, example=_choosing(entry, plain)) for entry in entries() if plain in entry.choices]
    if not found:
        near = closest(plain, {name for entry in entries() for name in _names_of(entry)} | set(_RECORDS))
        what_else = f"did you mean {near}?" if near else "nameplate explain prints all"
        if column:
            what_else = f"it is the column {column} of the list of names"
        raise TicketError(f"{printable(word[:60])!r} is no key of a ticket; {what_else}")
    return "\n\n".join("\n".join((entry.heading, *_lines(entry))) for entry in found)


def _choosing(entry: Entry, value: str) -> str:
    """Write a key as a ticket has it that takes this of its choices: of roles each stands beside what it is for."""
    chosen = int(value) if entry.kind == "count" else {"rim": value} if entry.kind == "roles" else value
    return f"{entry.key} = {toml_value(chosen)}"


def _table_called(word: str) -> str:
    """Return the table of that name, of a material that of all; empty where there is none.

    >>> _table_called("lettering"), _table_called("material.lettering"), _table_called("blank"), _table_called("font")
    ('lettering', 'material', 'material', '')
    """
    if word in _RECORDS:
        return word
    return "material" if word.removeprefix("material.") in MATERIALS else ""


def _names_of(entry: Entry) -> set[str]:
    """Return what a person may call a key: alone, behind its table, behind one of the materials."""
    table = entry.name.rpartition(".")[0]
    materials = {f"material.{name}.{entry.key}" for name in MATERIALS} if table == "material" else set()
    return {entry.key, entry.name, *materials}


def _table(name: str) -> str:
    table = tables()[name]
    lines = [*textwrap.wrap(f"{table.heading}  {table.about}", WIDTH), ""]
    for entry in table.entries:
        lines += [*_lines(entry), ""]
    return "\n".join(lines)


def _lines(entry: Entry) -> Iterator[str]:
    yield from textwrap.wrap(f"{entry.name}: {entry.meaning}", WIDTH, subsequent_indent="    ")
    for what in ("accepts", "default", "example"):
        yield from textwrap.wrap(
            f"  {what}  {getattr(entry, what)}", WIDTH, subsequent_indent=" " * 11, break_on_hyphens=False
        )


def toml_value(value: object) -> str:
    """Return a value as TOML spells it.

    >>> toml_value(True), toml_value(1.5), toml_value(180.0), toml_value(("a", "b")), toml_value("x"), toml_value(())
    ('true', '1.5', '180', '["a", "b"]', '"x"', '[]')
    """
    if isinstance(value, Kerf):
        return toml_value(value.plain)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float):
        return f"{value:g}"
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {toml_value(v)}' for key, v in value.items())} }}"
    if isinstance(value, tuple | list):
        return f"[{', '.join(toml_value(v) for v in value)}]"
    escaped = str(value).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
