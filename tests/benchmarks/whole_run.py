"""The benchmark of whole runs: each a process of its own, watched from outside while it works.

Method: the tool is started as a user starts it, with the orchard's ticket and invented names; every `EVERY_S` the
memory of it and of all its workers is added up. Memory that processes share is counted once where the system tells
(Linux), so the sum is what the machine must have.

Known limit: a peak shorter than the pause between two looks is missed.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

#: Seconds between two looks at the memory; a look takes a few milliseconds of one core.
EVERY_S = 0.25

#: The ticket whose settings every run has, and what it needs beside it, in the project's sources.
ORCHARD = Path(__file__).parents[2] / "examples" / "orchard"

_MB = 1e6

#: A line of `--timing`: the stage and its seconds.
_STAGE = re.compile(r"(.+) ([0-9.]+) s")


@dataclass(slots=True)
class RunFigures:
    """What one whole run took: seconds (wall, and of all its processes' CPU), megabytes, and how it ended."""

    names: int
    seconds: float = 0.0
    cpu: float = 0.0
    largest: float = 0.0
    together: float = 0.0
    files: float = 0.0
    code: int = 0
    stages: dict[str, float] = field(default_factory=dict)


def whole_run(names: Sequence[str], workers: int | None) -> RunFigures:
    """Make all files of a list of names in a temporary folder and tell what it took."""
    with tempfile.TemporaryDirectory() as folder:
        job = _job(Path(folder), names)
        options = [] if workers is None else ["--workers", str(workers)]
        command = [
            sys.executable,
            "-m",
            "nameplate",
            "--timing",
            "make",
            str(job),
            "-o",
            str(Path(folder) / "out"),
            *options,
        ]
        log = Path(folder) / "log"
        with log.open("w", encoding="utf-8") as told:
            figures = _watched(subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=told), len(names))
        stages = (_STAGE.fullmatch(line) for line in log.read_text(encoding="utf-8").splitlines())
        figures.stages = {found[1]: float(found[2]) for found in stages if found}
        figures.files = sum(f.stat().st_size for f in (Path(folder) / "out").rglob("*") if f.is_file()) / _MB
        return figures


def _job(folder: Path, names: Sequence[str]) -> Path:
    """Lay out the orchard's job with other names."""
    for path in ORCHARD.iterdir():
        if path.suffix in (".toml", ".svg"):
            shutil.copy(path, folder)
    (folder / "sponsors.csv").write_text("\n".join(["name", *names]), encoding="utf-8")
    return folder / "job.toml"


def _watched(process: subprocess.Popen[bytes], names: int) -> RunFigures:
    """Look at a run and all its workers until it ends."""
    import psutil

    figures, start, before = RunFigures(names), time.perf_counter(), os.times()
    root = psutil.Process(process.pid)
    while process.poll() is None:
        sizes = [size for one in _family(root) if (size := _size(one))]
        figures.largest = max(figures.largest, *sizes, 0.0)
        figures.together = max(figures.together, sum(sizes))
        time.sleep(EVERY_S)
    after = os.times()
    figures.seconds, figures.code = time.perf_counter() - start, process.returncode
    figures.cpu = after.children_user + after.children_system - before.children_user - before.children_system
    return figures


def _family(root: Any) -> list[Any]:
    import psutil

    try:
        return [root, *root.children(recursive=True)]
    except psutil.Error:
        return []


def _size(process: Any) -> float:
    """Give the megabytes of a process, its share of what it shares with others; 0 when it is gone."""
    import psutil

    try:
        memory = process.memory_full_info()
    except psutil.Error:
        return 0.0
    return float(getattr(memory, "pss", 0) or getattr(memory, "uss", 0) or memory.rss) / _MB


def print_runs(counts: Sequence[int], names: Sequence[str], workers: int | None) -> None:
    """Run whole jobs of the first so many names each and print what they took."""
    for count in counts:
        run = whole_run(names[:count], workers)
        print(
            f"{count:6d} names  {run.seconds:7.1f} s  {run.cpu:7.1f} s CPU  {run.together:7.0f} MB together, "
            f"{run.largest:7.0f} MB largest  {run.files:7.1f} MB of files  exit {run.code}",
            flush=True,
        )
        for stage, seconds in run.stages.items():
            print(f"{'':14s}{stage:24s} {seconds:8.2f} s  {1000 * seconds / count:7.1f} ms a name", flush=True)
