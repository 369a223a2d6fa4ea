"""What people write in a ticket that is not TOML: said in a line each, with what to write instead.

Method: where the parser stops, the line is tried with one slip after another put right; the first correction that is
TOML by itself is what to write. The parser then goes on with it, so that every slip is told in one go; nothing of a
text with slips is used.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from nameplate.findings import brief

#: Slips that are told of one file. Each costs a reading of the whole text.
MOST_SLIPS = 20

#: A longer line (characters) is not looked into for what was meant.
LONGEST_LINE = 1_000

#: Quotation marks that word processors put in place of straight ones.
_MARKS = "“”„‟«»‘’‚‹›\"'"
_TYPOGRAPHIC = str.maketrans(dict.fromkeys(_MARKS[:-1], '"'))
_ODD_SPACES = str.maketrans(dict.fromkeys("\u00a0\u2007\u202f\u2009\u3000", " ") | dict.fromkeys("\u200b\ufeff", ""))

#: A value with a decimal comma before the next key, or the end, of a table in braces.
_IN_BRACES = re.compile(r"(=\s*+[-+]?\d++),(\d++)(?=\s*+[,}])")

#: The marks of feet and of inches behind a number, which would also open a text; and what such a number is made of.
_FEET = frozenset("'′’")
_INCHES = frozenset('"″”')
_DIGITS = frozenset("0123456789")
_OF_A_NUMBER = _DIGITS | frozenset(" ./-")

_TRUTHS = {"yes": "true", "no": "false", "on": "true", "off": "false", "true": "true", "false": "false"}


def parse(text: str, file: str) -> tuple[dict[str, Any], list[str]]:
    """Return the document in a TOML text and what is wrong with its form, one line each; of a text with slips, {}.

    Raises ValueError or RecursionError for numbers without end and tables nested without end, as the parser does.

    >>> parse("a = 1", "job.toml"), parse("a = 1,5", "job.toml")[1]
    (({'a': 1}, []), ['job.toml, line 1: a = 1,5: a number has a point, not a comma; write a = 1.5'])
    """
    lines = text.replace("\r\n", "\n").split("\n")
    problems: list[str] = []
    while len(problems) < MOST_SLIPS:
        try:
            document = tomllib.loads("\n".join(lines))
        except tomllib.TOMLDecodeError as error:
            number = _line_of(error, lines)
            slip = _slip(lines[number - 1], str(error), number)
            if slip is None:
                return {}, [*problems, _in_words(error, number, lines, file)]
            what, lines[number - 1], write = slip
            problems.append(f"{file}, line {number}: {what}{f'; write {write}' if write else ''}")
        else:
            return ({} if problems else document), problems
    return {}, problems


def _line_of(error: tomllib.TOMLDecodeError, lines: list[str]) -> int:
    _, _, place = str(error).rpartition(" (at ")
    numbers = re.findall(r"\d+", place)
    last = max((n for n, line in enumerate(lines, 1) if line.strip()), default=1)
    return min(int(numbers[0]), len(lines)) if place.startswith("line ") and numbers else last


def _in_words(error: tomllib.TOMLDecodeError, number: int, lines: list[str], file: str) -> str:
    what = str(error).rpartition(" (at ")[0] or str(error)
    advice = "; expected KEY = VALUE, [TABLE] or # and a remark" if what == "Invalid statement" else ""
    return f"{file}, line {number}: {brief(lines[number - 1].strip())}: not valid TOML: {what.lower()[:200]}{advice}"


def _slip(line: str, error: str, number: int) -> tuple[str, str, str] | None:
    """Return what is wrong with a line, the line put right, and what to write; None where that cannot be told."""
    line = line.strip()
    if len(line) > LONGEST_LINE:
        return None
    told = brief(line)
    if "Cannot overwrite a value" in error and "=" in line:
        return f"{told}: this key is in its table already; keep one of the two", "", ""
    if "Cannot declare" in error and line.startswith("["):
        return f"{told}: this table is there already; put all its keys below one heading", f"[again-{number}]", ""
    if line.rstrip("= ").isidentifier():
        return f"{told}: the value is missing", "", ""
    for reason, attempt in _SLIPS:
        for better in attempt(line):
            if better != line and _is_toml(better):
                return f"{told}: {reason}", better, brief(better)
    return None


def _is_toml(line: str) -> bool:
    try:
        tomllib.loads(line)
    except (ValueError, RecursionError):
        return False
    return True


def _parts(line: str) -> tuple[str, str]:
    """Return the key and the value of a line, without a remark behind the value."""
    key, _, value = line.partition("=")
    return key.strip(), value.partition(" #")[0].strip()


def _point(line: str) -> Iterator[str]:
    key, value = _parts(line)
    if value.count(",") == 1 and value.replace(",", "").lstrip("+-").isdecimal():
        whole, _, part = value.partition(",")
        yield f"{key} = {whole or '0'}.{part or '0'}"
    yield _IN_BRACES.sub(r"\1.\2", f"{key} = {value}")


def _bare_point(line: str) -> Iterator[str]:
    key, value = _parts(line)
    whole, point, part = value.lstrip("+-").partition(".")
    if point and (whole + part).isdecimal():
        yield f"{key} = {'-' * value.startswith('-')}{whole or '0'}.{part or '0'}"


def _no_equals(line: str) -> Iterator[str]:
    word, colon, rest = line.partition(":")
    if colon and word.strip().isidentifier():
        yield f"{word.strip()} = {rest.strip()}"
    words = line.split(None, 1)
    if "=" not in line and len(words) == 2 and words[0].isidentifier():
        yield (better := f"{words[0]} = {words[1]}")
        yield from (*_point(better), *_straight_quotes(better), *_unit(better), *_quoted(better))


def _straight_quotes(line: str) -> Iterator[str]:
    key, value = _parts(line)
    straight = value.translate(_TYPOGRAPHIC)
    if straight != value and straight.startswith('"'):
        yield f'{key} = "{value.strip(_MARKS)}"'
        yield f"{key} = '{value.strip(_MARKS)}'"
    elif straight != value and value.startswith(("[", "{")):
        yield f"{key} = {straight}"


def _slashes(line: str) -> Iterator[str]:
    key, value = _parts(line)
    if "\\" in value and '"' in value:
        yield f"{key} = {value.replace(chr(92) * 2, '/').replace(chr(92), '/')}"


def _closing_quote(line: str) -> Iterator[str]:
    key, value = _parts(line)
    for quote in "\"'":
        if value.count(quote) == 1:
            bare = value.strip(_MARKS).replace("\\", "/")
            yield f'{key} = "{bare}"'
            yield f"{key} = '{bare}'"


def _unit(line: str) -> Iterator[str]:
    key, value = _parts(line)
    if value[:1].isdecimal() and value.rstrip('"″').rstrip().lower().endswith(
        ("mm", "cm", "m", "in", "ft", "pt", "px")
    ):
        yield f'{key} = "{value}"'
    number, mark = value[:-1].rstrip(), value[-1:]
    feet, foot, inches = next((number.partition(one) for one in _FEET if one in number), ("", "", number))
    numbers = [feet.rstrip(), inches.lstrip(" -")] if foot else [number]
    if all(map(_is_number, numbers)) and mark in (_INCHES if foot else _FEET | _INCHES):
        yield f'{key} = "{" ft ".join(numbers)} {"ft" if mark in _FEET else "in"}"'


def _is_number(text: str) -> bool:
    return text[:1] in _DIGITS and text[-1:] in _DIGITS and _OF_A_NUMBER.issuperset(text)


def _truth(line: str) -> Iterator[str]:
    key, value = _parts(line)
    if value.casefold() in _TRUTHS:
        yield f"{key} = {_TRUTHS[value.casefold()]}"


def _one_word(line: str) -> Iterator[str]:
    key, value = _parts(line)
    yield f"{'_'.join(key.split())} = {value}"


def _heading(line: str) -> Iterator[str]:
    name = line.partition("#")[0].strip("[] ")
    if line.startswith("[") and "=" not in line:
        yield f"[[{name}]]" if line.startswith("[[") else f"[{name}]"


def _remark(line: str) -> Iterator[str]:
    if line.startswith(("//", ";")):
        yield f"# {line.lstrip('/; ')}"


def _quoted(line: str) -> Iterator[str]:
    key, value = _parts(line)
    if value[:1].isalpha() or value[:1] in "./~":
        yield f'{key} = "{value}"'
        yield f"{key} = '{value}'"


#: Slips, each with what puts a line right, in the order in which they are tried.
_SLIPS: tuple[tuple[str, Callable[[str], Iterable[str]]], ...] = (
    ("there is a space in it that is no ordinary one", lambda line: [line.translate(_ODD_SPACES).strip()]),
    ("a number has a point, not a comma", _point),
    ("a number has digits on both sides of its point", _bare_point),
    ("quotation marks must be straight ones", _straight_quotes),
    ("in double quotes a backslash has a meaning of its own", _slashes),
    ("a length with a unit stands in quotes", _unit),
    ("a quotation mark is missing", _closing_quote),
    ("yes and no are written true and false", _truth),
    ("between a key and its value stands an equals sign", _no_equals),
    ("nothing stands behind a value", lambda line: [line.partition(" #")[0].rstrip(" ,;")]),
    ("a key is one word", _one_word),
    ("the name of a table stands in brackets", _heading),
    ("a remark begins with #", _remark),
    ("a text stands in quotes", _quoted),
)


def key_lines(text: str) -> Mapping[str, int]:
    """Return the line of each key (`face.width`, `stock 2.price`) and each heading (`[face]`, `stock 2`) of a ticket.

    Known limit: keys inside braces, or behind the first line of a list, have none of their own.

    >>> dict(key_lines("[face]\\nwidth = 1\\n[[stock]]\\nwidth = 2"))
    {'[face]': 1, 'face.width': 2, 'stock 1': 3, 'stock 1.width': 4}
    """
    found: dict[str, int] = {}
    table, lists = "", Counter[str]()
    for number, line in enumerate(text.splitlines(), 1):
        plain = line.partition("#")[0].strip()
        if plain.startswith("[[") and plain.endswith("]]"):
            name = plain.strip("[] ")
            lists[name] += 1
            table = f"{name} {lists[name]}"
            found.setdefault(table, number)
        elif plain.startswith("[") and plain.endswith("]") and "," not in plain:
            table = plain.strip("[] ")
            found.setdefault(f"[{table}]", number)
        elif "=" in plain:
            key = plain.partition("=")[0].strip()
            found.setdefault(f"{table}.{key}" if table else key, number)
    return found


def line_of(where: str, lines: Mapping[str, int]) -> int | None:
    """Return the line of a key, or of the nearest that holds it: its table, or the key whose braces it stands in.

    >>> line_of("face.width", {"[face]": 3}), line_of("face.width", {"face": 4}), line_of("face.width", {})
    (3, 4, None)
    """
    name = where.strip("[]")
    while name:
        for spelling in (name, f"[{name}]"):
            if spelling in lines:
                return lines[spelling]
        shorter = name.rpartition(".")[0]
        name = shorter or (name.partition(" ")[0] if " " in name else "")
    return None
