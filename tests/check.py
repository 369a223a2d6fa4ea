"""Every check of the project in one go: style, then types beside tests. Ends with the first that fails.

Run it with the Python of an environment that has `.[test]` installed: python tests/check.py
"""

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

STYLE = (("ruff", "check", "."), ("ruff", "format", "--check", "."))
TYPES = ("mypy",)
WHICH = ("--doctest-modules", "nameplate", "tests")
# tests of one module stay together as long as there are others: what they share is made once; assertions are not made
# to tell their values, which takes each worker 9 s of CPU in a fresh clone
TESTS = ("pytest", "-n", "2", "--dist", "worksteal", "--assert", "plain", *WHICH)
# so those that failed are run again, and tell them
AGAIN = ("pytest", "--last-failed", *WHICH)


def main() -> int:
    for check in STYLE:
        if code := _run(check):
            return code
    print("+", *TYPES, "beside", *TESTS, flush=True)  # it works on one core alone
    with subprocess.Popen(_command(TESTS), cwd=ROOT, env=_environment()) as tests:
        types = subprocess.run(
            _command(TYPES), cwd=ROOT, env=_environment(), check=False, capture_output=True, text=True
        )
        if types.returncode:
            tests.terminate()
        tests.wait()
    print(types.stdout, types.stderr, sep="", end="", flush=True)
    if tests.returncode == 1 and not types.returncode:
        _run(AGAIN)
    return types.returncode or tests.returncode


def _run(check: Sequence[str]) -> int:
    print("+", *check, flush=True)
    return subprocess.run(_command(check), cwd=ROOT, env=_environment(), check=False).returncode


def _command(check: Sequence[str]) -> list[str]:
    return [sys.executable, "-m", *check]


def _environment() -> dict[str, str]:
    """Give this environment, but that modules stay compiled: each of the many processes would compile them anew."""
    return {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


if __name__ == "__main__":
    sys.exit(main())
