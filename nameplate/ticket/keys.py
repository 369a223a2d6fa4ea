"""The keys of a ticket: the field of a record that says what one accepts, and how a value is read by what it says.

A field's metadata: `kind` (a key of `READERS`: "length", "number", "count", "text", "choice", "flag", "path", ...),
`choices`, `least`, `most`, `above`, `help`, `example` and `unset` (what is shown of a key whose default is none: a
value, and what it then means).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import Any

from nameplate.ticket.lists import LISTS
from nameplate.ticket.values import SINGLE, Reader, Rules
from nameplate.ticket.words import show

#: Every kind, and what reads it.
READERS: Mapping[str, Reader] = {**SINGLE, **LISTS}

#: What each kind accepts, in words; of choices and figures `accepted` tells more.
ACCEPTED: Mapping[str, str] = {
    "length": "a length (mm, or text with a unit)",
    "number": "a number",
    "count": "a whole number",
    "flag": "true or false",
    "text": "a text",
    "title": "a text, or an empty one",
    "wording": "a text; columns of the list in braces",
    "choice": "one of",
    "date": "a date, year first, without quotes",
    "path": "the name of a file; a relative one starts at the ticket's folder",
    "fonts": "the name of a bundled font, a path to a .ttf or .otf file, or a list of them",
    "features": "a list of features; - before one turns it off",
    "axes": "a table of axes and numbers",
    "roles": "a table of names, each with one of",
    "turns": 'a list of angles, or "free"',
    "effort": '"quick", "normal", "long", or a number of seconds',
    "ring": "a list of at least three corners, each [x, y]",
    "boxes": "a list of places, each [x, y, width, height]",
    "holes": "a list of holes, each [x, y, diameter]",
    "choices": "one, or a list, of",
    "kerf": "a width (mm, or text with a unit), or a table of widths by operation or axis",
    "pair": "two lengths, [x, y]",
    "points": "two lengths, [x, y], or a list of such pairs",
    "moved": "a table of plates and pairs [x, y], or lists of pairs",
    "colour": "a colour of red, green and blue",
    "material": "the key of a material: small letters, digits, - and _",
    "materials": "a table of roles and keys of materials",
    "table": "a table of such keys",
    "tables": "tables of such keys",
}


def key(default: Any, kind: str, help: str, **rules: Any) -> Any:  # noqa: ANN401 - a dataclass field of any type
    """Return the field of a key: its default, its kind, what it means, and more rules."""
    metadata = {"kind": kind, "help": help, **rules}
    if isinstance(default, dict):
        return field(default_factory=lambda: dict(default), metadata=metadata)
    return field(default=default, metadata=metadata)


def read_value(value: object, rules: Rules, folder: Path) -> Any:  # noqa: ANN401 - each kind has its own type
    """Return the checked value of one key.

    ``rules`` is the metadata of its field. Raises ValueError with what was expected.

    >>> read_value("1in", {"kind": "length", "above": 0}, Path())
    25.4
    """
    return READERS[rules["kind"]](value, rules, folder)


def accepted(rules: Rules) -> str:
    """Say in words what a key accepts.

    >>> accepted({"kind": "length", "above": 0, "most": 50}), accepted({"kind": "choice", "choices": ("a", "b")})
    ('a length (mm, or text with a unit), above 0 and at most 50', 'one of "a", "b"')
    """
    text = ACCEPTED[rules["kind"]]
    choices = rules.get("choices", ())
    if choices:
        text = "one of" if rules["kind"] == "count" else text
        text += f" {', '.join(show(c) for c in choices)}"
    bounds = (("above", "above"), ("least", "at least"), ("most", "at most"))
    limits = [f"{words} {rules[rule]:.10g}" for rule, words in bounds if rule in rules]
    return f"{text}, {' and '.join(limits)}" if limits else text
