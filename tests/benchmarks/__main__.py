"""The benchmark: time a stage and time a name, for batches of several sizes, on this machine.

    python -m tests.benchmarks                 50, 500 and 5,000 names
    python -m tests.benchmarks --names 50      one size only
    python -m tests.benchmarks --run 48 200 1000     whole runs: time by stage, memory of all processes
    python -m tests.benchmarks --nest 50 200 1000 5000   only nesting drafts of so many names, and what a sheet takes
    python -m tests.benchmarks --fonts 5       only lettering: CPU seconds a name by font, of so many names in each
    python -m tests.benchmarks --travel 50 200 500   the way with the beam off, of the example and generated sheets
    python -m tests.benchmarks --reader held-out   plates read by Tesseract (an hour)
    python -m tests.benchmarks --problems DIR  known packing problems (JSON) through the nesting engine instead

The names are made from syllables by a seeded generator, so that two runs compare the same work. Compare figures of one
run with each other; absolute times differ from machine to machine.
"""

from __future__ import annotations

import argparse
import logging
import os
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from nameplate.job.prepare import prepare
from nameplate.job.run import make_job
from nameplate.nest.layout import Layout, Piece
from nameplate.nest.nesting import nest
from nameplate.nest.request import NestRequest
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import FaceKeys, JobKeys, NestKeys, Ticket
from nameplate.ticket.workshop_schema import StockKeys
from tests.benchmarks.travel import print_travels
from tests.benchmarks.whole_run import print_runs

#: Batch sizes of a full run.
SIZES = (50, 500, 5000)

#: Seed of the invented names; any number does, as long as it stays.
SEED = 20_000

_START = ("Ma", "Jo", "Ka", "Li", "Wre", "Tho", "Ag", "Ber", "Szi", "Qui", "Ó", "Fjo")
_MIDDLE = ("ri", "la", "né", "vin", "gol", "tta", "mü", "sha", "zo", "ny")
_END = ("a", "n", "lia", "rd", "s", "k", "ggio", "ez", "ý", "th")


def invented_names(count: int) -> list[str]:
    """Make `count` different two-word names.

    >>> invented_names(0)
    []
    >>> len(set(invented_names(200)))
    200
    """
    rng = random.Random(SEED)
    names: dict[str, None] = {}
    while len(names) < count:
        names[f"{_word(rng)} {_word(rng)}"] = None
    return list(names)


def _word(rng: random.Random) -> str:
    middles = (rng.choice(_MIDDLE) for _ in range(rng.choice((0, 1, 1, 2))))
    return rng.choice(_START) + "".join(middles) + rng.choice(_END)


class _Stopwatch(logging.Handler):
    """Collects the stage timings that the pipeline logs."""

    def __init__(self) -> None:
        super().__init__(logging.INFO)
        self.seconds: dict[str, float] = {}

    def emit(self, record: logging.LogRecord) -> None:
        if isinstance(record.args, tuple) and len(record.args) == 2:
            stage, seconds = record.args
            if isinstance(seconds, float):
                self.seconds[str(stage)] = seconds


def run_once(count: int, workers: int | None) -> dict[str, float]:
    """Make a whole job of `count` names in a temporary folder and give the seconds of each stage and in `all`."""
    logger, watch = logging.getLogger("nameplate.timing"), _Stopwatch()
    logger.addHandler(watch)
    logger.setLevel(logging.INFO)
    try:
        with tempfile.TemporaryDirectory() as folder:
            roster = Path(folder) / "names.csv"
            roster.write_text("\n".join(["name", *invented_names(count)]), encoding="utf-8")
            start = time.perf_counter()
            make_job(_ticket(roster), Path(folder) / "out", workers=workers)
            watch.seconds["all"] = time.perf_counter() - start
    finally:
        logger.removeHandler(watch)
    return watch.seconds


def _ticket(roster: Path) -> Ticket:
    return Ticket(
        job=JobKeys(title="Benchmark", roster=roster),
        face=FaceKeys(shape="ellipse", width=110, height=80),
        lettering=LetteringKeys(),
        stock=(StockKeys(), StockKeys(material="template", width=600, height=400)),
        nest=NestKeys(),
    )


