"""Kills whole commands at random moments and looks, each time, whether record and out folder tell the same.

`python -m tests.job.kills --times 100 --seed 1`: `make`, `mark`, `approve` and `approve --corrections --apply` of a
small job, each in a process of its own that gets a SIGKILL at a moment drawn at random from the time that it takes;
prints how each ended, and ends with 1 when anything was lost, doubled or torn.
"""

from __future__ import annotations

import argparse
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

from tests.job.kept_jobs import NAMES, LastingJob
from tests.record.independent import faults, fingerprint, lost_rows


def main() -> int:
    """Run the kills; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    wish = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        return _kills(Path(name), wish.times, random.Random(wish.seed))


def _kills(folder: Path, times: int, chance: random.Random) -> int:
    start = folder / "start"
    start.mkdir()
    job = LastingJob(start).write().without_ids()
    _must(job.make())
    _must(job.mark("cut", "--all"))
    _must(job.call("approve", job.ticket, "1", "--by", "Ann Ode"))
    job.without_ids({**NAMES, "004": "Jo"})
    _must(job.call("proof", job.ticket, "-o", start / "proof", "--workers", 1))
    job.fixes()
    commands = {what: _Command(what, start, folder / "end") for what in ("make", "mark", "approve", "correct")}
    ended: Counter[str] = Counter()
    for number in range(times):
        command = commands[chance.choice(list(commands))]
        said = command.killed(folder / "here", chance.uniform(0.5, 1.4))
        ended[f"{command.what}: {said}"] += 1
        print(f"{number + 1}/{times} {command.what}: {said}", flush=True)
    for what, count in sorted(ended.items()):
        print(f"{count:4d}  {what}")
    return int(any("WRONG" in what for what in ended))


class _Command:
    """A command on a job in the folder `start`: how long it takes, and the states before and after it."""

    def __init__(self, what: str, start: Path, end: Path) -> None:
        self.what, self.start = what, start
        shutil.rmtree(end, ignore_errors=True)
        shutil.copytree(start, end)
        job = LastingJob(end)
        before = fingerprint(job.record, job.out, job.roster)
        begun = time.monotonic()
        if self._begin(job).wait() != 0:
            raise SystemExit(f"{what} does not work at all")
        self.seconds = time.monotonic() - begun
        self.ends = [before, fingerprint(job.record, job.out, job.roster)]

    def killed(self, here: Path, share: float) -> str:
        """Run the command, kill it after a share of its time, and say in which state it left the job."""
        shutil.rmtree(here, ignore_errors=True)
        shutil.copytree(self.start, here)
        job = LastingJob(here)
        running = self._begin(job)
        try:
            running.wait(self.seconds * share)
        except subprocess.TimeoutExpired:
            running.send_signal(signal.SIGKILL)
            running.wait()
        if job.call("inspect", job.out).exit_code or job.call("status", job.ticket).exit_code:
            return "WRONG: the next commands fail"
        lost = [f"the record does not know “{name}”" for name in lost_rows(job.record, job.roster)]
        if wrong := [*faults(job.record, job.out), *lost]:
            return f"WRONG: {'; '.join(wrong)}"
        now = fingerprint(job.record, job.out, job.roster)
        return ("before", "after")[self.ends.index(now)] if now in self.ends else "WRONG: neither before nor after"

    def _begin(self, job: LastingJob) -> subprocess.Popen[bytes]:
        words: dict[str, list[Any]] = {
            "make": ["make", job.ticket, "-o", job.out, "--workers", 1],
            "mark": ["mark", "spoiled", job.ticket, "001", "002", "--yes"],
            "approve": ["approve", job.ticket, "--all", "--by", "Bo Lark"],
            "correct": ["approve", job.ticket, "--corrections", job.folder / "fixes.csv", "--apply"],
        }
        silent = subprocess.DEVNULL
        return subprocess.Popen(
            [sys.executable, "-m", "nameplate", *map(str, words[self.what])], stdout=silent, stderr=silent
        )


def _must(done: Any) -> None:
    if done.exit_code:
        raise SystemExit(done.output)


if __name__ == "__main__":
    sys.exit(main())
