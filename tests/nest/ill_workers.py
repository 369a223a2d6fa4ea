"""What a worker does that fails or hangs while it nests a material: a module that is soon imported."""

import os
import time


def stopped(keys, job):
    os._exit(3)


def hanging(begun, keys, job):
    begun.touch()
    time.sleep(600)
