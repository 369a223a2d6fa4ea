"""Making full sheets denser with the strip solver, then filling the room this frees from later sheets.

Method: the solver gets exactly the parts of one sheet, each grown by half the gap and simplified outward, and makes
them as short a strip as it can. What comes back is checked exactly like any placement; a part that fails is laid again
by the greedy rule; a sheet that did not get shorter stays as it was. Then parts of later sheets move into the freed
room, and those sheets are laid anew. So no step makes a nest worse.

Known limits: only whole rectangular sheets; holes of parts are not used while squeezing (parts found in a hole keep
their sheet from being squeezed); the solver's result depends on the time it had, so the same run twice may differ.
"""

from __future__ import annotations

import math
import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from nameplate.geometry.crowd import outward, shifted
from nameplate.geometry.region import bounds, filled, outer_rings
from nameplate.nest.layout import Piece, placement
from nameplate.nest.recreate import Recreation, restore, score, snapshot
from nameplate.nest.sheets import Blank, Rules
from nameplate.nest.strip import Outcome, Strip, Worker, solve_strip, solve_strips
from nameplate.nest.trueshape import Stamps, Table, greedy, largest_first, open_table, place, put_at

#: Extra growth (mm) of an outline beyond half the gap, which the simplified outline may use up. The solver slows with
#: the number of points; less growth needs more of them.
GROWTH = 0.2

#: A sheet squeezed by less than this (mm) is not worth relaying.
LEAST_GAIN = 0.25

#: The shortest useful working time of the solver (s).
LEAST_SECONDS = 2.0


@dataclass
class Squeeze:
    """What a squeeze needs to know.

    `troubles` collects, in words, what went wrong in workers; `keep` is told each better nest, so that an interrupt
    loses nothing.
    """

    pieces: Sequence[Piece]
    stamps: Stamps
    blanks: Sequence[Blank]
    rules: Rules
    go_on: Callable[[], bool] = lambda: True
    worker: Worker = solve_strip
    cores: int = field(default_factory=lambda: max(1, os.cpu_count() or 1))
    troubles: list[str] = field(default_factory=list)
    keep: Callable[[list[Table | None]], None] = lambda _: None


def squeeze(tables: list[Table | None], job: Squeeze, seconds: float) -> list[Table | None]:
    """Make a nest denser within about `seconds`; the nest given back is never worse than the one given."""
    filled_tables = [i for i, t in enumerate(tables) if t and t.lying]
    if not filled_tables:
        return tables
    rounds = math.ceil((len(filled_tables) - 1) / job.cores) + 1
    share = seconds / rounds
    if share < LEAST_SECONDS:
        return tables
    best = list(tables)
    for first in range(0, len(filled_tables) - 1, job.cores):
        if not job.go_on():
            return best
        some = [i for i in filled_tables[first : first + job.cores] if i != filled_tables[-1]]
        best = _better(best, _squeeze_full(best, some, job, share))
        job.keep(best)
    return _better(best, _squeeze_last(best, job, share)) if job.go_on() else best


def _better(old: list[Table | None], new: list[Table | None]) -> list[Table | None]:
    return new if score(new).better(score(old)) else old


def _squeeze_full(tables: list[Table | None], some: Sequence[int], job: Squeeze, seconds: float) -> list[Table | None]:
    """Squeeze some full sheets side by side, then fill them up from the sheets after them."""
    chosen = [(i, t, [ly.index for ly in t.lying]) for i in some if (t := tables[i]) is not None and _can(t)]
    strips = [strip_of(table, indices, job, seconds, seed=i) for i, table, indices in chosen]
    outcomes = solve_strips(strips, go_on=job.go_on, worker=job.worker)
    new = list(tables)
    for (i, table, indices), outcome in zip(chosen, outcomes, strict=True):
        new[i] = _relaid(table, indices, outcome, job) or table
    return _refill(new, {i for i, _, _ in chosen}, job)


