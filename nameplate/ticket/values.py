"""Reads single values of a job ticket by the kind their field names; every refusal is a ValueError in a user's words.

A reader takes the raw TOML value, the field's metadata and the folder that relative paths start from.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any, NamedTuple, TypeAlias

from nameplate.system.file_names import DEVICES, same_file
from nameplate.system.reading import shown
from nameplate.ticket.words import closest, expected, printable
from nameplate.units import parse_length

#: No length in a ticket is longer (mm): ten metres, beyond any laser's bed; catches a slip of units and 1e300.
LONGEST = 10_000.0

#: No text in a ticket is longer (characters).
LONGEST_TEXT = 500

#: No key of a material is longer (characters).
LONGEST_KEY = 40

_BACKSLASH = "; in double quotes a backslash makes them: write / between folders"

_MATERIAL = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")  # LONGEST_KEY in all
_COLOUR = re.compile(r"#[0-9a-f]{6}", re.IGNORECASE)

#: A column of the list in the text of a line.
COLUMN = re.compile(r"\{([^{}]*)\}")

#: The metadata of a field.
Rules: TypeAlias = Mapping[str, Any]


class Kind(NamedTuple):
    """A kind of values: what reads one, by the rules of its field, and in words what is accepted."""

    read: Callable[[object, Rules, Path], Any]
    accepted: str


def _within(number: float, rules: Rules, unit: str = "") -> None:
    if "above" in rules and not number > rules["above"]:
        raise expected(f"more than {rules['above']:g}{unit}")
    if "least" in rules and number < rules["least"]:
        raise expected(f"at least {rules['least']:g}{unit}")
    if "most" in rules and number > rules["most"]:
        raise expected(f"at most {rules['most']:g}{unit}")


def read_length(value: object, rules: Rules, folder: Path) -> float:
    """Read a length in mm; raises ValueError for what is none, or outside the rules, as all readers do."""
    if not isinstance(value, int | float | str) or isinstance(value, bool):
        raise expected('a length: a number of millimetres, or text with a unit, like "12 mm" or "3/8in"')
    if isinstance(value, str) and len(value) > 40:
        raise expected('a length, like "12 mm" or "3/8in"')
    if abs(length := parse_length(value)) > LONGEST:
        raise expected(f"a length of at most {LONGEST:g} mm")
    _within(length, rules, " mm")
    return length


def read_number(value: object, rules: Rules, folder: Path) -> float:
    """Read a finite number."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise expected(f"a number, without quotes or unit{_as_number(value)}")
    if not abs(value) <= sys.float_info.max:  # nor NaN
        raise expected("a finite number")
    _within(value, rules)
    return float(value)


def _as_number(value: object) -> str:
    """Say how to write a number that stands in quotes."""
    text = value.strip().replace(",", ".") if isinstance(value, str) and len(value) <= 40 else ""
    return f"; write {text}" if text.replace(".", "", 1).isdecimal() and text.isascii() else ""


def _count(value: object, rules: Rules, folder: Path) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise expected(f"a whole number, without quotes{_as_number(value)}")
    if abs(value) > 1_000_000:  # before it is written out: it may have thousands of digits
        raise expected(f"a whole number of at most {rules.get('most', 1_000_000)}")
    _within(value, rules)
    if "choices" in rules and value not in rules["choices"]:
        raise expected(f"one of {', '.join(map(str, rules['choices']))}")
    return value


def _flag(value: object, rules: Rules, folder: Path) -> bool:
    if not isinstance(value, bool):
        raise expected("true or false, without quotes")
    return value


def _text(value: object, rules: Rules, folder: Path) -> str:
    if not isinstance(value, str) or not value.strip():
        raise expected("a text in quotes")
    if len(value) > LONGEST_TEXT:
        raise expected(f"a text of at most {LONGEST_TEXT} characters")
    check_characters(value, "a text of one line")
    return value.strip()


def check_characters(text: str, what: str) -> None:
    """Refuse a text with control characters or with bytes that are none; ``what`` was expected."""
    if any(ord(c) < 32 or 127 <= ord(c) < 160 for c in text):
        raise expected(f"{what}, without control characters{_BACKSLASH}")
    if text != printable(text):
        raise expected(f"{what}, of whole characters; some of its bytes are none")


