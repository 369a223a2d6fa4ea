"""The rules for the cells of one roster row. Each check returns findings in a user's words.

Their messages leave out whose row it is: the reader puts the name in front.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterator

from nameplate.findings import Finding
from nameplate.roster.characters import (
    Cleaned,
    clean,
    describe,
    emoji_in,
    garbled,
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
    return f"“{text if len(text) <= LONGEST_NAME else text[: LONGEST_NAME - 3] + '...'}”"


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
    if cell.breaks:
        text = f"{where}a line break or tabulator was read as a space"
        yield Finding("line-break", "warning", text, row=row)
    if cell.trimmed and not cell.breaks and column in _LETTERED:
        yield Finding(
            "trimmed-spaces",
            "note",
            f"{where}spaces before, behind or doubled are left out on the plate",
            row=row,
        )


def _lettered(where: str, raw: str, text: str, row: int) -> Iterator[Finding]:
    """Yield why a text cannot be lettered, or should be looked at."""
    if len(text) > LONGEST_NAME:
        yield Finding(
            "name-too-long",
            "error",
            f"{where}{len(text)} characters, more than {LONGEST_NAME}; shorten it or use the column line2",
            row=row,
            measured=len(text),
            allowed=LONGEST_NAME,
        )
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
        yield Finding(
            "stray-mark", "error", f"{where}an accent without its letter, or too many on one; type it anew", row=row
        )
    if not (emoji or scripts or lost):
        yield from _doubtful(where, text, row)


def _list(letters: tuple[str, ...] | list[str]) -> str:
    return "; ".join(describe(c) for c in letters[:6])


def _doubtful(where: str, text: str, row: int) -> Iterator[Finding]:
    before = garbled(text)
    if before is not None:
        yield Finding("garbled", "warning", f"{where}looks garbled; was it {clean(before).text!r}?", row=row)
    elif odd := tuple(dict.fromkeys(c for c in text if _is_odd(c))):
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
    """Tell whether a character is a sign that names seldom hold; "+" joins two people."""
    return unicodedata.category(c) in ("Sc", "Sm", "Sk", "No", "So") and c != "+"


def check_copies(text: str, row: int) -> tuple[int, tuple[Finding, ...]]:
    """Return how many pieces of a plate are wanted; nothing means one.

    >>> check_copies("", 2), check_copies("3", 2)[0], check_copies("0", 2)[1][0].code
    ((1, ()), 3, 'bad-copies')
    """
    if not text:
        return 1, ()
    if re.fullmatch(r"[0-9]{1,9}", text) and 1 <= int(text) <= MOST_COPIES:
        return int(text), ()
    message = f"copies {quoted(text)}: expected a whole number from 1 to {MOST_COPIES}"
    return 1, (Finding("bad-copies", "error", message, row=row),)


def check_size(text: str, row: int) -> tuple[float | None, tuple[Finding, ...]]:
    """Return the size of the lettering (mm) that a row asks for; nothing means the ticket's.

    >>> check_size("", 2), check_size("1in", 2)[0], check_size("big", 2)[1][0].code
    ((None, ()), 25.4, 'bad-size')
    """
    if not text:
        return None, ()
    size = _length(text)
    if 0 < size <= LARGEST_FACE:
        return size, ()
    message = f'size {quoted(text)}: expected a length above 0 and up to 3 m, like "24" or "1in"'
    return None, (Finding("bad-size", "error", message, row=row),)


def _length(text: str) -> float:
    """Return a length in mm; NaN, which is in no range, where the text is none."""
    try:
        return parse_length(text)
    except ValueError:
        return math.nan


def check_hold(text: str, row: int) -> tuple[bool, tuple[Finding, ...]]:
    """Return whether a row is on hold: kept, and not made; nothing means no.

    >>> check_hold("", 2), check_hold("Yes", 2)[0], check_hold("nein", 2)[0], check_hold("maybe", 2)[1][0].code
    ((False, ()), True, False, 'bad-hold')
    """
    word = text.casefold().rstrip(".")
    if word in _YES or word in _NO:
        return word in _YES, ()
    message = f"hold {quoted(text)}: expected yes or no (an empty cell is no)"
    return False, (Finding("bad-hold", "error", message, row=row),)


def check_shift(column: str, text: str, row: int) -> tuple[float, tuple[Finding, ...]]:
    """Return how far (mm) a row's name is moved by hand; nothing means not at all.

    >>> check_shift("dx", "", 2), check_shift("dx", "-1/8in", 2)[0], check_shift("dy", "up", 2)[1][0].code
    ((0.0, ()), -3.175, 'bad-shift')
    """
    if not text:
        return 0.0, ()
    shift = _length(text)
    if abs(shift) <= LARGEST_FACE:
        return shift, ()
    message = f'{column} {quoted(text)}: expected a length of up to 3 m either way, like "1.5" or "-1/8in"'
    return 0.0, (Finding("bad-shift", "error", message, row=row),)


def check_id(text: str, row: int) -> tuple[Finding, ...]:
    """Return why an id cannot be part of a file name, if so.

    >>> check_id("007-b", 2), check_id("", 2), [f.code for f in check_id("a/b", 2)]
    ((), (), ['bad-id'])
    """
    bad = tuple(
        dict.fromkeys(c for c in text if not (c in " ._-" or unicodedata.category(c)[0] in "LN" or _is_mark(c)))
    )
    if bad:
        reason = f"cannot be part of a file name: {_list(bad)}; letters, digits, space, . _ - are fine"
    elif len(text) > LONGEST_ID:
        reason = f"{len(text)} characters, more than {LONGEST_ID}"
    elif text and (text[0] in ".-" or text[-1] == "."):
        reason = "must not begin with a full stop or a hyphen, nor end with a full stop"
    elif text.partition(".")[0].strip().casefold() in DEVICES:
        reason = "is the name of a device on some systems; choose another"
    else:
        return ()
    return (Finding("bad-id", "error", f"id {quoted(text)}: {reason}", row=row),)


def _is_mark(c: str) -> bool:
    return unicodedata.category(c) in ("Mn", "Mc")
