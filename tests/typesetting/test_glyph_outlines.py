import ctypes

import freetype
import numpy as np
import pytest

from nameplate.errors import FontError
from nameplate.geometry.region import bounds, hausdorff, hole_count, solids
from nameplate.typesetting.fonts import bundled_fonts
from nameplate.typesetting.glyph_outlines import FLATNESS, Source, glyph_of, glyph_region, letter_region, opened

#: Glyphs compared per font; every step-th of the font, so that accents, figures and ligatures are among them.
GLYPHS_PER_FONT = 15
FINE = 1e-5


def raster_area(face: freetype.Face, gid: int) -> float:
    """Area in em2 of a glyph as FreeType's exact-coverage rasteriser fills it, by the non-zero rule."""
    face.load_glyph(gid, freetype.FT_LOAD_NO_HINTING | freetype.FT_LOAD_NO_BITMAP)
    face.glyph.render(freetype.FT_RENDER_MODE_NORMAL)
    bitmap = face.glyph.bitmap._FT_Bitmap  # the public `buffer` builds a list of a million integers
    size = bitmap.rows * abs(bitmap.pitch)
    pixels = np.frombuffer(ctypes.string_at(bitmap.buffer, size), dtype=np.uint8) if size else np.zeros(0)
    return float(pixels.sum(dtype=np.int64)) / 255 / face.units_per_EM**2


@pytest.mark.parametrize("info", bundled_fonts(), ids=lambda i: i.name)
def test_area_agrees_with_freetype_raster(info):
    face = freetype.Face(str(info.path))
    face.set_pixel_sizes(0, face.units_per_EM)  # one pixel a font unit: no rounding of points
    source = Source(info.path)
    count = opened(source).face.glyph_count
    ours, theirs = [], []
    for gid in range(0, count, max(1, count // GLYPHS_PER_FONT)):
        ours.append(glyph_region(source, gid, FINE).area)
        theirs.append(raster_area(face, gid))
    assert sum(ours) > 0
    # relative to the glyph, or to a small letter (1/20 em2) where it is less: FreeType flattens to a quarter pixel
    assert (np.abs(np.subtract(ours, theirs)) <= 5e-4 * np.maximum(theirs, 0.05)).all()


def test_ordinary_flatness_changes_little():
    source = Source(bundled_fonts()[0].path)
    letters = [(letter_region(source, c), letter_region(source, c, FINE)) for c in "Ago8"]
    for coarse, fine in letters:
        assert coarse.area == pytest.approx(fine.area, rel=2e-3)
        assert hausdorff(coarse, fine) <= FLATNESS


@pytest.mark.parametrize("letter", "ÅÇĄŞ")
def test_overlapping_parts_of_great_vibes_are_not_lost(letter):
    # the accents of this font overlap their letters: even-odd filling makes holes of the overlaps
    info = next(i for i in bundled_fonts() if i.name == "Great Vibes")
    face = freetype.Face(str(info.path))
    face.set_pixel_sizes(0, face.units_per_EM)  # one pixel a font unit: no rounding of points
    source = Source(info.path)
    assert letter_region(source, letter).area == pytest.approx(raster_area(face, glyph_of(source, letter)), rel=1e-3)


@pytest.mark.parametrize("cff", [False, True], ids=["TrueType", "CFF"])
def test_known_blocks_are_drawn_alike_from_either_format(make_font, cff):
    source = Source(make_font("blocks.otf" if cff else "blocks.ttf", cff=cff))
    block = letter_region(source, "A")
    assert block.area == pytest.approx(0.5 * 0.7)
    assert (len(solids(block)), hole_count(block)) == (1, 0)
    assert tuple(bounds(block)) == pytest.approx((0.05, 0, 0.55, 0.7))


@pytest.mark.parametrize(("weight", "width"), [(100, 0.4), (500, 0.5), (900, 0.6)])
def test_variation_axis_moves_the_outline(variable_font, weight, width):
    assert bounds(letter_region(Source(variable_font, (("wght", weight),)), "a")).width == pytest.approx(width)


def test_a_letter_without_glyph_is_empty(make_font):
    assert letter_region(Source(make_font()), "Z").is_empty


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(FontError, match=r"gone\.ttf"):
        opened(Source(tmp_path / "gone.ttf"))
