"""Names that their rows move by hand: as far as the zone allows, or with how far that is and which size would do."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from nameplate.findings import Finding
from nameplate.geometry.measure import narrowed
from nameplate.geometry.region import Region, bounds, covers, moved
from nameplate.model import Lettering, Order

#: How finely it is told how far a name may be moved by hand, as a share of the way.
FINE = 2**-20

#: How often another size is tried for a name that is moved by hand, the share of what fits that is tried, because small
#: letters are thickened more, and the least share of its own size that is advised.
TRIES, SURELY, LEAST_SHARE = 3, 0.97, 0.25

#: A share that is not nothing, so that a name made as small as that is still one.
TINY = 1e-3


def moved_by_hand(
    order: Order, lettering: Lettering | None, zone: Region, made_at: Callable[[float], Lettering | None]
) -> tuple[Lettering | None, tuple[Finding, ...]]:
    """Move lettering as its row asks, or say how far that way it may go in its zone, and at which size all the way.

    `made_at` makes the lettering in another size (em, mm), not moved.
    """
    if lettering is None or not (order.dx or order.dy):
        return lettering, ()
    there = lettering.moved_by(order.dx, order.dy)
    if covers(zone, there.whole):
        return there, ()
    low = _most(lambda share: covers(zone, moved(lettering.whole, share * order.dx, share * order.dy)))
    wanted, may = (", ".join(_shifts(order, share)) for share in (1.0, low))
    goes = f"may go as far as {may}" if low >= TINY else "cannot go that way at all"
    message = (
        f"“{order.name}”: {wanted} would move it off the room for lettering; at this size ({lettering.size:.1f} mm) it "
        f"{goes}{_size_that_does(order, lettering, zone, made_at)}"
    )
    far = math.hypot(order.dx, order.dy)
    return None, (Finding("moved-out", "error", message, measured=far, allowed=low * far),)


def _most(fits: Callable[[float], bool]) -> float:
    """Give the largest share from 0 to 1 at which something fits, where it fits at all smaller ones."""
    return narrowed(0.0, 1.0, fits, within=FINE)[0]


def _size_that_does(
    order: Order, lettering: Lettering, zone: Region, made_at: Callable[[float], Lettering | None]
) -> str:
    """Say at which size a name can be moved all the way: about that at which it would fit there if only made smaller.

    It is tried, because smaller letters are thickened more and words may be broken otherwise.
    """
    tried, least = lettering, lettering.size * LEAST_SHARE
    for _ in range(TRIES):
        size = math.floor(tried.size * _share_that_fits(order, tried, zone) * SURELY * 10) / 10
        there = made_at(size) if size > least else None
        if there is None:
            break
        if covers(zone, there.moved_by(order.dx, order.dy).whole):
            return f"; with {size:g} in the column size it may go all the way"
        tried = there
    return ""


def _share_that_fits(order: Order, lettering: Lettering, zone: Region) -> float:
    """Give the share of its size at which a name fits where its row moves it, made smaller about its middle."""
    x, y = bounds(lettering.whole).centre
    centred, to = moved(lettering.whole, -x, -y), (x + order.dx, y + order.dy)
    return _most(lambda share: covers(zone, moved(moved(centred, scale=share + TINY), *to)))


def _shifts(order: Order, share: float) -> Iterator[str]:
    """Name a share of the shifts that a row asks for, towards nothing to the tenth of a millimetre."""
    for column, shift in (("dx", order.dx), ("dy", order.dy)):
        if shift:
            yield f"{column} {shift:g} mm" if share == 1.0 else f"{column} {math.trunc(share * shift * 10) / 10:g} mm"
