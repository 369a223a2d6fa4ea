"""The states of a piece, in their order, and what a plate's pieces come to."""

from __future__ import annotations

from collections.abc import Iterable

#: What becomes of a piece, in the order of the work. A spoiled one stands outside: it must be cut again.
ORDER: tuple[str, ...] = ("planned", "cut", "fitted", "hung")

#: Kinds of pieces that end up on the plate, and are fitted and hung; all others are jigs.
OF_THE_PLATE: frozenset[str] = frozenset({"lettering", "backing", "blank"})


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
