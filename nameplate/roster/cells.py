"""What one cell of a spreadsheet shows, as text: numbers by their format, dates, truth values, errors.

Section numbers are those of ECMA-376 part 1. A cell whose content is in doubt is never read as blank: it comes with a
`Doubt`, and some text, so that its row is not taken for an empty one.
"""

from __future__ import annotations

import datetime
import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from nameplate.findings import Severity

#: Digits of a number that spreadsheets keep (they are IEEE doubles).
DIGITS = 15

#: Numbers beyond this are not written out digit by digit.
_LARGEST = Decimal(10) ** 21

#: The formats that have a number and no text in the file, as far as they change what is read (18.8.30).
BUILT_IN: Mapping[int, str] = {
    **dict.fromkeys((14, 15, 16, 17, *range(27, 37), *range(50, 59)), "yyyy-mm-dd"),
    **dict.fromkeys((18, 19, 20, 21), "hh:mm:ss"),
    22: "yyyy-mm-dd hh:mm",
    9: "0%",
    10: "0.00%",
    45: "mm:ss",
    46: "[h]:mm:ss",
    47: "mm:ss",
}

#: A character that a text has as `_xHHHH_`; half a character (a surrogate) is none.
_ESCAPE = re.compile(r"_x((?![dD][89a-fA-F])[0-9a-fA-F]{4})_")

#: A piece of a number format: quoted text, a colour, locale or count of elapsed time, one escaped character, one that
#: only its width or its repetition is asked of, the end of the first section, any other character.
_FORMAT_PIECE = re.compile(
    r'"(?P<quoted>[^"]*+)"?|\[(?P<tag>[^]]*+)]?|\\(?P<escaped>.?)|[_*].?|(?P<end>;)|(?P<plain>.)', re.DOTALL
)


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is to be said about one cell: how serious in a column that means something, and in any other (or not)."""

    code: str
    message: str
    used: Severity = "error"
    extra: Severity | None = "warning"


@dataclass(frozen=True, slots=True)
class Raw:
    """A cell as the file has it: its type (18.18.11), number format, value and formula; None where they are absent."""

    kind: str = "n"
    format: str = "General"
    value: str | None = None
    formula: str | None = None


def cell_text(raw: Raw, *, since_1904: bool = False) -> tuple[str, Doubt | None]:
    """Return a cell's text and the doubt about it, if any; `since_1904` tells how its workbook counts days (18.17.4.1).

    >>> cell_text(Raw(value="7")), cell_text(Raw("b", value="1"))[0], cell_text(Raw())
    (('7', None), 'TRUE', ('', None))
    >>> cell_text(Raw("e", value="#REF!"))[1].code, cell_text(Raw(formula="A1"))[1].code
    ('cell-error', 'no-value')
    """
    value = raw.value
    if raw.formula is not None and (value is None or (not value.strip() and raw.kind != "str")):
        formula = f"={raw.formula}"[:60]
        return formula, Doubt(
            "no-value",
            f"the formula {formula} has no value in the file; open and save it in a spreadsheet program, or write the "
            "value in place of the formula",
        )
    if value is None:
        return "", None
    if raw.kind in ("s", "str", "inlineStr"):
        return unescaped(value), None
    plain = value.strip()
    if raw.kind == "e":
        return plain or "#ERROR!", error_doubt(plain or "#ERROR!")
    if raw.kind == "b" and plain.casefold() in ("0", "1", "true", "false"):
        text = "TRUE" if plain.casefold() in ("1", "true") else "FALSE"
        return text, _not_text(f"a truth value, read as {text}")
    if raw.kind == "d" and plain:
        return _iso(plain)
    if raw.kind == "n":
        return _number(plain, raw.format, since_1904) if plain else ("", None)
    return plain or "?", bad_cell(f"the content {plain[:40]!r} of the kind {raw.kind[:20]!r} cannot be read")


def bad_cell(why: str) -> Doubt:
    """Return what is said about a cell whose content is not what the file says it is."""
    return Doubt("bad-cell", f"{why}; type it anew")


def error_doubt(text: str) -> Doubt:
    """Return what is said about an error value like #REF!."""
    return Doubt("cell-error", f"the spreadsheet shows the error {text[:40]}; correct it there, or write the text")


def is_error(text: str) -> bool:
    """Tell whether a text is an error value of a spreadsheet program in any language, or a number that had no room.

    >>> [is_error(t) for t in ("#REF!", "#N/A", "#BEZUG!", "####", "Err:502")]
    [True, True, True, True, True]
    >>> [is_error(t) for t in ("#1", "# Ada!", "", "Err: none", "Ada 1")]
    [False, False, False, False, False]
    """
    if not text.startswith("#") or not 2 <= len(text) <= 20 or " " in text:
        return text.startswith("Err:") and text[4:].isdigit()
    if set(text) == {"#"}:
        return True
    letters = [c for c in text if c.isalpha()]
    return text in ("#N/A", "#NV", "#N/D", "#GETTING_DATA") or (
        text[-1] in "!?" and bool(letters) and not any(c.islower() for c in letters)
    )


def is_shortened(text: str) -> bool:
    """Tell whether a text is a long number as spreadsheets shorten it, digits lost.

    >>> is_shortened("1.23457E+11"), is_shortened("1,2E+05"), is_shortened("E+5"), is_shortened("12E5")
    (True, True, False, False)
    """
    digits, mark, exponent = text.upper().partition("E+")
    whole, dot, part = digits.replace(",", ".").partition(".")
    return bool(mark) and exponent.isdigit() and whole.isdigit() and (part.isdigit() or not dot) and len(text) < 30


