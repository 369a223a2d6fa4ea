"""Changes values in a job ticket or a workshop file as a person would: these change, every other line stays.

tomlkit keeps remarks, order and spelling. What it gives is trusted only where the file says what it said, with the new
values, and no other line changed; else nothing is written and the person is told what to write.
"""

from __future__ import annotations

import re
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
Values: TypeAlias = Mapping[str, float | str | bool | date | Sequence[Any] | Mapping[str, Any] | None]

#: Where a table stands: the names on the way to it; in a list of tables its place, from 0 (`("stock", 0)`).
Place: TypeAlias = tuple[str | int, ...]

_MARK = "\ufeff"

_TICKET = "a job ticket"

#: A name that stands in a heading without quotes.
_BARE = re.compile("[A-Za-z0-9_-]+")

#: A table of a list that takes more lines than this is not taken out: each is tried as its last.
MOST_LINES = 200


def write_values(path: Path, table: Place, values: Values) -> None:
    """Set the values of a table (`("material", "lettering")`) of a workshop file that can be read.

    Raises what `edited` raises, and OutputError where the file cannot be written; it is then as it was.
    """
    what = "a workshop file"
    write_bytes_atomic(path, edited(read_file(path, what=what), shown(path), table, values, what=what))


def edited(data: bytes, file: str, table: Place, values: Values | None, *, what: str = _TICKET) -> bytes:
    """Return a TOML file's bytes with the values of one of its tables set, or taken out where they are None.

    A table that is missing is added: of a ticket any, the next of a list of tables (`("stock", 2)`) behind the last, of
    another file one at the top (`("machine",)`). Without values a table of a list goes. The remark behind a key that
    goes stays, on a line of its own. Raises TicketError where the file is no TOML, has no such table, or cannot be
    changed without moving other lines.
    """
    before, _ = document_of(data, file, what=what)
    raw = data.decode("utf-8")
    mark, text = (_MARK, raw[1:]) if raw.startswith(_MARK) else ("", raw)
    ending = "\r\n" if "\r\n" in text else "\n"
    old = text.replace(ending, "\n")
    change = _relisted if values is None or _is_next(before, table) else _with_values
    return (mark + change(before, old, file, table, values or {}, what).replace("\n", ending)).encode()


def with_heading(data: bytes, file: str, table: Place) -> bytes:
    """Return a ticket's bytes with a table more at its end, of which nothing is said yet; raises TicketError for one
    that is there, or a file that is no TOML.

    >>> with_heading(b"[job]", "job.toml", ("design", "oak leaf"))
    b'[job]\\n\\n[design."oak leaf"]\\n'
    """
    document_of(data, file)
    ending = b"\r\n" if b"\r\n" in data else b"\n"
    after = b"".join((data.rstrip(b"\r\n"), ending * 2, heading_of(table).encode(), ending))
    document_of(after, file)
    return after


def _with_values(before: dict[str, Any], old: str, file: str, table: Place, values: Values, what: str) -> str:
    """Give the text with the values of a table set; it said `before`."""
    heading = heading_of(table)
    if len(table) == 1 or what == _TICKET:
        home = before.setdefault("material", {}) if table[0] == "material" else value_at(before, table[:-1])
        if isinstance(home, dict):
            home.setdefault(table[-1], {})
    own = value_at(before, table)
    if not isinstance(own, dict):
        raise TicketError(f"{file} has no {heading}, to which this belongs: add it, with the material's name")
    gone = {key: own.pop(key) for key, value in values.items() if value is None and key in own}
    new = {key: value for key, value in values.items() if value is not None}
    own.update(new)
    changed = _changed(old if old.endswith("\n") else f"{old}\n", table, new, tuple(gone))
    names = [name for name in table if isinstance(name, str)]
    if not _says(changed, before) or not _touches_only([*new, *_keys(gone), heading, names[-1]], old, changed):
        lines = ", ".join(f"{key} = {toml_value(value)}" for key, value in new.items())
        which = f"{heading} {table[-1] + 1}" if isinstance(table[-1], int) else heading
        told = [f"write below {which} yourself: {lines}"] * bool(new)
        told += [f"take out below {which}: {', '.join(gone)}"] * bool(gone)
        raise TicketError(f"{file} cannot be changed without moving other lines; {'; '.join(told)}")
    return changed


def _is_next(document: Mapping[str, Any], table: Place) -> bool:
    """Tell whether a place is the next of a list of tables."""
    return isinstance(table[-1], int) and len(value_at(document, table[:-1]) or ()) == table[-1]


