"""Spreads the heat of cutting: what was just cut cools before the beam comes near it again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from nameplate.cut.local_search import followers


def spread(
    order: Sequence[int],
    boxes: Sequence[tuple[float, float, float, float]],
    before: Iterable[tuple[int, int]],
    apart: float,
) -> list[int]:
    """Reorder lines so that each lies at least `apart` mm from the one before it, or as far from it as any can.

    `order` are the lines' numbers along a short way, `boxes` (x0, y0, x1, y1) those round them, in that order; the
    first of those far enough along the way comes next. Pairs of `before` stay in their order.

    >>> spread([7, 8, 9], [(0, 0, 1, 1), (2, 0, 3, 1), (40, 0, 41, 1)], [], 20)
    [7, 9, 8]
    """
    places = {line: place for place, line in enumerate(order)}
    pairs = [(places[first], places[second]) for first, second in before if first in places and second in places]
    later, waits = followers(pairs), np.zeros(len(order), dtype=int)
    for _, second in pairs:
        waits[second] += 1
    around = np.array(boxes, dtype=float).reshape(-1, 4)
    left = np.ones(len(order), dtype=bool)
    spread_out: list[int] = []
    at = 0
    while left.any():
        spread_out.append(order[at])
        left[at] = False
        waits[later.get(at, [])] -= 1
        at = _next(around, at, left & (waits == 0), apart)
    return spread_out


def _next(boxes: np.ndarray, last: int, free: np.ndarray, apart: float) -> int:
    """Give the first free line far enough from the last one, else the one that is farthest from it."""
    gaps = np.maximum(boxes[:, :2] - boxes[last, 2:], boxes[last, :2] - boxes[:, 2:]).clip(min=0)
    far = np.where(free, np.hypot(gaps[:, 0], gaps[:, 1]), -1.0)
    enough = np.flatnonzero(far >= apart)
    return int(enough[0]) if len(enough) else int(np.argmax(far))
