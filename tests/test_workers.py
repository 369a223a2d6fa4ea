import os
import subprocess
import sys
import time

import pytest

from nameplate.workers import Crew, Failure, Job, run_all


def work(shared, item):
    if item == "die":
        os._exit(9)
    if item == "hang":
        time.sleep(600)
    if item == "raise":
        raise ValueError("no such letter")
    return shared + item


def test_results_come_in_the_order_of_the_items():
    items = [str(i) for i in range(9)]
    assert run_all(work, items, "n", workers=2) == tuple("n" + i for i in items)


def test_no_items_no_workers():
    assert run_all(work, [], "n") == ()


def test_a_worker_that_dies_hangs_or_raises_costs_only_its_item():
    ticks = []
    got = run_all(work, ["a", "die", "hang", "raise", "b"], "n", workers=2, limit_s=6, done=lambda: ticks.append(1))
    assert (got[0], got[4]) == ("na", "nb")
    died, hung, raised = got[1:4]
    assert isinstance(died, Failure) and "stop without a result" in died.reason
    assert isinstance(hung, Failure) and "6 seconds" in hung.reason
    assert isinstance(raised, Failure) and "no such letter" in raised.reason and "Traceback" in raised.detail
    assert len(ticks) == 5


def test_one_worker_runs_in_this_process():
    assert run_all(lambda shared, item: (shared, item), [1, 2, 3, 4, 5], 0, workers=1)[4] == (0, 5)


def test_a_crew_takes_one_job_after_another_and_outlives_a_dead_worker():
    with Crew(2) as crew:
        first = run_all(work, ["a", "die", "b", "c"], "1", workers=crew)
        assert [first[0], *first[2:]] == ["1a", "1b", "1c"]
        assert isinstance(first[1], Failure)
        assert run_all(work, ["d"], "2", workers=crew) == ("2d",)  # with the workers that are there
        assert {w.process.is_alive() for w in crew.workers} == {True}
        gone = [w.process for w in crew.workers]
    assert [p.is_alive() for p in gone] == [False, False]


def lent(shared, item):
    """Tell who did an item; the parent waits for the worker's first one, and a worker dies at an item below zero."""
    parent, folder = shared
    if os.getpid() != parent:
        if item < 0:
            os._exit(9)
        (folder / "seen").touch()
        return "worker", item
    end = time.monotonic() + 60
    while not (folder / "seen").exists() and time.monotonic() < end:
        time.sleep(0.01)
    return "parent", item


def test_a_parent_that_lends_a_hand_does_items_beside_its_worker(tmp_path):
    with Crew(2, lend=True) as crew:
        got = run_all(lent, range(8), (os.getpid(), tmp_path), workers=crew)
        assert len(crew.workers) == 1
    assert [item for _, item in got] == list(range(8))
    assert {who for who, _ in got} == {"parent", "worker"}


def test_what_waits_at_a_worker_that_dies_is_done_by_others(tmp_path):
    items = [0, -1, 2, -3, 4, 5, -6, 7, 8]
    with Crew(2, lend=True) as crew:
        got = run_all(lent, items, (os.getpid(), tmp_path), workers=crew)
    for outcome, item in zip(got, items, strict=True):
        assert isinstance(outcome, Failure) if item < 0 and outcome != ("parent", item) else outcome[1] == item


def test_a_parent_may_do_other_things_meanwhile():
    with Crew(2) as crew:
        job = Job(crew, work, list("abcdef"), "n")
        while job.left:
            job.tend()
        assert job.finish() == tuple("n" + i for i in "abcdef")


def test_the_largest_go_first_and_results_keep_their_order():
    seen = []

    def note(shared, item):
        seen.append(item)
        return item

    assert run_all(note, [2, 9, 5], None, workers=1, size=lambda n: n) == (2, 9, 5)
    assert seen == [9, 5, 2]


@pytest.mark.skipif(sys.platform == "win32", reason="there is no process group to interrupt")
def test_an_interrupt_while_workers_start_is_the_parents_alone():
    code = (
        "import os, signal, time\n"
        "from nameplate.workers import Crew\n"
        "if __name__ == '__main__':\n"
        "    signal.signal(signal.SIGINT, signal.default_int_handler)  # what runs in the background may ignore it\n"
        "    with Crew(2) as crew:\n"
        "        crew.hire(4)\n"
        "        try:\n"
        "            os.killpg(os.getpgrp(), signal.SIGINT)\n"
        "            time.sleep(1)\n"
        "        except KeyboardInterrupt:\n"
        "            print('interrupted', flush=True)\n"
        "        time.sleep(1)\n"
    )
    run = [sys.executable, "-c", code]
    done = subprocess.run(run, capture_output=True, text=True, start_new_session=True, timeout=60, check=False)
    assert (done.stdout, done.stderr) == ("interrupted\n", "")
