"""Opens a font file for shaping and drawing, and gives the outline of a glyph as a region.

Everything heavy is kept once per process and found by its `Source` (file, axis settings, and what stands for the bytes
of a file that may be replaced), so that a font value itself stays small and can be sent to another process. Lengths
are in em: 1.0 is the font's em square.
"""

from __future__ import annotations

from functools import lru_cache, partial
from pathlib import Path
from typing import Any, NamedTuple

from nameplate.errors import FontError, GeometryError
from nameplate.geometry.outline import drawn_region
from nameplate.geometry.region import Region, moved
from nameplate.geometry.simplify import cleaned
from nameplate.typesetting.font_files import read_font

#: Chord error of glyph outlines, in em. At an em of 60 mm it is 0.005 mm (see tolerances.FLATTEN); halving it makes
#: 1.4 times as many points.
FLATNESS = 8e-5

#: From this many times FLATNESS on, an outline is thinned out from the fine one instead of being drawn again, which
#: takes a tenth of the time.
COARSER = 4


class Source(NamedTuple):
    """Where outlines come from: a font file, and the values of its variation axes as (tag, value) pairs. `mark` is the
    digest of a file that another may take the place of, so that what is kept of the one is not taken for the other's.
    """

    path: Path
    axes: tuple[tuple[str, float], ...] = ()
    mark: str = ""


@lru_cache(maxsize=32)
def opened(source: Source) -> Any:  # noqa: ANN401 - the shaping library has no types
    """Open a font for shaping and drawing, in font units.

    Raises FontError when the file cannot be read.
    """
    import uharfbuzz as hb

    font = hb.Font(hb.Face(hb.Blob(read_font(source.path))))
    if source.axes:
        font.set_variations(dict(source.axes))
    return font


@lru_cache(maxsize=4096)
def glyph_region(source: Source, gid: int, flatness: float = FLATNESS) -> Region:
    """Give one glyph in em, its overlapping strokes united (non-zero), curves within `flatness` em of their chords.

    Raises FontError when the outline is not usable.
    """
    if flatness >= COARSER * FLATNESS:
        return cleaned(glyph_region(source, gid), step=flatness)
    font = opened(source)
    upem = float(font.face.upem)
    try:
        return moved(drawn_region(partial(font.draw_glyph_with_pen, gid), flatness * upem), scale=1 / upem)
    except GeometryError as error:
        raise FontError(f"{source.path}: glyph {gid} cannot be used: {error}") from None


def glyph_of(source: Source, letter: str) -> int:
    """Give the glyph that the font maps one character to; 0 when it has none."""
    return int(opened(source).get_nominal_glyph(ord(letter)) or 0)


def letter_region(source: Source, letter: str, flatness: float = FLATNESS) -> Region:
    """Give the unshaped glyph of one character in em; empty when the font has none."""
    gid = glyph_of(source, letter)
    return glyph_region(source, gid, flatness) if gid else Region()
