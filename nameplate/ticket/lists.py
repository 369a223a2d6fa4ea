"""Reads the lists and tables of a job ticket by the kind their field names, as `values` reads single values."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sized
from pathlib import Path
from typing import Any, TypeVar

from nameplate.geometry.beam import MOST_UNEVEN, Kerf, Strip
from nameplate.ticket.values import (
    LONGEST_TEXT,
    Kind,
    Rules,
    check_characters,
    read_choice,
    read_length,
    read_material,
    read_number,
)
from nameplate.ticket.words import expected, nearest, show

#: Most entries of a list in a ticket, by what it lists; the corners are checked against each other.
MOST_FONTS = 20
MOST_FEATURES = 50
MOST_AXES = 64
MOST_TURNS = 360
MOST_ROLES = 100
MOST_CORNERS = 2_000
MOST_HOLES = 8

#: Wrong values of one table that are told in full.
MOST_WRONG = 5

#: Values of a font's axes lie within this, because a font stores them in 16 bits before the point (OpenType, fvar).
LARGEST_AXIS = 32_767

T = TypeVar("T")

_FEATURE = re.compile(r"[-+]?[A-Za-z0-9]{4}(=\d{1,3})?")


def _texts(value: object, what: str) -> tuple[str, ...]:
    items: list[Any] = value if isinstance(value, list) else [value]
    if not all(isinstance(i, str) and i.strip() and len(i) <= LONGEST_TEXT for i in items):
        raise expected(what)
    for text in items:
        check_characters(text, what)
    return tuple(i.strip() for i in items)


def _at_most(items: Sized, most: int, what: str) -> None:
    if len(items) > most:
        raise ValueError(f"{len(items)} {what}; expected at most {most}")


_FONTS = "the name of a bundled font, a path to a .ttf or .otf file, or a list of them"


def _fonts(value: object, rules: Rules, folder: Path) -> tuple[str, ...]:
    fonts = _texts(value, _FONTS)
    if not fonts:
        raise expected("at least one font")
    _at_most(fonts, MOST_FONTS, "fonts")
    if len(set(fonts)) < len(fonts):
        raise expected("each font once")
    return fonts


def _features(value: object, rules: Rules, folder: Path) -> tuple[str, ...]:
    features = _texts(value, 'a list of OpenType features, like ["ss01", "-calt"]')
    _at_most(features, MOST_FEATURES, "features")
    wrong = [f for f in features if not _FEATURE.fullmatch(f)]
    if wrong:
        raise ValueError(f'{show(wrong[0])} is not a feature; expected four letters or digits, like "ss01" or "-calt"')
    return features


def _named(value: object, what: str) -> dict[str, Any]:
    """Return a table by names; ``what`` was expected."""
    if not isinstance(value, dict) or not all(name.strip() for name in value):
        raise expected(what)
    if any(len(name) > LONGEST_TEXT for name in value):
        raise expected(f"names of at most {LONGEST_TEXT} characters")
    return value


def _each(named: Mapping[str, Any], read: Callable[[object], T]) -> tuple[tuple[str, T], ...]:
    """Read what stands behind each name; what is wrong with some names them."""
    found, wrong = [], []
    for name, own in named.items():
        try:
            found.append((name.strip(), read(own)))
        except ValueError as error:
            wrong.append(f"{show(name)} = {show(own)}: {error}")
    if wrong:
        raise ValueError(
            "; ".join(wrong[:MOST_WRONG]) + f"; and {len(wrong) - MOST_WRONG} more" * (len(wrong) > MOST_WRONG)
        )
    return tuple(found)


def _axes(value: object, rules: Rules, folder: Path) -> tuple[tuple[str, float], ...]:
    axes = _named(value, "a table of axes, like { wdth = 90 }")
    _at_most(axes, MOST_AXES, "axes")
    within = {"least": -LARGEST_AXIS, "most": LARGEST_AXIS}
    return tuple(sorted((tag, read_number(number, within, folder)) for tag, number in axes.items()))


def _roles(value: object, rules: Rules, folder: Path) -> tuple[tuple[str, str], ...]:
    what = 'a table of names and roles, like { rim = "score", logo = "hatch" }'
    roles = _named(value, what)
    if not roles:
        raise expected(what)
    _at_most(roles, MOST_ROLES, "names")
    return _each(roles, lambda role: read_choice(role, rules, folder))


def _turns(value: object, rules: Rules, folder: Path) -> tuple[float, ...]:
    if value == "free":
        return ()
    if not isinstance(value, list) or not value:
        raise expected('a list of angles in degrees, like [0, 180], or "free"')
    _at_most(value, MOST_TURNS, "angles")
    angles = tuple(read_number(v, {"least": -360, "most": 360}, folder) for v in value)
    if len({a % 360 for a in angles}) < len(angles):
        raise expected("each angle once (360 is the same as 0)")
    return angles


def _numbers(value: object, count: int, what: str) -> tuple[tuple[float, ...], ...]:
    if not isinstance(value, list):
        raise expected(what)
    _at_most(value, MOST_CORNERS, "entries")
    if not all(isinstance(row, list) and len(row) == count for row in value):
        raise expected(what)
    return tuple(tuple(read_length(v, {}, Path()) for v in row) for row in value)


def _ring(value: object, rules: Rules, folder: Path) -> tuple[tuple[float, ...], ...]:
    what = "at least three corners, each [x, y], like [[0, 0], [300, 0], [150, 200]]"
    corners = _numbers(value, 2, what)
    if len(corners) < 3:
        raise expected(what)
    return corners


def _boxes(value: object, rules: Rules, folder: Path) -> tuple[tuple[float, ...], ...]:
    boxes = _numbers(value, 4, "a list of places, each [x, y, width, height], like [[20, 30, 50, 10]]")
    if any(width <= 0 or height <= 0 for _, _, width, height in boxes):
        raise expected("a width and a height above 0 in each place")
    return boxes


def _holes(value: object, rules: Rules, folder: Path) -> tuple[tuple[float, ...], ...]:
    holes = _numbers(value, 3, "a list of holes, each [x, y, diameter], like [[-45, 0, 4], [45, 0, 4]]")
    _at_most(holes, MOST_HOLES, "holes")
    if any(diameter <= 0 for _, _, diameter in holes):
        raise expected("a diameter above 0 of each hole")
    return holes


def _pair(value: object, rules: Rules, folder: Path) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise expected("two lengths, [x, y], like [300, 150]")
    x, y = (read_length(v, rules, folder) for v in value)
    return x, y


def _points(value: object, rules: Rules, folder: Path) -> tuple[tuple[float, float], ...]:
    """Read one pair, or a list of them."""
    pairs = value if isinstance(value, list) and any(isinstance(v, list) for v in value) else [value]
    _at_most(pairs, MOST_HOLES, "holes")
    try:
        return tuple(_pair(pair, rules, folder) for pair in pairs)
    except ValueError as error:
        raise ValueError(f"{error}; several stand in brackets, like [[-40, 25], [40, 25]]") from None


def _moved(value: object, rules: Rules, folder: Path) -> tuple[tuple[str, tuple[tuple[float, float], ...]], ...]:
    plates = _named(value, 'a table of plates and how far their holes came out, like { "017" = [9.5, 0] }')
    return _each(plates, lambda pairs: _points(pairs, rules, folder))


def _choices(value: object, rules: Rules, folder: Path) -> tuple[str, ...]:
    items = value if isinstance(value, list) else [value]
    if not items:
        raise expected(f"one or several of {', '.join(rules['choices'])}")
    _at_most(items, len(rules["choices"]), "choices")
    found = tuple(read_choice(item, rules, folder) for item in items)
    if len(set(found)) < len(found):
        raise expected("each choice once")
    return found


def _materials(value: object, rules: Rules, folder: Path) -> dict[str, str]:
    if not isinstance(value, dict):
        raise expected('a table of roles and materials, like { lettering = "mirror" }')
    for role in value:
        if role not in rules["roles"]:
            raise ValueError(f"{show(role)} is no role; {nearest(role, rules['roles'])}")
    return {role: read_material(key, rules, folder) for role, key in value.items()}


def _table(value: object, rules: Rules, folder: Path) -> dict[str, object]:
    if not isinstance(value, dict):
        raise expected("a table, like { width = 200 }")
    return value


def _list_of_tables(value: object, rules: Rules, folder: Path) -> list[dict[str, object]]:
    if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
        raise expected('a list of tables, like [{ text = "{name}" }]')
    return value


def _kerf(value: object, rules: Rules, folder: Path) -> Kerf:
    if isinstance(value, dict) and set(value) == {"inside", "outside"}:
        return Kerf(*(_strip(value[operation], rules, folder) for operation in ("inside", "outside")))
    return Kerf.of_strip(_strip(value, rules, folder))


def _strip(value: object, rules: Rules, folder: Path) -> Strip:
    """Read the width of one operation's strip, which may differ by axis."""
    if not isinstance(value, dict):
        return Strip(*2 * (read_length(value, rules, folder),))
    if set(value) != {"x", "y"}:
        raise expected("a width, or both of { x = 0.2, y = 0.16 }, or both of { inside = 0.16, outside = 0.2 }")
    strip = Strip(*(read_length(value[axis], {**rules, "above": 0}, folder) for axis in "xy"))
    if strip.is_too_uneven:
        raise expected(f"x and y that differ by a factor of {MOST_UNEVEN:g} at most")
    return strip


#: The kinds of lists and tables.
LISTS: Mapping[str, Kind] = {
    "fonts": Kind(_fonts, _FONTS),
    "features": Kind(_features, "a list of features; - before one turns it off"),
    "axes": Kind(_axes, "a table of axes and numbers"),
    "roles": Kind(_roles, "a table of names, each with one of"),
    "turns": Kind(_turns, 'a list of angles, or "free"'),
    "ring": Kind(_ring, "a list of at least three corners, each [x, y]"),
    "boxes": Kind(_boxes, "a list of places, each [x, y, width, height]"),
    "holes": Kind(_holes, "a list of holes, each [x, y, diameter]"),
    "choices": Kind(_choices, "one, or a list, of"),
    "kerf": Kind(_kerf, "a width (mm, or text with a unit), or a table of widths by operation or axis"),
    "pair": Kind(_pair, "two lengths, [x, y]"),
    "points": Kind(_points, "two lengths, [x, y], or a list of such pairs"),
    "moved": Kind(_moved, "a table of plates and pairs [x, y], or lists of pairs"),
    "materials": Kind(_materials, "a table of roles and keys of materials"),
    "table": Kind(_table, "a table of such keys"),
    "tables": Kind(_list_of_tables, "tables of such keys"),
}
