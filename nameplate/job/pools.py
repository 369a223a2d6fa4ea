"""Which pool a command works with, by its options."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial

from nameplate.pool.interface import ITEM_LIMIT_S, Pool
from nameplate.pool.processes import ProcessPool, get_ready, load

#: Workers that an estimate starts before it knows how many names there are: one takes nothing from a small list.
HIRED_AHEAD = 1

#: What a worker loads before its first draft.
FOR_DRAFTS = ("nameplate.plates.draft", "fontTools.unicodedata", "pathops", "uharfbuzz")


#: Loads what drafts need, in a worker that still waits for its first one.
draft_ready: Callable[[], None] = partial(load, FOR_DRAFTS)


@contextmanager
def make_pool(
    workers: int | None,
    cluster: str | None,
    limit_s: float | None,
    *,
    ready: Callable[[], None] = get_ready,
    warn: Callable[[str], None],
) -> Iterator[Pool]:
    """Give the pool for a whole job: so many processes (one a core for None), or a cluster by its address.

    `limit_s` is what a name may take, in seconds; `ready` loads what a process needs for its work (`draft_ready` where
    it makes drafts); `warn` is told what became of a cluster.

    Raises ClusterError when there is no such cluster.
    """
    limit_s = limit_s or ITEM_LIMIT_S
    if cluster is None:
        with ProcessPool(workers, ready=ready, limit_s=limit_s) as here:
            yield here
        return
    from nameplate.pool.cluster import connected

    with connected(cluster, workers=workers, limit_s=limit_s) as away:
        yield away
        for remark in away.remarks:
            warn(remark)
