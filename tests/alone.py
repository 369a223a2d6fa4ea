"""The command line with all work in its own process, for tests to which it does not matter who works.

`python -m tests.alone make ...`; a worker takes longer to start than a small job takes. What a test of the same session
has had made is not made again.
"""

import os
from pathlib import Path

from nameplate.__main__ import start
from nameplate.cli.commands import main as main
from nameplate.job import pools
from tests.lasting_pool import MADE, MEMORY, HereOnce

MEMORY.folder = Path(os.environ[MADE]) if MADE in os.environ else None
pools.ProcessPool = HereOnce

if __name__ == "__main__":
    start()
