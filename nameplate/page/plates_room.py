"""The room of the plates: a wall of all of them as they will be, filtered, searched and sorted."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from nameplate.page.answers import Form, page, part
from nameplate.page.studio import PlateCard, Studio
from nameplate.roster.reader import fold
from nameplate.system.grouping import grouped

#: How plates can be sorted: what each way is called, and by what it goes. Those that are not drawn yet come last.
SORTS: Mapping[str, tuple[str, Callable[[PlateCard], Any]]] = {
    "row": ("as in the list", lambda card: card.order.row),
    "name": ("by name", lambda card: (fold(card.text), card.order.row)),
    "size": ("by size, smallest first", lambda card: (_size(card), card.order.row)),
    "design": ("by design", lambda card: (card.order.design, card.order.row)),
}


def _size(card: PlateCard) -> float:
    drawn = card.drawn
    return float("inf") if drawn is None or drawn.svg is None else drawn.capitals


def plates(studio: Studio, request: Request, form: Form) -> Response:
    """Show the wall of all plates; in time all of them are drawn."""
    view = studio.view()
    studio.room.ask_all(view)
    cards = studio.cards(view)
    asked = request.query_params
    only, find, sort = "look" in asked, asked.get("find", ""), asked.get("sort", "")
    sort = sort if sort in SORTS else "row"
    words = find.casefold().split()
    shown = [c for c in cards if not only or c.looks or c.problems]
    shown = [c for c in shown if all(word in f"{c.order.id} {c.text}".casefold() for word in words)]
    ordered, by_design = sorted(shown, key=SORTS[sort][1]), sort == "design"
    groups = grouped(((c.order.design or "without a design") if by_design else "", c) for c in ordered)
    values = {
        "groups": groups.items(),
        "count": len(shown),
        "total": len(cards),
        "waiting": sum(bool(card.key) and card.drawn is None for card in cards),
        "only": only,
        "find": find,
        "sort": sort,
        "sorts": {key: own[0] for key, own in SORTS.items() if key != "design" or view.ticket.designs},
        "query": {"find": find, "sort": sort, **({"look": "1"} if only else {})},
    }
    return page(studio, "plates.html", values, at="/plates")


def waiting(studio: Studio, request: Request, form: Form) -> Response:
    """Say how many plates are still being drawn, without the wall: it is asked every other second."""
    view = studio.view()
    left = sum(studio.room.known(key) is None for key in view.keys.values())
    return part("waiting.html", waiting=left, total=len(view.orders))
