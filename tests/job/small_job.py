"""A small job of two names without jigs, whose sheets are looked at in every form."""

from nameplate.job.run import make_job
from nameplate.ticket.reader import read_ticket

TICKET = """
[job]
title = "Orchard"
roster = "names.csv"
[face]
shape = "ellipse"
width = 80
height = 50
[jig]
style = "none"
[[stock]]
material = "lettering"
width = 120
height = 90
"""


def made(folder, more=""):
    """Make the job with more keys, and give its out folder."""
    folder.mkdir(exist_ok=True)
    (folder / "names.csv").write_text("name\nIda Vance\nJo\n", encoding="utf-8")
    (folder / "job.toml").write_text(TICKET + more, encoding="utf-8")
    make_job(read_ticket(folder / "job.toml"), folder / "out", workers=1)
    return folder / "out"
