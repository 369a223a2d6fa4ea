"""The crew that makes drafts, which loads what it needs while its parent does."""

from __future__ import annotations

from functools import partial

from nameplate.workers import Crew, load

#: What a worker loads before its first draft.
MODULES = ("nameplate.drafts", "fontTools.unicodedata", "pathops", "uharfbuzz")

#: Fewer drafts than this are made in one process: each takes a thirtieth of a second, a worker nearly one to start.
FEWEST_FOR_PROCESSES = 20


def draft_crew(workers: int | None = None) -> Crew:
    """Give a crew of so many processes (one a core if left out), this one among them; `hire` starts the others.

    >>> draft_crew(3).count
    3
    """
    return Crew(workers, ready=partial(load, MODULES), lend=True)
