"""Checks the outlines and damaged places of the sheets in a ticket before any name is made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from nameplate.errors import TicketError
from nameplate.geometry.region import from_ring
from nameplate.geometry.rings import crossing, without_repeats
from nameplate.geometry.ruggedness import LEAST_OFFSET, MOST_RUGGED, ruggedness
from nameplate.nest.sheets import damaged_places
from nameplate.ticket.workshop_schema import StockKeys
from nameplate.tolerances import SAME_POINT

#: Most corners of an outline and most damaged places: nobody measures more, and every later step takes longer for them.
MOST_CORNERS = 2_000
MOST_PLACES = 500


def check_stock_shapes(stock: Sequence[StockKeys], *, margin: float, gap: float) -> None:
    """Check what each sheet's outline and damaged places are; `margin` and `gap` (mm) are kept clear of them.

    Raises TicketError, with every problem, for an outline that crosses itself or has no area, and for shapes so rugged
    or so many that placing parts beside them would not end.
    """
    problems = [
        f"job ticket, stock {number}.{problem}"
        for number, keys in enumerate(stock, 1)
        for problem in (*_outline_problems(keys, margin), *_place_problems(keys, gap))
    ]
    if problems:
        raise TicketError(problems)


def _outline_problems(keys: StockKeys, margin: float) -> Iterator[str]:
    if not keys.outline:
        return
    if len(keys.outline) > MOST_CORNERS:
        yield f"outline: it has {len(keys.outline)} corners; at most {MOST_CORNERS} are read; leave out the finest"
        return
    ring = without_repeats(np.array(keys.outline), SAME_POINT)
    if len(ring) < 3 or np.ptp(ring, axis=0).min() == 0:
        yield "outline: it has no area; give its corners in order, all the way round"
    elif found := crossing(ring):
        yield (
            f"outline: it crosses or touches itself near x {found.x:.1f}, y {found.y:.1f} mm; give its corners in "
            "order, all the way round"
        )
    elif (rugged := ruggedness(from_ring(ring), max(margin, LEAST_OFFSET))) > MOST_RUGGED:
        yield f"outline: it {_turns_too_often(rugged)}"


def _place_problems(keys: StockKeys, gap: float) -> Iterator[str]:
    if len(keys.keep_out) > MOST_PLACES:
        yield f"keep_out: {len(keys.keep_out)} places are given; at most {MOST_PLACES} are read; join some of them"
        return
    damaged = damaged_places(keys)
    if damaged and (rugged := ruggedness(damaged, max(gap, LEAST_OFFSET))) > MOST_RUGGED:
        yield f"keep_out: together they {_turns_too_often(rugged, 'turn')}"


def _turns_too_often(rugged: float, turns: str = "turns") -> str:
    return f"{turns} too often in little room (ruggedness {rugged:.2g}, the most is {MOST_RUGGED:.2g}); make it plainer"