def _title(value: object, rules: Rules, folder: Path) -> str:
    return "" if isinstance(value, str) and not value.strip() else _text(value, rules, folder)


def _wording(value: object, rules: Rules, folder: Path) -> str:
    text = _text(value, rules, folder)
    bare = COLUMN.sub("", text)
    if "{" in bare or "}" in bare:
        raise expected('braces in pairs round the heading of a column, like "{name}"')
    if any(not column.strip() for column in COLUMN.findall(text)):
        raise expected("the heading of a column in each pair of braces")
    return text


def read_choice(value: object, rules: Rules, folder: Path) -> str:
    """Read one of the words that the rules have as choices."""
    choices: tuple[str, ...] = rules["choices"]
    if not isinstance(value, str):
        raise expected(f"one of {', '.join(choices)}, in quotes")
    if value not in choices:
        near = closest(value, choices)
        raise ValueError(f"expected one of {', '.join(choices)}{f'; did you mean {near}?' if near else ''}")
    return value


def _path(value: object, rules: Rules, folder: Path) -> Path:
    text = _text(value, rules, folder)
    path = folder / text
    try:
        if path.is_file():
            return path
        problem = "it is a folder, not a file" if path.is_dir() else "there is no such file"
        if path.exists() and not path.is_dir():
            problem = "it is not an ordinary file"
    except (OSError, ValueError, RuntimeError):  # a name too long, or forbidden here; links in a circle
        problem = "that cannot be the name of a file"
    advice = "; write / between folders" if "\\" in text else ""
    raise ValueError(f"{problem} ({shown(path)}); a relative path starts at the ticket's folder{advice}")


def _date(value: object, rules: Rules, folder: Path) -> date:
    if isinstance(value, datetime) or not isinstance(value, date):
        raise expected("a date without quotes, like 2026-03-01")
    return value


def _effort(value: object, rules: Rules, folder: Path) -> str | float:
    words = ("quick", "normal", "long")
    if isinstance(value, str):
        return read_choice(value, {"choices": words}, folder)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise expected(f"{', '.join(words)}, or a number of seconds")
    return read_number(value, rules, folder)


def read_material(value: object, rules: Rules, folder: Path) -> str:
    """Read the key of a material, which is also the beginning of its cut files' names."""
    if not isinstance(value, str) or not is_key(value):
        raise expected(f"the key of a material: up to {LONGEST_KEY} small letters, digits, - and _")
    return value


def is_key(text: str) -> bool:
    """Tell whether a text can be the key of a material.

    >>> is_key("mirror-3"), is_key("Mirror"), is_key("../mirror")
    (True, False, False)
    """
    return _MATERIAL.fullmatch(text) is not None and same_file(text) not in DEVICES


def _colour(value: object, rules: Rules, folder: Path) -> str:
    if not isinstance(value, str) or not _COLOUR.fullmatch(value):
        raise expected('a colour in quotes, like "#0072b2"')
    return value.lower()


#: The kinds of single values; of choices and figures `accepted` tells more.
SINGLE: Mapping[str, Kind] = {
    "length": Kind(read_length, "a length (mm, or text with a unit)"),
    "number": Kind(read_number, "a number"),
    "count": Kind(_count, "a whole number"),
    "flag": Kind(_flag, "true or false"),
    "text": Kind(_text, "a text"),
    "title": Kind(_title, "a text, or an empty one"),
    "wording": Kind(_wording, "a text; columns of the list in braces"),
    "choice": Kind(read_choice, "one of"),
    "path": Kind(_path, "the name of a file; a relative one starts at the ticket's folder"),
    "date": Kind(_date, "a date, year first, without quotes"),
    "effort": Kind(_effort, '"quick", "normal", "long", or a number of seconds'),
    "colour": Kind(_colour, "a colour of red, green and blue"),
    "material": Kind(read_material, "the key of a material: small letters, digits, - and _"),
}
