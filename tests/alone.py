"""The command line with all work in its own process, for tests to which it does not matter who works.

`python -m tests.alone make ...`; a worker takes longer to start than a small job takes.
"""

from nameplate.__main__ import start
from nameplate.cli.commands import main as main
from nameplate.job import pools
from tests.lasting_pool import Here

pools.ProcessPool = Here

if __name__ == "__main__":
    start()
