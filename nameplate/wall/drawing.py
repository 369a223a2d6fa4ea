"""Draws a wall to scale: plates with their names where they hang, holes, datums, and how far every hole is from these.

A drawing is SVG in mm of the wall with y turned down, for looking at. What is too small on one picture to be read is
drawn once more in parts, larger.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from nameplate.geometry import region as rg
from nameplate.geometry.region import Box, Region
from nameplate.geometry.simplify import simplified
from nameplate.wall.grid import WallPlace
from nameplate.wall.hanging import Hanging
from nameplate.wall.plan import WallPlan
from nameplate.wall.table import in_mm

#: Room for a drawing on paper, mm: a page of A4 or Letter upright, less its margins and a caption.
WIDTH, HEIGHT = 184.0, 225.0

#: A plate is drawn at least so wide (mm on paper), that its name can be read; walls of smaller ones are drawn in parts.
LEAST_PLATE = 15.0

#: Heights of letters on paper (mm): of figures beside the wall, and the most and least of a name.
FIGURES, LARGEST_NAME, SMALLEST_NAME = 2.0, 3.5, 0.8

#: A name of more letters goes on two lines.
LONG_NAME = 20

#: Width of a letter of the page's face, as a share of its height: a little more than most have.
_LETTER = 0.62

#: Room (mm on paper) round the wall for figures.
_BORDER = 11.0

#: An outline in the drawing lies at most this far (mm on paper) from the true one.
_FINE = 0.05

_THIN = 'fill="none" stroke-width="{width:g}" stroke="{colour}"'


@dataclass(frozen=True, slots=True)
class WallPicture:
    """A drawing: its caption and its SVG."""

    caption: str
    svg: str


@dataclass(frozen=True, slots=True)
class _View:
    """A part of the wall that is drawn: its box (mm from the datums), and how many mm of it are one on paper."""

    box: Box
    scale: float

    def paper(self, mm: float) -> float:
        """Give how many mm of the wall so many mm on paper are."""
        return mm * self.scale


def pictures(plan: WallPlan, status: Mapping[str, str]) -> tuple[WallPicture, ...]:
    """Draw the whole wall and, where its plates come out small, its parts; `status` tells of plates not made."""
    whole = _view(plan.grid.wall)
    about = f"The wall, 1 : {whole.scale:.3g}"
    found = [WallPicture(about, _drawing(plan, plan.hangings, plan.reserved, whole, status))]
    if plan.grid.cell.width / whole.scale < LEAST_PLATE:
        found += _parts(plan, status)
    return tuple(found)


def _view(box: Box) -> _View:
    """Give the view of a box, as large as fits the paper."""
    room = (WIDTH - 2 * _BORDER, HEIGHT - 2 * _BORDER)
    return _View(box, max(box.width / room[0], box.height / room[1]))


def _parts(plan: WallPlan, status: Mapping[str, str]) -> Iterator[WallPicture]:
    """Draw groups of columns and rows, all at the scale at which their plates can be read."""
    cell, pitch, keys = plan.grid.cell, plan.grid.pitch, plan.keys
    scale = cell.width / LEAST_PLATE
    aside = keys.stagger * pitch[0]
    columns = _evenly(keys.columns or 1, ((WIDTH - 2 * _BORDER) * scale - cell.width - aside) / pitch[0])
    rows = _evenly(keys.rows or 1, ((HEIGHT - 2 * _BORDER) * scale - cell.height) / pitch[1])
    groups: dict[tuple[int, int], list[Hanging]] = {}
    for hanging in plan.hangings:
        groups.setdefault((hanging.place.row // rows, hanging.place.column // columns), []).append(hanging)
    for group in sorted(groups):
        own = groups[group]
        view = _View(_box_of(plan, own), scale)
        yield WallPicture(f"{_about(own)}, 1 : {scale:.3g}", _drawing(plan, own, (), view, status))


def _evenly(count: int, pitches: float) -> int:
    """Give how many of `count` go together so that groups are as few as `pitches` allow, and much alike.

    >>> _evenly(10, 8.6), _evenly(10, 2.6), _evenly(3, 0.2)
    (5, 3, 1)
    """
    most = max(1, int(pitches) + 1)
    return -(-count // -(-count // most))


def _about(hangings: Sequence[Hanging]) -> str:
    first, last = hangings[0].place.name, hangings[-1].place.name
    return first if first == last else f"{first} to {last}"


def _box_of(plan: WallPlan, hangings: Sequence[Hanging]) -> Box:
    cell = plan.grid.cell
    xs, ys = [h.x for h in hangings], [h.y for h in hangings]
    box = Box(min(xs) + cell.x0, min(ys) + cell.y0, max(xs) + cell.x1, max(ys) + cell.y1)
    return box.grown(0.02 * max(cell.width, cell.height))


def _drawing(
    plan: WallPlan, hangings: Sequence[Hanging], reserved: Sequence[WallPlace], view: _View, status: Mapping[str, str]
) -> str:
    outlines = {id(h): outline for h, outline in zip(plan.hangings, plan.outlines, strict=True)}
    drawn = [
        _open(view, "plan of the wall"),
        _rectangle(view.box, _line(view, 0.3, "#000") if view.box == plan.grid.wall else _line(view, 0.1, "#999")),
        *(
            _rectangle(_cut(box, view.box), 'fill="#ddd" stroke="none"')
            for box in plan.grid.keep_outs
            if _meets(box, view)
        ),
        *(_reserved(plan, place, view) for place in reserved),
        *(_plate(h, outlines[id(h)], view, status.get(h.plate.order.id, "")) for h in hangings),
        *_datums(plan, view),
        *_figures(hangings, view),
    ]
    return "".join([*drawn, "</svg>"])


def _open(view: _View, label: str) -> str:
    border = view.paper(_BORDER)
    box = view.box.grown(border)
    size = f'width="{box.width / view.scale:.2f}mm" height="{box.height / view.scale:.2f}mm"'
    look = f'viewBox="{_n(box.x0)} {_n(-box.y1)} {_n(box.width)} {_n(box.height)}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label={quoteattr(label)} {size} {look} '
        'font-family="sans-serif" text-anchor="middle">'
    )


def _line(view: _View, width: float, colour: str, dashes: str = "") -> str:
    """Give the look of a line so many mm wide on paper."""
    look = _THIN.format(width=round(view.paper(width), 3), colour=colour)
    gaps = " ".join(f"{view.paper(float(d)):g}" for d in dashes.split())
    return f'{look} stroke-dasharray="{gaps}"' if dashes else look


def _rectangle(box: Box, look: str) -> str:
    return f'<rect x="{_n(box.x0)}" y="{_n(-box.y1)}" width="{_n(box.width)}" height="{_n(box.height)}" {look}/>'


def _meets(box: Box, view: _View) -> bool:
    cut = _cut(box, view.box)
    return cut.width > 0 and cut.height > 0


def _cut(box: Box, view: Box) -> Box:
    return Box(max(box.x0, view.x0), max(box.y0, view.y0), min(box.x1, view.x1), min(box.y1, view.y1))


def _reserved(plan: WallPlan, place: WallPlace, view: _View) -> str:
    cell = plan.grid.cell
    box = Box(place.x + cell.x0, place.y + cell.y0, place.x + cell.x1, place.y + cell.y1)
    words = _text(place.x, place.y, "free", min(view.paper(FIGURES), cell.height / 3), "#777")
    return _rectangle(box, _line(view, 0.15, "#777", "1 1")) + words


def _plate(hanging: Hanging, outline: Region, view: _View, status: str) -> str:
    thin = simplified(outline, view.paper(_FINE))
    rings = (*rg.outer_rings(thin), *rg.hole_rings(thin))
    data = "".join(f"M{' '.join(f'{_n(x)} {_n(-y)}' for x, y in ring.tolist())}Z" for ring in rings)
    missing = status in ("held", "refused")
    look = _line(view, 0.2, "#777" if missing else "#000", "1.5 0.8" if missing else "")
    holes = "".join(_hole(hole.x, hole.y, view, drilled=hole.drilled) for hole in hanging.holes)
    return f'<path d="{data}" {look}/>{"".join(_words(hanging, outline, view, status))}{holes}'


def _words(hanging: Hanging, outline: Region, view: _View, status: str) -> Iterator[str]:
    """Write what a plate is and how far its holes are from the datums, clear of the holes, as far as it can be read."""
    box = rg.bounds(outline)
    plate = hanging.plate
    name = plate.order.name + (f" ({status})" if status in ("held", "refused") else "")
    where = [f"{in_mm(round(hole.x, 1))} | {in_mm(round(hole.y, 1))}" for hole in hanging.holes]
    names = _broken(name)
    for low, high, lines in _rooms(hanging, box, view, [f"{hanging.place.name} · {plate.id}", *names, *where]):
        step = min((high - low) / len(lines), 1.25 * view.paper(LARGEST_NAME))
        top = (low + high) / 2 + step * (len(lines) - 1) / 2
        for number, text in enumerate(lines):
            size = min(step / 1.25, 0.92 * box.width / (_LETTER * max(len(text), 1)))
            if size >= view.paper(SMALLEST_NAME):
                yield _text(box.centre[0], top - number * step, text, size, "#000", bold=text in names)


def _broken(name: str) -> tuple[str, ...]:
    """Break a long name at the space nearest to its middle.

    >>> _broken("Bäckerei am alten Anger"), _broken("Jo"), _broken("Featherstonehaugh-Marlowe")
    (('Bäckerei am', 'alten Anger'), ('Jo',), ('Featherstonehaugh-Marlowe',))
    """
    spaces = [at for at, letter in enumerate(name) if letter == " "]
    if len(name) <= LONG_NAME or not spaces:
        return (name,)
    at = min(spaces, key=lambda space: abs(space - (len(name) - 1) / 2))
    return name[:at], name[at + 1 :]


def _rooms(
    hanging: Hanging, box: Box, view: _View, lines: Sequence[str]
) -> Iterator[tuple[float, float, Sequence[str]]]:
    """Yield stretches of a plate's height that its holes leave, from and to which y, and the lines that go there."""
    edge, clear = 0.1 * box.height, view.paper(1.4)
    inside = [hole.y for hole in hanging.holes if box.y0 < hole.y < box.y1 and box.x0 < hole.x < box.x1]
    top, bottom = max(inside, default=box.y1), min(inside, default=box.y1)
    above, below = box.y1 - edge - top - clear, bottom - clear - box.y0 - edge
    if 2 * above > below > 0 and 2 * below > above:
        yield top + clear, box.y1 - edge, lines[:1]
        yield box.y0 + edge, bottom - clear, lines[1:]
    elif above > below:
        yield top + clear, box.y1 - edge, lines
    else:
        yield box.y0 + edge, min(bottom - clear, box.y1 - edge), lines