def print_nests(counts: Sequence[int], workers: int | None) -> None:
    """Nest drafts of several numbers of names, quickly, and print what it took: in all, a sheet, and in memory.

    The peak of memory is that of the largest process so far, so the smaller numbers should come first.
    """
    for count in sorted(counts):
        pieces = _drafts(count, workers)
        start, before = time.perf_counter(), os.times()
        layout = nest(NestRequest(pieces, [StockKeys()], NestKeys()))
        seconds, sheets = time.perf_counter() - start, len(layout.sheets)
        cpu = sum(os.times()[:4]) - sum(before[:4])  # of the workers too, where the system counts them
        boxes = len(nest(NestRequest(pieces, [StockKeys()], NestKeys(engine="rectangle"))).sheets)
        density = sum(p.region.area for p in pieces) / sum(s.width * s.height for s in layout.sheets)
        print(
            f"{len(pieces):6d} names  {sheets:4d} sheets (boxes {boxes:4d})  density {density:.3f}  {seconds:8.1f} s  "
            f"{cpu:8.1f} s CPU, {cpu / sheets:5.2f} a sheet, {1000 * cpu / count:5.1f} ms a name  {_peak_memory()}",
            flush=True,
        )


def _drafts(count: int, workers: int | None) -> list[Piece]:
    """Draft the lettering of `count` names."""
    with tempfile.TemporaryDirectory() as folder:
        roster = Path(folder) / "names.csv"
        roster.write_text("\n".join(["name", *invented_names(count)]), encoding="utf-8")
        batch = prepare(_ticket(roster), workers=workers, draft=True, arrange=lambda _, supply: Layout())
    return [piece for piece in batch.pieces if piece.kind == "lettering"]


def _peak_memory() -> str:
    """Say how large a process got, of this one and of its workers; systems without that count say so."""
    try:
        import resource
    except ImportError:
        return "(no count of memory on this system)"
    unit = 1024**2 if sys.platform == "darwin" else 1024
    largest = max(resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return f"{largest / unit:.0f} MB in the largest process"


def print_fonts(count: int) -> None:
    """Make the lettering of `count` names in every bundled font and print the CPU seconds a name on one core."""
    from tests.benchmarks.names import font_costs

    every: list[float] = []
    for cost in font_costs(invented_names(count)):
        every += cost.seconds
        if cost.seconds:
            cubics = f"{statistics.median(cost.segments):.0f} curve segments"
            print(f"{cost.font:24s} {cost.median:6.3f} s CPU a name  {cubics}  ({len(cost.seconds)} made)", flush=True)
        else:
            print(f"{cost.font:24s} can make none of the names", flush=True)
    print(f"{'median over all fonts':24s} {statistics.median(every):6.3f} s CPU a name")


def print_problems(folder: Path) -> None:
    """Pack the known problems in a folder and print each density beside the best one published."""
    from tests.benchmarks.packing import run

    for row in run(folder):
        known = "" if row.best_known is None else f"  best known {row.best_known:5.2f} %"
        print(f"{row.name:10s} density {row.density:5.2f} %{known}  {row.seconds:6.1f} s")


def _print_readings(which: str) -> None:
    """Have the plates of one of the two lists of names read."""
    from tests.benchmarks.reader import LISTS, print_readings
    from tests.reader.tesseract import missing

    if reason := missing():
        sys.exit(reason)
    print_readings(LISTS[which])


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the benchmark and print a table."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description="Time whole jobs of several sizes.")
    parser.add_argument("--names", type=int, nargs="+", default=list(SIZES), metavar="N", help="batch sizes")
    parser.add_argument("--workers", type=int, default=None, help="worker processes (one a core if left out)")
    parser.add_argument("--problems", type=Path, metavar="DIR", help="pack the known problems in this folder instead")
    parser.add_argument("--nest", type=int, nargs="+", metavar="N", help="nest drafts of so many names instead")
    parser.add_argument("--fonts", type=int, metavar="N", help="only the lettering of N names in every bundled font")
    parser.add_argument("--run", type=int, nargs="+", metavar="N", help="whole runs of N names, with their memory")
    parser.add_argument("--travel", type=int, nargs="+", metavar="N", help="travel over sheets of N parts instead")
    parser.add_argument(
        "--reader", choices=("calibration", "held-out", "fresh", "later"), help="have plates read instead"
    )
    options = parser.parse_args(arguments)
    if options.reader is not None:
        _print_readings(options.reader)
        return
    if options.problems is not None:
        print_problems(options.problems)
        return
    if options.travel is not None:
        print_travels(options.travel, options.workers)
        return
    if options.fonts is not None:
        print_fonts(options.fonts)
        return
    print(f"{options.workers or os.cpu_count()} workers")
    if options.run is not None:
        print_runs(options.run, invented_names(max(options.run)), options.workers)
        return
    if options.nest is not None:
        print_nests(options.nest, options.workers)
        return
    for count in options.names:
        seconds = run_once(count, options.workers)
        for stage, value in seconds.items():
            print(f"{count:6d} names  {stage:12s} {value:9.2f} s  {1000 * value / count:8.1f} ms a name", flush=True)


if __name__ == "__main__":
    main()
