"""The one place that makes names of files for a batch: no two of them are the same file on any system.

Method: what ids, names and keys say is turned into a stem that every file system takes; stems are then compared as the
pickiest systems do, without regard to case and Unicode form, and a later one that would be an earlier one's file gets a
number. Which comes first goes by id, so that a list sorted otherwise gives the same names.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import count

from nameplate.plain_letters import folded

#: Names that are devices on Windows, with any ending (Microsoft Learn, "Naming Files, Paths, and Namespaces").
DEVICES = frozenset({"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))})

#: The longest stem, in characters; with its ending it stays within 60, which people can still read in a file manager.
LONGEST_STEM = 56

#: The longest stem in bytes of UTF-8. File systems take 255 (some encrypted ones 143) for the whole name.
LONGEST_BYTES = 120

#: Stems that the batch itself uses in the folder of jigs; those of designs begin so, too.
TAKEN = ("carrier",)


def jig_stems(plates: Sequence[tuple[str, str]], designs: Sequence[str] = ()) -> tuple[str, ...]:
    """Give the stems of the jig files of plates, each given as (id, name), in their order; all differ.

    >>> jig_stems([("007", "Wren Abara"), ("12", "Łucja Ößþ-Nguyễn"), ("3", "Ελένη")])
    ('007-wren-abara', '12-lucja-ossth-nguyen', '3-plate')
    >>> jig_stems([("a", "b c"), ("a-b", "c"), ("A", "B C")])
    ('a-b-c-2', 'a-b-c-3', 'A-b-c')
    """
    wanted = [jig_stem(*plate) for plate in plates]
    ranks = sorted(range(len(plates)), key=lambda i: (same_file(plates[i][0]), plates[i]))
    given, used = dict[int, str](), set(map(same_file, (*TAKEN, *map(carrier_stem, designs))))
    for i in ranks:
        if same_file(wanted[i]) not in used:
            given[i] = wanted[i]
            used.add(same_file(wanted[i]))
    numbers: dict[str, Iterator[int]] = defaultdict(lambda: count(2))  # of many alike each goes on after the last
    for i in (i for i in ranks if i not in given):
        numbered = (_numbered(wanted[i], number) for number in numbers[same_file(wanted[i])])
        given[i] = next(stem for stem in numbered if same_file(stem) not in used)
        used.add(same_file(given[i]))
    return tuple(given[i] for i in range(len(plates)))


def carrier_stem(design: str) -> str:
    """Give the stem of the drawing of a design's carrier.

    >>> carrier_stem(""), carrier_stem("gold")
    ('carrier', 'carrier-gold')
    """
    return safe_stem(f"{TAKEN[0]}-{design}" if design else TAKEN[0])


def jig_stem(plate_id: str, name: str) -> str:
    """Give the stem of one plate's jig file: id, dash, name in plain lower-case letters.

    >>> jig_stem("con.1", "Wren"), jig_stem("", "")
    ('_con.1-wren', 'plate-plate')
    """
    plain = re.sub(r"[^a-z0-9]+", "-", folded(name).lower()).strip("-")
    return safe_stem(f"{plate_id or 'plate'}-{plain or 'plate'}")


def safe_stem(text: str) -> str:
    """Turn a text into a stem that every file system takes: no signs, no device's name, not long, no dot at the end.

    >>> safe_stem("a/b: c?"), safe_stem("NUL"), safe_stem("..."), safe_stem("x" * 99) == "x" * 56
    ('a-b- c', '_NUL', 'plate', True)
    """
    kept = "".join(c if c in " ._-" or unicodedata.category(c)[0] in "LNM" else "-" for c in text)
    stem = _cut(unicodedata.normalize("NFC", kept).lstrip(" .-"), LONGEST_STEM) or "plate"
    return f"_{stem}" if same_file(stem.partition(".")[0].rstrip()) in DEVICES else stem


def same_file(name: str) -> str:
    """Give what two names have in common when a file system may take them for one: no case, no Unicode form.

    >>> same_file("ÉTÉ") == same_file("e\u0301te\u0301")
    True
    """
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def _numbered(stem: str, number: int) -> str:
    ending = f"-{number}"
    return f"{_cut(stem, LONGEST_STEM - len(ending))}{ending}"


def _cut(stem: str, longest: int) -> str:
    return stem[:longest].encode("utf-8")[:LONGEST_BYTES].decode("utf-8", "ignore").rstrip(" .-")
