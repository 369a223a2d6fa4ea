"""Reads single values of a job ticket by the kind their field names; every refusal is a ValueError in a user's words.

A reader takes the raw TOML value, the field's metadata and the folder that relative paths start from.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Iterable, Mapping, Sized
from pathlib import Path
from typing import Any

from nameplate.system.file_names import DEVICES, same_file
from nameplate.system.reading import shown
from nameplate.units import parse_length

#: No length in a ticket is longer (mm): ten metres, beyond any laser's bed; catches a slip of units and 1e300.
LONGEST = 10_000.0

#: No text in a ticket is longer (characters).
LONGEST_TEXT = 500

#: No key of a material is longer (characters).
LONGEST_KEY = 40

#: Most entries of a list in a ticket, by what it lists; the corners are checked against each other.
MOST_FONTS = 20
MOST_FEATURES = 50
MOST_AXES = 64
MOST_TURNS = 360
MOST_ROLES = 100
MOST_CORNERS = 2_000

#: Values of a font's axes lie within this, because a font stores them in 16 bits before the point (OpenType, fvar).
LARGEST_AXIS = 32_767

#: How alike two words must be before one is suggested for the other (0 to 1). Lower suggests nonsense.
ALIKE = 0.6

_BACKSLASH = "; in double quotes a backslash makes them: write / between folders"

_MATERIAL = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")
_COLOUR = re.compile(r"#[0-9a-f]{6}", re.IGNORECASE)
_FEATURE = re.compile(r"[-+]?[A-Za-z0-9]{4}(=\d{1,3})?")

#: A column of the list in the text of a line.
COLUMN = re.compile(r"\{([^{}]*)\}")

Rules = Mapping[str, Any]


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a hint that names the known word nearest to a mistyped one, or lists all when none is near.

    >>> nearest("widht", ["width", "height"])
    'did you mean width?'
    >>> nearest("zzz", ["width", "height"])
    'known: height, width'
    >>> nearest("zzz", [])
    'nothing is known here'
    """
    words = sorted(known)
    near = word.casefold() if len(word) <= 2 * max(map(len, words), default=0) else ""
    close = difflib.get_close_matches(near, words, n=1, cutoff=ALIKE)
    if close:
        return f"did you mean {close[0]}?"
    return f"known: {', '.join(words)}" if words else "nothing is known here"


def printable(text: str) -> str:
    """Return a text with every half of a character (a byte of a name that is no text) as an escape.

    >>> printable("Zoë"), printable("a" + chr(0xDCFF))
    ('Zoë', 'a\\\\udcff')
    """
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


