"""When the program itself is at fault: keeps what its makers need to know, where the user can find it."""

from __future__ import annotations

import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Sequence
from pathlib import Path

from nameplate import __version__


def report(error: BaseException, arguments: Sequence[str]) -> str:
    """Give the text of a report: versions, the command's arguments, and where the error came from.

    >>> report(KeyError("x"), ["make", "job.toml"]).splitlines()[-1]
    "KeyError: 'x'"
    """
    where = "".join(traceback.format_exception(error))
    return (
        f"nameplate {__version__}, Python {platform.python_version()}, {platform.platform()}\n"
        f"arguments: {' '.join(arguments)}\n\n{where}"
    )


def keep_report(error: BaseException) -> Path | None:
    """Write a report into a new file in the folder for temporary files; None when even that cannot be written."""
    text = report(error, sys.argv[1:])
    try:
        handle, name = tempfile.mkstemp(prefix="nameplate-fault-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write(text)
    except OSError:
        return None
    return Path(name)
