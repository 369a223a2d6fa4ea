"""Files of a job's folders for the browser: one by its path, which cannot leave its folder, or all as an archive."""

from __future__ import annotations

import re
import stat
import zipfile
from pathlib import Path
from typing import IO

#: The kinds of files that a run leaves, for the browser.
KINDS = {
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".pdf": "application/pdf",
    ".html": "text/html; charset=utf-8",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".dxf": "application/dxf",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}

#: The time of every file in an archive, the earliest that there is: the same folder, the same archive.
NO_TIME = (1980, 1, 1, 0, 0, 0)

#: Width of the lines (mm of the sheet) by which a sheet is looked at: the beam's own could not be seen.
SEEN = b"1.2"

#: What is put behind the beginning of a cut file: a rectangle along the edge of the sheet; of a sheet that is none,
#: what is there of it, on what is not.
_LINE = b'stroke="#8a8378" stroke-width="3" vector-effect="non-scaling-stroke"'
_EDGE = b'<rect width="%b" height="%b" fill="#fff" ' + _LINE + b"/>"
_OUTLINE = (
    b'<rect width="%b" height="%b" fill="#d9d5cc"/>'
    b'<path transform="translate(0 %b) scale(0.01)" fill="#fff" fill-rule="evenodd" ' + _LINE + b' d="%b"/>'
)
_WIDTH = re.compile(rb' stroke-width="[^"]{0,20}+"')


def file_in(folder: Path, name: str) -> Path | None:
    """Give the ordinary file of this name below a folder; None for every other path, links out of it included."""
    if "\\" in name or "\0" in name or ":" in name:
        return None
    try:
        root = folder.resolve(strict=True)
        path = (root / name).resolve(strict=True)
        is_ordinary = stat.S_ISREG(path.stat().st_mode)
    except (OSError, ValueError, RuntimeError):
        return None
    known = path.suffix.lower() in KINDS
    return path if is_ordinary and known and path.is_relative_to(root) else None


def seen_sheet(drawing: bytes, outline: str = "") -> bytes:
    """Give a cut file with lines that can be seen and the edge of its sheet: for looking at, never for cutting.

    `outline` is path data in hundredths of a mm, from the lower left corner, of a sheet that is no rectangle.

    >>> seen_sheet(b'<g stroke="#000" stroke-width="0.1">')
    b'<g stroke="#000" stroke-width="1.2">'
    """
    seen = _WIDTH.sub(b' stroke-width="' + SEEN + b'"', drawing)
    before, box, after = seen.partition(b'viewBox="0 0 ')
    size, _, _ = after.partition(b'"')
    tag, end, lines = after.partition(b">")
    sides = size.split()
    if len(sides) != 2:
        return seen
    width, height = sides
    edge = _OUTLINE % (width, height, height, outline.encode()) if outline else _EDGE % (width, height)
    return before + box + tag + end + edge + lines


def write_archive(folder: Path, file: IO[bytes]) -> None:
    """Write all ordinary files below a folder into a zip file, in the order of their names; links are left out."""
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(folder.rglob("*"), key=lambda path: path.relative_to(folder).as_posix()):
            if path.is_symlink() or not path.is_file():
                continue
            entry = zipfile.ZipInfo(f"{folder.name}/{path.relative_to(folder).as_posix()}", NO_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system, entry.external_attr = 3, 0o644 << 16
            archive.writestr(entry, path.read_bytes())