def _hole(x: float, y: float, view: _View, *, drilled: bool) -> str:
    arm, r = view.paper(1.2), view.paper(0.5)
    lines = f"M{_n(x - arm)} {_n(-y)}H{_n(x + arm)}M{_n(x)} {_n(-y - arm)}V{_n(-y + arm)}"
    cross = f'<path d="{lines}" {_line(view, 0.15, "#c00")}/>'
    fill = f'fill="{"#c00" if drilled else "#fff"}" stroke="#c00" stroke-width="{view.paper(0.15):.3g}"'
    return f'{cross}<circle cx="{_n(x)}" cy="{_n(-y)}" r="{_n(r)}" {fill}/>'


def _datums(plan: WallPlan, view: _View) -> Iterator[str]:
    """Draw the centre line and the level line, where they cross the view."""
    box, over, size = view.box, view.paper(4.0), view.paper(FIGURES)
    look = _line(view, 0.25, "#06c", "4 1 1 1")
    if box.x0 <= 0 <= box.x1:
        yield f'<path d="M0 {_n(-box.y1 - over)}V{_n(-box.y0 + over)}" {look}/>'
        yield _text(0.0, box.y0 - view.paper(5.5), "centre line", size, "#06c")
    if box.y0 <= 0 <= box.y1:
        yield f'<path d="M{_n(box.x0 - over)} 0H{_n(box.x1 + over)}" {look}/>'
        yield _text(box.x1 + view.paper(6.5), view.paper(1.4), "level line", view.paper(1.7), "#06c")


