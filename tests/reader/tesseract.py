"""An independent reader of finished lettering: Tesseract, shown a plate eight times.

A plate is shown at four heights, each sharp and soft, dark on white, as a reader sees it from nearer or farther. One
showing alone is brittle: Tesseract misses clear names now and then. Lines are shown one by one, because it takes lines
that are tied to each other for a drawing. A line is read when its letters are the right ones, whatever their case and
the spaces between them: it reads "Anna" and "anna" where a script's capital is a large letter.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from nameplate.geometry.nearby import grid_inside
from nameplate.geometry.region import Array, Region, bounds

#: Heights (pixels) of a line of lettering in the showings, and how soft (pixels) each is shown.
HEIGHTS = (36, 48, 60, 84)
SOFTNESS = (0.0, 1.2)

#: White round the lettering, in pixels, and points a side that each pixel is made of.
MARGIN, FINE = 16, 4

#: All showings of one plate.
SHOWINGS = len(HEIGHTS) * len(SOFTNESS)


def missing() -> str:
    """Say why there is no reader on this machine; empty when there is one."""
    return "" if shutil.which("tesseract") else "tesseract is not installed (Debian: apt-get install tesseract-ocr)"


def shown(ink: Region, height: float, softness: float) -> Array:
    """Draw ink so many pixels high, black on white, as (rows, columns) of 0 to 255."""
    from scipy.ndimage import gaussian_filter

    box = bounds(ink)
    unit = box.height / height
    rows, columns = (int(np.ceil(v / unit)) + 2 * MARGIN for v in (box.height, box.width))
    xs = box.x0 + unit * ((np.arange(columns * FINE) + 0.5) / FINE - MARGIN)
    ys = box.y0 + unit * ((np.arange(rows * FINE) + 0.5) / FINE - MARGIN)
    inside = grid_inside(ink, xs, ys).reshape(rows, FINE, columns, FINE).mean(axis=(1, 3))
    return np.asarray(255 * (1 - gaussian_filter(inside[::-1], softness)))


def readings(inks: Sequence[Region]) -> list[list[str]]:
    """Give what the reader reads of each ink, a line of text, in each of its showings."""
    with tempfile.TemporaryDirectory() as folder:
        stems = [Path(folder) / str(number) for number in range(len(inks))]
        texts = iter(_read([file for ink, stem in zip(inks, stems, strict=True) for file in _written(ink, stem)]))
        return [[next(texts) for _ in range(SHOWINGS)] for _ in inks]


def _written(ink: Region, stem: Path) -> list[Path]:
    files = []
    for height in HEIGHTS:
        for softness in SOFTNESS:
            picture = np.rint(shown(ink, height, softness)).astype(np.uint8)
            file = stem.with_name(f"{stem.name}-{height}-{softness:g}.pgm")
            file.write_bytes(b"P5 %d %d 255\n" % picture.shape[::-1] + picture.tobytes())
            files.append(file)
    return files


def _read(files: Sequence[Path]) -> list[str]:
    """Read pictures, each as one line of text, in one go."""
    if not files:
        return []
    todo = files[0].with_name("pictures.txt")
    todo.write_text("\n".join(map(str, files)), encoding="utf-8")
    command = ["tesseract", str(todo), "-", "--psm", "7", "-l", "eng"]
    done = subprocess.run(command, capture_output=True, check=True, env={**os.environ, "OMP_THREAD_LIMIT": "1"})
    texts = done.stdout.decode("utf-8").split("\f")[: len(files)]
    assert len(texts) == len(files), "the reader left pictures out"
    return texts


def letters(text: str) -> str:
    """Give what counts of a reading.

    >>> letters("Wren  ABARA\\n")
    'wrenabara'
    """
    return re.sub(r"[\W_]", "", text).casefold()


def times_read(name: str, texts: Sequence[str]) -> int:
    """Count the showings in which a name was read."""
    return sum(letters(text) == letters(name) for text in texts)