def show(value: object) -> str:
    """Return a value as a ticket spells it, shortened to fit a message.

    >>> show("x"), show(True), show(float("nan"))
    ('"x"', 'true', 'nan')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    text = f'"{printable(str(value))}"' if isinstance(value, str | Path) else _plain(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _plain(value: object) -> str:
    try:
        return repr(value)
    except (ValueError, RecursionError):  # an integer of thousands of digits; a list a thousand deep
        return f"a very large {type(value).__name__}"


def read_value(value: object, rules: Rules, folder: Path) -> Any:  # noqa: ANN401 - each kind has its own type
    """Return the checked value of one key.

    ``rules`` is the metadata of the field in :mod:`nameplate.ticket.schema`. Raises ValueError with what was expected,
    or that the value is not available yet.

    >>> read_value("1in", {"kind": "length", "above": 0}, Path())
    25.4
    >>> read_value("pierced", {"kind": "choice", "choices": ("applied", "pierced"), "later": ("pierced",)}, Path())
    Traceback (most recent call last):
    ...
    ValueError: is understood but not available yet; available now: applied
    """
    result = READERS[rules["kind"]](value, rules, folder)
    later = rules.get("later", ())
    if isinstance(result, str) and result in later:
        now = ", ".join(c for c in rules.get("choices", ()) if c not in later)
        raise ValueError(f"is understood but not available yet; available now: {now}")
    if "only" in rules and result != rules["only"]:
        raise ValueError(f"is understood but not available yet; available now: {show(rules['only'])}")
    return result


def _expected(what: str) -> ValueError:
    return ValueError(f"expected {what}")


def _within(number: float, rules: Rules, unit: str = "") -> None:
    if "above" in rules and not number > rules["above"]:
        raise _expected(f"more than {rules['above']:g}{unit}")
    if "least" in rules and number < rules["least"]:
        raise _expected(f"at least {rules['least']:g}{unit}")
    if "most" in rules and number > rules["most"]:
        raise _expected(f"at most {rules['most']:g}{unit}")


def _length(value: object, rules: Rules, folder: Path) -> float:
    if not isinstance(value, int | float | str) or isinstance(value, bool):
        raise _expected('a length: a number of millimetres, or text with a unit, like "12 mm" or "3/8in"')
    if isinstance(value, str) and len(value) > 40:
        raise _expected('a length, like "12 mm" or "3/8in"')
    try:
        length = parse_length(value)
    except OverflowError:
        length = math.inf
    if not math.isfinite(length) or abs(length) > LONGEST:
        raise _expected(f"a length of at most {LONGEST:g} mm")
    _within(length, rules, " mm")
    return length


def _number(value: object, rules: Rules, folder: Path) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _expected(f"a number, without quotes or unit{_as_number(value)}")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise _expected("a finite number")
    _within(number, rules)
    return number


def _as_number(value: object) -> str:
    """Say how to write a number that stands in quotes."""
    text = value.strip().replace(",", ".") if isinstance(value, str) and len(value) <= 40 else ""
    return f"; write {text}" if text.replace(".", "", 1).isdecimal() and text.isascii() else ""


def _count(value: object, rules: Rules, folder: Path) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise _expected(f"a whole number, without quotes{_as_number(value)}")
    if abs(value) > 1_000_000:  # before it is written out: it may have thousands of digits
        raise _expected(f"a whole number of at most {rules.get('most', 1_000_000)}")
    _within(value, rules)
    return value


def _flag(value: object, rules: Rules, folder: Path) -> bool:
    if not isinstance(value, bool):
        raise _expected("true or false, without quotes")
    return value


def _text(value: object, rules: Rules, folder: Path) -> str:
    if not isinstance(value, str) or not value.strip():
        raise _expected("a text in quotes")
    if len(value) > LONGEST_TEXT:
        raise _expected(f"a text of at most {LONGEST_TEXT} characters")
    if _has_controls(value):
        raise _expected(f"a text of one line, without control characters{_BACKSLASH}")
    if value != printable(value):
        raise _expected("a text of whole characters; some of its bytes are none")
    return value.strip()


def _title(value: object, rules: Rules, folder: Path) -> str:
    return "" if isinstance(value, str) and not value.strip() else _text(value, rules, folder)


def _wording(value: object, rules: Rules, folder: Path) -> str:
    text = _text(value, rules, folder)
    bare = COLUMN.sub("", text)
    if "{" in bare or "}" in bare:
        raise _expected('braces in pairs round the heading of a column, like "{name}"')
    if any(not column.strip() for column in COLUMN.findall(text)):
        raise _expected("the heading of a column in each pair of braces")
    return text


def _has_controls(text: str) -> bool:
    return any(ord(c) < 32 or 127 <= ord(c) < 160 for c in text)


def _choice(value: object, rules: Rules, folder: Path) -> str:
    choices: tuple[str, ...] = rules["choices"]
    if not isinstance(value, str):
        raise _expected(f"one of {', '.join(choices)}, in quotes")
    if value not in choices:
        raise ValueError(f"expected one of {', '.join(choices)}{_meant(value, choices)}")
    return value


def _meant(word: str, choices: tuple[str, ...]) -> str:
    hint = nearest(word, choices)
    return f"; {hint}" if hint.startswith("did you") else ""


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


def _texts(value: object, what: str) -> tuple[str, ...]:
    items: list[Any] = value if isinstance(value, list) else [value]
    if not all(isinstance(i, str) and i.strip() and len(i) <= LONGEST_TEXT for i in items):
        raise _expected(what)
    if any(_has_controls(i) for i in items):
        raise _expected(f"{what}, without control characters{_BACKSLASH}")
    if any(i != printable(i) for i in items):
        raise _expected(f"{what}, of whole characters")
    return tuple(i.strip() for i in items)


def _at_most(items: Sized, most: int, what: str) -> None:
    if len(items) > most:
        raise ValueError(f"{len(items)} {what}; expected at most {most}")


def _fonts(value: object, rules: Rules, folder: Path) -> tuple[str, ...]:
    fonts = _texts(value, "the name of a bundled font, a path to a .ttf or .otf file, or a list of them")
    if not fonts:
        raise _expected("at least one font")
    _at_most(fonts, MOST_FONTS, "fonts")
    if len(set(fonts)) < len(fonts):
        raise _expected("each font once")
    return fonts


def _features(value: object, rules: Rules, folder: Path) -> tuple[str, ...]:
    features = _texts(value, 'a list of OpenType features, like ["ss01", "-calt"]')
    _at_most(features, MOST_FEATURES, "features")
    wrong = [f for f in features if not _FEATURE.fullmatch(f)]
    if wrong:
        raise ValueError(f'{show(wrong[0])} is not a feature; expected four letters or digits, like "ss01" or "-calt"')
    return features


def _axes(value: object, rules: Rules, folder: Path) -> tuple[tuple[str, float], ...]:
    if not isinstance(value, dict) or not all(isinstance(k, str) and k.strip() for k in value):
        raise _expected("a table of axes, like { wdth = 90 }")
    _at_most(value, MOST_AXES, "axes")
    if any(len(axis) > LONGEST_TEXT for axis in value):
        raise _expected(f"names of at most {LONGEST_TEXT} characters")
    within = {"least": -LARGEST_AXIS, "most": LARGEST_AXIS}
    return tuple(sorted((tag, _number(number, within, folder)) for tag, number in value.items()))


def _roles(value: object, rules: Rules, folder: Path) -> tuple[tuple[str, str], ...]:
    if not isinstance(value, dict) or not value or not all(isinstance(k, str) and k.strip() for k in value):
        raise _expected('a table of names and roles, like { rim = "score", logo = "hatch" }')
    _at_most(value, MOST_ROLES, "names")
    if any(len(name) > LONGEST_TEXT for name in value):
        raise _expected(f"names of at most {LONGEST_TEXT} characters")
    found = []
    for name, role in value.items():
        try:
            found.append((name.strip(), _choice(role, rules, folder)))
        except ValueError as error:
            raise ValueError(f"{show(name)} = {show(role)}: {error}") from None
    return tuple(found)


def _turns(value: object, rules: Rules, folder: Path) -> tuple[float, ...]:
    if value == "free":
        return ()
    if not isinstance(value, list) or not value:
        raise _expected('a list of angles in degrees, like [0, 180], or "free"')
    _at_most(value, MOST_TURNS, "angles")
    angles = tuple(_number(v, {"least": -360, "most": 360}, folder) for v in value)
    if len({a % 360 for a in angles}) < len(angles):
        raise _expected("each angle once (360 is the same as 0)")
    return angles


def _effort(value: object, rules: Rules, folder: Path) -> str | float:
    words = ("quick", "normal", "long")
    if isinstance(value, str):
        return _choice(value, {"choices": words}, folder)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _expected(f"{', '.join(words)}, or a number of seconds")
    return _number(value, rules, folder)


def _numbers(value: object, count: int, what: str) -> tuple[tuple[float, ...], ...]:
    if not isinstance(value, list):
        raise _expected(what)
    _at_most(value, MOST_CORNERS, "entries")
    if not all(isinstance(row, list) and len(row) == count for row in value):
        raise _expected(what)
    return tuple(tuple(_length(v, {}, Path()) for v in row) for row in value)


def _ring(value: object, rules: Rules, folder: Path) -> tuple[tuple[float, ...], ...]:
    what = "at least three corners, each [x, y], like [[0, 0], [300, 0], [150, 200]]"
    corners = _numbers(value, 2, what)
    if len(corners) < 3:
        raise _expected(what)
    return corners


def _boxes(value: object, rules: Rules, folder: Path) -> tuple[tuple[float, ...], ...]:
    boxes = _numbers(value, 4, "a list of places, each [x, y, width, height], like [[20, 30, 50, 10]]")
    if any(width <= 0 or height <= 0 for _, _, width, height in boxes):
        raise _expected("a width and a height above 0 in each place")
    return boxes


def _material(value: object, rules: Rules, folder: Path) -> str:
    """Read the key of a material, which is also the beginning of its cut files' names."""
    if not isinstance(value, str) or not is_key(value):
        raise _expected(f"the key of a material: up to {LONGEST_KEY} small letters, digits, - and _")
    return value


