"""The keys of a ticket: the field of a record that says what one accepts, and how a value is read by what it says.

A field's metadata: `kind` (a key of `KINDS`), `choices`, `least`, `most`, `above`, `help`, `example` and `unset` (what
is shown of a key whose default is none: a value, and what it then means).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from nameplate.ticket.lists import LISTS
from nameplate.ticket.values import SINGLE, Kind, Rules
from nameplate.ticket.words import show

#: Every kind of values.
KINDS: Mapping[str, Kind] = {**SINGLE, **LISTS}


def _key(kind: str, default: Any, help: str, **rules: Any) -> Any:  # noqa: ANN401 - a dataclass field of any type
    """Return the field of a key of some kind: its default, what it means, and more rules."""
    metadata = {"kind": kind, "help": help, **rules}
    if isinstance(default, dict):
        return field(default_factory=lambda: dict(default), metadata=metadata)
    return field(default=default, metadata=metadata)


#: Makes the field of a key by its kind: `key.length(1.5, "what it means", least=0)`.
key = SimpleNamespace(**{kind: partial(_key, kind) for kind in KINDS})


def read_value(value: object, rules: Rules, folder: Path) -> Any:  # noqa: ANN401 - each kind has its own type
    """Return the checked value of one key.

    ``rules`` is the metadata of its field. Raises ValueError with what was expected.

    >>> read_value("1in", {"kind": "length", "above": 0}, Path())
    25.4
    """
    return KINDS[rules["kind"]].read(value, rules, folder)


def accepted(rules: Rules) -> str:
    """Say in words what a key accepts.

    >>> accepted({"kind": "length", "above": 0, "most": 50}), accepted({"kind": "choice", "choices": ("a", "b")})
    ('a length (mm, or text with a unit), above 0 and at most 50', 'one of "a", "b"')
    """
    text = KINDS[rules["kind"]].accepted
    choices = rules.get("choices", ())
    if choices:
        text = "one of" if rules["kind"] == "count" else text
        text += f" {', '.join(show(c) for c in choices)}"
    bounds = (("above", "above"), ("least", "at least"), ("most", "at most"))
    limits = [f"{words} {rules[rule]:.10g}" for rule, words in bounds if rule in rules]
    return f"{text}, {' and '.join(limits)}" if limits else text
