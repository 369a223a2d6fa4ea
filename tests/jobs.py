"""A job in a folder as a person has it: a ticket, and its list beside it."""

import json

from click.testing import CliRunner

from nameplate.cli.commands import main
from nameplate.job.run import make_job
from nameplate.ticket.reader import read_ticket


def write_job(folder, ticket, names="name\nJo\n"):
    """Write ticket and list; gives the ticket's path."""
    folder.mkdir(exist_ok=True)
    (folder / "names.csv").write_text(names, encoding="utf-8")
    (folder / "job.toml").write_text(ticket, encoding="utf-8")
    return folder / "job.toml"


def make_in(folder, ticket, names="name\nJo\n"):
    """Write a job and make it in this process; gives its out folder."""
    make_job(read_ticket(write_job(folder, ticket, names)), folder / "out", workers=1)
    return folder / "out"


def call(*words, answer=None):
    """Call a command in this process."""
    return CliRunner().invoke(main, [str(word) for word in words], input=answer)


def good(done, code=0):
    """A command that was called, which must have ended so."""
    assert done.exit_code == code, done.output
    return done


def sheets_of(*materials, width, height):
    """The tables of a ticket for sheets of one size of some materials."""
    return "".join(f'[[stock]]\nmaterial = "{name}"\nwidth = {width}\nheight = {height}\n' for name in materials)


def json_of(path):
    """What a JSON file holds."""
    return json.loads(path.read_text(encoding="utf-8"))
