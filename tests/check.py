"""Every check of the project in one go: style, types, tests. Ends with the first that fails.

Run it with the Python of an environment that has `.[test]` installed: python tests/check.py
"""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

CHECKS = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    # tests of one module stay together as long as there are others: what they share is made once
    ("pytest", "-n", "2", "--dist", "worksteal", "--doctest-modules", "nameplate", "tests"),
)


def main() -> int:
    # each of the many processes that load the package would compile it anew
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    for check in CHECKS:
        print("+", *check, flush=True)
        code = subprocess.run([sys.executable, "-m", *check], cwd=ROOT, env=environment, check=False).returncode
        if code:
            return code
    return 0


if __name__ == "__main__":
    sys.exit(main())
