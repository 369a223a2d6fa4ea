"""Changes values in a job ticket or a workshop file as a person would: these change, every other line stays.

tomlkit keeps remarks, order and spelling. What it gives is trusted only where the file says what it said, with the new
values, and no other line changed; else nothing is written and the person is told what to write.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from difflib import SequenceMatcher
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from nameplate.errors import TicketError
from nameplate.system.reading import shown
from nameplate.system.writing import write_bytes_atomic
from nameplate.ticket.explain import toml_value
from nameplate.ticket.tables import document_of, read_file

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

#: New values by their keys; None for a key that is to go.
Values: TypeAlias = Mapping[str, float | str | bool | date | Sequence[str] | Mapping[str, Any] | None]

_MARK = "\ufeff"

#: The table of a ticket whose tables hold tables that may be missing.
_DESIGN = "design"


def write_values(path: Path, table: tuple[str, ...], values: Values) -> None:
    """Set the values of a table (`("material", "lettering")`) of a workshop file that can be read.

    Raises what `edited` raises, and OutputError where the file cannot be written; it is then as it was.
    """
    what = "a workshop file"
    write_bytes_atomic(path, edited(read_file(path, what=what), shown(path), table, values, what=what))


def edited(data: bytes, file: str, table: tuple[str, ...], values: Values, *, what: str = "a job ticket") -> bytes:
    """Return a TOML file's bytes with the values of one of its tables set, or taken out where they are None.

    A table at the top (`("machine",)`) or of a design (`("design", "gold", "face")`) is added where it is missing. The
    remark behind a key that goes stays, on a line of its own. Raises TicketError where the file is no TOML, has no
    such table, or cannot be changed without moving other lines.
    """
    before, _ = document_of(data, file, what=what)
    heading = f"[{'.'.join(table)}]"
    if (len(table) == 1 or table[0] == _DESIGN) and isinstance(home := _at(before, table[:-1]), dict):
        home.setdefault(table[-1], {})
    own = _at(before, table)
    if not isinstance(own, dict):
        raise TicketError(f"{file} has no {heading}, to which this belongs: add it, with the material's name")
    gone = {key: own.pop(key) for key, value in values.items() if value is None and key in own}
    new = {key: value for key, value in values.items() if value is not None}
    own.update(new)
    raw = data.decode("utf-8")
    mark, text = (_MARK, raw[1:]) if raw.startswith(_MARK) else ("", raw)
    ending = "\r\n" if "\r\n" in text else "\n"
    old = text.replace(ending, "\n")
    changed = _changed(old if old.endswith("\n") else f"{old}\n", table, new, tuple(gone))
    if not _says(changed, before) or not _touches_only([*new, *_keys(gone), heading, table[-1]], old, changed):
        lines = ", ".join(f"{key} = {toml_value(value)}" for key, value in new.items())
        told = [f"write below {heading} yourself: {lines}"] * bool(new)
        told += [f"take out below {heading}: {', '.join(gone)}"] * bool(gone)
        raise TicketError(f"{file} cannot be changed without moving other lines; {'; '.join(told)}")
    return (mark + changed.replace("\n", ending)).encode()


def _keys(values: Mapping[str, Any]) -> Iterator[str]:
    """Yield keys, those of tables within them included."""
    for key, value in values.items():
        yield key
        if isinstance(value, dict):
            yield from _keys(value)


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
    """Tell whether only lines with one of the words differ, blank ones, and remarks that were on these lines."""
    before, after = old.splitlines(), new.splitlines()
    steps = SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
    lines = [line for kind, a, b, c, d in steps if kind != "equal" for line in (*before[a:b], *after[c:d])]
    named = [line for line in lines if any(word in line for word in words)]
    touched = (line for line in lines if line not in named)
    return all(not line or (line.lstrip()[:1] == "#" and any(line.strip() in own for own in named)) for line in touched)


def _changed(text: str, table: tuple[str, ...], values: Mapping[str, Any], gone: Sequence[str]) -> str:
    """Give the document with the values set: those that are there in place, new ones behind these; empty on failure."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError
    from tomlkit.items import Table

    try:
        document = tomlkit.parse(text)
    except TOMLKitError:
        return ""
    found = _fragments(document, table) or [_added(document, table)]
    home = next((own for own in found if any(key in own for key in (*values, *gone))), found[0])
    missing = [key for key in values if not any(key in own for own in found)]
    for key in values.keys() - set(missing):
        own = next(own for own in found if key in own)
        own[key] = _written(values[key])
    for key in missing:
        if isinstance(home, Table):
            _insert(home, key, _written(values[key]), [*values, *gone])
        else:
            home[key] = _written(values[key])
    for key in gone:
        _take_out(next(own for own in found if key in own), key)
    return tomlkit.dumps(document)


def _written(value: object) -> object:
    """Give a value as it is to be written: a table on one line."""
    import tomlkit

    if not isinstance(value, Mapping):
        return value
    table = tomlkit.inline_table()
    table.update({key: _written(own) for key, own in value.items()})
    return table


def _added(document: TOMLDocument, table: tuple[str, ...]) -> Any:  # noqa: ANN401 - whatever holds keys
    """Add a table that is missing, in the form of the one that it lies in."""
    import tomlkit
    from tomlkit.items import InlineTable

    *above, name = table
    home = _fragments(document, tuple(above))[-1] if above else document
    home.append(name, tomlkit.inline_table() if isinstance(home, InlineTable) else tomlkit.table())
    if above and not isinstance(home, InlineTable):
        home[name].add(tomlkit.nl())
    return home[name]


def _fragments(document: TOMLDocument, table: tuple[str, ...]) -> list[Any]:
    """Find a table where it is written: keys with dots (`material.blank.kerf`) are a piece of it each."""
    first, *rest = table
    parents = [item for key, item in document.body if key is not None and key.key == first]
    return [own for parent in parents if (own := _at(parent, tuple(rest))) is not None]


def _insert(own: Any, key: str, value: object, order: list[str]) -> None:  # noqa: ANN401 - a table of tomlkit
    """Put a new key behind those of the same measurement, not behind the remarks at the table's end."""
    import tomlkit
    from tomlkit.items import SingleKey

    body = own.value.body
    there = [place for place, (known, _) in enumerate(body) if known is not None and known.key in order]
    keys = [place for place, (known, _) in enumerate(body) if known is not None]
    body.insert((there or keys or [-1])[-1] + 1, (SingleKey(key), tomlkit.item(value)))


def _take_out(own: Any, key: str) -> None:  # noqa: ANN401 - a table of tomlkit
    """Take out a key; the remark behind it stays."""
    from tomlkit.items import Comment, InlineTable, Null, Trivia

    if isinstance(own, InlineTable):
        del own[key]
        return
    body = own.value.body
    place = next(place for place, (known, _) in enumerate(body) if known is not None and known.key == key)
    remark = body[place][1].trivia.comment
    body[place] = (None, Comment(Trivia(comment=remark)) if remark else Null())
