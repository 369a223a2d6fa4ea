"""How many spare pieces to cut, and of which names.

Terms. *loss* is the share of pieces that fail (snapped, scorched, lost); *confidence* the wanted chance that enough are
left. Method: cut until n pieces are good; each fails on its own with the same chance, spares too. Then the number of
failures before the n-th good piece has the negative binomial law, and the spares needed are its quantile.

Known limit: the count treats pieces as alike, but a spare of one name cannot stand in for another. So the spares go to
the names that are likeliest to fail, and `chance` says how likely it is that no name at all has to be cut again.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nameplate.findings import counted, named
from nameplate.model import Lettering, Plate
from nameplate.system.shelf import changed

#: Plates whose spares a message names; `summary.json` has those of every plate.
MOST_NAMED = 12


@dataclass(frozen=True, slots=True)
class Spares:
    """The spare pieces of a batch: how many for each plate (by id, most fragile first), and what they achieve.

    ``chance`` is the probability that every plate gets all its pieces from this cut alone.
    """

    pieces: tuple[tuple[str, int], ...] = ()
    chance: float = 1.0

    @property
    def total(self) -> int:
        """All spare pieces together."""
        return sum(count for _, count in self.pieces)

    def of(self, plate: str) -> int:
        """Return the spare pieces of one plate."""
        return dict(self.pieces).get(plate, 0)


def spares_needed(n: int, loss: float, confidence: float) -> int:
    """Return the least number of spares s with P(Binomial(n + s, 1 - loss) >= n) >= confidence, below 1 as both are.

    >>> spares_needed(50, 0.04, 0.95), spares_needed(50, 0.0, 0.95), spares_needed(0, 0.04, 0.95)
    (5, 0, 0)
    """
    return next(spares for spares in itertools.count() if enough(n, spares, loss) >= confidence)


def enough(n: int, spares: int, loss: float) -> float:
    """Return the chance that of n pieces and their spares at least n are good.

    >>> enough(1, 1, 0.1), enough(0, 0, 0.1)
    (0.99, 1.0)
    """
    from scipy.special import nbdtr

    if n == 0 or loss == 0:
        return 1.0
    return round(float(nbdtr(spares, n, 1 - loss)), 12)


def fragility(lettering: Lettering) -> tuple[float, float]:
    """Return what to sort letterings by, most fragile first: stress at the weakest neck, then small letters."""
    return -lettering.neck.stress if lettering.neck else 0.0, lettering.size


def choose_spares(plates: Sequence[Plate], *, loss: float, confidence: float) -> Spares:
    """Return the spares of a batch: their number by the binomial law over all pieces, the fragile names first.

    Where there are more spares than plates they go round again. Plates that were not made get none.

    >>> choose_spares([], loss=0.04, confidence=0.95)
    Spares(pieces=(), chance=1.0)
    """
    made = [(p.order, p.lettering) for p in plates if p.lettering is not None]
    ranked = [order for order, _ in sorted(made, key=lambda one: (*fragility(one[1]), one[0].row))]
    wanted = {order.id: order.copies for order in ranked}
    total = spares_needed(sum(wanted.values()), loss, confidence)
    counts = dict.fromkeys(wanted, 0)
    for number in range(total):
        counts[ranked[number % len(ranked)].id] += 1
    chance = math.prod((enough(copies, counts[plate], loss) for plate, copies in wanted.items()), start=1.0)
    return Spares(tuple((plate, count) for plate, count in counts.items() if count), chance)


def spares_message(spares: Spares, *, loss: float, confidence: float) -> str:
    """Say how many spares there are, of which plates, and what for.

    >>> spares_message(Spares((("1", 1),), 0.9), loss=0.04, confidence=0.95)[:50]
    '1 spare piece of 1 name is cut with the rest, the '
    >>> spares_message(Spares(), loss=0.04, confidence=0.95)[:28]
    'no spare pieces are needed: '
    """
    odds = (
        f"where {loss:.1%} of all pieces are lost, enough of them are left in at least {confidence:.0%} of such "
        f"batches, and of each name in {spares.chance:.0%}"
    )
    if not spares.total:
        return f"no spare pieces are needed: {odds}"
    pieces, names = counted(spares.total, "spare piece"), counted(len(spares.pieces), "name")
    are = "is" if spares.total == 1 else "are"
    each = [f"{plate}{f' ({count})' if count > 1 else ''}" for plate, count in spares.pieces]
    plates = f"plate{'s' * (len(spares.pieces) > 1)} {named(each, most=MOST_NAMED)}"
    return f"{pieces} of {names} {are} cut with the rest, the fragile names first ({plates}): {odds}"


def with_spares(plate: Plate, extra: int) -> Plate:
    """Return a plate whose lettering is cut with so many spares: their copies are numbered after the ones ordered."""
    if not extra:
        return plate
    parts = tuple(changed(p, copies=p.copies + extra) if p.kind == "lettering" else p for p in plate.parts)
    return replace(plate, parts=parts)
