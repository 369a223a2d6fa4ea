"""Writes measured figures into a workshop file: their values change, every other byte stays.

tomlkit keeps remarks, order and spelling. What it gives is trusted only where the file says what it said, with the new
values, and no other line changed; else nothing is written and the person is told what to write.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from datetime import date
from difflib import SequenceMatcher
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from nameplate.errors import TicketError
from nameplate.system.reading import shown
from nameplate.system.writing import write_bytes_atomic
from nameplate.ticket.explain import toml_value
from nameplate.ticket.tables import load

if TYPE_CHECKING:
    from tomlkit import TOMLDocument
    from tomlkit.items import Table

#: New values by their keys.
Values: TypeAlias = Mapping[str, float | str | date]

_MARK = "\ufeff"


def write_values(path: Path, table: tuple[str, ...], values: Values) -> None:
    """Set the values of a table (`("material", "lettering")`) of a workshop file that can be read.

    A table at the top (`("machine",)`) is added at the end where it is missing. Raises TicketError where the file has
    no such table or cannot be changed without moving other lines, and OutputError where it cannot be written; the file
    is then as it was.
    """
    file = shown(path)
    before, _ = load(path, file, what="a workshop file")
    heading = f"[{'.'.join(table)}]"
    if len(table) == 1:
        before.setdefault(table[0], {})
    if not isinstance(_at(before, table), dict):
        raise TicketError(f"{file} has no {heading}, to which this belongs: add it, with the material's name")
    raw = path.read_bytes().decode("utf-8")
    mark, text = (_MARK, raw[1:]) if raw.startswith(_MARK) else ("", raw)
    ending = "\r\n" if "\r\n" in text else "\n"
    old = text.replace(ending, "\n")
    new = _changed(old if old.endswith("\n") else f"{old}\n", table, values)
    _at(before, table).update(values)
    if not _says(new, before) or not _touches_only([*values, heading], old, new):
        lines = ", ".join(f"{key} = {toml_value(value)}" for key, value in values.items())
        raise TicketError(
            f"{file} cannot be changed without moving other lines; write below {heading} yourself: {lines}"
        )
    write_bytes_atomic(path, f"{mark}{new.replace(chr(10), ending)}".encode())


def _at(document: Any, table: tuple[str, ...]) -> Any:  # noqa: ANN401 - whatever stands there
    for name in table:
        document = document.get(name) if isinstance(document, dict) else None
    return document


def _says(text: str, document: Mapping[str, Any]) -> bool:
    """Tell whether a text is TOML that says what it should."""
    try:
        return tomllib.loads(text) == document
    except ValueError:
        return False


def _touches_only(words: Sequence[str], old: str, new: str) -> bool:
    """Tell whether only lines with one of the words differ, and blank ones."""
    before, after = old.splitlines(), new.splitlines()
    steps = SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
    touched = [line for kind, a, b, c, d in steps if kind != "equal" for line in (*before[a:b], *after[c:d])]
    return all(not line or any(word in line for word in words) for line in touched)


def _changed(text: str, table: tuple[str, ...], values: Values) -> str:
    """Give the document with the values set: those that are there in place, new ones behind these; empty on failure."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError
    from tomlkit.items import Table

    try:
        document = tomlkit.parse(text)
    except TOMLKitError:
        return ""
    if len(table) == 1 and table[0] not in document:
        document.append(table[0], tomlkit.table())
    found = _fragments(document, table)
    home = next((own for own in found if any(key in own for key in values)), found[0])
    for key, value in values.items():
        own = next((own for own in found if key in own), home)
        if isinstance(own, Table) and key not in own:
            _insert(own, key, value, list(values))
        else:
            own[key] = value
    return tomlkit.dumps(document)


def _fragments(document: TOMLDocument, table: tuple[str, ...]) -> list[Any]:
    """Find a table where it is written: keys with dots (`material.blank.kerf`) are a piece of it each."""
    first, *rest = table
    parents = [item for key, item in document.body if key is not None and key.key == first]
    return [own for parent in parents if (own := _at(parent, tuple(rest))) is not None]


def _insert(own: Table, key: str, value: float | str | date, order: list[str]) -> None:
    """Put a new key behind those of the same measurement, not behind the remarks at the table's end."""
    import tomlkit
    from tomlkit.items import SingleKey

    body = own.value.body
    there = [place for place, (known, _) in enumerate(body) if known is not None and known.key in order]
    keys = [place for place, (known, _) in enumerate(body) if known is not None]
    body.insert((there or keys or [-1])[-1] + 1, (SingleKey(key), tomlkit.item(value)))
