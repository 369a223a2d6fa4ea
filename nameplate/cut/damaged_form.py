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
from typing import Any, TypeVar, get_args

from msgspec import ValidationError, convert

from nameplate.cut.nominal_form import COLOUR, CORNER
from nameplate.model import PartKind

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

_PATTERNS = {COLOUR: "a colour like #0072b2", CORNER: "a corner like bottom-left"}

#: A step of a path: a field, or the place in a list.
_STEP = re.compile(r"\.(\w+)|\[(\d+)\]")


class DamagedFieldError(ValueError):
    """A field that is not what it should be; the message names it."""


def converted(document: Any, form: type[_F]) -> _F:  # noqa: ANN401 - JSON
    """Give a document in its form; raises DamagedFieldError where it has another.

    >>> from nameplate.cut.nominal_form import DropInForm
    >>> converted({"what": "", "outer": ["1", "lettering", 1], "room": 0.2, "solids": []}, DropInForm)
    Traceback (most recent call last):
    nameplate.cut.damaged_form.DamagedFieldError: what: found "", expected a text that is not empty
    """
    try:
        return convert(document, form)
    except ValidationError as error:
        raise DamagedFieldError(_told(str(error), document)) from error


def _told(message: str, document: Any) -> str:  # noqa: ANN401 - JSON
    what, _, path = message.partition(" - at `$")
    steps = [int(place) if place else field for field, place in _STEP.findall(path)]
    where = "".join(_named(steps))
    if field := re.fullmatch(r"Object (?:missing required|contains unknown) field `(.*)`", what):
        wrong = "is missing" if "missing" in what else "is no field of this program"
        return f"{where}{', ' if where else ''}{field[1][:_MOST_SHOWN]} {wrong}"
    return f"{where or 'the whole'}: found {_shown(reduce(getitem, steps, document))}, expected {_expected(what)}"


def _named(steps: list[str | int]) -> Iterator[str]:
    """Name the steps of a path, one after another.

    >>> "".join(_named(["parts", 0, "windows", 1, 2]))
    'parts 1, windows 2, 3'
    """
    for n, step in enumerate(steps):
        after_name = n > 0 and isinstance(steps[n - 1], str)
        yield f"{' ' if after_name else ', '}{step + 1}" if isinstance(step, int) else f"{', ' if n else ''}{step}"


def _shown(value: object) -> str:
    """Say what stands in a field, as JSON has it and as far as a message has room.

    >>> _shown("x" * 50) == '"' + "x" * 39 + "...", _shown(True), _shown(1), _shown([1, 2]), _shown({}), _shown(None)
    (True, 'true', '1', 'a list of 2', 'a table', 'null')
    """
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return "a table"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}..."


def _expected(what: str) -> str:
    """Say what should stand there.

    >>> _expected("Expected `int` >= 1"), _expected("Expected `float | null`, got `str`")
    ('a whole number of 1 or more', 'a number or null')
    >>> _expected("Expected `array` of length <= 10"), _expected("Expected `array` of length 5, got 4")
    ('a list of at most 10', 'a list of 5')
    """
    if what.startswith("Invalid enum value"):
        return f"one of {', '.join(get_args(PartKind))}"
    said = re.match(r"Expected `([^`]+)`(?: (of length |matching regex )?(>= |<= )?(.*))?", what.partition(", got ")[0])
    if said is None:
        return "something else"
    kinds, about, bound, value = said.groups()
    kind = " or ".join(_KINDS.get(own, own) for own in kinds.split(" | "))
    if about == "matching regex ":
        return next((told for pattern, told in _PATTERNS.items() if repr(pattern) == value), kind)
    if about and (bound, value) == (">= ", "1"):
        return f"{kind} that is not empty"
    number = f"{float(value):.0f}" if value else ""
    if about:
        return f"{kind} of {'at most ' if bound else ''}{number}"
    return f"{kind} of {number} or {'more' if bound == '>= ' else 'less'}" if bound else kind
