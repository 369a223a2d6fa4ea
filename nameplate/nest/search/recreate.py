"""Making a nest denser by taking a few parts up and laying them down again (ruin and recreate).

Method: each round takes up the parts that reach furthest right on the last sheet and a random part with its
neighbours, and lays them down again by the greedy rule in a slightly shuffled order. A round that makes the nest
worse is undone, save that early rounds may make it a little worse. The best nest seen is given back, so the result is
never worse than the start. Chance is seeded: the same rounds give the same nest.

Known limit: the gain shrinks with the number of parts; it is meant for a sheet or two.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry.region import bounds
from nameplate.nest.layout import Piece
from nameplate.nest.search.orders import LEEWAY, largest_first
from nameplate.nest.search.trueshape import PlacedPart, Stamps, Table, place

#: Parts taken up beside the ones furthest right, at least and at most.
NEIGHBOURS = (2, 9)

#: Parts reaching within this many mm of the furthest are taken up, at most.
EDGE = 45.0

#: How much (mm of the last sheet) an early round may lose; it falls to nothing over the rounds.
SLACK = 4.0

#: Weight of the mean right edge against the furthest one: progress that the furthest part hides.
MEAN = 0.05

#: How much a part's size is changed at random, as a share, before ordering by it.
SHUFFLE = 0.35


@dataclass(frozen=True, slots=True)
class Score:
    """How good a nest is: sheets in use, then how far the last is used (mm), with a little for how far on average."""

    sheets: int
    length: float

    def better(self, other: Score, slack: float = 0.0) -> bool:
        """Tell whether this is better than another, or worse by less than `slack` mm on as many sheets."""
        return (self.sheets, self.length) < (other.sheets, other.length + slack)


#: Told the number of the round; says whether to go on.
GoOn = Callable[[int], bool]


def score(tables: Sequence[Table | None]) -> Score:
    """Rank a nest."""
    filled = [t for t in tables if t and t.lying]
    if not filled:
        return Score(0, 0.0)
    last = filled[-1]
    mean = float(np.mean([last.right(lying) for lying in last.lying]))
    return Score(len(filled), last.used + MEAN * mean)


def snapshot(tables: Sequence[Table | None]) -> list[list[PlacedPart]]:
    """Note where everything lies."""
    return [list(t.lying) if t else [] for t in tables]


def restore(tables: Sequence[Table | None], noted: Sequence[Sequence[PlacedPart]]) -> None:
    """Lay everything where it was noted."""
    for table, rows in zip(tables, noted, strict=True):
        if table is None:
            continue
        wanted = {(lying.index, lying.at) for lying in rows}
        for lying in [ly for ly in table.lying if (ly.index, ly.at) not in wanted]:
            table.take(lying)
        present = {lying.index for lying in table.lying}
        for lying in rows:
            if lying.index not in present:
                table.put_back(lying)


class Recreation:
    """A nest being improved round by round; the tables are changed in place."""

    def __init__(
        self, tables: Sequence[Table | None], pieces: Sequence[Piece], stamps: Stamps, *, seed: int = 0
    ) -> None:
        self.tables, self.pieces, self.stamps = tables, pieces, stamps
        self._rng = np.random.default_rng(seed)
        self._rank = {index: place for place, index in enumerate(largest_first(pieces))}
        self._size = [box.width * box.height for box in (bounds(piece.region) for piece in pieces)]
        self.now = self.best = score(tables)
        self._kept = snapshot(tables)

    def round(self, share: float) -> None:
        """Do one round; `share` of the work is done (0 to 1), and the tolerance for losses shrinks with it."""
        if self.best.sheets == 0:
            return
        before = snapshot(self.tables)
        taken = _ruin(self.tables, self._rng)
        wild = self._rng.uniform(-SHUFFLE, SHUFFLE, len(self._size))
        order = sorted(taken, key=lambda i: (-self._size[i] * (1 + wild[i]), self._rank[i]))
        whole = all(self._lay(i, int(self._rng.choice((2, LEEWAY, 2 * LEEWAY)))) for i in order)
        after = score(self.tables)
        if whole and after.better(self.now, SLACK * (1 - share) * float(self._rng.random() < 0.3)):
            self.now = after
        else:
            restore(self.tables, before)
        if self.now.better(self.best):
            self.best, self._kept = self.now, snapshot(self.tables)

    def _lay(self, index: int, leeway: int) -> bool:
        stamps, piece = self.stamps.of(index), self.pieces[index]
        return any(t is not None and place(t, index, piece, stamps, leeway=leeway) for t in self.tables)

    def finish(self) -> Score:
        """Put everything where the best nest had it, whatever state a round was left in; give its score."""
        restore(self.tables, self._kept)
        return self.best


def recreate(
    tables: Sequence[Table | None],
    pieces: Sequence[Piece],
    stamps: Stamps,
    *,
    rounds: int,
    seed: int = 0,
    go_on: GoOn = lambda _: True,
) -> Score:
    """Improve a nest in place by `rounds` rounds, or until `go_on` says no; give its score."""
    work = Recreation(tables, pieces, stamps, seed=seed)
    try:
        for number in range(rounds):
            if not go_on(number):
                break
            work.round(number / rounds)
    finally:
        best = work.finish()
    return best


def _ruin(tables: Sequence[Table | None], rng: np.random.Generator) -> list[int]:
    """Take up the parts furthest right on the last sheet, and some part with its neighbours."""
    filled = [t for t in tables if t and t.lying]
    last = filled[-1]
    limit = last.used - EDGE * rng.random()
    victims = [(last, lying) for lying in last.lying if last.right(lying) >= limit]
    table = filled[int(rng.integers(len(filled)))]
    near = around(table, rng, NEIGHBOURS)
    victims += [(table, lying) for lying in near if (table, lying) not in victims]
    for t, lying in victims:
        t.take(lying)
    return [lying.index for _, lying in victims]


def around(table: Table, rng: np.random.Generator, sizes: tuple[int, int]) -> list[PlacedPart]:
    """Choose some part of a table at random, with so many of its neighbours, at least and at most."""
    centre = table.lying[int(rng.integers(len(table.lying)))]
    return sorted(table.lying, key=lambda ly: _apart(ly, centre))[: int(rng.integers(*sizes)) + 1]


def _apart(a: PlacedPart, b: PlacedPart) -> float:
    ax, ay, bx, by = (
        a.x + a.stamp.mask.shape[0] / 2,
        a.y + a.stamp.mask.shape[1] / 2,
        b.x + b.stamp.mask.shape[0] / 2,
        b.y + b.stamp.mask.shape[1] / 2,
    )
    # names are long and low: those above and below count as nearer than those beside
    return float((ax - bx) ** 2 / 4 + (ay - by) ** 2)
