"""Wishes to stop that wait while something must not be cut in two."""

import os
import signal
import socket
import sys
import threading

import pytest

from nameplate.system.interrupts import deferred

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a process cannot send itself an interrupt there")


@pytest.fixture
def taken():
    """A socket from which a byte can be read as soon as a thread of this process has taken a signal."""
    mine, pythons = socket.socketpair()
    with mine, pythons:
        pythons.setblocking(False)
        before = signal.set_wakeup_fd(pythons.fileno())
        yield mine
        signal.set_wakeup_fd(before)


@pytest.mark.parametrize("blocked_here", [(), (signal.SIGINT,)], ids=["by this thread", "by another"])
def test_an_interrupt_waits_for_the_end_of_the_block_and_no_longer(taken, blocked_here):
    go, done = threading.Event(), []

    def interrupt():
        go.wait()
        os.kill(os.getpid(), signal.SIGINT)

    threading.Thread(target=interrupt, daemon=True).start()  # before the mask, which it would inherit
    came = []
    before = signal.pthread_sigmask(signal.SIG_BLOCK, blocked_here)
    try:
        with deferred():
            go.set()
            taken.recv(1)
            done.append("the rest of the block")
        done.append("what follows")
    except KeyboardInterrupt:
        came.append("at the end of the block")
    finally:
        try:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
        except KeyboardInterrupt:  # nothing else would catch it: it would end the run of the tests
            came.append("too late")
    assert came == ["at the end of the block"]
    assert done == ["the rest of the block"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_a_block_in_another_thread_defers_nothing():
    before, seen = signal.getsignal(signal.SIGINT), []

    def look():
        with deferred():
            seen.append(signal.getsignal(signal.SIGINT))

    thread = threading.Thread(target=look)
    thread.start()
    thread.join()
    assert seen == [before]
