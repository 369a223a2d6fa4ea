import os
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest

from nameplate.pool import processes
from nameplate.pool.interface import Assignment, Failure
from nameplate.pool.processes import ProcessPool, run_all
from tests.pool.items import limit_of, load_slowly, spin, stamped, swell, whose, work


def test_results_come_in_the_order_of_the_items():
    items = [str(i) for i in range(9)]
    assert run_all(work, items, "n", workers=2) == tuple("n" + i for i in items)


def test_no_items_no_workers():
    assert run_all(work, [], "n") == ()


def test_a_worker_that_dies_hangs_or_raises_costs_only_its_item():
    ticks = []
    items = ["a", "die", "hang", "raise", "b"]
    got = run_all(work, items, "n", workers=2, limit_s=limit_of, done=lambda: ticks.append(1))
    assert (got[0], got[4]) == ("na", "nb")
    died, hung, raised = got[1:4]
    assert isinstance(died, Failure) and "stop without a result" in died.reason
    assert isinstance(hung, Failure) and "2 seconds" in hung.reason and hung.late
    assert isinstance(raised, Failure) and "no such letter" in raised.reason and "Traceback" in raised.detail
    assert len(ticks) == 5


def test_one_worker_is_a_process_of_its_own():
    pids = set(run_all(whose, range(5), None, workers=1))
    assert len(pids) == 1 and os.getpid() not in pids


def test_what_a_worker_takes_to_load_is_not_held_against_its_first_item(monkeypatch):
    monkeypatch.setattr(processes, "LOOK_S", 0.05)
    with ProcessPool(1, ready=load_slowly, limit_s=1) as pool:
        assert run_all(spin, [0.7], None, workers=pool) == ("made",)


def test_few_items_are_worth_one_process():
    with ProcessPool(8) as pool:
        pool.hire(3)
        assert len(pool.workers) == 1
        pool.hire(4)
        assert len(pool.workers) == 4


def test_the_limit_counts_the_seconds_of_a_core_that_an_item_takes_on_its_own():
    """What a worker took before, for other items, is not held against the next."""
    *made, outcome = run_all(spin, [0.3] * 3 + [3600], None, workers=1, limit_s=0.8)
    assert made == ["made"] * 3
    assert isinstance(outcome, Failure) and outcome.late


def test_a_worker_that_takes_too_much_memory_costs_only_its_item(monkeypatch):
    monkeypatch.setattr(processes, "ITEM_LIMIT_MB", 50.0)
    got = run_all(swell, [20, 90, 20], None, workers=1)
    assert (got[0], got[2]) == (20, 20)
    assert isinstance(got[1], Failure) and got[1].late and "50 MB of memory" in got[1].reason


def test_what_is_kept_of_a_result_is_decided_here_as_soon_as_it_is_there():
    assert run_all(work, ["a", "die", "b"], "n", workers=1, keep=str.upper)[::2] == ("NA", "NB")


def test_a_pool_takes_one_task_after_another_and_outlives_a_dead_worker():
    with ProcessPool(2) as pool:
        first = run_all(work, ["a", "die", "b", "c"], "1", workers=pool)
        assert [first[0], *first[2:]] == ["1a", "1b", "1c"]
        assert isinstance(first[1], Failure)
        assert run_all(work, ["d"], "2", workers=pool) == ("2d",)  # with the workers that are there
        assert {w.process.is_alive() for w in pool.workers} == {True}
        gone = [w.process for w in pool.workers]
    assert [p.is_alive() for p in gone] == [False, False]


def test_a_parent_may_do_other_things_meanwhile():
    with ProcessPool(2) as pool:
        task = pool.begin(Assignment(work, list("abcdef"), "n"))
        while task.left:
            task.tend()
        assert task.finish() == tuple("n" + i for i in "abcdef")


def test_the_largest_go_first_and_results_keep_their_order():
    got = run_all(stamped, [2, 9, 5], None, workers=1, size=lambda n: n)
    assert [item for item, _ in got] == [2, 9, 5]
    assert [item for item, _ in sorted(got, key=lambda pair: pair[1])] == [9, 5, 2]


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
def test_processes_print_nothing_and_end_with_a_parent_that_is_killed(tmp_path):
    code = (
        "import os, signal, sys\n"
        "sys.path.insert(0, sys.argv[1])\n"
        "from items import shout, work\n"
        "from nameplate.pool.processes import Assignment, ProcessPool, run_all\n"
        "if __name__ == '__main__':\n"
        "    with ProcessPool(2) as pool:\n"
        "        run_all(shout, range(4), None, workers=pool)\n"
        "        pool.begin(Assignment(work, ['hang', 'hang'], 'n'))\n"
        "        print(*[w.process.pid for w in pool.workers], flush=True)\n"
        "        os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    run = [sys.executable, "-c", code, str(Path(__file__).parent)]
    done = subprocess.run(run, capture_output=True, text=True, timeout=120, check=False)
    assert done.stderr == ""
    pids = [int(word) for word in done.stdout.split()]  # and nothing else was printed
    assert len(pids) == 2
    end = time.monotonic() + 60
    while any(map(psutil.pid_exists, pids)) and time.monotonic() < end:
        time.sleep(0.05)
    assert [pid for pid in pids if psutil.pid_exists(pid) and psutil.Process(pid).status() != "zombie"] == []


@pytest.mark.skipif(sys.platform == "win32", reason="there is no process group to interrupt")
def test_an_interrupt_while_workers_start_is_the_parents_alone():
    code = (
        "import os, signal, time\n"
        "from nameplate.pool.processes import ProcessPool, run_all\n"
        "if __name__ == '__main__':\n"
        "    signal.signal(signal.SIGINT, signal.default_int_handler)  # what runs in the background may ignore it\n"
        "    with ProcessPool(2) as pool:\n"
        "        pool.hire(4)\n"
        "        try:\n"
        "            os.killpg(os.getpgrp(), signal.SIGINT)\n"
        "            time.sleep(60)\n"
        "        except KeyboardInterrupt:\n"
        "            print('interrupted', flush=True)\n"
        "        print(*run_all(pow, range(4), 2, workers=pool), flush=True)\n"  # of workers that have started
    )
    run = [sys.executable, "-c", code]
    done = subprocess.run(run, capture_output=True, text=True, start_new_session=True, timeout=60, check=False)
    assert (done.stdout, done.stderr) == ("interrupted\n1 2 4 8\n", "")