def is_key(text: str) -> bool:
    """Tell whether a text can be the key of a material.

    >>> is_key("mirror-3"), is_key("Mirror"), is_key("../mirror")
    (True, False, False)
    """
    return _MATERIAL.fullmatch(text) is not None and same_file(text) not in DEVICES


def _materials(value: object, rules: Rules, folder: Path) -> dict[str, str]:
    if not isinstance(value, dict):
        raise _expected('a table of roles and materials, like { lettering = "mirror" }')
    for role in value:
        if role not in rules["roles"]:
            raise ValueError(f"{show(role)} is no role; {nearest(role, rules['roles'])}")
    return {role: _material(key, rules, folder) for role, key in value.items()}


def _table(value: object, rules: Rules, folder: Path) -> dict[str, object]:
    if not isinstance(value, dict):
        raise _expected("a table, like { width = 200 }")
    return value


def _list_of_tables(value: object, rules: Rules, folder: Path) -> list[dict[str, object]]:
    if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
        raise _expected('a list of tables, like [{ text = "{name}" }]')
    return value


def _colour(value: object, rules: Rules, folder: Path) -> str:
    if not isinstance(value, str) or not _COLOUR.fullmatch(value):
        raise _expected('a colour in quotes, like "#0072b2"')
    return value.lower()