def _figures(hangings: Sequence[Hanging], view: _View) -> Iterator[str]:
    """Write the x of a row's holes above the wall, those of a row that stands aside below it, and the y of all."""
    size, box = view.paper(FIGURES), view.box
    edge = box.x0 - view.paper(1.2)
    for row, side in zip(_rows_to_tell(hangings), (1, -1), strict=False):
        y = (box.y1 if side > 0 else box.y0) + side * view.paper(2.4)
        yield _text(edge, y, f"row {row[0].place.name.rstrip('0123456789')}", size, "#000", anchor="end")
        for x in _apart((hole.x for h in row for hole in h.holes), size):
            yield _text(x, y, in_mm(round(x, 1)), size, "#000")
            tick = f"M{_n(x)} {_n(-y + side * 0.7 * size)}v{_n(side * view.paper(0.8))}"
            yield f'<path d="{tick}" {_line(view, 0.15, "#000")}/>'
    for y in _apart((hole.y for h in hangings for hole in h.holes), size / 3):
        yield _text(edge, y, in_mm(round(y, 1)), size, "#000", anchor="end")


def _rows_to_tell(hangings: Sequence[Hanging]) -> Iterator[list[Hanging]]:
    """Yield an even row and an odd one, if possible such as hang where they were planned."""
    rows: dict[int, list[Hanging]] = {}
    for hanging in hangings:
        rows.setdefault(hanging.place.row, []).append(hanging)
    for odd in (0, 1):
        own = [row for number, row in rows.items() if number % 2 == odd]
        as_planned = [row for row in own if not any(h.dx or h.dy or h.holes[0].drilled for h in row)]
        yield from (as_planned or own)[:1]


def _apart(values: Iterable[float], size: float) -> list[float]:
    """Give the values that can be written beside one another in letters of a size: no two nearer than their figures."""
    kept: list[float] = []
    for value in sorted(set(values)):
        if not kept or value - kept[-1] >= 3.4 * size:
            kept.append(value)
    return kept


def _text(x: float, y: float, text: str, size: float, colour: str, *, bold: bool = False, anchor: str = "") -> str:
    """Write a line of text about the height y (mm, y up)."""
    weight = ' font-weight="bold"' if bold else ""
    to = f' text-anchor="{anchor}"' if anchor else ""
    where = f'x="{_n(x)}" y="{_n(-y + 0.35 * size)}"'
    return f'<text {where} font-size="{_n(size)}" fill="{colour}"{weight}{to}>{escape(text)}</text>'


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
