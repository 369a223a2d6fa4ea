"""A small job that lasts: three names in a list, a ticket, and commands as a user gives them."""

import csv
import hashlib
import json
import os
import shutil
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from tests.jobs import call, json_of
from tests.lasting_pool import MEMORY

TICKET = """
[job]
title = "Pear row"
roster = "trees.csv"
[face]
shape = "ellipse"
width = 60
height = 40
[lettering]
font = "Pacifico"
strengthen = false
legibility = "off"
{more}
[[stock]]
material = "lettering"
width = 150
height = 60
price = 3.5
[[stock]]
material = "template"
width = 240
height = 150
price = 2
[nest]
engine = "rectangle"
"""

NAMES = {"001": "Wren", "002": "Odo", "003": "Isla"}


@dataclass
class LastingJob:
    """The folder of a job; `make` and `mark` raise nothing, and give what was said with the exit code."""

    folder: Path

    def __post_init__(self):
        self.ticket, self.record, self.out = (self.folder / n for n in ("trees.toml", "trees.record", "out"))

    def write(self, names=NAMES, more='[jig]\nstyle = "none"', extra="", ticket=TICKET):
        rows = "\n".join(["id,name,copies,hold", *(f"{i},{v}{'' if ',' in v else ',1,'}" for i, v in names.items())])
        self.roster.write_text(rows + "\n", encoding="utf-8")
        self.ticket.write_text(ticket.format(more=more) + extra, encoding="utf-8")
        return self

    @property
    def roster(self):
        return self.folder / "trees.csv"

    def without_ids(self, names=NAMES):
        """Write the list without ids: the record alone knows them."""
        self.roster.write_text("\n".join(["name", *names.values(), ""]), encoding="utf-8")
        return self

    def begun(self, *cut):
        """Make the job as it is written and mark sheets as cut; one that was begun so in this session is copied.

        Not for a test that has changed something of the program by then: what it would do is not done anew.
        """
        files = [(path.name, path.read_bytes()) for path in sorted(self.folder.iterdir()) if path.is_file()]
        asked = hashlib.sha256(repr((files, cut)).encode()).hexdigest()
        there = MEMORY.folder and MEMORY.folder / f"begun-{asked}"
        if there and there.exists():
            shutil.copytree(there, self.folder, dirs_exist_ok=True)
            return self
        for done in (self.make(), *([self.mark("cut", *cut)] if cut else [])):
            assert done.exit_code == 0, done.output
        if there:
            ours = shutil.copytree(self.folder, there.with_suffix(f".{os.getpid()}"))
            with suppress(OSError):  # another process has begun it, too
                ours.rename(there)
        return self

    def fixes(self):
        """Write corrections, one of them of a name into that of another plate; gives their file."""
        file = self.folder / "fixes.csv"
        file.write_text("id,text\n1,Isla\n2,Bohumil Ash\n", encoding="utf-8")
        return file

    def call(self, *words):
        return call(*words)

    def make(self, *words, out=None):
        return self.call("make", self.ticket, "-o", out or self.out, "--workers", 1, *words)

    def mark(self, state, *words):
        return self.call("mark", state, self.ticket, *words, "--yes")

    def status(self):
        done = self.call("status", self.ticket, "--json")
        assert done.exit_code == 0, done.output
        return json.loads(done.stdout)

    def summary(self):
        return json_of(self.out / "summary.json")

    def plates(self):
        return {plate["id"]: plate for plate in self.summary()["plates"]}

    def worklist(self):
        with (self.out / "worklist.csv").open(encoding="utf-8-sig", newline="") as file:
            return [(r["plate"], r["copy"], r["status"], r["sheet"][4:-4]) for r in csv.DictReader(file)]

    def cut_files(self):
        return {path.name: path.read_bytes() for path in sorted((self.out / "cut").iterdir())}

    def laid(self):
        """Which pieces lie on which sheet, as the layout has it."""
        layout = json_of(self.out / "layout.json")
        return {
            f"{s['material']}-{s['number']:02d}": {(p["plate"], p["kind"], p["copy"]) for p in s["placements"]}
            for s in layout["sheets"]
        }
