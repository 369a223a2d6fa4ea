"""The pool on a cluster: items run on the machines of a Dask scheduler, and here where those are lost.

Method: as many items as the cluster has threads, and AHEAD more for each, are under way at a time, so that neither the
scheduler nor this process holds a whole batch. Everything travels as bytes: the function by name, its items, and the
font files that the job names by path; a worker needs this program, of the same versions, and nothing of the job.

Lost workers cost time only: the scheduler gives their items to others. Items that the cluster loses all the same, or
brings no answer for within their time limit and PATIENCE_S, are done by this machine; `remarks` says so.

Known limit: what travels is not encrypted unless the address says `tls://` and Dask's configuration names certificates;
whoever reaches a scheduler can run anything on its workers.
"""

from __future__ import annotations

import gc
import logging
import pickle
import queue
import time
import uuid
import warnings
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from nameplate.errors import ClusterError
from nameplate.pool.cluster_worker import Brief, Stranger, do_item, leave, versions_here
from nameplate.pool.interface import ITEM_LIMIT_S, Assignment, Failure, Item, Result, Shared, Task, as_it_is
from nameplate.pool.processes import ProcessPool, get_ready
from nameplate.pool.versions import differences, versions
from nameplate.system.shelf import sent_whole

if TYPE_CHECKING:
    from distributed import Client, Future

#: Seconds to wait for the scheduler's first answer.
CONNECT_S = 10.0

#: Items that wait at the cluster for each that is worked on. More keep workers busy over a slow network, and are more
#: to do again when the cluster is lost.
AHEAD = 1

#: Seconds without any answer, beyond the longest limit of what is under way, after which the cluster counts as lost:
#: a new process there loads for some seconds, and the scheduler needs some to see that a worker is gone.
PATIENCE_S = 30.0

#: Why other versions are refused.
SAME_EVERYWHERE = (
    "with other versions the files would not be the same bytes; install the same on every machine, or leave out "
    "--cluster to work on this one"
)

#: Seconds between two looks at whether the cluster is still there.
LOOK_S = 0.5


@dataclass(frozen=True, slots=True)
class _Sent:
    """An item under way."""

    position: int
    limit_s: float


class Cluster:
    """A pool of the workers behind one scheduler; made by :func:`connected`."""

    def __init__(self, client: Client, address: str, here: ProcessPool) -> None:
        self.client, self.address, self.here = client, address, here
        self.files: dict[Path, bytes] = {}
        self.limit_s = here.limit_s
        self.run = uuid.uuid4().hex
        self.remarks: list[str] = []
        self.lost = False
        self.strangers: set[str] = set()
        self._threads: dict[str, int] = {}

    def hire(self, items: int) -> None:
        """Do nothing: the cluster's workers are there already."""

    def bring(self, paths: Iterable[Path]) -> None:
        """Take the content of these files along; raises OSError when one cannot be read."""
        self.files |= {path: path.read_bytes() for path in paths if path not in self.files}

    def begin(self, assignment: Assignment[Shared, Item, Result]) -> ClusterTask[Shared, Item, Result]:
        """Begin an assignment."""
        return ClusterTask(self, assignment)

    def threads(self) -> dict[str, int]:
        """Give the workers that may be used, by address, and how many items each works on at a time.

        The scheduler is asked itself: what the client keeps of its answers (`Client.scheduler_info`) is replaced every
        other second by one without any worker. While it does not answer, its workers are those that it had.
        """
        with suppress(OSError):
            answer = self.client.sync(self.client.scheduler.identity)
            self._threads = {at: worker["nthreads"] for at, worker in answer["workers"].items()}
        return {at: count for at, count in self._threads.items() if at not in self.strangers}

    def gone(self) -> bool:
        """Tell whether the scheduler, or every worker that may be used, is no longer there."""
        return self.client.status != "running" or not self.threads()

    def give_up(self, why: str) -> None:
        """Do without the cluster from now on, and say so once."""
        if not self.lost:
            self.lost = True
            self.remarks.append(
                f"the cluster at {self.address} {why}; the rest was made on this machine, with the same result"
            )


