"""The states of a piece, in their order, and what a plate's pieces come to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

#: What becomes of a piece, in the order of the work. A spoiled one stands outside: it must be cut again.
ORDER: tuple[str, ...] = ("planned", "cut", "fitted", "hung")

#: What people call a kind of piece, or its sheets, where the cut files have another word for it.
CALLED: Mapping[str, str] = {"lettering": "name", "blank": "plaque"}

#: Kinds of pieces that end up on the plate, and are fitted and hung; all others are jigs.
OF_THE_PLATE: frozenset[str] = frozenset({"lettering", "backing", "blank"})


def kind_called(word: str) -> str:
    """Give the kind of piece that people call so; the word itself where it is no other word for one.

    >>> kind_called("plaque"), kind_called("blank"), kind_called("backing")
    ('blank', 'blank', 'backing')
    """
    return next((kind for kind, called in CALLED.items() if called == word), word)


def kinds_in_words(kinds: Iterable[str]) -> str:
    """Name kinds of pieces, each with what people call it.

    >>> kinds_in_words(["template", "blank"])
    'blank (plaque), template'
    """
    return ", ".join(f"{kind} ({CALLED[kind]})" if kind in CALLED else kind for kind in sorted(kinds))


def state_of_pieces(pieces: Iterable[tuple[str, str]]) -> str:
    """Give the state of a plate from the kinds and states of its pieces: that of the piece that is farthest behind.

    Of jigs nothing more is asked once they are cut.

    >>> state_of_pieces([("template", "cut"), ("lettering", "hung"), ("backing", "fitted")])
    'fitted'
    >>> state_of_pieces([("template", "planned"), ("lettering", "cut")])
    'planned'
    >>> state_of_pieces([])
    'planned'
    """
    places = [ORDER.index(state) for kind, state in pieces if kind in OF_THE_PLATE or state == ORDER[0]]
    return ORDER[min(places, default=0)]
