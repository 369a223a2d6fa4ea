"""Names in plain letters: without accents, for scored labels, names of files and the order of surnames."""

from __future__ import annotations

import re
import unicodedata

#: Letters that do not fall apart into a base letter and an accent, and signs that have a plain twin.
_TWINS = str.maketrans(
    {
        **{"Ł": "L", "Ø": "O", "Đ": "D", "Ð": "D", "Ħ": "H", "Ŧ": "T", "Ŋ": "N", "Æ": "AE", "Œ": "OE", "Þ": "TH"},
        **{"ẞ": "SS", "ß": "ss", "ł": "l", "ø": "o", "đ": "d", "ð": "d", "ħ": "h", "ŧ": "t", "ŋ": "n", "ı": "i"},
        **{"æ": "ae", "œ": "oe", "þ": "th", "ĸ": "k", "ſ": "s", "Ə": "E", "ə": "e"},
        **{"‘": "'", "’": "'", "‚": ",", "“": '"', "”": '"', "„": '"', "′": "'", "ʼ": "'", "ʻ": "'"},
        **{"‐": "-", "‑": "-", "‒": "-", "–": "-", "—": "-", "−": "-", "\u00a0": " ", "\u202f": " ", "…": "..."},
    }
)

#: Two letters that stand for one, with the letter behind them.
_DIGRAPH = re.compile(r"(?:AE|OE|TH)(?=(.))", re.DOTALL)


def folded(text: str) -> str:
    """Drop accents and replace special letters and signs by their plain twins; the case is kept.

    Letters of other scripts stay as they are.

    >>> folded("Łukasz Nguyễn, Ørsted–Þór")
    'Lukasz Nguyen, Orsted-Thor'
    >>> folded("")
    ''
    """
    twins = unicodedata.normalize("NFC", text).translate(_TWINS)
    # once more: an accent may have hidden a special letter (ǿ is ø with an acute)
    return _title_case_digraphs(text, unaccented(twins).translate(_TWINS))


def unaccented(text: str) -> str:
    """Drop accents, and nothing else.

    >>> unaccented("Zoë, Ørsted")
    'Zoe, Ørsted'
    """
    return "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))


def _title_case_digraphs(text: str, bare: str) -> str:
    """Write Þór as Thor rather than THor, unless the text is in capitals throughout."""
    if text == text.upper():
        return bare
    return _DIGRAPH.sub(lambda pair: pair[0].title() if pair[1].islower() else pair[0], bare)
