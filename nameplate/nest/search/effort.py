"""How long to work on a nest: quick, normal, long, or a number of seconds.

quick: the greedy nest, the best of a few orders. normal: full sheets are made fuller from the last one, sheets side by
side, and the last one shorter, by rounds of ruin and recreate, a fixed number, so that the same job gives the same
bytes. long: the strip solver on every sheet, for about a minute. A number of seconds: the same with that much time.
Each step starts from the best so far and can only make it better; an interrupt ends the work and keeps the best.
"""

from __future__ import annotations

import math
import os
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from nameplate.findings import Finding
from nameplate.nest.layout import Piece, Placement
from nameplate.nest.search.exchange import exchange
from nameplate.nest.search.recreate import Recreation, recreate, score
from nameplate.nest.search.squeeze import Squeeze, squeeze
from nameplate.nest.search.strip import START, Worker, available, solve_strip
from nameplate.nest.search.trueshape import Stamps, Store, Table, cell_side, open_table, put_at
from nameplate.nest.sheets import Blank, Rules

#: Rounds of ruin and recreate for a small batch with `normal`; more rounds, slower and slightly denser.
ROUNDS = 90

#: Parts for which `ROUNDS` are made; more parts get fewer rounds, as each is slower and gains less.
ROUNDS_FOR = 60

#: Rounds a full sheet gets to take parts from the last one, with `normal`; more rounds, slower and denser.
SHEET_ROUNDS = 200

#: The same for each second of an effort given in seconds, which leaves about two thirds of them for the rest.
SHEET_ROUNDS_PER_SECOND = 3.0

#: Efforts under this many seconds go without that: processes take a second to start.
LEAST_EXCHANGE = 8.0

#: With `long`, seconds of the strip solver for the last sheet and for each set of sheets worked on side by side.
LONG_SECONDS = 19.0

#: The same for a batch of several sheets.
LONG_SECONDS_EACH = 30.0

Sheets = list[tuple[Blank, tuple[Placement, ...]]]


@dataclass(frozen=True, slots=True)
class NestProgress:
    """How a nest stands: sheets in use, the share of them that parts cover, seconds left (None where unknown)."""

    material: str
    sheets: int
    density: float
    seconds_left: float | None


Report = Callable[[NestProgress], None]


def improve(
    sheets: Sheets,
    pieces: Sequence[Piece],
    rules: Rules,
    effort: str | float,
    *,
    report: Report = lambda _: None,
    worker: Worker = solve_strip,
    store: Store | None = None,
) -> tuple[Sheets, list[Finding]]:
    """Work on the sheets of one material for as long as the effort says; the result is never worse.

    >>> improve([], [], Rules(gap=1, edge=5), "long")
    ([], [])
    """
    if effort == "quick" or not sheets:
        return sheets, []
    start = time.monotonic()
    findings: list[Finding] = []
    try:
        for fuller in _exchanged(sheets, pieces, rules, effort, report, findings):
            sheets = fuller
    except KeyboardInterrupt:
        return sheets, [*findings, _interrupted()]
    left = effort if isinstance(effort, str) else max(1.0, effort - (time.monotonic() - start))
    work = _Work(sheets, pieces, rules, report, worker, store or Store())
    if work.tables is None:
        return sheets, findings
    work.run(left)
    return work.result(), findings + work.findings


def _exchanged(
    sheets: Sheets, pieces: Sequence[Piece], rules: Rules, effort: str | float, report: Report, findings: list[Finding]
) -> Iterator[Sheets]:
    """Make full sheets fuller from the last one; of several sheets only."""
    if effort != "normal" and available() and all(blank.plain for blank, _ in sheets):
        return  # the strip solver does more with the time
    if not isinstance(effort, str) and effort < LEAST_EXCHANGE:
        return
    rounds = SHEET_ROUNDS if isinstance(effort, str) else min(SHEET_ROUNDS, round(effort * SHEET_ROUNDS_PER_SECOND))
    end = math.inf if isinstance(effort, str) else time.monotonic() + effort / 2
    area = sum(piece.region.area for piece in pieces)

    def say(text: str) -> None:
        findings.append(Finding("nest-worker-failed", "warning", text))

    for now in exchange(sheets, pieces, rules, rounds=rounds, go_on=lambda: time.monotonic() < end, say=say):
        bought = sum(blank.width * blank.height for blank, _ in now)
        report(NestProgress(now[0][0].material, len(now), area / bought, None))
        yield now


