"""What may stand in a name: cleaning of invisible characters, and the scripts and signs that are refused.

Names are kept in NFC (UAX #15) and never in NFKC, which would change letters that people chose. Typographic
apostrophes, quotation marks, dashes and hyphens stay as typed.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

#: Scripts that are set left to right, letter by letter, without reordering. Whether a font has them is another matter.
_SCRIPTS = "Latn Grek Cyrl Armn Geor Geok Hani Hira Kana Hang Bopo Cher Ethi Cans Copt Zyyy Zinh"
PLAIN_SCRIPTS = frozenset(_SCRIPTS.split())

#: Bidirectional classes of right-to-left letters and digits (UAX #9).
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})

#: More marks than this on one letter cannot be told apart on a plate. Vietnamese and polytonic Greek need two or three.
MOST_MARKS = 3

#: Characters that show nothing, though they are no format characters by their category.
_BLANK_LETTERS = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0")

#: Signs shown as pictures by default (UTS #51, Emoji_Presentation) below U+1F000.
_EMOJI_RANGES: tuple[tuple[int, int], ...] = (
    (0x231A, 0x231B), (0x23E9, 0x23EC), (0x23F0, 0x23F0), (0x23F3, 0x23F3), (0x25FD, 0x25FE), (0x2614, 0x2615),
    (0x2648, 0x2653), (0x267F, 0x267F), (0x2693, 0x2693), (0x26A1, 0x26A1), (0x26AA, 0x26AB), (0x26BD, 0x26BE),
    (0x26C4, 0x26C5), (0x26CE, 0x26CE), (0x26D4, 0x26D4), (0x26EA, 0x26EA), (0x26F2, 0x26F3), (0x26F5, 0x26F5),
    (0x26FA, 0x26FA), (0x26FD, 0x26FD), (0x2705, 0x2705), (0x270A, 0x270B), (0x2728, 0x2728), (0x274C, 0x274C),
    (0x274E, 0x274E), (0x2753, 0x2755), (0x2757, 0x2757), (0x2795, 0x2797), (0x27B0, 0x27B0), (0x27BF, 0x27BF),
    (0x2B1B, 0x2B1C), (0x2B50, 0x2B50), (0x2B55, 0x2B55), (0x1F000, 0x1FAFF), (0xE0020, 0xE007F),
)  # fmt: skip

_EMOJI = frozenset(chr(code) for low, high in _EMOJI_RANGES for code in range(low, high + 1))

#: Turn the sign before them into a picture.
_PICTURE_MARKS = frozenset("\ufe0f\u20e3")


#: A line that ends within a word.
_PARTED_WORD = re.compile(r"\w[-‐]\Z")

#: A question mark right before a letter, or beside one, as programs write it for a letter that their encoding lacks.
_LOST_LETTER = re.compile(r"\?(?=[^\W\d_])")
_BESIDE_LETTER = re.compile(r"\?(?=[^\W\d_])|(?<=[^\W\d_])\?")

#: What ends a line in a cell.
_LINE_ENDS = re.compile(r"\r\n|[\n\r\v\f\x85\u2028\u2029]|\s\|(?=\s)")


@dataclass(frozen=True, slots=True)
class Cleaned:
    """A cell after cleaning: its text, the characters taken out or turned into spaces, whether lines were broken
    in it, and whether spaces were cut."""

    text: str
    invisible: tuple[str, ...] = ()
    broken: bool = False
    trimmed: bool = False


def describe(letter: str) -> str:
    """Return a character as a message names it: as it looks, with its Unicode name; what shows nothing has its code.

    Signs of a keyboard are only shown.

    >>> describe("é"), describe(chr(0x200b)), describe("%"), describe("")
    ('é (Latin small letter e with acute)', 'zero width space (U+200B)', '%', '')
    """
    return ", ".join(_describe_one(c) for c in letter)


def _describe_one(c: str) -> str:
    if "!" <= c <= "~" and not c.isalnum():
        return c
    name = unicodedata.name(c, _CONTROL_NAMES.get(c, "")) or "a character without a name"
    shown = c.isprintable() and not c.isspace() and not unicodedata.combining(c) and not _is_invisible(c)
    return f"{c} ({name.capitalize()})" if shown else f"{name.lower()} (U+{ord(c):04X})"


_CONTROL_NAMES = {
    "\0": "NULL",
    "\t": "TABULATOR",
    "\n": "LINE BREAK",
    "\r": "LINE BREAK",
    "\x1b": "ESCAPE",
    "\x7f": "DELETE",
}


def _is_invisible(c: str) -> bool:
    return (
        unicodedata.category(c) in ("Cf", "Cc", "Zl", "Zp")
        or c in _BLANK_LETTERS
        or 0xFE00 <= ord(c) <= 0xFE0F
        or 0xE0100 <= ord(c) <= 0xE01EF
    )


def clean(text: str) -> Cleaned:
    """Return a cell's text in NFC, without invisible characters, with single spaces inside and none around.

    Line breaks and tabulators become spaces, which ``broken`` tells; other odd spaces and invisible characters are
    listed in ``invisible``, each once, in order.

    >>> clean(chr(0x200b) + "Zoe" + chr(0x308) + chr(0xa0) + " Ash ")
    Cleaned(text='Zoë Ash', invisible=('\\u200b', '\\xa0'), broken=False, trimmed=True)
    >>> clean("")
    Cleaned(text='', invisible=(), broken=False, trimmed=False)
    """
    if text.isascii() and text.isprintable() and text == " ".join(text.split()):
        return Cleaned(text)
    kept: list[str] = []
    invisible: list[str] = []
    broken = False
    for c in unicodedata.normalize("NFC", text.replace("\r\n", "\n")):
        if c in "\t\n\r\v\f\x85\u2028\u2029":
            kept.append(" ")
            broken = True
        elif unicodedata.category(c) == "Zs":
            kept.append(" ")
            if c != " ":
                invisible.append(c)
        elif _is_invisible(c):
            invisible.append(c)
        else:
            kept.append(c)
    spaced = "".join(kept)
    # taking a joiner out can bring a letter and its accent together
    result = unicodedata.normalize("NFC", " ".join(spaced.split(" ")).strip())
    result = " ".join(result.split())
    return Cleaned(
        result, tuple(dict.fromkeys(invisible)), broken, trimmed=result != unicodedata.normalize("NFC", spaced)
    )


def lines_of(cell: str) -> tuple[str, ...]:
    """Give the lines that a cell asks for: a line break or a bar between spaces parts them; empty lines are left out.

    >>> lines_of("Ada | & Tomás"), lines_of("Ada" + chr(10) + "Pell"), lines_of("A|B"), lines_of("")
    (('Ada', '& Tomás'), ('Ada', 'Pell'), ('A|B',), ())
    """
    return tuple(line for part in _LINE_ENDS.split(cell) if (line := part.strip()))


def joined_lines(lines: Sequence[str]) -> str:
    """Give the one text that lines break; behind a hyphen inside a word there is no space.

    >>> joined_lines(["Ida Ek-", "Torre"]), joined_lines(["Ida -", "Bo"]), joined_lines(["In memory of", "Ada"])
    ('Ida Ek-Torre', 'Ida - Bo', 'In memory of Ada')
    """
    text = "".join(lines[:1])
    for line in lines[1:]:
        text += line if _PARTED_WORD.search(text) else f" {line}"
    return text


def emoji_in(text: str) -> tuple[str, ...]:
    """Return the characters of a raw text that are pictures, each once.

    No letter has a picture, so a mark that asks for one after it is only taken out (UTS #51).

    >>> emoji_in("Ada 🌳"), emoji_in("♥"), emoji_in("Ada" + chr(0xFE0F)), emoji_in("")
    (('🌳',), (), (), ())
    """
    found = [
        c
        for c, after in zip(text, [*text[1:], " "], strict=False)
        if c in _EMOJI or (after in _PICTURE_MARKS and c > " " and not c.isalpha())
    ]
    return tuple(dict.fromkeys(c for c in found if c not in _PICTURE_MARKS))


def unsupported_scripts(text: str) -> tuple[str, ...]:
    """Return the names of the scripts in a text that cannot be set, right-to-left ones marked so.

    >>> unsupported_scripts("שרה"), unsupported_scripts("Αθηνά"), unsupported_scripts("")
    (('Hebrew (written from right to left)',), (), ())
    """
    from fontTools import unicodedata as scripts

    found: dict[str, None] = {}
    for c in text:
        code = scripts.script(c)
        backward = unicodedata.bidirectional(c) in _RIGHT_TO_LEFT
        if backward or (code not in PLAIN_SCRIPTS and code != "Zzzz"):
            name = scripts.script_name(code, default=code)
            found[f"{name} (written from right to left)" if backward else str(name)] = None
    return tuple(found)


def mixed_scripts(text: str) -> tuple[str, ...]:
    """Return the scripts that stand side by side in one word (a look-alike typed on another keyboard), or nothing.

    >>> mixed_scripts("А" + "nna"), mixed_scripts("Anna Анна"), mixed_scripts("")
    (('Cyrillic', 'Latin'), (), ())
    """
    from fontTools import unicodedata as scripts

    for word in text.split():
        found = {s for c in word if (s := scripts.script(c)) in ("Latn", "Cyrl", "Grek")}
        if len(found) > 1:
            return tuple(sorted(scripts.script_name(s) for s in found))
    return ()


def not_text(text: str) -> tuple[str, ...]:
    """Return the characters that stand for nothing: replacement characters, private use, unassigned, half pairs.

    >>> not_text("Zo" + chr(0xfffd)), not_text("")
    (('�',), ())
    """
    return tuple(dict.fromkeys(c for c in text if c == "\ufffd" or unicodedata.category(c) in ("Co", "Cn", "Cs")))


def stray_marks(text: str) -> bool:
    """Tell whether a mark stands on no letter, or more than three on one.

    >>> stray_marks(chr(0x301) + "a"), stray_marks("ễ"), stray_marks("a" + chr(0x323) * 4), stray_marks("")
    (True, False, True, False)
    """
    run, on_letter = 0, False
    for c in unicodedata.normalize("NFD", text):
        if unicodedata.category(c).startswith("M"):
            run += 1
            if not on_letter or run > MOST_MARKS:
                return True
        else:
            run, on_letter = 0, not c.isspace()
    return False


def garbled(text: str) -> str | None:
    """Return what a text probably was before UTF-8 was read as Windows-1252, or None when it looks sound.

    >>> garbled("Zo" + "ë".encode().decode("cp1252")), garbled("Zoë"), garbled("")
    ('Zoë', None, None)
    """
    if text.isascii():
        return None
    try:
        before = text.encode("cp1252").decode("utf-8")
    except (UnicodeEncodeError, UnicodeDecodeError):
        return None
    return before if before != text else None


def has_lost_letters(text: str, *, name: bool = False) -> bool:
    """Tell whether question marks stand where letters with accents were lost when a list was saved: within words, or,
    in a name, which asks nothing, at their ends, too.

    >>> has_lost_letters("Mich?le"), has_lost_letters("?va"), has_lost_letters("Who? Me"), has_lost_letters("")
    (True, True, False, False)
    >>> has_lost_letters("Ren? Petit", name=True), has_lost_letters("?", name=True)
    (True, False)
    """
    return (_BESIDE_LETTER if name else _LOST_LETTER).search(text) is not None
