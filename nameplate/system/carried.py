"""Files that came along with the work, for a worker that does not share a disk with who sent it.

Font files are named by path in a ticket or a roster. Where they are read, this is asked first.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

_files: dict[Path, bytes] = {}


def take_along(files: Mapping[Path, bytes]) -> None:
    """Have these files, and no others, stand for those of the same path on the disk."""
    _files.clear()
    _files.update(files)


def carried(path: Path) -> bytes | None:
    """Give the content of a file that came along; None for any other.

    >>> take_along({Path("a.ttf"): b"..."})
    >>> carried(Path("a.ttf")), carried(Path("b.ttf"))
    (b'...', None)
    >>> take_along({})
    """
    return _files.get(path)
