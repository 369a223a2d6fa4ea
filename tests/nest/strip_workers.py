"""Workers of the strip solver that misbehave; in a module of their own, which a fresh process finds by its path."""

import os
import time
from pathlib import Path

from nameplate.nest.search.strip import READY, Solved


def hangs(link, job):
    link.send(READY)
    time.sleep(600)


def hangs_after_a_solution(link, job):
    link.send(READY)
    link.send(row_of(job))
    time.sleep(600)


def hangs_and_tells(link, job):
    """As before; the file that the environment names tells that the solution is on its way."""
    link.send(READY)
    link.send(row_of(job))
    Path(os.environ["SENT"]).touch()
    time.sleep(600)


def lays_a_row(link, job):
    link.send(READY)
    link.send(row_of(job))
    link.send(None)


def dies(link, job):
    link.send(READY)
    os._exit(7)


def raises(link, job):
    raise RuntimeError("no")


def lies(link, job):
    """Puts everything on one heap and calls it a solution."""
    link.send(READY)
    link.send(Solved(1.0, tuple((0.0, 0.0, 0.0) for _ in job.outlines)))
    link.send(None)


def row_of(job):
    """A true solution: the outlines side by side."""
    x, places = 0.0, []
    for ring in job.outlines:
        xs, ys = zip(*ring, strict=True)
        places.append((0.0, x - min(xs), -min(ys)))
        x += max(xs) - min(xs)
    return Solved(x, tuple(places))
