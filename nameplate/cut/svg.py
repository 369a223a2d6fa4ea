"""Writes cut files: one SVG a sheet, true to size, with nothing in it that is not burned.

`width` and `height` in mm and a `viewBox` of the same numbers make one user unit one mm. Here, and only here, y turns
from up to down. Numbers are rounded to the pen's decimals first; pieces that rounding made vanish are dropped then.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from xml.sax.saxutils import escape

import numpy as np

from nameplate import tolerances
from nameplate.cut.kerf import Toolpath
from nameplate.cut.machine import PLAIN_PEN, CutPen
from nameplate.cut.order import Operation, PlacedToolpath, Step, burning_order, operation_colours
from nameplate.geometry.curves.curve import Curve
from nameplate.geometry.region import Array
from nameplate.units import trimmed

#: How a command of path data is written with its numbers.
_FORMS = {"M": "M%.10g %.10g", "L": "L%.10g %.10g", "C": "C%.10g %.10g %.10g %.10g %.10g %.10g"}


def steps_svg(
    width: float,
    height: float,
    steps: Sequence[Step],
    pen: CutPen = PLAIN_PEN,
    *,
    title: str = "",
    cuts: Sequence[str] = (),
) -> str:
    """Give the text of the cut file of one sheet of `width` by `height` mm, its origin at the lower left corner.

    The steps are in burning order; `cuts` are the words of their style.
    """
    return _document(width, height, _groups(steps, height, pen), title, cuts)


def _groups(steps: Sequence[Step], height: float, pen: CutPen, layer: str = "") -> list[str]:
    """Draw steps as groups of one operation each; where an operation comes again, its groups are numbered."""
    groups, count = [], Counter[str]()
    for operation, group in groupby(steps, key=lambda s: s.operation):
        count[operation] += 1
        name = operation if count[operation] == 1 else f"{operation}-{count[operation]}"
        groups.append(_group(operation, list(group), height, pen, f"{layer}-{name}" if layer else name))
    return groups


def _document(width: float, height: float, groups: Sequence[str], title: str = "", cuts: Sequence[str] = ()) -> str:
    named = f" data-title={_quoted(title)}" if title else ""
    named += f' data-cuts="{" ".join(cuts)}"' if cuts else ""
    w, h = numeral(width), numeral(height)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{w}mm" height="{h}mm" '
        f'viewBox="0 0 {w} {h}"{named}>'
    )
    return "\n".join(['<?xml version="1.0" encoding="UTF-8"?>', head, *groups, "</svg>", ""])


@dataclass(frozen=True, slots=True, eq=False)
class JigSheet:
    """The sheet on which a nominal jig is drawn, in mm; the jig is shifted by (x, y), so that it lies on it."""

    width: float
    height: float
    x: float
    y: float


def jig_sheet(paths: Sequence[Toolpath]) -> JigSheet:
    """Give the sheet of one nominal jig: the jig's own box in whole millimetres."""
    corners = np.vstack(
        [c.curve.segments.reshape(-1, 2) for p in paths for c in p.contours]
        + [np.asarray(m) for p in paths for m in p.marks]
    )
    low, high = np.floor(corners.min(axis=0)), np.ceil(corners.max(axis=0))
    (width, height), (x, y) = (high - low).tolist(), (-low).tolist()
    return JigSheet(width, height, x, y)


def jig_svg(paths: Sequence[Toolpath], pen: CutPen = PLAIN_PEN, *, layered: bool = False) -> str:
    """Give the text of the file of one nominal jig, on a `jig_sheet` of its own; make the paths with a kerf of 0.

    One that is `layered` is drawn layer upon layer, a group each.
    """
    sheet = jig_sheet(paths)
    placed = [PlacedToolpath(p, 1, sheet.x, sheet.y) for p in paths]
    if not layered:
        return steps_svg(sheet.width, sheet.height, burning_order(placed), pen)
    layers = []
    for own, there in zip(paths, placed, strict=True):
        drawn = _groups(burning_order([there]), sheet.height, pen, f"layer-{own.layer}")
        layers.append("\n".join([f'<g data-layer="{own.layer}" id="layer-{own.layer}">', *drawn, "</g>"]))
    return _document(sheet.width, sheet.height, layers)


def _group(operation: Operation, steps: Sequence[Step], height: float, pen: CutPen, name: str) -> str:
    """Draw an operation's lines as a group; programs show people its id, which no other group of a file has."""
    colour = operation_colours(pen.colours)[operation]
    drawn = f'stroke={_quoted(colour)} stroke-width="{numeral(pen.width)}"'
    head = f'<g data-operation="{operation}" id="{name}" fill="none" {drawn}>'
    return "\n".join([head, *(_path(step, _data(step.line, height, pen.decimals)) for step in steps), "</g>"])


def _path(step: Step, data: str) -> str:
    path = step.owner.toolpath
    marks = [f"data-plate={_quoted(path.plate)}", f'data-part="{path.kind}"', f'data-copy="{step.owner.copy}"']
    if path.layer != 1 or path.kind == "carrier":
        marks.append(f'data-layer="{path.layer}"')
    if step.feature is not None and step.operation == "cut-inside":
        marks.append(f'data-feature="{step.feature}"')
    if step.lead_in:
        marks.append(f'data-lead-in="{numeral(step.lead_in)}"')
    if step.arc is not None:
        marks.append(f'data-arc="{step.arc[0]}/{step.arc[1]}"')
    return f'<path {" ".join(marks)} fill="none" d="{data}"/>'


def _data(line: Curve | Array, height: float, decimals: int) -> str:
    """Give the path data of a line, without what rounding made vanish; the last line back of a closed one is Z's."""
    if not isinstance(line, Curve):
        points = _flipped(line, height, decimals)
        points = points[np.append(True, (np.diff(points, axis=0) != 0).any(axis=1))]
        return _written("L" * (len(points) - 1), points)
    segments = _flipped(line.segments, height, decimals)
    kept = np.flatnonzero((segments != segments[:, :1]).any(axis=(1, 2)))
    kept = kept[:-1] if line.closed and line.lines[kept[-1:]].any() else kept
    straight = line.lines[kept]
    shown = np.stack([np.zeros_like(straight), ~straight, ~straight, np.ones_like(straight)], axis=1)
    letters = np.where(straight, "L", "C").tolist()
    return _written(letters, np.vstack([segments[0, :1], segments[kept][shown]])) + "Z" * line.closed


def _written(letters: Sequence[str], points: Array) -> str:
    """Write a move and the commands after it with their points (n, 2): numbers as short as they go, below a million."""
    form = _FORMS["M"] + "".join(map(_FORMS.__getitem__, letters))
    return form % tuple(points.ravel().tolist())


def _flipped(points: Array, height: float, decimals: int) -> Array:
    return np.asarray(np.round(points * (1, -1) + (0, height), decimals) + 0.0)  # 0.0 in place of -0.0


def numeral(value: float) -> str:
    """Write one number of a cut file with at most tolerances.DECIMALS decimals."""
    return trimmed(value, tolerances.DECIMALS)


def _quoted(text: str) -> str:
    """Give text as an attribute value; what XML cannot carry (control characters, lone surrogates) becomes "?".

    >>> _quoted('a & "b"')
    '"a &amp; &quot;b&quot;"'
    """
    printable = "".join(c if c.isprintable() and not "\ud800" <= c <= "\udfff" else "?" for c in text)
    return '"' + escape(printable, {'"': "&quot;"}) + '"'
