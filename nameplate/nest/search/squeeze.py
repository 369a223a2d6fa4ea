"""Making sheets denser with the strip solver: full sheets by parts of the last one, then the last one by itself.

Method: the solver gets the parts of a full sheet and a few of the last one, as many as the density it reaches lets
fit, and makes them as short a strip as it can. What comes back is checked exactly like any placement; a part that
fails or sticks out is laid by the greedy rule, or goes to the last sheet. A sheet that came to carry no more stays as
it was. How dense it came out tells how many parts the next trial gets. At the end the last sheet is made shorter, with
as many seeds as there are cores. The nest given back is never worse than the one given.

Known limits: only whole rectangular sheets; holes of parts are not used while squeezing (parts found in a hole keep
their sheet from being squeezed); the solver's result depends on the time it had, so the same run twice may differ.
"""

from __future__ import annotations

import math
import os
import time
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field

from nameplate.geometry.collision_set import shifted
from nameplate.geometry.region import bounds, filled, from_ring
from nameplate.nest.layout import Piece
from nameplate.nest.search.contour import contour
from nameplate.nest.search.orders import largest_first
from nameplate.nest.search.recreate import Recreation, score
from nameplate.nest.search.relay import relaid
from nameplate.nest.search.strip import Interrupted, Outcome, Ring, Strip, Worker, solve_strip, solve_strips
from nameplate.nest.search.trueshape import Stamps, Table, greedy, open_table, place
from nameplate.nest.sheets import Blank, Rules

#: How much denser a strip is expected to come out than a full sheet was, before the first trial tells. Too much leaves
#: parts sticking out, too little leaves room; the next trial knows better. Two sheets of names came to 1.01 and 1.025
#: in 14 s of a core each, for the greedy rule had its choice of parts for them; last sheets come to 1.05 to 1.1.
HOPED = 1.025

#: Trials for each full sheet, and the time for the last sheet, counted in trials. More trials are shorter ones, and
#: the solver needs some ten seconds for the parts of a sheet.
TRIALS = 2
LAST = 1.5

#: Seconds of a trial for starting the workers and laying what they found.
BESIDE = 1.5

#: A last sheet shortened by less than this (mm) is not worth relaying.
LEAST_GAIN = 0.25

#: The shortest useful working time of the solver (s).
LEAST_SECONDS = 2.0

Tables = list[Table | None]


@dataclass
class Squeeze:
    """What a squeeze needs to know.

    `troubles` collects, in words, what went wrong in workers; `keep` is told each better nest, so that an interrupt
    loses nothing; `interrupted` tells that one came while the solver was busy, whose best by then is still used.
    `reached` is the share of a strip covered, by sheet, in the last trial.
    """

    pieces: Sequence[Piece]
    stamps: Stamps
    blanks: Sequence[Blank]
    rules: Rules
    go_on: Callable[[], bool] = lambda: True
    worker: Worker = solve_strip
    cores: int = field(default_factory=lambda: max(1, os.cpu_count() or 1))
    troubles: list[str] = field(default_factory=list)
    keep: Callable[[Tables], None] = lambda _: None
    reached: dict[int, float] = field(default_factory=dict)
    interrupted: bool = False
    _rings: dict[int, Ring] = field(default_factory=dict)
    _areas: dict[int, float] = field(default_factory=dict)

    def ring(self, index: int) -> Ring:
        """Give the outline of a part round the origin, as the solver gets it."""
        if index not in self._rings:
            region = filled(self.pieces[index].region)
            cx, cy = bounds(region).centre
            ring = contour(shifted(region, -cx, -cy), self.rules.gap)
            self._rings[index] = tuple((float(x), float(y)) for x, y in ring)
            self._areas[index] = from_ring(ring).area
        return self._rings[index]

    def area(self, indices: Sequence[int]) -> float:
        """Give the area (mm2) within the outlines of parts, as the solver gets them."""
        for index in indices:
            self.ring(index)
        return sum(self._areas[index] for index in indices)


def squeeze(tables: Tables, job: Squeeze, seconds: float) -> Tables:
    """Make a nest denser within about `seconds`; the nest given back is never worse than the one given."""
    if not _used(tables):
        return tables
    end, best, now = time.monotonic() + seconds, list(tables), list(tables)
    plan = _plan(_used(tables)[:-1], job.cores, seconds)
    for n, (some, trial) in enumerate(plan):
        if not job.go_on():
            return best
        share = (end - time.monotonic()) / (len(plan) - n + LAST)
        now = _fill(now, some, job, share - BESIDE, trial)
        best = _better(best, now)
        _kept(best, job)
    if job.go_on():
        best = _better(best, _squeeze_last(now, job, end - BESIDE))
        _kept(best, job)
    _rounds(best, job, end)  # where the solver ended early or is not to be had
    return best


