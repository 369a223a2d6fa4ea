"""Making full sheets fuller from the last one, sheets side by side in worker processes.

Method: the parts of the last sheet are dealt to the full ones. On each of these a round takes up a part with its
neighbours and lays them down again, with parts dealt to it, in a shuffled order; the round counts when the sheet then
carries as much area as before, and is undone otherwise. What could not be taken goes back to the last sheet, which is
laid anew; a sheet that nothing is left for is saved. Chance is seeded and the rounds are counted, so the same job
gives the same bytes however many cores there are.

Known limit: a part never moves from one full sheet to another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry.region import bounds
from nameplate.nest.layout import Piece, PieceKey, Placement
from nameplate.nest.search.orders import largest_first
from nameplate.nest.search.recreate import around, restore
from nameplate.nest.search.trueshape import Stamps, Table, cell_side, greedy, open_table, place, put_at
from nameplate.nest.sheets import Blank, Rules
from nameplate.pool.processes import FEWEST_FOR_PROCESSES, Failure, Workers, pool_of, run_all

Sheets = list[tuple[Blank, tuple[Placement, ...]]]

#: Parts taken up in a round, at least and at most (with the part they are around). More change more, slower.
TAKEN = (5, 14)

#: Dealt parts that are tried in one round, at most; more find a fitting one more often, slower.
OFFERED = 12

#: How much a part's size is changed at random, as a share, before ordering by it.
SHUFFLE = 0.35

#: How far (columns) a round looks beyond the leftmost spot for more contact: one of these at random.
LEEWAYS = (2, 8, 16)

#: Dealt parts that make a sheet worth working on. Fewer sheets at a time get a better choice of parts each.
LEAST_DEALT = 4

#: How often all sheets are worked on; each time the parts still left over are dealt anew. More passes spread the room
#: that is found better, but each prepares the sheets again, which takes as long as ten rounds.
PASSES = 2

#: Tells the seeds of one pass from those of the next.
MOST_SHEETS = 100_000

#: Seconds a sheet may take before its worker is given up: far more than the rounds take on a slow machine.
LIMIT_S = 600.0


@dataclass(frozen=True, slots=True)
class Filling:
    """One sheet to make fuller: how its parts lie, and the parts dealt to it."""

    blank: Blank
    rows: tuple[Placement, ...]
    lying: tuple[Piece, ...]
    dealt: tuple[Piece, ...]
    seed: int


@dataclass(frozen=True, slots=True)
class Filled:
    """How the parts of a sheet lie now, and which parts, by their keys, lie elsewhere."""

    rows: tuple[Placement, ...]
    over: tuple[PieceKey, ...]


def exchange(
    sheets: Sheets,
    pieces: Sequence[Piece],
    rules: Rules,
    *,
    rounds: int,
    workers: Workers = None,
    go_on: Callable[[], bool] = lambda: True,
    say: Callable[[str], None] = lambda _: None,
) -> Iterator[Sheets]:
    """Move parts from the last sheets to the ones before, with `rounds` rounds a sheet.

    Gives the nest after each set of sheets: as many sheets as before or fewer, and the last carries no more. `say` is
    told, in words, of workers that failed: their sheets stay as they were. Between the sets `go_on` is asked.

    >>> list(exchange([], [], Rules(gap=1, edge=5), rounds=1))
    []
    """
    by_key = {piece.key: piece for piece in pieces}
    with pool_of(workers) as crew:
        for turn in range(PASSES):
            at = 0
            while at < len(sheets) - 1 and go_on():
                last = [by_key[row.key] for row in sheets[-1][1]]
                width = max(1, min(len(sheets) - 1 - at, len(last) // LEAST_DEALT))
                jobs = _jobs(sheets, at, width, by_key, turn)
                if width > 1:
                    crew.hire(max(width, FEWEST_FOR_PROCESSES))
                found = run_all(fill_up, jobs, (rules, -(-rounds // PASSES)), workers=crew, limit_s=LIMIT_S)
                sheets = _taken_in(sheets, at, jobs, found, by_key, rules, say)
                at += width
                yield sheets


def _jobs(sheets: Sheets, at: int, width: int, by_key: dict[PieceKey, Piece], turn: int) -> list[Filling]:
    """Deal the parts of the last sheet to some sheets; another pass deals them otherwise."""
    hands = _dealt([by_key[row.key] for row in sheets[-1][1]], width)
    hands = hands[turn % width :] + hands[: turn % width]
    return [
        Filling(blank, rows, tuple(by_key[row.key] for row in rows), tuple(hand), turn * MOST_SHEETS + at + n)
        for n, ((blank, rows), hand) in enumerate(zip(sheets[at : at + width], hands, strict=True))
    ]


def _dealt(pieces: Sequence[Piece], hands: int) -> list[list[Piece]]:
    """Deal parts into hands of the same mix of sizes."""
    order = largest_first(pieces)
    return [[pieces[i] for i in order[n::hands]] for n in range(hands)]


def _taken_in(
    sheets: Sheets,
    at: int,
    jobs: Sequence[Filling],
    found: Sequence[Filled | Failure],
    by_key: dict[PieceKey, Piece],
    rules: Rules,
    say: Callable[[str], None],
) -> Sheets:
    """Put the fuller sheets in place and lay the last one anew; where that fails, nothing has changed."""
    new, left = list(sheets), []
    for n, (job, outcome) in enumerate(zip(jobs, found, strict=True)):
        if isinstance(outcome, Failure):
            say(f"sheet {at + n + 1} was made no fuller, because its worker {outcome.reason}")
            left += list(job.dealt)
        else:
            new[at + n] = (job.blank, outcome.rows)
            left += [by_key[key] for key in outcome.over]
    if not left:
        return new[:-1]
    if {piece.key for piece in left} == {row.key for row in sheets[-1][1]}:
        return new
    blank = sheets[-1][0]
    tables, lost = greedy(left, [blank], rules, largest_first(left))
    if lost or tables[0] is None:
        return sheets
    return [*new[:-1], (blank, tuple(ly.at for ly in sorted(tables[0].lying, key=lambda ly: ly.index)))]


def fill_up(shared: tuple[Rules, int], job: Filling) -> Filled:
    """Make one sheet fuller (in a worker process)."""
    rules, rounds = shared
    pieces = [*job.lying, *job.dealt]
    stamps = Stamps(pieces, rules, cell_side([job.blank], rules.gap))
    table = open_table(job.blank, rules, stamps.cell)
    if table is None or not all(put_at(table, i, pieces[i], stamps.die(i), row) for i, row in enumerate(job.rows)):
        return Filled(job.rows, tuple(piece.key for piece in job.dealt))
    work = _Filler(table, pieces, stamps, job.seed)
    for _ in range(rounds):
        if not work.over:
            break
        work.round()
    rows = tuple(lying.at for lying in sorted(table.lying, key=lambda ly: ly.index))
    return Filled(rows, tuple(pieces[i].key for i in sorted(work.over)))


class _Filler:
    """A sheet being made fuller; `over` are the positions of the parts that do not lie on it."""

    def __init__(self, table: Table, pieces: Sequence[Piece], stamps: Stamps, seed: int) -> None:
        self.table, self.pieces, self.stamps = table, pieces, stamps
        self.over = set(range(len(pieces))) - {lying.index for lying in table.lying}
        self._area = [piece.region.area for piece in pieces]
        self._size = [box.width * box.height for box in (bounds(piece.region) for piece in pieces)]
        self._rng = np.random.default_rng(seed)

    def round(self) -> None:
        """Take some parts up and lay them down again with others; undone when the sheet carries less then."""
        before = list(self.table.lying)
        taken = around(self.table, self._rng, TAKEN)
        for lying in taken:
            self.table.take(lying)
        out = [lying.index for lying in taken]
        laid = self._lay([*out, *self._offered()])
        if sum(self._area[i] for i in laid) >= sum(self._area[i] for i in out):
            self.over = (self.over | set(out)) - set(laid)
        else:
            restore([self.table], [before])

    def _offered(self) -> list[int]:
        over = sorted(self.over)
        return over if len(over) <= OFFERED else [int(i) for i in self._rng.choice(over, OFFERED, replace=False)]

    def _lay(self, some: Sequence[int]) -> list[int]:
        """Lay parts down, the large ones mostly first; give those that found room."""
        wild = 1 + self._rng.uniform(-SHUFFLE, SHUFFLE, len(self.pieces))
        leeway = int(self._rng.choice(LEEWAYS))
        order = sorted(some, key=lambda i: (-self._size[i] * wild[i], i))
        pieces, stamps = self.pieces, self.stamps
        return [i for i in order if place(self.table, i, pieces[i], stamps.of(i), leeway=leeway)]
