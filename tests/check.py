"""Every check of the project in one go: style, types, tests. Ends with the first that fails.

Run it with the Python of an environment that has `.[test]` installed: python tests/check.py
"""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

CHECKS = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("pytest", "-n", "2", "--doctest-modules", "nameplate", "tests"),
)


def main() -> int:
    for check in CHECKS:
        print("+", *check, flush=True)
        code = subprocess.run([sys.executable, "-m", *check], cwd=ROOT, check=False).returncode
        if code:
            return code
    return 0


if __name__ == "__main__":
    sys.exit(main())