class ClusterTask(Task[Shared, Item, Result]):
    """An assignment that a cluster works on."""

    def __init__(self, cluster: Cluster, assignment: Assignment[Shared, Item, Result]) -> None:
        super().__init__(assignment, cluster.limit_s)
        self._cluster = cluster
        self._brief: Future[bytes] | None = None
        self._away: dict[Future[bytes], _Sent] = {}
        self._arrived: queue.SimpleQueue[Future[bytes]] = queue.SimpleQueue()
        self._lost: list[int] = []
        self._here: Task[Shared, Item, Result] | None = None
        self._heard = time.monotonic()
        self._send()

    def tend(self) -> None:
        """Take what is ready and send more, without waiting."""
        self._collect(0.0)
        self._send()

    def finish(self) -> tuple[Result | Failure, ...]:
        """Wait for all items and give their outcomes in order; do here what the cluster has lost."""
        while self._away or (self._waiting and not self._cluster.lost):
            self._collect(LOOK_S)
            self._send()
        if self.left:
            self._do_here()
        return self._in_order()

    def abandon(self) -> None:
        """Take back what is under way."""
        if self._here is not None:
            self._here.abandon()
        self._take_back(list(self._away))

    def _take_back(self, futures: Sequence[Future[bytes]]) -> None:
        for future in futures:
            self._away.pop(future, None)
        with suppress(Exception):  # a scheduler that is gone has nothing to take back
            self._cluster.client.cancel(list(futures), asynchronous=True)

    # --- away ---

    def _send(self) -> None:
        if self._cluster.lost or not self._waiting:
            return
        threads = self._cluster.threads()
        room = sum(threads.values()) * (1 + AHEAD) - len(self._away)
        for _ in range(min(room, len(self._waiting))):
            self._send_one(self._waiting.pop(), list(threads))

    def _send_one(self, position: int, workers: list[str]) -> None:
        cluster, limit_s = self._cluster, self._limit_of(position)
        try:
            item = _pickled(self._assignment.items[position])
            future = cluster.client.submit(
                do_item,
                cluster.run,
                versions(),
                self._told(),
                item,
                limit_s,
                key=f"nameplate-{uuid.uuid4().hex}",
                pure=False,
                workers=workers if cluster.strangers else None,
            )
        except (OSError, RuntimeError, TimeoutError) as error:
            self._lost.append(position)
            cluster.give_up(f"takes no more work ({error})")
            return
        if not self._away:
            self._heard = time.monotonic()
        self._away[future] = _Sent(position, limit_s)
        future.add_done_callback(self._arrived.put)

    def _told(self) -> Future[bytes]:
        """Give what all items share, sent once: as a task, which is done again when the worker that had it is lost."""
        if self._brief is None:
            brief = Brief(self._assignment.function, self._assignment.shared, self._cluster.files, str(Path.home()))
            told = _pickled(brief)
            self._brief = self._cluster.client.submit(as_it_is, told, key=f"nameplate-{uuid.uuid4().hex}", pure=False)
        return self._brief

    def _collect(self, timeout: float) -> None:
        """Take in what has arrived; give the cluster up where nothing comes for too long."""
        with suppress(queue.Empty):
            self._receive(self._arrived.get(timeout=timeout) if timeout else self._arrived.get_nowait())
            while True:
                self._receive(self._arrived.get_nowait())
        if self._cluster.gone():
            self._recall("was lost")
        elif self._away and time.monotonic() - self._heard > PATIENCE_S + max(s.limit_s for s in self._away.values()):
            self._recall("brought no answer for too long")

    def _recall(self, why: str) -> None:
        """Count everything under way as lost, and the cluster with it."""
        self._cluster.give_up(why)
        self._lost += [sent.position for sent in self._away.values()]
        self._take_back(list(self._away))

    def _receive(self, future: Future[bytes]) -> None:
        sent = self._away.pop(future, None)
        if sent is None:
            return  # taken back
        self._heard = time.monotonic()
        try:
            outcome = pickle.loads(future.result(timeout=PATIENCE_S))
        except Exception:  # cancelled, a worker that died too often, an answer that was lost: whatever it was
            self._lost.append(sent.position)
            return
        if isinstance(outcome, Stranger):
            self._shun(outcome)
            self._waiting.append(sent.position)
        else:
            self._keep(sent.position, outcome)

    def _shun(self, stranger: Stranger) -> None:
        """Use no worker any more that joined with other versions."""
        found = _versions_of(self._cluster.client)
        self._cluster.strangers |= {at for at, there in found.items() if there != versions()}
        self._cluster.remarks += [_unlike(self._cluster.address, stranger.versions) + "; it was not used"]

    # --- here ---

    def _do_here(self) -> None:
        """Do what is left with processes of this machine."""
        left = sorted({*self._lost, *self._waiting}, key=[*self._waiting, *self._lost].index)
        items = [self._assignment.items[i] for i in left]
        self._here = self._cluster.here.begin(replace(self._assignment, items=items, limit_s=self._limit, size=None))
        self._outcomes |= dict(zip(left, self._here.finish(), strict=True))


