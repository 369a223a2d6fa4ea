"""What Python says in a process of its own, whatever the order in which it goes through sets there."""

import os
import subprocess
import sys


def said_with_seeds(code, seeds=(1, 2)):
    """Every output of a piece of code, one process a seed: more than one where it depends on the order of sets."""
    environments = (os.environ | {"PYTHONHASHSEED": str(seed)} for seed in seeds)
    run = [sys.executable, "-c", code]
    return {subprocess.run(run, env=own, capture_output=True, check=True).stdout for own in environments}
