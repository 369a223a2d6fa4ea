"""Commands that the page runs: the same command line in a process of its own, what it says line by line, its end."""

from __future__ import annotations

import re
import subprocess
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import TextIO

#: Seconds that a command has to take back what it began when the page is closed.
GRACE_S = 10.0

#: How the command line is started.
COMMAND = (sys.executable, "-m", "nameplate")

#: How a command says what it found out.
_FINDING = re.compile(r"(error|warning|note): (.+)")

#: A stage that took less (s) is not told: nobody waited for it.
UNNOTICED_S = 0.05

#: The papers that a command may speak of by their names, a proof alone with the folder that it lies in.
_PAPER = re.compile(r"\b((?:proof(?:-part)?[/\\])?(?:proof|worklist|cards|notes)\.html)\b")

#: Lines that are kept of a command.
MOST_LINES = 2000


def _told(line: str) -> str:
    """Give a line as the page tells it: stages that ended in tenths of a second, nothing for one that took no time.

    >>> _told("nest 1.234 s"), _told("drop-ins 0.000 s"), _told("note: no holes")
    ('nest 1.2 s', '', 'note: no holes')
    """
    stage, seconds = _ended_stage(line)
    if not stage:
        return line
    return f"{stage} {seconds:.1f} s" if seconds >= UNNOTICED_S else ""


def _ended_stage(line: str) -> tuple[str, float]:
    """Give the stage that a line says has ended, like "nest 1.234 s", and its seconds; no name for other lines."""
    name, _, took = line.removesuffix(" s").rpartition(" ")
    is_one = line.endswith(" s") and "." in took and took.replace(".", "", 1).isdecimal()
    return (name, float(took)) if is_one else ("", 0.0)


def with_papers(text: str) -> list[tuple[str, str]]:
    """Part a text at the papers that it names: each part, and where it lies if it is one, in the out folder unless the
    text says another.

    >>> with_papers("Next: cards.html goes to the bench")
    [('Next: ', ''), ('cards.html', 'out/cards.html'), (' goes to the bench', '')]
    >>> with_papers("proof-part/proof.html: 1 of 1 names")[1]
    ('proof-part/proof.html', 'proof-part/proof.html')
    """
    every = ((part, part.replace("\\", "/")) if at % 2 else (part, "") for at, part in enumerate(_PAPER.split(text)))
    return [(part, address if "/" in address or not address else f"out/{address}") for part, address in every]


class CommandRun:
    """A command under way, or ended: `code` is its exit code then. `what` says in a word what it does."""

    def __init__(self, what: str, words: Sequence[str], folder: Path) -> None:
        self.what = what
        self.lines: list[str] = []
        self.answer = ""
        self.code: int | None = None
        self._process = subprocess.Popen(
            [*COMMAND, *words],
            cwd=folder,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            errors="replace",
        )
        self._thread = threading.Thread(target=self._wait, daemon=True)
        self._thread.start()

    @property
    def is_done(self) -> bool:
        """Whether it has ended."""
        return self.code is not None

    @property
    def stage(self) -> str:
        """The stage that it ended last; empty before there is one."""
        return next((stage for line in reversed(self.lines) if (stage := _ended_stage(line)[0])), "")

    @property
    def findings(self) -> list[tuple[str, str]]:
        """What it found out by now: how grave each is, and what it says."""
        told = (_FINDING.fullmatch(line) for line in self.lines)
        return [(finding[1], finding[2]) for finding in told if finding]

    @property
    def others(self) -> list[str]:
        """What it says besides what it found out."""
        return [line for line in self.lines if not _FINDING.fullmatch(line)]

    @property
    def answer_with_papers(self) -> list[tuple[str, str]]:
        """What it answers, parted at the papers that it names, each with where it lies."""
        return with_papers(self.answer)

    def stop(self) -> None:
        """End it; it takes back what it began."""
        if self.code is None:
            self._process.terminate()
            self._thread.join(GRACE_S)
            if self.code is None:
                self._process.kill()
                self._thread.join(GRACE_S)

    def _wait(self) -> None:
        with self._process as process:
            assert process.stdout is not None
            told = threading.Thread(target=self._listen, args=(process.stderr,), daemon=True)
            told.start()
            self.answer = process.stdout.read()
            told.join()
        self.code = process.returncode

    def _listen(self, stream: TextIO) -> None:
        for line in map(str.rstrip, stream):
            told = _told(line)
            if len(self.lines) < MOST_LINES and (told or not line):
                self.lines.append(told)


class Runner:
    """Runs one command at a time."""

    def __init__(self, folder: Path) -> None:
        self._folder, self._lock, self._runs = folder, threading.Lock(), dict[str, CommandRun]()

    def start(self, what: str, words: Sequence[str]) -> CommandRun:
        """Start a command, unless one is under way: then that is given."""
        with self._lock:
            if busy := self.busy:
                return busy
            self._runs[what] = CommandRun(what, words, self._folder)
            return self._runs[what]

    def last(self, what: str) -> CommandRun | None:
        """Give the last command of a kind."""
        return self._runs.get(what)

    @property
    def busy(self) -> CommandRun | None:
        """The command that is under way."""
        return next((run for run in self._runs.values() if not run.is_done), None)

    def stop(self) -> None:
        """End what is under way."""
        with self._lock:
            for run in self._runs.values():
                run.stop()