def _pickled(value: object) -> bytes:
    """Give a value as bytes that need nothing of this machine's disk."""
    with sent_whole():
        return pickle.dumps(value, protocol=pickle.HIGHEST_PROTOCOL)


@contextmanager
def connected(address: str, *, workers: int | None = None, limit_s: float = ITEM_LIMIT_S) -> Iterator[Cluster]:
    """Give the cluster behind a scheduler's address, like `tcp://10.0.0.5:8786`, for the time of the block.

    `workers` is how many processes do here what the cluster loses.

    Raises ClusterError when Dask is not installed, the scheduler does not answer or has no workers, or one of them
    works with other versions.
    """
    with _client(address) as client, ProcessPool(workers, ready=get_ready, limit_s=limit_s) as here:
        _check(client, address)
        cluster = Cluster(client, address, here)
        try:
            yield cluster
        finally:
            with suppress(Exception):  # it may be gone, and owes nothing
                client.run(leave, cluster.run, on_error="ignore")


@contextmanager
def _uncollected() -> Iterator[None]:
    """Let no garbage be collected in the block: a client that failed before, ended while another begins, waits for ever
    for a lock that the beginning one holds."""
    gc.collect()
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


@contextmanager
def _client(address: str) -> Iterator[Client]:
    try:
        import dask
        from distributed import Client
    except ImportError as error:
        advice = "pip install 'nameplate[cluster]'"
        raise ClusterError(f"a cluster needs a library that is not installed ({error.name}): {advice}") from error
    for name in ("distributed", "distributed.client", "distributed.core", "distributed.comm", "tornado"):
        logging.getLogger(name).setLevel(logging.CRITICAL + 1)  # what there is to say, we say
    quiet = {"distributed.admin.large-graph-warning-threshold": "1GB", "distributed.comm.timeouts.connect": CONNECT_S}
    with dask.config.set(quiet), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # versions are compared, and said, by us
        try:
            with _uncollected():
                client = Client(address, timeout=CONNECT_S, set_as_default=False)
        except (OSError, ValueError, TypeError, RuntimeError, TimeoutError) as error:
            why = str(error).splitlines()[0] if str(error) else type(error).__name__
            advice = "start one with `dask scheduler`, or leave out --cluster to work on this machine"
            raise ClusterError(f"no scheduler answers at {address} ({why}); {advice}") from error
        try:
            yield client
        finally:
            with suppress(Exception):
                client.close(timeout=CONNECT_S)


def _check(client: Client, address: str) -> None:
    """Raise ClusterError, with every reason, unless there are workers and all have our versions."""
    try:
        found = _versions_of(client)
    except (OSError, TimeoutError) as error:
        raise ClusterError(f"the scheduler at {address} does not answer: {error}") from error
    if not found:
        advice = f"start some with `dask worker {address}`, or leave out --cluster to work on this machine"
        raise ClusterError(f"the scheduler at {address} has no workers; {advice}")
    problems = [_unlike(at, there) for at, there in found.items() if there != versions()]
    if problems:
        raise ClusterError([*problems, SAME_EVERYWHERE])


def _versions_of(client: Client) -> dict[str, dict[str, str]]:
    """Ask every worker what it works with; one that cannot say has nothing of it."""
    answers = client.run(versions_here, on_error="return")
    return {at: answer if isinstance(answer, dict) else {} for at, answer in answers.items()}


def _unlike(at: str, there: Mapping[str, str]) -> str:
    if not there:
        return f"the worker {at} has no nameplate of this version"
    return f"the worker {at} is not like this machine: {', '.join(differences(versions(), there))}"
