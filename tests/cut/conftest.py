import json
from functools import cache

import numpy as np
import pytest
from shapely.geometry import Point

from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.kerf import toolpath
from nameplate.cut.order import PlacedToolpath
from nameplate.geometry import region
from nameplate.geometry.beam import Kerf
from nameplate.geometry.lie import Lie
from nameplate.model import Part
from nameplate.system.digests import digest, sealed
from tests.cut.written import sheet_svg
from tests.shapes import ellipse

KERF, GAP, MARGIN, WEB = 0.2, 1.5, 5.0, 1.5
WIDTH, HEIGHT = 200.0, 120.0


def lettering(plate="001", copies=1):
    """A body like a letter: smooth outside, a counter, and a stem with sharp corners."""
    body = region.union(ellipse(40, 24, 240), region.rectangle(15, -3, 40, 3))
    return Part(plate, "lettering", "lettering", region.difference(body, ellipse(16, 10, 240)), copies=copies)


def template(plate="001"):
    window = region.moved(ellipse(30, 18, 240), 0, 2)
    frame = region.difference(region.rectangle(-30, -20, 30, 20), window)
    marks = (np.array([(-25.0, -17), (-20, -17), (-20, -14)]), np.array([(-18.0, -17), (-18, -14)]))
    return Part(plate, "template", "template", frame, marks, (("window", region.offset(window, 0.01)),))


@cache
def sample(kind, plate):
    return {"lettering": lettering, "template": template}[kind](plate)


_fitted = {}


def fitted(part, kerf):
    """Give the toolpath of a part, fitted once for all tests that use the very same part."""
    if (id(part), kerf) not in _fitted:
        _fitted[id(part), kerf] = (part, toolpath(part, kerf))
    return _fitted[id(part), kerf][1]


class Sheet:
    """A sheet of two lettering copies and a template, its file, and what is expected of it."""

    def __init__(self, path):
        self.path = path
        a, b, frame = sample("lettering", "001"), sample("lettering", "0&2"), sample("template", "003")
        self.spots = [
            (a, 1, 30.0, 25.0, 0.0),
            (a, 2, 140.0, 25.0, 180.0),
            (b, 1, 40.0, 65.0, 90.0),
            (frame, 1, 120, 75, 0),
        ]
        self.expected = SheetExpectation(
            "lettering", WIDTH, HEIGHT, Kerf.of(KERF), GAP, MARGIN, tuple(self.part(*s) for s in self.spots)
        )
        self.write()

    @staticmethod
    def part(part, copy, x, y, turn):
        lie = Lie(x, y, turn)
        placed, marks = lie.region(part.region), lie.lines(part.marks)
        web = WEB if part.kind == "lettering" else None
        return ExpectedPart(part.plate, part.kind, copy, part.layer, placed, 1, web, marks, at=lie)

    def placed(self, kerf=KERF):
        return [PlacedToolpath(fitted(part, kerf), copy, x, y, turn) for part, copy, x, y, turn in self.spots]

    def write(self, placed=None):
        self.path.parent.mkdir(exist_ok=True)
        self.path.write_text(sheet_svg(WIDTH, HEIGHT, placed or self.placed()), encoding="utf-8")

    @property
    def text(self):
        return self.path.read_text(encoding="utf-8")

    def edit(self, text):
        assert text != self.text, "the edit changed nothing"
        self.path.write_text(text, encoding="utf-8")


@pytest.fixture
def sheet(tmp_path):
    return Sheet(tmp_path / "cut" / "mixed-01.svg")


def list_files(folder):
    """List what lies in an out folder, as a run does."""
    paths = [p for p in sorted(folder.rglob("*")) if p.is_file() and p.name != "files.json"]
    files = {p.relative_to(folder).as_posix(): digest(p.read_bytes()) for p in paths}
    (folder / "files.json").write_text(sealed(json.dumps({"files": files, "seal": ""})), encoding="utf-8")


@pytest.fixture(name="list_files")
def list_files_function():
    return list_files


@pytest.fixture(name="lettering")
def lettering_part():
    return lettering()


@pytest.fixture(name="template")
def template_part():
    return template()


@pytest.fixture
def disc():
    return region.as_region(Point(0, 0).buffer(10, quad_segs=120))