def _relisted(before: dict[str, Any], old: str, file: str, table: Place, values: Values, what: str) -> str:
    """Give the text with a table behind the last of a list, or, without values, without that of a place.

    Lines of a table are the fewest from its heading without which the text says all the rest: remarks that follow stay.
    """
    *above, name, number = table
    assert isinstance(number, int)  # what is no list has values
    home, heading = value_at(before, tuple(above)), heading_of(table)
    tables = list(home.pop(name, []))
    new = {key: value for key, value in values.items() if value is not None}
    body = old.rstrip("\n")
    lines, start, end = body.split("\n"), len(body), len(body)
    if tables:
        at = min(number, len(tables) - 1)
        home.update({name: tables[:at] + tables[at + 1 :]} if len(tables) > 1 else {})
        begins = [line for line, text in enumerate(lines) if text.replace(" ", "").startswith(heading.replace(" ", ""))]
        start = begins[at] if at < len(begins) else len(lines)
        ends = range(start + 1, min(start + MOST_LINES, len(lines)) + 1)
        end = next((end for end in ends if _says("\n".join(lines[:start] + lines[end:]), before)), 0)
    if new:
        home[name] = [*tables, new]
        lines[end:end] = ["", heading, *(f"{key} = {spelt(value)}" for key, value in new.items())]
    else:
        apart = start > 0 and not lines[start - 1].strip() and not "".join(lines[end : end + 1]).strip()
        del lines[start - apart : end]
    changed = "\n".join(lines) + (old[len(body) :] or "\n")
    if not end or not _says(changed, before):
        told = f"{'write' if new else 'take out'} {heading} {number + 1} yourself"
        raise TicketError(f"{file} cannot be changed without moving other lines; {told}")
    return changed


def heading_of(table: Place) -> str:
    """Write the line that a table begins with.

    >>> heading_of(("design", "gold", "face")), heading_of(("design", "oak leaf", "line", 1))
    ('[design.gold.face]', '[[design."oak leaf".line]]')
    """
    names = [name for name in table if isinstance(name, str)]
    heading = ".".join(name if _BARE.fullmatch(name) else toml_value(name) for name in names)
    return f"[[{heading}]]" if isinstance(table[-1], int) else f"[{heading}]"


def spelt(value: object) -> str:
    """Spell a value as TOML does, every digit of it.

    >>> spelt((1200.125, "a")), spelt({"x": 0.2}), spelt(True)
    ('[1200.125, "a"]', '{x = 0.2}', 'true')
    """
    import tomlkit

    return tomlkit.item(_written(value)).as_string()


def _keys(values: Mapping[str, Any]) -> Iterator[str]:
    """Yield keys, those of tables within them included."""
    for key, value in values.items():
        yield key
        if isinstance(value, dict):
            yield from _keys(value)


def value_at(document: Any, table: Place) -> Any:  # noqa: ANN401 - whatever stands there
    """Give what stands at a place of a document; None where there is nothing.

    >>> value_at({"stock": [{"price": 3}]}, ("stock", 0)), value_at({"stock": 3}, ("stock", 0))
    ({'price': 3}, None)
    """
    for name in table:
        if isinstance(name, int):
            document = document[name] if isinstance(document, list) and name < len(document) else None
        else:
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


def _changed(text: str, table: Place, values: Mapping[str, Any], gone: Sequence[str]) -> str:
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


def _added(document: TOMLDocument, table: Place) -> Any:  # noqa: ANN401 - whatever holds keys
    """Add a table that is missing, in the form of the one that it lies in."""
    import tomlkit
    from tomlkit.items import InlineTable

    *above, name = table
    home: Any = document
    if above and not _fragments(document, tuple(above)):
        document.append(str(above[0]), tomlkit.table(is_super_table=True))
    if above:
        home = _fragments(document, tuple(above))[-1]
    home.append(name, tomlkit.inline_table() if isinstance(home, InlineTable) else tomlkit.table())
    if above and not isinstance(home, InlineTable):
        home[name].add(tomlkit.nl())
    return home[name]


def _fragments(document: TOMLDocument, table: Place) -> list[Any]:
    """Find a table where it is written: keys with dots (`material.blank.kerf`) are a piece of it each."""
    first, *rest = table
    parents = [item for key, item in document.body if key is not None and key.key == first]
    return [own for parent in parents if (own := value_at(parent, tuple(rest))) is not None]


def _insert(own: Any, key: str, value: object, order: list[str]) -> None:  # noqa: ANN401 - a table of tomlkit
    """Put a new key behind those of the same measurement, not behind the remarks at the table's end."""
    import tomlkit
    from tomlkit.items import AoT, SingleKey, Table

    body = own.value.body
    keys = [place for place, (known, item) in enumerate(body) if known and not isinstance(item, Table | AoT)]
    there = [place for place in keys if body[place][0].key in order]
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
