"""Does what every situation says and writes down what the program says to it.

`python -m tests.messages.made` writes messages.txt anew, and codes.txt, which says of every code of a finding where it
is told: run it after a change of a message, and read it through.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import shlex
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import click
from click.testing import CliRunner

from nameplate.cli import screen
from nameplate.findings import Finding
from nameplate.job import pools
from nameplate.pool import processes
from nameplate.ticket.workshop import CONFIG_VARIABLE
from tests.lasting_pool import Here
from tests.messages.rarer import RARER
from tests.messages.situations import COMMON, Situation
from tests.messages.worded import WORDED, Worded

HERE = Path(__file__).resolve().parent
MESSAGES = HERE / "messages.txt"
CODES = HERE / "codes.txt"

SITUATIONS = (*COMMON, *RARER)


@contextlib.contextmanager
def noted() -> Iterator[list[str]]:
    """Note the code of every finding that is shown."""
    codes: list[str] = []
    show = screen._show_finding

    def show_and_note(finding: Finding, more: str = "") -> None:
        codes.append(finding.code)
        show(finding, more)

    screen._show_finding = show_and_note
    try:
        yield codes
    finally:
        screen._show_finding = show


def worded(message: Worded) -> str:
    """Give what the screen says of findings that are worded without a job."""

    @click.command()
    def show() -> None:
        screen.show_findings(tuple(message.findings()), every=True)

    lines = CliRunner().invoke(show, catch_exceptions=False).stderr.splitlines()
    return "\n".join([f"# {message.title}", f"$ {message.findings.__doc__}", *lines, ""])


def begin(situation: Situation, folder: Path, begun: Path) -> None:
    """Do what a situation says in an empty folder, up to its last command; what begins alike is kept in `begun`."""
    from nameplate.cli.commands import main

    first = situation.commands[:-1]
    kept = begun / hashlib.sha256(repr((sorted(situation.files.items()), first)).encode()).hexdigest()
    if kept.exists():
        shutil.copytree(kept, folder, dirs_exist_ok=True)
        return
    for name, content in situation.files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with contextlib.chdir(folder):
        for command in first:
            done = CliRunner().invoke(main, shlex.split(command))
            assert done.exit_code in (0, 1), done.output
    if first:
        shutil.copytree(folder, kept)


def said_in(situation: Situation, folder: Path) -> str:
    """Give the last command of a situation in the folder where it was begun; tell what was said to it, without the
    folder's name and without dates."""
    from nameplate.cli.commands import main

    last = situation.commands[-1]
    with contextlib.chdir(folder):
        for name, (old, new) in situation.after.items():
            text = (folder / name).read_text(encoding="utf-8")
            changed = text.replace(old, new, 1) if isinstance(old, str) else old.sub(new, text, count=1)
            assert changed != text, (situation.title, name)
            (folder / name).write_text(changed, encoding="utf-8")
        for name, content in situation.then.items():
            (folder / name).unlink(missing_ok=True)
            if content is not None:
                (folder / name).write_text(content, encoding="utf-8")
        done = CliRunner().invoke(main, shlex.split(last))
    said = re.sub(r"\d{4}-\d{2}-\d{2}|\d+(?= days ago)", "SOME", done.stderr.replace(f"{folder}{os.sep}", ""))
    lines = [line for line in said.splitlines() if not line.startswith("all of them: ")]
    return "\n".join([f"# {situation.title}", f"$ nameplate {last}   (ends with {done.exit_code})", *lines, ""])


def main() -> None:
    processes.ProcessPool = pools.ProcessPool = Here  # type: ignore[assignment, misc]
    told, where = [], {}
    with tempfile.TemporaryDirectory() as begun:
        os.environ[CONFIG_VARIABLE] = str(Path(begun).resolve() / "none")
        for situation in (*SITUATIONS, *WORDED):
            with tempfile.TemporaryDirectory() as name:
                folder = Path(name).resolve()
                if isinstance(situation, Situation):
                    begin(situation, folder, Path(begun))
                with noted() as codes:
                    told.append(said_in(situation, folder) if isinstance(situation, Situation) else worded(situation))
            for code in codes:
                where.setdefault(code, situation.title)
    MESSAGES.write_text("\n".join(told), encoding="utf-8")
    CODES.write_text("".join(f"{code}: {where[code]}\n" for code in sorted(where)), encoding="utf-8")


if __name__ == "__main__":
    main()
