"""Does what every situation says and writes down what the program says to it.

`python -m tests.messages.made` writes messages.txt anew: run it after a change of a message, and read it through.
"""

from __future__ import annotations

import os
import re
import shlex
import sys
import tempfile
from pathlib import Path

from click.testing import CliRunner

from tests.messages.situations import SITUATIONS, Situation

HERE = Path(__file__).resolve().parent
MESSAGES = HERE / "messages.txt"


def said_in(situation: Situation, folder: Path) -> str:
    """Do what a situation says in an empty folder, which is the working one; give what was said to its last command."""
    from nameplate.cli.commands import main

    for name, content in situation.files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    *first, last = situation.commands
    for command in first:
        done = CliRunner().invoke(main, shlex.split(command))
        assert done.exit_code in (0, 1), done.output
    for name, (old, new) in situation.after.items():
        text = (folder / name).read_text(encoding="utf-8")
        assert old in text, (situation.title, name, old)
        (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    done = CliRunner().invoke(main, shlex.split(last))
    said = [line for line in done.stderr.splitlines() if not line.startswith("all of them: ")]
    return "\n".join([f"## {situation.title}", f"$ nameplate {last}  (ends with {done.exit_code})", *said, ""])


if __name__ == "__main__":
    from nameplate.job import pools
    from nameplate.pool import processes
    from tests.conftest import Here
    processes.ProcessPool = pools.ProcessPool = Here
    pick = sys.argv[1:]
    told = []
    os.environ["NAMEPLATE_CONFIG"] = tempfile.mkdtemp()
    for situation in SITUATIONS:
        if pick and not any(p in situation.title for p in pick):
            continue
        with tempfile.TemporaryDirectory() as folder:
            os.chdir(folder)
            text = said_in(situation, Path(folder))
            print(text, flush=True)
            told.append(text)
            os.chdir("/")
    if not pick:
        MESSAGES.write_text("\n".join(told), encoding="utf-8")