def _not_text(what: str) -> Doubt:
    message = f"the spreadsheet holds {what}; where something else was meant, make the cell a text"
    return Doubt("not-a-text", message, "warning", None)


def unescaped(text: str) -> str:
    """Return a text with its `_xHHHH_` escapes as characters (22.9.2.19).

    >>> unescaped("A_x0041_"), unescaped("_x005F_x0041_"), unescaped("_xD800_"), unescaped("_x")
    ('AA', '_x0041_', '_xD800_', '_x')
    """
    return _ESCAPE.sub(lambda escape: chr(int(escape[1], 16)), text)


def _number(plain: str, code: str, since_1904: bool) -> tuple[str, Doubt | None]:
    if len(plain) > 60 or any(c not in "0123456789+-.eE" for c in plain):
        return plain, bad_cell(f"{plain[:40]!r} is not a number, though the file says so")
    try:
        value = Decimal(plain)
        measure = float(value)
    except (ArithmeticError, ValueError):
        return plain, bad_cell(f"{plain[:40]!r} is not a number, though the file says so")
    if abs(measure) == float("inf"):
        return plain, bad_cell(f"the number {plain[:40]} is too large")
    kind = format_kind(code)
    if kind in ("moment", "elapsed"):
        return _moment(measure, kind == "elapsed", since_1904)
    if kind == "percent":
        return f"{measure * 100:.{DIGITS}g}%", None
    return _plain_number(value, code)


def _plain_number(value: Decimal, code: str) -> tuple[str, Doubt | None]:
    doubt = None
    if abs(value) >= _LARGEST or value != value.to_integral_value():
        text = f"{float(value):.{DIGITS}g}"
    else:
        text = str(int(value))
        if len(text.lstrip("-").rstrip("0")) > DIGITS:
            message = f"{text} is a number, of which spreadsheets keep {DIGITS} digits; write it as a text"
            doubt = Doubt("long-number", message, "error", "warning")
        elif set(code) == {"0"} and not text.startswith("-"):
            text = text.zfill(len(code))
    if format_kind(code) == "dressed":
        doubt = doubt or Doubt(
            "number-format",
            f"the cell shows the number {text} in the format {code[:40]} and is read as {text}; where more is meant, "
            "make the cell a text",
            "warning",
        )
    return text, doubt


@functools.lru_cache(maxsize=1000)
def format_kind(code: str) -> str:
    """Return what a number format (18.8.31) makes of a number: moment, elapsed, percent, dressed (text added), plain.

    >>> [format_kind(c) for c in ("General", "0%", "yyyy", "[h]:mm", '"A-"000', "[Red]0.0", "")]
    ['plain', 'percent', 'moment', 'elapsed', 'dressed', 'plain', 'plain']
    """
    bare, literal = _bare_format(code)
    if any(mark in bare for mark in ("[h", "[m", "[s")):
        return "elapsed"
    letters = bare.replace("general", "").replace("e+", "").replace("e-", "")
    if any(c in "ymdhs" for c in letters):
        return "moment"
    if "%" in bare:
        return "percent"
    return "dressed" if any(c.isalnum() for c in literal) else "plain"


def _bare_format(code: str) -> tuple[str, str]:
    """Return the first section of a format in lower case without literal text, colours and locales; and that text."""
    bare = literal = ""
    for piece in _FORMAT_PIECE.finditer(code):
        if piece["end"]:
            break
        literal += piece["quoted"] or piece["escaped"] or ""
        bare += (piece["plain"] or "").lower()
        tag = (piece["tag"] or "").casefold()
        bare += f"[{tag}]" if set(tag) in ({"h"}, {"m"}, {"s"}) else ""
    return bare, literal


def _moment(days: float, elapsed: bool, since_1904: bool) -> tuple[str, Doubt | None]:
    """Give a count of days as a date, a time or both, or as hours gone by."""
    seconds = round(days * 86_400)
    if elapsed and abs(days) < 1e6:
        hours, rest = divmod(abs(seconds), 3600)
        return f"{'-' if seconds < 0 else ''}{hours}:{rest // 60:02d}:{rest % 60:02d}", None
    try:
        if 0 <= days < 1:
            text = str(datetime.timedelta(seconds=seconds % 86_400)).rjust(8, "0")
            return text, _not_text(f"a time, read as {text}")
        # from 1900 on, day 60 is a 29 February that never was (18.17.4.1)
        start = datetime.datetime(1904, 1, 1) if since_1904 else datetime.datetime(1899, 12, 31 if days < 60 else 30)
        when = start + datetime.timedelta(seconds=seconds)
    except OverflowError:
        return f"{days:g}", bad_cell(f"the number {days:g} is shown as a date and is none")
    if days < 0 or (int(days) == 60 and not since_1904):
        return f"{days:g}", bad_cell(f"the number {days:g} is shown as a date and is none")
    text = _day_and_time(when)
    return text, _not_text(f"a date, read as {text}")


def _day_and_time(when: datetime.datetime) -> str:
    return when.date().isoformat() if when.time() == datetime.time() else when.isoformat(" ", "seconds")


def _iso(plain: str) -> tuple[str, Doubt | None]:
    try:
        text = _day_and_time(datetime.datetime.fromisoformat(plain).replace(tzinfo=None))
    except ValueError:
        return plain, bad_cell(f"{plain[:40]!r} is not a date, though the file says so")
    return text, _not_text(f"a date, read as {text}")
