"""Tests of the pool itself have workers as users have them: each pool its own, for its own time."""

import pytest

from nameplate.pool import processes
from nameplate.pool.processes import ProcessPool


@pytest.fixture(autouse=True)
def workers_that_end(monkeypatch, made_anew):
    monkeypatch.setattr(processes, "ProcessPool", ProcessPool)
