"""Commands that the page runs: the same command line in a process of its own, what it says line by line, its end."""

from __future__ import annotations

import re
import subprocess
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import TextIO

from nameplate.job.sign_off import TO_BE_APPROVED
from nameplate.paperwork.order import WRITE_BOUGHT

#: Seconds that a command has to take back what it began when the page is closed.
GRACE_S = 10.0

#: How the command line is started.
COMMAND = (sys.executable, "-m", "nameplate")

#: How a command says what it found out.
_FINDING = re.compile(r"(error|warning|note): (.+)")

#: A stage that took less (s) is not told: nobody waited for it.
UNNOTICED_S = 0.05

#: What the page says in place of `WRITE_BOUGHT`: where it is done here.
BOUGHT_HERE = "write what you have bought into Settings, as on hand of its stock"

#: The papers that a command may speak of by their names, a proof alone with the folder that it lies in; and a room.
_LINKED = re.compile(
    r"\b((?:proof(?:-part)?[/\\])?(?:proof|worklist|cards|notes)\.html\b|(?<=what you have bought into )Settings)"
)

#: How the line of an answer begins that says what was made; what there is to order stands before it.
_MADE = re.compile(r"\d+ of \d+ names? ")

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


def with_links(text: str) -> list[tuple[str, str]]:
    """Part a text at the papers that it names: each part, and where it lies if it is one, in the out folder unless the
    text says another. What is written into the ticket is written in a room here.

    >>> with_links("Next: cards.html goes to the bench")
    [('Next: ', ''), ('cards.html', 'out/cards.html'), (' goes to the bench', '')]
    >>> with_links(f"order, and {WRITE_BOUGHT}")[1:]
    [('Settings', 'settings'), (', as on hand of its stock', '')]
    >>> with_links("proof-part/proof.html: 1 of 1 names")[1]
    ('proof-part/proof.html', 'proof-part/proof.html')
    """
    parts = _LINKED.split(text.replace(WRITE_BOUGHT, BOUGHT_HERE))
    return [(part, _address(part) if at % 2 else "") for at, part in enumerate(parts)]


def _address(part: str) -> str:
    if part == "Settings":
        return "settings"
    path = part.replace("\\", "/")
    return path if "/" in path else f"out/{path}"


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
        """What it found out by now, but for plates that nobody approved: how grave each is, and what it says."""
        told = (_FINDING.fullmatch(line) for line in self.lines if not line.endswith(TO_BE_APPROVED))
        return [(finding[1], finding[2]) for finding in told if finding]

    @property
    def unapproved(self) -> int:
        """How many plates it left out because nobody approved them."""
        return sum(line.endswith(TO_BE_APPROVED) for line in self.lines)

    @property
    def stages(self) -> list[str]:
        """The stages that ended, each with its seconds."""
        return [line for line in self.lines if _ended_stage(line)[0]]

    @property
    def others(self) -> list[str]:
        """What it says besides what it found out and its stages."""
        return [line for line in self.lines if not (_FINDING.fullmatch(line) or _ended_stage(line)[0])]

    @property
    def answers(self) -> list[list[tuple[str, str]]]:
        """What it answers, line by line, what was made first, parted at what it names that can be looked at."""
        lines = self.answer.splitlines()
        first = next((at for at, line in enumerate(lines) if _MADE.match(line)), 0)
        return [with_links(line) for line in (*lines[first:], *lines[:first])]

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