def _squeeze_last(tables: list[Table | None], job: Squeeze, seconds: float) -> list[Table | None]:
    """Squeeze the last sheet with other seeds on all cores but one, which takes up and lays down parts meanwhile."""
    at = max(i for i, t in enumerate(tables) if t and t.lying)
    table = tables[at]
    if table is None:
        return tables
    before, best = snapshot(tables), None
    indices = [lying.index for lying in table.lying]
    seeds = range(max(1, job.cores - 1)) if _can(table) else ()
    strips = [strip_of(table, indices, job, seconds, seed=seed) for seed in seeds]
    work = Recreation(tables, job.pieces, job.stamps, seed=1)
    start = time.monotonic()

    def go_on() -> bool:
        work.round(min(1.0, (time.monotonic() - start) / seconds))
        return job.go_on()

    try:
        outcomes = solve_strips(strips, go_on=go_on, worker=job.worker)
        while time.monotonic() < start + seconds and go_on():
            pass  # the solver ended early or is not to be had; the rounds go on
    finally:
        work.finish()
    found, by_rounds = work.best, snapshot(tables)
    restore(tables, before)
    relaid = [t for t in (_relaid(table, indices, outcome, job) for outcome in outcomes) if t is not None]
    for new in relaid:
        offer = [*tables[:at], new, *tables[at + 1 :]]
        if score(offer).better(found):
            found, best = score(offer), offer
    if best is None:
        restore(tables, by_rounds)
        return tables
    return best


def _can(table: Table) -> bool:
    return table.blank.plain and len(table.lying) > 1


def strip_of(table: Table, indices: Sequence[int], job: Squeeze, seconds: float, *, seed: int) -> Strip:
    """State a sheet's parts, given by position, as a strip: outlines round the origin, grown, without holes."""
    reach = job.rules.gap / 2 + GROWTH
    rings = []
    for index in indices:
        region = filled(job.pieces[index].region)
        cx, cy = bounds(region).centre
        ring = outer_rings(outward(shifted(region, -cx, -cy), reach, GROWTH))[0]
        rings.append(tuple((float(x), float(y)) for x, y in ring))
    turns = () if job.rules.free else job.rules.turns
    return Strip(table.size[1] + job.rules.gap, tuple(rings), turns, seconds, seed)


def _relaid(table: Table, indices: Sequence[int], outcome: Outcome, job: Squeeze) -> Table | None:
    """Lay a sheet as the solver says, checking every part; None when that fails or gains too little."""
    if outcome.trouble:
        job.troubles.append(outcome.trouble)
    if outcome.solved is None:
        return None
    new = open_table(table.blank, job.rules, table.cell)
    if new is None or len(outcome.solved.lies) != len(indices):
        return None
    lies = outcome.solved.lies
    again = [index for index, lie in zip(indices, lies, strict=True) if not _lay_exactly(new, index, lie, job)]
    rank = {index: n for n, index in enumerate(largest_first(job.pieces))}
    for index in sorted(again, key=lambda i: rank[i]):
        if not place(new, index, job.pieces[index], job.stamps.of(index)):
            return None
    return new if new.used < table.used - LEAST_GAIN else None


def _lay_exactly(table: Table, index: int, lie: tuple[float, float, float], job: Squeeze) -> bool:
    """Lay one part where the solver put it, if that holds exactly."""
    turn, x, y = lie
    turn = turn % 360 if job.rules.free else min(job.rules.turns, key=lambda t: abs((turn - t + 180) % 360 - 180))
    die = job.stamps.die(index)
    piece = job.pieces[index]
    cx, cy = turned_box_centre(bounds(filled(piece.region)).centre, turn)
    # the strip's corner lies half a gap outside the usable rectangle: that much of the growth is certain
    reach = job.rules.gap / 2
    at = placement(piece, table.origin[0] - reach + x - cx, table.origin[1] - reach + y - cy, turn)
    return put_at(table, index, piece, die, at)


def turned_box_centre(centre: tuple[float, float], turn: float) -> tuple[float, float]:
    """Turn a point about the origin by degrees."""
    angle = math.radians(turn)
    c, s = math.cos(angle), math.sin(angle)
    return c * centre[0] - s * centre[1], s * centre[0] + c * centre[1]


def _refill(tables: list[Table | None], squeezed: set[int], job: Squeeze) -> list[Table | None]:
    """Move parts of the sheets after the squeezed ones into the freed room, and lay those sheets anew."""
    after = max(squeezed, default=-1) + 1
    order = largest_first(job.pieces)
    waiting = {lying.index for t in tables[after:] if t for lying in t.lying}
    left = []
    for index in (i for i in order if i in waiting):
        homes = (tables[i] for i in sorted(squeezed))
        if not any(t and place(t, index, job.pieces[index], job.stamps.of(index)) for t in homes):
            left.append(index)
    if len(left) == len(waiting):
        return tables
    later, lost = greedy(job.pieces, job.blanks[after:], job.rules, left, stamps=job.stamps)
    return tables if lost else [*tables[:after], *later]
