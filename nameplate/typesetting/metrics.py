"""What a font is like, measured on its outlines and not read from its tables, which are often wrong or missing.

Lengths in em, angles in degrees. Everything is measured once per process and font.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator
from functools import lru_cache, partial

import numpy as np

from nameplate.geometry.measure import narrowed
from nameplate.geometry.region import Array, Region, bounds, closed_lines, intersects, largest, moved, offset, solids
from nameplate.typesetting.glyph_outlines import Source, glyph_of, glyph_region, letter_region, opened
from nameplate.typesetting.shaping import shape_loosely

#: Flat or nearly flat letters, the first alphabet that the font has: capitals, and small letters without strokes
#: above or below the line.
CAPITALS = ("ABDEFHIKLMNPRTUVXYZ", "АБВГДЕИКЛМНПРТХ", "ΑΒΓΔΕΖΗΙΚΛΜΝΠΡΤ")
SMALL = ("acemnorsuvwxz", "агеимноптх", "αειμνοπτω")

#: Letters with upright strokes, on which the slant is measured, and all small letters, on which necks are.
STEMS = ("bdhiklmnpu", "ийлмнптш", "ικλπ")
NECK_LETTERS = ("abcdefghijklmnopqrstuvwxyz", "абвгдежзийклмнопрстухцчшщъыьэюя", "αβγδεζηθικλμνξοπρστυφχψω")

#: Frequent pairs of small letters, on which it is seen whether a font joins them.
PAIRS = ("an", "en", "in", "ar", "la", "ei", "na", "li", "ma", "de", "ha", "ne")

#: Chord error for measuring, in em: coarse, since a measure is wanted to 1 %, and fast.
COARSE = 1e-3

#: Pieces under this area (em2) after erosion are tips of strokes and dots, not parts of a letter.
GRAIN_EM = 4e-4

#: Slants that are tried, in degrees, and the width of a column of the histogram in em. A finer column sees the
#: serifs, a coarser one blurs the stems.
SLANTS = np.arange(-12.0, 45.5, 1.5)
FINER_SLANTS = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
COLUMN = 0.01
SCAN_STEP = 0.01

#: A stated height is believed when the drawn letters are within this part of it: curves and swashes overshoot.
HEIGHT_AGREEMENT = 0.1

#: Necks are found to NECK_STEP (em). They are looked for upwards from FIRST_NECK, each width NECK_STRIDE times the
#: last: a larger stride is faster and may step over a piece that splits off and vanishes.
NECK_STEP = 5e-4
FIRST_NECK = 8e-3
NECK_STRIDE = 1.08
WIDEST_NECK = 0.3


def _letters(source: Source, alphabets: tuple[str, ...]) -> list[Region]:
    for alphabet in alphabets:
        shapes = [letter_region(source, c, COARSE) for c in alphabet]
        drawn = [s for s in shapes if not s.is_empty]
        if len(drawn) * 2 >= len(alphabet):
            return drawn
    return []


@lru_cache(maxsize=64)
def cap_height(source: Source) -> float:
    """Give the height of the capitals, in em: the font's own figure where the drawn capitals bear it out.

    It is the median height of the drawn capitals where they do not, and 0.7 (common practice) without any.
    """
    return _height(source, "CAP_HEIGHT", CAPITALS, 0.7)


@lru_cache(maxsize=64)
def x_height(source: Source) -> float:
    """Give the height of the small letters, in em, found like `cap_height`; two thirds of it when there are none."""
    return _height(source, "X_HEIGHT", SMALL, cap_height(source) * 2 / 3)


def _height(source: Source, tag: str, alphabets: tuple[str, ...], otherwise: float) -> float:
    import uharfbuzz as hb

    font, tops = opened(source), [bounds(s).y1 for s in _letters(source, alphabets)]
    stated = float(font.get_metric_position(hb.OTMetricsTag[tag]) or 0) / float(font.face.upem)
    drawn = statistics.median(tops) if tops else otherwise
    return stated if abs(stated - drawn) <= HEIGHT_AGREEMENT * drawn else drawn


@lru_cache(maxsize=64)
def slant(source: Source) -> float:
    """Give the lean of the stems from upright, in degrees, positive to the right; 0 when there are no stems.

    Method: the shear that makes the histogram of ink per column sharpest (largest sum of squares) stands the stems
    upright. The histogram is summed over letters, each on its own.
    """
    scans = [_scan(s) for s in _letters(source, STEMS)]
    if not scans:
        return 0.0
    near = _sharpest(scans, SLANTS)
    return _sharpest(scans, near + FINER_SLANTS)


def _sharpest(scans: list[tuple[Array, Array, Array]], angles: Array) -> float:
    sharpness = [sum(_sharpness(scan, float(angle)) for scan in scans) for angle in angles]
    return float(angles[int(np.argmax(sharpness))])


def _scan(shape: Region) -> tuple[Array, Array, Array]:
    """Cut a shape into level strips: (y, left, right) of each run of ink, as three (n,) arrays."""
    rings = closed_lines(shape)
    starts = np.concatenate([r[:-1] for r in rings])
    ends = np.concatenate([r[1:] for r in rings])
    box = bounds(shape)
    levels = np.arange(box.y0 + SCAN_STEP / 2, box.y1, SCAN_STEP)
    ys, xs = [], []
    for y in levels:
        crosses = (starts[:, 1] <= y) != (ends[:, 1] <= y)
        a, b = starts[crosses], ends[crosses]
        x = np.sort(a[:, 0] + (y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0]))
        ys.append(np.full(len(x) // 2, y))
        xs.append(x[: len(x) // 2 * 2].reshape(-1, 2))
    runs = np.concatenate(xs)
    return np.concatenate(ys), runs[:, 0], runs[:, 1]


def _sharpness(scan: tuple[Array, Array, Array], angle: float) -> float:
    y, left, right = scan
    lean = y * np.tan(np.radians(angle))
    origin = float((left - lean).min())
    columns = int(np.ceil((float((right - lean).max()) - origin) / COLUMN)) + 2
    ink = _covered((right - lean - origin) / COLUMN, columns) - _covered((left - lean - origin) / COLUMN, columns)
    return float(np.sum(np.diff(ink) ** 2))


def _covered(edges: Array, columns: int) -> Array:
    """Sum, over edges, of how much of [0, column end] lies left of the edge, for each column boundary."""
    reach = np.arange(columns)[:, None]
    return np.asarray(np.minimum(reach, edges[None, :]).sum(axis=1))


@lru_cache(maxsize=64)
def neck(source: Source) -> float:
    """Give the least width at which a small letter's main stroke splits, in em; WIDEST_NECK when none does.

    The letter that splits first decides. A letter splits at width w when what a disc of diameter w can enter is not
    one piece; pieces under GRAIN_EM are tips of strokes and do not count.
    """
    least = WIDEST_NECK
    for body in _bodies(source):
        least = min(least, _split_width(body, least))
    return least


def neck_is_over(source: Source, width: float) -> bool:
    """Tell whether the `neck` is wider than `width` em, sooner than it is measured."""
    most = math.nextafter(width, math.inf)
    return most <= WIDEST_NECK and all(_split_width(body, most) > width for body in _bodies(source))


def _bodies(source: Source) -> Iterator[Region]:
    """Yield the main stroke of each small letter, drawn when it is asked for."""
    for alphabet in NECK_LETTERS:
        there = [c for c in alphabet if glyph_of(source, c)]
        if len(there) * 2 >= len(alphabet):
            shapes = (letter_region(source, c, COARSE) for c in there)
            yield from (Region([largest(solids(shape))]) for shape in shapes if not shape.is_empty)
            return


def _split_width(body: Region, most: float) -> float:
    """Look upwards in steps, since a piece that splits off may vanish again, then halve the step that split."""
    low, high = 0.0, FIRST_NECK
    while _in_one_piece(body, high):
        low, high = high, high * NECK_STRIDE
        if low >= most:
            return most
    return narrowed(low, high, partial(_in_one_piece, body), within=NECK_STEP)[0]


def _in_one_piece(body: Region, width: float) -> bool:
    inner = offset(body, -width / 2)
    return sum(1 for piece in solids(inner) if piece.area > GRAIN_EM) == 1


@lru_cache(maxsize=256)
def stem(source: Source) -> float:
    """Give the ordinary thickness of the small letters' strokes, in em; 0 when there are none.

    The area of a stroke is its length times its thickness, and its outline runs along it twice: 2 area / perimeter.
    """
    shapes = _letters(source, SMALL)
    return statistics.median(2 * s.area / s.length for s in shapes) if shapes else 0.0


@lru_cache(maxsize=64)
def joins(source: Source) -> bool:
    """Tell whether the font is a joined script: whether most pairs of its small letters touch as set."""
    upem = float(opened(source).face.upem)
    touching = 0
    for pair in PAIRS:
        glyphs = shape_loosely(source, pair)
        if len(glyphs) == 1:  # a ligature
            touching += 1
            continue
        a, b = (moved(glyph_region(source, g.gid, COARSE), g.x / upem, g.y / upem) for g in glyphs[:2])
        touching += intersects(a, b)
    return touching * 2 > len(PAIRS)
