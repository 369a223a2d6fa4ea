"""Stored layouts and offcuts that are there as text, read from a file as a run reads them."""

import atexit
import shutil
import tempfile
from functools import cache
from pathlib import Path

from nameplate.nest.offcuts import read_offcuts
from nameplate.nest.stored import read_layout


def layout_of_text(text):
    return _read(read_layout, text)


def offcuts_of_text(text):
    return _read(read_offcuts, text)


def _read(reader, text):
    path = _folder() / "stored.json"
    path.write_text(text, encoding="utf-8")
    return reader(path)


@cache
def _folder():
    """Give one folder for all: to make and remove one for each text took longer than to read it."""
    folder = Path(tempfile.mkdtemp(prefix="nameplate-tests-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder
