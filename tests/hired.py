"""The command line with workers as users have them, for tests to which it matters that some are there.

`python -m tests.hired make ...`; of what a test of the same session has had made only sheets are made again, so that
the workers have something to do.
"""

import os
from pathlib import Path

from nameplate.__main__ import start
from nameplate.job import pools
from tests.lasting_pool import MADE, MEMORY, HiredPool

MEMORY.folder = Path(os.environ[MADE]) if MADE in os.environ else None
MEMORY.anew = ("run_errand",)
pools.ProcessPool = HiredPool

if __name__ == "__main__":
    start()
