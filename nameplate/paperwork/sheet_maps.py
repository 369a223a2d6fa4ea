"""Maps of sheets: each piece where it lies, filled lightly, with its plate's id; squares to find it by.

The *squares* of a sheet are lettered along x and numbered along y, from the corner that x and y are measured from, so
that a piece is at "C4". They are as large on every sheet of one size.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from xml.sax.saxutils import escape

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.region import Region
from nameplate.paperwork.labels import MapLabel, feature_of, place_labels
from nameplate.paperwork.pictures import BORDER, THIN_LINE, UNITS, open_svg, path_data
from nameplate.roster.spreadsheet import column_letters

#: Room for a map on a page of A4 as well as of Letter, the longer side first (mm).
ROOM = (246.0, 160.0)

#: Room for a map that is higher than wide where it shares an upright page with texts: so high at most (mm).
SHARED_HEIGHT = 140.0

#: An outline on a map lies at most this far (mm on paper) from the true one; a name is a few millimetres long there.
COARSE = 0.1

#: Size of the plates' ids, and of the letters and numbers of squares along the edges (mm on paper).
_ID, _EDGE = 2.6, 3.2

#: Width of the white edge round an id, em; less than twice the blank space that is kept round it, so that it covers no
#: other id.
_HALO = 0.2

#: Room for these letters and numbers (mm on paper).
_GUTTER = 5.0

#: A square is at least so large on paper (mm): a handful of pieces, found at a glance.
_LEAST_SQUARE = 17.0

#: Sides that squares have, mm, and ten times these.
_SIDES = (10, 20, 25, 50, 100, 200, 250, 500, 1000)


@dataclass(frozen=True, slots=True)
class Squares:
    """The squares of a sheet of `width` by `height` mm."""

    width: float
    height: float

    @property
    def scale(self) -> float:
        """How many mm of the sheet are one mm on paper."""
        long, short = max(self.width, self.height), min(self.width, self.height)
        return max(long / (ROOM[0] - 2 * _GUTTER), short / (ROOM[1] - 2 * _GUTTER))

    @property
    def on_paper(self) -> tuple[float, float]:
        """Width and height of the map on a page of its own, mm.

        >>> Squares(600, 300).on_paper, Squares(300, 600).on_paper
        ((246.0, 128.0), (128.0, 246.0))
        """
        return self.width / self.scale + 2 * _GUTTER, self.height / self.scale + 2 * _GUTTER

    @property
    def side(self) -> int:
        """Side of a square, mm.

        >>> Squares(600, 300).side, Squares(300, 200).side
        (50, 25)
        """
        least = _LEAST_SQUARE * self.scale
        return next(side * times for times in (1, 10, 100) for side in _SIDES if side * times >= least)

    def at(self, x: float, y: float) -> str:
        """Name the square of a place, mm from the lower left corner.

        >>> Squares(600, 300).at(120, 180), Squares(600, 300).at(600, 0)
        ('C4', 'L1')
        """
        column = min(max(0, int(x // self.side)), ceil(self.width / self.side) - 1)
        row = min(max(0, int(y // self.side)), ceil(self.height / self.side) - 1)
        return f"{column_letters(column + 1)}{row + 1}"


@dataclass(frozen=True, slots=True)
class SheetMap:
    """The map of one sheet: its `squares`, its pieces (name, region where it lies), and where the id of each stands
    (mm). A piece whose name is empty is drawn and not named. So many mm of the sheet as `scale` says are one mm on
    paper."""

    squares: Squares
    pieces: tuple[tuple[str, Region], ...]
    ids: tuple[MapLabel | None, ...]
    scale: float

    def found(self) -> Iterator[str]:
        """Name the square in which each piece is found: that in which its id stands, or where that stands beside it or
        is left out, the one that its middle is in."""
        for own, (_, region) in zip(self.ids, self.pieces, strict=True):
            yield self.squares.at(*(own.at if own and not own.to else rg.bounds(region).centre))

    def drawn(self, label: str, outline: Region | None = None, *, crossed: Collection[int] = ()) -> str:
        """Return it as SVG; `label` is read out to the blind. Pieces at the positions `crossed` are crossed out.

        A sheet with an `outline` of its own is drawn as that, and the rectangle round it is dashed.
        """
        width, height, scale = self.squares.width, self.squares.height, self.scale
        gutter = _GUTTER * scale
        box = Box(-gutter, -gutter, width + gutter, height + gutter)
        parts = [open_svg(box, label, width=(box.width + 2 * BORDER) / scale)]
        dashed = "" if outline is None else ' stroke-dasharray="6 4" stroke-opacity="0.6"'
        edge = path_data(rg.rectangle(0, 0, width, height))
        parts.append(f'<path {THIN_LINE} stroke-width="0.8"{dashed} d="{edge}"/>')
        if outline is not None:
            edge = path_data(outline, tolerance=COARSE * scale)
            parts.append(f'<path class="outline" {THIN_LINE} stroke-width="1.2" d="{edge}"/>')
        outlines = "".join(path_data(region, tolerance=COARSE * scale) for _, region in self.pieces)
        look = 'fill="#e4e4e4" fill-rule="evenodd" stroke="#888" stroke-width="0.5" vector-effect="non-scaling-stroke"'
        parts.append(f'<path {look} d="{outlines}"/>')
        parts.append(_grid(self.squares, scale))
        if crossed:
            over = " ".join(_cross(rg.bounds(region)) for n, (_, region) in enumerate(self.pieces) if n in crossed)
            parts.append(f'<path class="crossed" {THIN_LINE.replace("#555", "#000")} stroke-width="1.2" d="{over}"/>')
        parts.append(_labelled([one for one in self.ids if one]))
        return "".join([*parts, "</svg>"])


def map_of(width: float, height: float, pieces: Sequence[tuple[str, Region]], *, tallest: float = ROOM[0]) -> SheetMap:
    """Find the places of ids on the map of a sheet of `width` by `height` mm, at most `tallest` mm high on paper.

    >>> map_of(600, 300, [("", rg.rectangle(0, 0, 9, 9))]).ids
    (None,)
    """
    squares = Squares(width, height)
    scale = max(squares.scale, height / (tallest - 2 * _GUTTER))
    features = [feature_of(name, region, scale) for name, region in pieces if name]
    placed = iter(place_labels(features, Box(0.0, 0.0, width, height), _ID * scale))
    return SheetMap(squares, tuple(pieces), tuple(next(placed) if name else None for name, _ in pieces), scale)


def _grid(squares: Squares, scale: float) -> str:
    """Return the lines between squares, and their letters and numbers along all four edges."""
    w, h, side = squares.width, squares.height, squares.side
    lines = [f"M{_point(x, 0)} L{_point(x, h)}" for x in range(side, ceil(w), side)]
    lines += [f"M{_point(0, y)} L{_point(w, y)}" for y in range(side, ceil(h), side)]
    dashes = 'stroke-width="0.4" stroke-dasharray="2 3"'
    size, aside = round(_EDGE * scale * UNITS), _GUTTER * scale / 2
    texts = "".join(
        f'<text x="{round(x * UNITS)}" y="{round(-y * UNITS + size / 3)}">{name}</text>'
        for name, x, y in _edge_names(w, h, side, aside)
    )
    return (
        f'<path {THIN_LINE} {dashes} d="{" ".join(lines)}"/>'
        f'<g class="squares" font-family="sans-serif" font-size="{size}" text-anchor="middle" fill="#333">{texts}</g>'
    )


def _edge_names(w: float, h: float, side: int, aside: float) -> Iterator[tuple[str, float, float]]:
    """Give the letters and numbers of squares, and where each stands (mm)."""
    for n in range(ceil(w / side)):
        x = (n * side + min(w, (n + 1) * side)) / 2
        yield from ((column_letters(n + 1), x, y) for y in (-aside, h + aside))
    for n in range(ceil(h / side)):
        y = (n * side + min(h, (n + 1) * side)) / 2
        yield from ((str(n + 1), x, y) for x in (-aside, w + aside))


def _cross(box: Box) -> str:
    """Return the two diagonals of a box."""
    corners = (box.x0, box.y0), (box.x1, box.y1), (box.x0, box.y1), (box.x1, box.y0)
    return " ".join(f"{'LM'[n % 2 == 0]}{_point(*corner)}" for n, corner in enumerate(corners))


def _labelled(placed: Sequence[MapLabel]) -> str:
    """Return the leaders, then the ids with a halo each, all as wide as their boxes whatever the font."""
    if not placed:
        return ""
    em = placed[0].em * UNITS
    leads = " ".join(f"M{_point(*label.at)} L{_point(*label.to)}" for label in placed if label.to)
    texts = "".join(map(_text, placed))
    halo = f'stroke="#fff" stroke-width="{round(2 * _HALO * em)}" stroke-linejoin="round" paint-order="stroke"'
    return (
        (f'<path class="leaders" {THIN_LINE.replace("#555", "#000")} stroke-width="0.7" d="{leads}"/>' if leads else "")
        + f'<g class="ids" font-family="sans-serif" font-size="{round(em)}" font-weight="bold" text-anchor="middle" '
        f'fill="#000" {halo}>{texts}</g>'
    )


def _text(label: MapLabel) -> str:
    """Return an id; one that stands upright is turned about the middle of its box."""
    x, y, down = round(label.at[0] * UNITS), round(-label.at[1] * UNITS), round(label.em * UNITS / 3)
    turn = f' transform="rotate(-90 {x} {y})"' if label.upright else ""
    wide = f'textLength="{round(label.width * UNITS)}" lengthAdjust="spacingAndGlyphs"'
    return f'<text x="{x}" y="{y + down}" {wide}{turn}>{escape(label.text)}</text>'


def _point(x: float, y: float) -> str:
    """Write a place on a sheet (mm) as in path data.

    >>> _point(1.5, 2)
    '150 -200'
    """
    return f"{round(x * UNITS)} {round(-y * UNITS)}"
