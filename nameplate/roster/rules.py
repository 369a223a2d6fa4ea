"""The rules for the cells of one roster row. Each check returns findings in a user's words.

Their messages leave out whose row it is: the reader puts the name in front.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

from nameplate.findings import Finding, brief
from nameplate.roster.characters import (
    Cleaned,
    clean,
    describe,
    emoji_in,
    garbled,
    has_lost_letters,
    mixed_scripts,
    not_text,
    stray_marks,
    unsupported_scripts,
)
from nameplate.system.file_names import DEVICES
from nameplate.ticket.lettering_schema import LARGEST_FACE
from nameplate.units import parse_length

#: The longest text that can be lettered (characters); real names reach about 40.
LONGEST_NAME = 60

#: The longest id; it becomes part of a file name.
LONGEST_ID = 40

#: The most copies of one plate; more is a slip of the keyboard.
MOST_COPIES = 999

#: The most pieces of one list, copies counted; a job of more is made in parts.
MOST_PIECES = 100_000

#: What says yes and no in the column `hold`.
_YES = frozenset({"yes", "y", "true", "1", "x", "✓", "✔", "hold", "on", "ja", "j", "wahr", "oui", "o", "vrai", "sí"})
_YES |= {"si", "sì", "s", "verdadero", "vero", "sim", "tak", "t", "prawda", "ano", "kyllä", "да"}
_NO = frozenset(
    {"", "no", "n", "false", "0", "-", "off", "nein", "falsch", "non", "faux", "falso", "não", "nao", "nee"}
)
_NO |= {"nie", "fałsz", "ne", "nej", "nei", "ei", "нет"}

#: Columns whose text is cut into material.
_LETTERED = ("name", "line2")

#: The finding about spaces that nobody sees, and what it says.
SPACES, LEFT_OUT = "trimmed-spaces", "spaces before, behind or doubled are left out on the plate"

#: Categories of signs that names seldom hold; only "+" joins two people.
_ODD = frozenset({"Sc", "Sm", "Sk", "No", "So"})


def check_words(column: str, raw: str, cell: Cleaned, row: int, *, lettered: bool = False) -> Iterator[Finding]:
    """Yield what is to be said about the text of one cell: what was cleaned, and what cannot be lettered.

    `lettered` says of a column that is not always that it is cut into material.
    """
    yield from _cleaned(column, cell, row)
    if column == "name" and not cell.text:
        yield Finding("empty-name", "error", "the name is empty; fill it in, or delete the row", row=row)
    if (lettered or column in _LETTERED) and cell.text:
        yield from _lettered(_place(column, cell.text), raw, cell.text, row)


def quoted(text: str) -> str:
    """Return a text in quotation marks, shortened to fit a message.

    >>> quoted("Ada"), quoted("")
    ('“Ada”', '“”')
    """
    return f"“{brief(text, LONGEST_NAME)}”"


def _place(column: str, text: str) -> str:
    """Return the start of a message: nothing for the name, which the reader puts in front, else the cell."""
    return "" if column == "name" else f"{column} {quoted(text)}: "


def _cleaned(column: str, cell: Cleaned, row: int) -> Iterator[Finding]:
    where = _place(column, cell.text)
    if cell.invisible:
        odd = "; ".join(describe(c) for c in cell.invisible[:6])
        more = f" and {len(cell.invisible) - 6} more" if len(cell.invisible) > 6 else ""
        verb = "became ordinary spaces" if all(unicodedata.category(c) == "Zs" for c in cell.invisible) else "taken out"
        yield Finding("invisible-character", "warning", f"{where}invisible characters {verb}: {odd}{more}", row=row)
    if cell.broken:
        text = f"{where}a line break or tabulator was read as a space"
        yield Finding("line-break", "warning", text, row=row)
    if cell.trimmed and not cell.broken and column in _LETTERED:
        yield Finding("trimmed-spaces", "note", f"{where}{LEFT_OUT}", row=row)


def _lettered(where: str, raw: str, text: str, row: int) -> Iterator[Finding]:
    """Yield why a text cannot be lettered, or should be looked at."""
    if len(text) > LONGEST_NAME:
        message = f"{where}{len(text)} characters, more than {LONGEST_NAME}; shorten it or use the column line2"
        yield Finding("name-too-long", "error", message, row=row, measured=len(text), allowed=LONGEST_NAME)
        return
    emoji = emoji_in(raw)
    scripts = unsupported_scripts(text)
    lost = [c for c in not_text(text) if c not in emoji]
    if emoji:
        yield Finding("emoji", "error", f"{where}a picture cannot be lettered: {_list(emoji)}; take it out", row=row)
    if scripts:
        message = f"{where}letters of a script that cannot be set: {', '.join(scripts)}; write it in Latin letters"
        yield Finding("unsupported-script", "error", message, row=row)
    if lost:
        message = f"{where}not a letter (it may have been lost in an earlier conversion): {_list(lost)}; type it anew"
        yield Finding("lost-character", "error", message, row=row)
    if not scripts and stray_marks(text):
        message = f"{where}an accent without its letter, or too many on one; type it anew"
        yield Finding("stray-mark", "error", message, row=row)
    if not (emoji or scripts or lost):
        yield from _doubtful(where, text, row)


def _list(letters: tuple[str, ...] | list[str]) -> str:
    return "; ".join(describe(c) for c in letters[:6])


def _doubtful(where: str, text: str, row: int) -> Iterator[Finding]:
    before = garbled(text)
    if before is not None:
        yield Finding("garbled", "warning", f"{where}looks garbled; was it {clean(before).text!r}?", row=row)
    elif has_lost_letters(text, name=not where):
        message = (
            f"{where}looks garbled: ? stands where a letter may have been lost when the list was saved; type it anew"
        )
        yield Finding("garbled", "warning", message, row=row)
    if "|" in text:
        yield Finding("line-break", "warning", f"{where}{_unbroken(in_name=not where)}", row=row)
    if before is None and (odd := tuple(dict.fromkeys(c for c in text if _is_odd(c)))):
        accents = all(unicodedata.category(c) == "Sk" for c in odd)
        ask = "was an apostrophe meant?" if accents else "was the list saved in another encoding?"
        message = f"{where}unusual in a name: {_list(odd)}; {ask}"
        yield Finding("odd-character", "warning", message, row=row)
    if not any(unicodedata.category(c)[0] in "LN" for c in text):
        yield Finding("no-letters", "warning", f"{where}there is no letter in it; is it a name?", row=row)
    if mixed := mixed_scripts(text):
        message = f"{where}{' and '.join(mixed)} letters in one word; was one typed on the other keyboard?"
        yield Finding("mixed-scripts", "warning", message, row=row)


def _is_odd(c: str) -> bool:
    """Tell whether a sign is seldom in names, and nothing else is said of it."""
    return unicodedata.category(c) in _ODD and c not in "+|"


def _unbroken(*, in_name: bool) -> str:
    """Say why no line is broken at a bar, and what to do."""
    if in_name:
        return "a name is broken at | only between spaces; write them, like Wren | Abara, or take it out"
    return "only a name is broken at |, which stays here; give its parts columns of their own, each with a [[line]]"


def read_values(cells: Mapping[str, str], row: int) -> tuple[dict[str, Any], list[Finding]]:
    """Read the cells of a row, by their columns, that are more than texts; what is wrong with any is a finding.

    What is empty or wrong is left out, so that it is as without the cell; lengths are mm.

    >>> read_values({"copies": "3", "size": "1in", "dx": "-1/8in", "hold": "Yes", "dy": "", "id": "007-b"}, 2)
    ({'copies': 3, 'size': 25.4, 'dx': -3.175, 'hold': True, 'id': '007-b'}, [])
    >>> [f.code for f in read_values({"copies": "0", "size": "big", "hold": "maybe", "id": "a/b"}, 2)[1]]
    ['bad-copies', 'bad-size', 'bad-hold', 'bad-id']
    """
    values: dict[str, Any] = {}
    found: list[Finding] = []
    for column, reader in _VALUES.items():
        if text := cells.get(column):
            try:
                values[column] = reader.read(text)
            except ValueError as wrong:
                found.append(Finding(reader.code, "error", f"{column} {quoted(text)}: {wrong}", row=row))
    return values, found


def _copies(text: str) -> int:
    if re.fullmatch(r"[0-9]{1,9}", text) and 1 <= int(text) <= MOST_COPIES:
        return int(text)
    raise ValueError(f"expected a whole number from 1 to {MOST_COPIES}")


def _length(text: str) -> float:
    """Return a length in mm; NaN, which is in no range, where the text is none."""
    try:
        return parse_length(text)
    except ValueError:
        return math.nan


def _size(text: str) -> float:
    if 0 < (size := _length(text)) <= LARGEST_FACE:
        return size
    raise ValueError('expected a length above 0 and up to 3 m, like "24" or "1in"')


def _shift(text: str) -> float:
    if abs(shift := _length(text)) <= LARGEST_FACE:
        return shift
    raise ValueError('expected a length of up to 3 m either way, like "1.5" or "-1/8in"')


def _hold(text: str) -> bool:
    word = text.casefold().rstrip(".")
    if word in _YES or word in _NO:
        return word in _YES
    raise ValueError("expected yes or no (an empty cell is no)")


def _id(text: str) -> str:
    """Return an id that can be part of a file name."""
    bad = tuple(dict.fromkeys(c for c in text if not (c in " ._-" or unicodedata.category(c) in _ID_LETTERS)))
    if bad:
        raise ValueError(f"cannot be part of a file name: {_list(bad)}; letters, digits, space, . _ - are fine")
    if len(text) > LONGEST_ID:
        raise ValueError(f"{len(text)} characters, more than {LONGEST_ID}")
    if text[0] in ".-" or text[-1] == ".":
        raise ValueError("must not begin with a full stop or a hyphen, nor end with a full stop")
    if text.partition(".")[0].strip().casefold() in DEVICES:
        raise ValueError("is the name of a device on some systems; choose another")
    return text


#: Letters, digits and their marks, by their Unicode categories.
_ID_LETTERS = frozenset({"Lu", "Ll", "Lt", "Lm", "Lo", "Nd", "Nl", "No", "Mn", "Mc"})


class _CellReader(NamedTuple):
    """What reads the cells of a column, and the code of the finding where it refuses one."""

    code: str
    read: Callable[[str], Any]


#: The columns whose cells are read as values.
_VALUES: Mapping[str, _CellReader] = {
    "copies": _CellReader("bad-copies", _copies),
    "size": _CellReader("bad-size", _size),
    "dx": _CellReader("bad-shift", _shift),
    "dy": _CellReader("bad-shift", _shift),
    "hold": _CellReader("bad-hold", _hold),
    "id": _CellReader("bad-id", _id),
}