#: The kinds of values a field may name, and what reads each. What each accepts is told in words by `ACCEPTED`.
READERS: Mapping[str, Callable[[object, Rules, Path], Any]] = {
    "length": _length,
    "number": _number,
    "count": _count,
    "flag": _flag,
    "text": _text,
    "title": _title,
    "wording": _wording,
    "choice": _choice,
    "path": _path,
    "fonts": _fonts,
    "features": _features,
    "axes": _axes,
    "roles": _roles,
    "turns": _turns,
    "effort": _effort,
    "ring": _ring,
    "boxes": _boxes,
    "colour": _colour,
    "material": _material,
    "materials": _materials,
    "table": _table,
    "tables": _list_of_tables,
}

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
    "path": "the name of a file; a relative one starts at the ticket's folder",
    "fonts": "the name of a bundled font, a path to a .ttf or .otf file, or a list of them",
    "features": "a list of features; - before one turns it off",
    "axes": "a table of axes and numbers",
    "roles": "a table of names, each with one of",
    "turns": 'a list of angles, or "free"',
    "effort": '"quick", "normal", "long", or a number of seconds',
    "ring": "a list of at least three corners, each [x, y]",
    "boxes": "a list of places, each [x, y, width, height]",
    "colour": "a colour of red, green and blue",
    "material": "the key of a material: small letters, digits, - and _",
    "materials": "a table of roles and keys of materials",
    "table": "a table of such keys",
    "tables": "tables of such keys",
}


def accepted(rules: Rules) -> str:
    """Say in words what a key accepts.

    >>> accepted({"kind": "length", "above": 0, "most": 50}), accepted({"kind": "choice", "choices": ("a", "b")})
    ('a length (mm, or text with a unit), above 0 and at most 50', 'one of "a", "b"')
    """
    text = ACCEPTED[rules["kind"]]
    choices = [c for c in rules.get("choices", ()) if c not in rules.get("later", ())]
    if choices:
        text += f" {', '.join(show(c) for c in choices)}"
    bounds = (("above", "above"), ("least", "at least"), ("most", "at most"))
    limits = [f"{words} {rules[rule]:.10g}" for rule, words in bounds if rule in rules]
    return f"{text}, {' and '.join(limits)}" if limits else text
