import time

import pytest
import strip_workers

from nameplate.nest.search.strip import Strip, available, solve_strip, solve_strips

SQUARES = (((-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)),) * 4
JOB = Strip(21.0, SQUARES, (0.0, 180.0), 1.0)


@pytest.mark.parametrize(
    ("worker", "word"),
    [(strip_workers.hangs, "was stopped"), (strip_workers.dies, "exit code 7"), (strip_workers.raises, "exit code 1")],
)
def test_a_worker_that_hangs_dies_or_raises_costs_its_own_job_only(worker, word, capfd):
    (outcome,) = solve_strips([JOB], worker=worker)
    assert outcome.solved is None
    assert word in outcome.trouble


def test_what_a_hung_worker_had_sent_counts():
    (outcome,) = solve_strips([JOB], worker=strip_workers.hangs_after_a_solution)
    assert outcome.solved is not None
    assert outcome.solved.length == 40.0


def test_work_ends_when_the_caller_says_so():
    start = time.monotonic()
    solve_strips([Strip(21.0, SQUARES, (0.0,), 300.0)], worker=strip_workers.hangs, go_on=lambda: False)
    assert time.monotonic() - start < 100  # not the five minutes of the job


@pytest.mark.skipif(not available(), reason="the strip solver is an optional extra and not installed")
def test_four_squares_in_a_strip_two_high_come_out_two_long():
    # four 10 mm squares in a strip 21 high: no strip shorter than 20 holds them
    (outcome,) = solve_strips([Strip(21.0, SQUARES, (0.0,), 4.0)], worker=solve_strip)
    assert outcome.trouble == ""
    assert outcome.solved is not None
    assert 20.0 - 0.01 <= outcome.solved.length < 30.0
