"""How the messages about a ticket say things: the word that was meant, and a value as the ticket spells it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from itertools import islice
from pathlib import Path

from nameplate.findings import brief

#: How alike two words must be before one is suggested for the other (0 to 1). Lower suggests nonsense.
ALIKE = 0.6

#: Known words that people call otherwise.
_OTHERWISE: Mapping[str, str] = {"oval": "ellipse", "square": "rectangle"}


def closest(word: str, known: Iterable[str]) -> str:
    """Return the known word that a word means or is nearest to, if mistyped; empty when none is near.

    >>> closest("widht", ["width", "height"]), closest("zzz", ["width"]), closest("", [])
    ('width', '', '')
    >>> closest("Oval", ["ellipse", "leaf"]), closest("oval", ["leaf"])
    ('ellipse', '')
    """
    words = sorted(known)
    if (meant := _OTHERWISE.get(word.casefold(), "")) in words:
        return meant
    near = word.casefold() if len(word) <= 2 * max(map(len, words), default=0) else ""
    return next(iter(difflib.get_close_matches(near, words, n=1, cutoff=ALIKE)), "")


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
    if near := closest(word, words):
        return f"did you mean {near}?"
    return f"known: {', '.join(words)}" if words else "nothing is known here"


def printable(text: str) -> str:
    """Return a text with every half of a character (a byte of a name that is no text) as an escape.

    >>> printable("Zoë"), printable("a" + chr(0xDCFF))
    ('Zoë', 'a\\\\udcff')
    """
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


#: Most characters of a value in a message.
LONGEST_SHOWN = 60


def show(value: object) -> str:
    """Return a value as a ticket spells it, shortened to fit a message.

    >>> show("x"), show(True), show(float("nan")), show({"rim": "score"}), show([1, {}])
    ('"x"', 'true', 'nan', '{ rim = "score" }', '[1, {}]')
    """
    return brief(_spelt(value, LONGEST_SHOWN), LONGEST_SHOWN)


def _spelt(value: object, room: int) -> str:
    """Spell a value as TOML does; what goes beyond so many characters, or is nested deeper, need not be right."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str | Path):
        return f'"{printable(str(value))}"'
    if isinstance(value, dict) and value and room > 0:
        pairs = (f"{printable(str(key))} = {_spelt(own, room // 2)}" for key, own in islice(value.items(), room))
        return f"{{ {', '.join(pairs)} }}"
    if isinstance(value, list) and room > 0:
        return f"[{', '.join(_spelt(own, room // 2) for own in islice(value, room))}]"
    try:
        return repr(value)
    except (ValueError, RecursionError):  # an integer of thousands of digits; a list a thousand deep
        return f"a very large {type(value).__name__}"


def expected(what: str) -> ValueError:
    """Return the refusal of a value that says what was expected in its place.

    >>> str(expected("a number"))
    'expected a number'
    """
    return ValueError(f"expected {what}")
