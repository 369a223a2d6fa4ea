"""What a customer should look at before signing: names that may hold a slip, and lettering that may be hard to read.

Told in the customer's words, from the text of the list itself and from the findings about a name. Nothing here refuses
a name: a marked one may be exactly what was ordered.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence

from nameplate.findings import Finding
from nameplate.model import Order
from nameplate.plain_letters import unaccented
from nameplate.roster.reader import fold
from nameplate.system.grouping import grouped

#: Names shorter than this are not compared with others that differ in one letter: Jo and Bo are two people.
LEAST_COMPARED = 5

#: Words shorter than this are not compared with others that have an accent: la and là are two words.
LEAST_ACCENTED = 3

#: What is said of letters that are not clear, where nobody knows which.
UNCLEAR = "some letters may be hard to make out"

#: What the findings of a name mean to whoever ordered it, by their codes.
IN_PLAIN_WORDS: Mapping[str, str] = {
    **dict.fromkeys(("hard-to-read", "letters-thinned"), UNCLEAR),
    **dict.fromkeys(("small-text", "small-letters"), "the letters are small{height}"),
    "not-one-size": "the letters are small",
    "long-tie": "a long strip joins its lines (another line break or font avoids it)",
    **dict.fromkeys(
        ("garbled", "odd-character", "mixed-scripts", "invisible-character", "no-letters", "line-break"),
        "there is an unusual character in the text",
    ),
    "misread": "{misread}",
    "fallback-font": "some letters come from another font",
    "duplicate-name": "the same name is on the list {times}",
}

#: A word: letters only.
_WORD = re.compile(r"[^\W\d_]+")

#: Words that a name may begin with in small letters.
_PARTICLES = re.compile("af|al|ap|av|bin|dal?|das|de|del|della|der|di|dos|du|el|ibn|l|la|le|ten|ter|van|von|zur?")

#: Beginnings of a word after which a capital is usual: McAlister, DeLuca, MacLeod.
_JOINED = re.compile(r"(?:Mc|Mac|De|Di|Du|La|Le|Lo|Van|Von|Fitz|Ap)(?=[^\W\d_])")


def looks_of(
    orders: Sequence[Order], findings: Iterable[Finding], unclear: Mapping[int, str] = {}
) -> dict[int, tuple[str, ...]]:
    """Give by row what to look at, without repetition; rows without anything are left out.

    `unclear` names by row the weakest letter (`the ë`) of what is not as clear as one would advise.

    >>> looks_of([Order("1", 2, "Wren Abara"), Order("2", 3, "Wren Abbara"), Order("3", 4, "JO")], [])
    {2: ('nearly the same name as “Wren Abbara”',), 3: ('nearly the same name as “Wren Abara”',)}
    >>> looks_of([Order("1", 2, "Maëlle")], [Finding("hard-to-read", "warning", "", "1", 2)], {2: "the ë"})
    {2: ('the ë may be hard to make out',)}
    """
    findings = [f for f in findings if f.row is not None and f.code in IN_PLAIN_WORDS]
    misread = {f.row for f in findings if f.code == "misread"}
    every = (
        *near_names(orders),
        *_without_accent(orders),
        *_capitals(orders),
        *((row, f"{unclear[row]} may be hard to make out") for row in unclear.keys() - misread),
        *_in_plain_words(orders, findings, unclear),
    )
    return {row: tuple(texts) for row, texts in grouped(dict.fromkeys(every)).items()}


def _in_plain_words(
    orders: Sequence[Order], findings: Iterable[Finding], unclear: Container[int]
) -> Iterator[tuple[int, str]]:
    """Say what was found of rows in a customer's words."""
    alike = {order.row: (order.design, *map(fold, order.texts)) for order in orders}
    counts = Counter(alike.values())
    for finding in findings:
        assert finding.row is not None
        count = counts[alike.get(finding.row, ())]
        times = "three times" if count == 3 else f"{count} times" if count > 3 else "twice"
        misread = finding.message.partition("; give it ")[0]  # what the workshop may do about it is left out
        height = f", an a is {finding.measured:.1f} mm high" if finding.measured else ""
        text = IN_PLAIN_WORDS[finding.code].format(times=times, misread=misread, height=height)
        if text != UNCLEAR or finding.row not in unclear:
            yield finding.row, text


def near_names(orders: Sequence[Order]) -> Iterator[tuple[int, str]]:
    """Find names one letter apart: added, left out, or another (by the texts that are left without one letter)."""
    shorter: dict[str, dict[str, Order]] = {}
    for order in orders:
        text = fold(order.name)
        if len(text) >= LEAST_COMPARED:
            for cut in dict.fromkeys((text, *(text[:i] + text[i + 1 :] for i in range(len(text))))):
                shorter.setdefault(cut, {}).setdefault(text, order)
    for alike in shorter.values():
        if len(alike) > 1:
            first, second, *_ = alike.values()
            yield first.row, f"nearly the same name as “{second.name}”"
            for other in list(alike.values())[1:]:
                yield other.row, f"nearly the same name as “{first.name}”"


def _without_accent(orders: Sequence[Order]) -> Iterator[tuple[int, str]]:
    """Find words without an accent that another row has one in; which of them is right, the list cannot say."""
    words = [(order.row, word) for order in orders for word in _WORD.findall(unicodedata.normalize("NFC", order.name))]
    accented: dict[str, str] = {}
    for _, word in words:
        if (plain := unaccented(fold(word))) != fold(word):
            accented.setdefault(plain, word)
    for row, word in words:
        if (other := accented.get(fold(word))) is not None and len(word) >= LEAST_ACCENTED:
            yield row, f"“{word}” has no accent here, “{other}” has one elsewhere"


def _capitals(orders: Sequence[Order]) -> Iterator[tuple[int, str]]:
    """Find unusual capitals; where most of several names have them, that is how the list is written."""
    odd = [order.row for order in orders if unusual_capitals(order.name)]
    if len(odd) <= 1 or 2 * len(odd) <= len(orders):
        yield from ((row, "the capitals are unusual") for row in odd)


def unusual_capitals(name: str) -> bool:
    """Tell whether the capitals of a name look like a slip of the keyboard.

    >>> [unusual_capitals(n) for n in ("wren Abara", "WREN ABARA", "WRen Abara", "WrEn")]
    [True, True, True, True]
    >>> [unusual_capitals(n) for n in ("Rhys ap Cadwgan", "Fiona McAlister", "Paolo Dall’Orto-Quill", "JP", "Class 4b")]
    [False, False, False, False, False]
    >>> unusual_capitals("van Rietvelde")
    False
    """
    words = _WORD.findall(name)
    if not words:
        return False
    begins_small = words[0][0].islower() and not _PARTICLES.fullmatch(words[0])
    long = [(word, _JOINED.sub("", word, count=1)) for word in words if len(word) > 3]
    return begins_small or any(word.isupper() or any(map(str.isupper, rest[1:])) for word, rest in long)