def _interrupted() -> Finding:
    return Finding("nest-interrupted", "note", "nesting was interrupted; the best layout so far is used")


class _Work:
    """One nest being worked on."""

    def __init__(
        self, sheets: Sheets, pieces: Sequence[Piece], rules: Rules, report: Report, worker: Worker, store: Store
    ) -> None:
        self.pieces, self.rules, self.report, self.worker = pieces, rules, report, worker
        self.blanks = [blank for blank, _ in sheets]
        self.stamps = Stamps(pieces, rules, cell_side(self.blanks, rules.gap), store)
        self.findings: list[Finding] = []
        self.tables: list[Table | None] | None = self._tables(sheets)
        self.material = self.blanks[0].material
        self.end: float | None = None

    def _tables(self, sheets: Sheets) -> list[Table | None] | None:
        """Lay everything as it lies; None when the raster cannot take up a nest made elsewhere."""
        position = {piece.key: i for i, piece in enumerate(self.pieces)}
        tables: list[Table | None] = []
        for blank, rows in sheets:
            table = open_table(blank, self.rules, self.stamps.cell)
            tables.append(table)
            for at in rows:
                i = position[at.key]
                if table is None or not put_at(table, i, self.pieces[i], self.stamps.die(i), at):
                    return None
        return tables

    def run(self, effort: str | float) -> None:
        """Do the steps of an effort; an interrupt ends them."""
        try:
            if effort == "normal":
                self._recreate(self._rounds())
            else:
                self._long(self._long_seconds() if effort == "long" else float(effort))
        except KeyboardInterrupt:
            self.findings.append(_interrupted())

    def _rounds(self) -> int:
        assert self.tables is not None and self.tables[-1] is not None
        return max(10, round(ROUNDS * min(1.0, ROUNDS_FOR / len(self.tables[-1].lying))))

    def _long_seconds(self) -> float:
        full = math.ceil((len(self.blanks) - 1) / max(1, os.cpu_count() or 1))
        return LONG_SECONDS if full == 0 else LONG_SECONDS_EACH * (1 + full)

    def _long(self, seconds: float) -> None:
        self.end = time.monotonic() + seconds
        if not available():
            text = 'the strip solver is not installed; for denser nests add it with: pip install "nameplate[long]"'
            self._say("no-strip-solver", text)
            self._recreate_until_end(seconds)
            return
        assert self.tables is not None
        job = Squeeze(self.pieces, self.stamps, self.blanks, self.rules, self._time_left, self.worker, keep=self._keep)
        self.tables = squeeze(self.tables, job, seconds)
        for trouble in dict.fromkeys(job.troubles):
            self._say(
                "strip-solver-failed", f"the strip solver did not help with a sheet, which is none the worse: {trouble}"
            )

    def _keep(self, tables: list[Table | None]) -> None:
        self.tables = tables

    def _recreate(self, rounds: int) -> None:
        assert self.tables is not None
        last = self.tables[-1:]  # the sheets before it are full
        recreate(last, self.pieces, self.stamps, rounds=rounds, go_on=lambda _: self._time_left())

    def _recreate_until_end(self, seconds: float) -> None:
        assert self.tables is not None and self.end is not None
        work = Recreation(self.tables, self.pieces, self.stamps)
        try:
            while time.monotonic() < self.end:
                work.round(1 - (self.end - time.monotonic()) / seconds)
                self._tell()
        finally:
            work.finish()

    def _time_left(self) -> bool:
        self._tell()
        return self.end is None or time.monotonic() < self.end + START

    def _tell(self) -> None:
        used = [t for t in self.tables or [] if t and t.lying]
        area = sum(t.blank.width * t.blank.height for t in used)
        covered = sum(piece.region.area for piece in self.pieces)
        left = None if self.end is None else max(0.0, self.end - time.monotonic())
        self.report(NestProgress(self.material, score(used).sheets, covered / area if area else 0.0, left))

    def _say(self, code: str, message: str) -> None:
        self.findings.append(Finding(code, "note", message))

    def result(self) -> Sheets:
        """Give the sheets still in use, with what lies on them."""
        assert self.tables is not None
        return [
            (blank, tuple(ly.at for ly in sorted(table.lying, key=lambda ly: ly.index)))
            for blank, table in zip(self.blanks, self.tables, strict=False)
            if table and table.lying
        ]