def _kept(best: Tables, job: Squeeze) -> None:
    job.keep(best)
    if job.interrupted:
        raise KeyboardInterrupt


def _plan(full: Sequence[int], cores: int, seconds: float) -> list[tuple[Sequence[int], int]]:
    """Give the sheets to work on side by side, trial after trial; as many trials as there is time for."""
    sets = [full[first : first + cores] for first in range(0, len(full), cores)]
    for trials in range(TRIALS, 0, -1):
        if seconds >= (BESIDE + LEAST_SECONDS) * (len(sets) * trials + LAST):
            return [(some, trial) for trial in range(trials) for some in sets]
    return []


def _used(tables: Tables) -> list[int]:
    return [i for i, t in enumerate(tables) if t and t.lying]


def _better(old: Tables, new: Tables) -> Tables:
    return new if score(new).better(score(old)) else old


def _fill(tables: Tables, some: Sequence[int], job: Squeeze, seconds: float, trial: int) -> Tables:
    """Try to lay parts of the last sheet on some full sheets, side by side."""
    last = _used(tables)[-1]
    plates = [(i, t) for i in some if i < last and (t := tables[i]) is not None and t.lying and _can(t)]
    hands = _dealt(_indices(tables[last]), len(plates), job)
    chosen = [
        [*_indices(table), *_picked(hand, _room(table, i, job), job)]
        for (i, table), hand in zip(plates, hands, strict=True)
    ]
    strips = [
        strip_of(table, indices, job, seconds, seed=trial * len(tables) + i)
        for (i, table), indices in zip(plates, chosen, strict=True)
    ]
    outcomes = _solved(strips, job)
    new = list(tables)
    for (i, table), indices, outcome in zip(plates, chosen, outcomes, strict=True):
        if outcome.solved is not None and outcome.solved.length > 0:
            whole = outcome.solved.length * (table.size[1] + job.rules.gap)
            job.reached[i] = min(1.0, job.area(indices) / whole)
        new = _fuller(new, i, indices, outcome, job)
    return _refilled(new, [i for i, _ in plates], job)


def _solved(strips: Sequence[Strip], job: Squeeze) -> tuple[Outcome, ...]:
    try:
        return solve_strips(strips, go_on=job.go_on, worker=job.worker)
    except Interrupted as stop:
        job.interrupted = True
        return stop.outcomes


def _indices(table: Table | None) -> list[int]:
    return sorted(lying.index for lying in table.lying) if table else []


def _dealt(indices: Sequence[int], hands: int, job: Squeeze) -> list[list[int]]:
    """Deal parts into hands of the same mix of sizes, largest first."""
    order = sorted(indices, key=lambda i: (-job.area([i]), i))
    return [order[n::hands] for n in range(hands)]


def _room(table: Table, at: int, job: Squeeze) -> float:
    """Give the area (mm2) of outlines that a sheet should take beyond those it has."""
    width, height = (side + job.rules.gap for side in table.size)
    has = job.area(_indices(table))
    share = job.reached.get(at, HOPED * has / ((table.used + job.rules.gap) * height))
    return share * width * height - has


def _picked(hand: Sequence[int], room: float, job: Squeeze) -> list[int]:
    """Pick parts of about the area of the room, of all sizes, and at least one: the smallest."""
    if not hand:
        return []
    area = job.area(hand)
    step = max(1.0, area / room) if room > 0 else math.inf
    picked: list[int] = []
    for n, index in enumerate(hand):
        if n >= len(picked) * step and job.area([index]) <= room:
            picked.append(index)
            room -= job.area([index])
    picked += [i for i in hand if i not in picked and job.area([i]) <= room][:1]
    return picked or [hand[-1]]


def _fuller(tables: Tables, at: int, indices: Sequence[int], outcome: Outcome, job: Squeeze) -> Tables:
    """Lay a sheet as the solver says and the rest of its parts on the last sheet, if the sheet carries more then."""
    table = tables[at]
    found = _laid(table, indices, outcome, job)
    if table is None or found is None:
        return tables
    new, over = found
    before, after = _indices(table), set(_indices(new))
    if _weight(after, job) <= _weight(before, job):
        return tables
    return _moved(tables, at, new, [i for i in over if i in before], job)


