"""Stored layouts and offcuts that are there as text, read from a file as a run reads them."""

import tempfile
from pathlib import Path

from nameplate.nest.offcuts import read_offcuts
from nameplate.nest.stored import read_layout


def layout_of_text(text):
    return _read(read_layout, text)


def offcuts_of_text(text):
    return _read(read_offcuts, text)


def _read(reader, text):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "stored.json"
        path.write_text(text, encoding="utf-8")
        return reader(path)
