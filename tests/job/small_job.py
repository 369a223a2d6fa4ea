"""A small job of two names without jigs, whose sheets are looked at in every form."""

from tests.jobs import make_in

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
    return make_in(folder, TICKET + more, "name\nIda Vance\nJo\n")
