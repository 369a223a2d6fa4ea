"""Writes a first job: a commented ticket with every key there is, and a short list of invented names.

The ticket is made from the fields of :mod:`nameplate.ticket.schema`, so a key added there appears here by itself.
"""

from __future__ import annotations

import os
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import MISSING, Field, fields
from pathlib import Path
from typing import Any

from nameplate.errors import OutputError
from nameplate.system.reading import shown
from nameplate.system.writing import write_text_atomic
from nameplate.ticket.reader import TABLES
from nameplate.ticket.schema import DEFAULT_MATERIALS, MATERIALS, MaterialKeys, StockKeys

TICKET_NAME = "job.toml"
ROSTER_NAME = "names.csv"

#: Values that the starter sets, where the default is none or another number reads better as a first job.
_CHOSEN: Mapping[str, Mapping[str, object]] = {
    "job": {"title": "Orchard sponsors", "roster": ROSTER_NAME},
    "face": {"shape": "ellipse", "width": 110, "height": 80},
    "lettering": {"max_height": 30},
}

_SHEETS: tuple[Mapping[str, object], ...] = (
    {"material": "lettering", "width": 600, "height": 300, "price": 11.5},
    {"material": "template", "width": 600, "height": 400, "price": 2.1},
)

_NAMES = """name,id,copies,line2,font,position,size,mount,tree
Anselm Quill,,,,,A1,,,apple
Zoë Ó Faoláin,,,,,A2,,,pear
Łukasz Brzoza,,,,,A3,,,cherry
Familie Grünwald,,2,,,A4,,,plum
Nguyễn Thị Hạnh,,,,,B1,,,apple
Wren Abara,,,in memory of Tilo,,B2,,,quince
"""

_HEAD = """\
# A job ticket for nameplate. Lengths are millimetres, or texts with a unit: "12 mm", "3/8in".
# Lines that begin with # are remarks, or keys left at their default; take the # away to set them.
# Make it with:  nameplate make job.toml -o out
"""


def write_starter(folder: Path) -> tuple[Path, ...]:
    """Write `job.toml` and `names.csv` into a folder, which is made where it is missing; return their paths.

    Raises OutputError, and writes nothing, when one of the files is there already or the folder cannot be used.
    """
    texts = {folder / TICKET_NAME: ticket_text(), folder / ROSTER_NAME: _NAMES}
    there = [path for path in texts if os.path.lexists(path)]
    if there:
        raise OutputError([f"{path} is there already and is not overwritten; choose another folder" for path in there])
    new_folders = [place for place in (folder, *folder.parents) if not place.exists()]
    written: list[Path] = []
    try:
        for path, text in texts.items():
            write_text_atomic(path, text)
            written.append(path)
    except OutputError as error:
        reason = getattr(error.__cause__, "strerror", None) or error.__cause__
        raise OutputError(f"{shown(folder)}: cannot be written: {reason}; nothing was left there") from error
    finally:
        if len(written) < len(texts):
            _take_back(written, new_folders)
    return tuple(texts)


def _take_back(written: Sequence[Path], folders: Sequence[Path]) -> None:
    """Delete what was written, and the folders made for it, innermost first."""
    with suppress(OSError):
        for path in written:
            path.unlink()
        for folder in folders:
            folder.rmdir()


def ticket_text() -> str:
    """Return the commented ticket."""
    blocks = [_HEAD, *(_table(f"[{name}]", record, _CHOSEN.get(name, {})) for name, record in TABLES.items())]
    for key, base in DEFAULT_MATERIALS.items():
        known = {f.name: value for f in fields(base) if (value := getattr(base, f.name)) is not None}
        blocks.append(_table(f"[material.{key}]", MaterialKeys, known))
    others = ", ".join(f"[material.{key}]" for key in MATERIALS if key not in DEFAULT_MATERIALS)
    blocks.append(f"# Also known, with the same keys: {others}\n")
    blocks += [_table("[[stock]]", StockKeys, sheet) for sheet in _SHEETS]
    return "\n".join(blocks)


def _table(heading: str, record: Any, chosen: Mapping[str, object]) -> str:  # noqa: ANN401 - a record class
    """Return one table: a line of help above each key; keys without a chosen value are remarks."""
    lines = [heading]
    for field in fields(record):
        lines += _key(field, chosen)
    return "\n".join(lines) + "\n"


def _key(field: Field[Any], chosen: Mapping[str, object]) -> Iterator[str]:
    default = field.default_factory() if field.default_factory is not MISSING else field.default
    value = chosen.get(field.name, field.metadata.get("example", default))
    remark = "\n".join(textwrap.wrap(_remark(field.metadata), 110, initial_indent="# ", subsequent_indent="#   "))
    yield remark
    yield f"{'' if field.name in chosen else '# '}{field.name} = {toml_value(value)}"


def _remark(rules: Mapping[str, Any]) -> str:
    """Return a key's help with its choices and the values that are not available yet."""
    text: str = rules["help"]
    now = [c for c in rules.get("choices", ()) if c not in rules.get("later", ())]
    if now and not all(c in text for c in now):
        text += f": {', '.join(now)}"
    if rules.get("later"):
        text += f" (not available yet: {', '.join(rules['later'])})"
    if "only" in rules:
        text += f" (not available yet: anything but {toml_value(rules['only'])})"
    return text


def toml_value(value: object) -> str:
    """Return a value as TOML spells it.

    >>> toml_value(True), toml_value(1.5), toml_value(180.0), toml_value(("a", "b")), toml_value("x"), toml_value(())
    ('true', '1.5', '180', '["a", "b"]', '"x"', '[]')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return f"{value:g}"
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {toml_value(v)}' for key, v in value.items())} }}"
    if isinstance(value, tuple | list):
        return f"[{', '.join(toml_value(v) for v in value)}]"
    escaped = str(value).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
