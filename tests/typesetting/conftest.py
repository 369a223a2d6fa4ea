"""Fonts made for the tests: their outlines are known exactly, whatever file format carries them."""

from collections.abc import Callable
from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen

#: "A" is a block 500 x 700 at (50, 0) drawn as two overlapping blocks, "a" a block 400 x 500; the mark is 100 x 100
#: above "a". Even-odd filling of "A" would lose the overlap of 100 x 700.
BLOCKS = {
    ".notdef": [],
    "space": [],
    "A": [(50, 0, 350, 700), (250, 0, 550, 700)],
    "a": [(50, 0, 450, 500)],
    "n": [(50, 0, 450, 500)],
    "o": [(50, 0, 450, 500)],
    "acutecomb": [(200, 600, 300, 700)],
}
ADVANCES = {".notdef": 500, "space": 250, "A": 600, "a": 500, "n": 500, "o": 500, "acutecomb": 500}
MAP = {0x20: "space", ord("A"): "A", ord("a"): "a", ord("n"): "n", ord("o"): "o", 0x301: "acutecomb"}


def _draw(pen, blocks):
    for x0, y0, x1, y1 in blocks:
        pen.moveTo((x0, y0))
        for corner in ((x0, y1), (x1, y1), (x1, y0)):
            pen.lineTo(corner)
        pen.closePath()


def _builder(*, cff: bool) -> FontBuilder:
    fb = FontBuilder(1000, isTTF=not cff)
    fb.setupGlyphOrder(list(BLOCKS))
    fb.setupCharacterMap(MAP)
    if cff:
        strings = {}
        for name, blocks in BLOCKS.items():
            pen = T2CharStringPen(ADVANCES[name], None)
            _draw(pen, blocks)
            strings[name] = pen.getCharString()
        fb.setupCFF("Blocks", {"FullName": "Blocks"}, strings, {})
    else:
        glyphs = {}
        for name, blocks in BLOCKS.items():
            pen = TTGlyphPen(None)
            _draw(pen, blocks)
            glyphs[name] = pen.glyph()
        fb.setupGlyf(glyphs)
    fb.setupHorizontalMetrics({n: (a, min((b[0] for b in BLOCKS[n]), default=0)) for n, a in ADVANCES.items()})
    fb.setupHorizontalHeader(ascent=800, descent=-200)
    fb.setupNameTable({"familyName": "Blocks", "styleName": "Regular"})
    return fb


@pytest.fixture
def make_font(tmp_path: Path) -> Callable[..., Path]:
    def make(name: str = "blocks.ttf", *, fs_type: int = 0, cff: bool = False, os2: bool = True) -> Path:
        fb = _builder(cff=cff)
        if os2:
            fb.setupOS2(fsType=fs_type, sTypoAscender=800, sCapHeight=700, sxHeight=500)
        fb.setupPost()
        path = tmp_path / name
        fb.save(path)
        return path

    return make


@pytest.fixture
def variable_font(tmp_path: Path) -> Path:
    """One axis, weight 100 to 900: "a" grows from 400 to 600 wide, its advance from 500 to 700."""
    fb = _builder(cff=False)
    fb.setupOS2(fsType=0, sTypoAscender=800, sCapHeight=700, sxHeight=500)
    fb.setupPost()
    fb.setupFvar([("wght", 100, 100, 900, "Weight")], [])
    corners = [(0, 0), (0, 0), (200, 0), (200, 0)]
    phantoms = [(0, 0), (200, 0), (0, 0), (0, 0)]
    from fontTools.ttLib.tables.TupleVariation import TupleVariation

    fb.setupGvar({"a": [TupleVariation({"wght": (0.0, 1.0, 1.0)}, corners + phantoms)]})
    path = tmp_path / "variable.ttf"
    fb.save(path)
    return path
