"""What the pools of these tests do, in a module that a fresh process loads at once."""

import os
import sys
import time


def work(shared, item):
    if item == "die":
        os._exit(9)
    if item == "hang":
        time.sleep(600)
    if item == "raise":
        raise ValueError("no such letter")
    return shared + item


def limit_of(item):
    """Seconds that an item of `work` may take."""
    return 2 if item == "hang" else 600


def whose(shared, item):
    return os.getpid()


def whose_parents(shared, item):
    if item == "slow":
        time.sleep(0.3)
    return os.getppid()


def spin(shared, item):
    """Take so many seconds of a core."""
    end = time.process_time() + item
    while time.process_time() < end:
        sum(range(10_000))
    return "made"


def load_slowly():
    spin(None, 0.5)


def swell(shared, item):
    """Take memory, MB by MB, and hold it."""
    held = []
    for _ in range(item):
        held.append(b"x" * 1_000_000)
    time.sleep(600 if item > 50 else 0)
    return len(held)


def stamped(shared, item):
    return item, time.monotonic_ns()


def shout(shared, item):
    os.write(1, b"a native library speaks\n")
    print("so does Python", file=sys.stderr)
    return item


def family_of(shared, item):
    from nameplate.typesetting.fonts import load_font

    return load_font(item).name
