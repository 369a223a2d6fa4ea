"""What is wrong with JSON that has another form than it should, in our own words: where, what is there, what should be.

The form is checked by msgspec, whose messages are for programmers ("Expected `int` >= 1 - at `$.parts[0].layer`"). Here
they are taken apart; what stands there, which they mostly leave out, is looked up. Entries are counted from 1.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import reduce
from operator import getitem
from typing import Any, TypeVar

from msgspec import ValidationError, convert, inspect

_F = TypeVar("_F")

#: Letters that are shown of what stands in a field, which may be as long as its file.
_MOST_SHOWN = 40

_KINDS = {
    "int": "a whole number",
    "float": "a number",
    "str": "a text",
    "bool": "true or false",
    "array": "a list",
    "object": "a table",
    "null": "null",
}

_BOUNDS = {">= ": "at least ", "> ": "more than ", "<= ": "at most ", None: ""}

#: A step of a path: a field, or the place in a list.
_STEP = re.compile(r"\.(\w+)|\[(\d+)\]")


class DamagedFieldError(ValueError):
    """A field that is not what it should be; the message names it."""


def converted(document: Any, form: type[_F]) -> _F:  # noqa: ANN401 - JSON
    """Give a document in its form; raises DamagedFieldError where it has another.

    What a pattern is like is told by the `description` that stands beside it in the form.

    >>> from msgspec import defstruct
    >>> converted({"size": [3, "x"]}, defstruct("Card", [("size", tuple[int, int])]))
    Traceback (most recent call last):
    nameplate.system.damaged_form.DamagedFieldError: size 2: found "x", expected a whole number
    """
    try:
        return convert(document, form)
    except ValidationError as error:
        raise DamagedFieldError(_told(str(error), document, form)) from error


def _told(message: str, document: Any, form: type) -> str:  # noqa: ANN401 - JSON
    what, _, path = message.partition(" - at `$")
    steps = [int(place) if place else field for field, place in _STEP.findall(path)]
    where = "".join(_named(steps))
    if field := re.fullmatch(r"Object (?:missing required|contains unknown) field `(.*)`", what):
        wrong = "is missing" if "missing" in what else "is no field of this program"
        return f"{where}{', ' if where else ''}{field[1][:_MOST_SHOWN]} {wrong}"
    expected = _in_words(reduce(_within, steps, inspect.type_info(form))) or _expected(what)
    return f"{where or 'the whole'}: found {shown_value(reduce(getitem, steps, document))}, expected {expected}"


def _within(form: inspect.Type, step: str | int) -> inspect.Type:
    """Give the form of what stands at one step: of several that may stand there, the one that has such a step."""
    for one in form.types if isinstance(form, inspect.UnionType) else (form,):
        if isinstance(one, inspect.StructType):
            return next(field.type for field in one.fields if field.encode_name == step)
        if isinstance(one, inspect.TupleType) and isinstance(step, int):
            return one.item_types[step]
        if isinstance(one, inspect.VarTupleType | inspect.ListType):
            return one.item_type
    return form


def _in_words(form: inspect.Type) -> str:
    """Say what a form is that tells it: one of some words, or what has a description; empty for any other."""
    if isinstance(form, inspect.LiteralType):
        return f"one of {', '.join(map(str, form.values))}"
    return str((form.extra_json_schema or {}).get("description", "")) if isinstance(form, inspect.Metadata) else ""


def _named(steps: list[str | int]) -> Iterator[str]:
    """Name the steps of a path, one after another.

    >>> "".join(_named(["parts", 0, "windows", 1, 2]))
    'parts 1, windows 2, 3'
    """
    for n, step in enumerate(steps):
        after_name = n > 0 and isinstance(steps[n - 1], str)
        yield f"{' ' if after_name else ', '}{step + 1}" if isinstance(step, int) else f"{', ' if n else ''}{step}"


def shown_value(value: object) -> str:
    """Say what stands in a field, as JSON has it and as far as a message has room.

    >>> [shown_value(value) for value in (True, 1, [1, 2], {}, None)]
    ['true', '1', 'a list of 2', 'a table', 'null']
    >>> shown_value("x" * 50) == '"' + "x" * 39 + "..."
    True
    """
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return "a table"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}..."


def _expected(what: str) -> str:
    """Say what should stand there.

    >>> _expected("Expected `int` >= 1"), _expected("Expected `float` > 0.0")
    ('a whole number of at least 1', 'a number of more than 0')
    >>> _expected("Expected `float | null`, got `str`")
    'a number or null'
    >>> _expected("Expected `array` of length <= 10"), _expected("Expected `array` of length 5, got 4")
    ('a list of at most 10', 'a list of 5')
    """
    said = re.match(r"Expected `([^`]+)`(?: (of length )?(>=? |<= )?(.*))?", what.partition(", got ")[0])
    if said is None:
        return "something else"
    kinds, about, bound, value = said.groups()
    kind = " or ".join(_KINDS.get(own, own) for own in kinds.split(" | "))
    if about and (bound, value) == (">= ", "1"):
        return f"{kind} that is not empty"
    return f"{kind} of {_BOUNDS[bound]}{float(value):.0f}" if value else kind