def _weight(indices: Collection[int], job: Squeeze) -> float:
    return float(sum(job.pieces[i].region.area for i in sorted(indices)))


def _moved(tables: Tables, at: int, new: Table, come: Sequence[int], job: Squeeze) -> Tables:
    """Put a new sheet in place of one; the last sheet loses what lies on it, and gets what came off it (`come`)."""
    last = _used(tables)[-1]
    rest = _last_sheet(tables[last], set(_indices(new)), come, job)
    if rest is None:
        return tables
    return [new if i == at else rest if i == last else t for i, t in enumerate(tables)]


def _last_sheet(table: Table | None, gone: Collection[int], come: Sequence[int], job: Squeeze) -> Table | None:
    """Lay the last sheet without some parts and with others: as it lies, or anew if that is shorter."""
    if table is None:
        return None
    stay = [lying for lying in table.lying if lying.index not in gone]
    rank = {index: n for n, index in enumerate(largest_first(job.pieces))}
    order = sorted([*(lying.index for lying in stay), *come], key=lambda i: rank[i])
    offers: Tables = []
    same = open_table(table.blank, job.rules, table.cell)
    if same is not None:
        for lying in stay:
            same.put_back(lying)
        if all(place(same, i, job.pieces[i], job.stamps.of(i)) for i in come):
            offers.append(same)
    anew, lost = greedy(job.pieces, [table.blank], job.rules, order, stamps=job.stamps)
    if not lost:
        offers += anew
    return min((t for t in offers if t is not None), key=lambda t: t.used, default=None)


def _refilled(tables: Tables, some: Sequence[int], job: Squeeze) -> Tables:
    """Move parts of the last sheet into the room left on some sheets, by the greedy rule."""
    last = _used(tables)[-1]
    rank = {index: n for n, index in enumerate(largest_first(job.pieces))}
    for at in [i for i in some if i < last]:
        table = tables[at]
        new = open_table(table.blank, job.rules, table.cell) if table else None
        if table is None or new is None:
            continue
        for lying in table.lying:
            new.put_back(lying)
        waiting = sorted(_indices(tables[last]), key=lambda i: rank[i])
        if [i for i in waiting if place(new, i, job.pieces[i], job.stamps.of(i))]:
            tables = _moved(tables, at, new, (), job)
    return tables


def _squeeze_last(tables: Tables, job: Squeeze, end: float) -> Tables:
    """Make the last sheet shorter, with another seed on each core."""
    at = _used(tables)[-1]
    table, seconds = tables[at], end - time.monotonic()
    if table is None or not _can(table) or seconds < LEAST_SECONDS / 4:
        return tables
    indices = _indices(table)
    strips = [strip_of(table, indices, job, seconds, seed=seed) for seed in range(job.cores)]
    best = table
    for outcome in _solved(strips, job):
        found = _laid(table, indices, outcome, job)
        if found is not None and not found[1] and found[0].used < best.used - LEAST_GAIN:
            best = found[0]
    return [best if i == at else t for i, t in enumerate(tables)]


def _can(table: Table) -> bool:
    return table.blank.plain and len(table.lying) > 1


def strip_of(table: Table, indices: Sequence[int], job: Squeeze, seconds: float, *, seed: int) -> Strip:
    """State parts, given by position, as a strip of the height of a sheet."""
    turns = () if job.rules.free else job.rules.turns
    return Strip(table.size[1] + job.rules.gap, tuple(job.ring(i) for i in indices), turns, seconds, seed)


def _laid(
    table: Table | None, indices: Sequence[int], outcome: Outcome, job: Squeeze
) -> tuple[Table, list[int]] | None:
    """Lay a sheet as the solver says, every part checked; gives it and the parts left over, or None."""
    if outcome.trouble:
        job.troubles.append(outcome.trouble)
    if table is None or outcome.solved is None:
        return None
    return relaid(table, indices, outcome.solved, job.pieces, job.stamps, job.rules)


def _rounds(tables: Tables, job: Squeeze, end: float) -> None:
    """Take parts up and lay them down again, in place, until time is up."""
    start = time.monotonic()
    work = Recreation(tables, job.pieces, job.stamps, seed=1)
    try:
        while time.monotonic() < end and job.go_on():
            work.round((time.monotonic() - start) / (end - start))
    finally:
        work.finish()
