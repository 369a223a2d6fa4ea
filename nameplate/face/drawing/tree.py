"""Reads an SVG: walks the document for every shape that is drawn, as path data with its matrix to millimetres (y still
down), and gives their lines as traces.

Terms. A *place* is what an element inherits: matrix, viewport, visibility, fill, and the names of the groups that it is
in: their ids and the attributes `label` by which drawing programs call a layer. The walk keeps its own stack and counts
what it visits, so that nesting and `use` cannot make it deep or endless.

Known limits: of style sheets only `display`, `visibility` and `fill` of simple selectors (a name, a class, an id) are
read; CSS transforms and `transform-origin` are refused, because ignoring them would misplace the outline.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from nameplate.errors import FaceError
from nameplate.face.drawing import paths, units
from nameplate.face.drawing.traces import Trace, Traced, Unsized
from nameplate.face.drawing.xml_text import MOST_BYTES, MOST_ELEMENTS, XLINK, Element, local_name, read_root
from nameplate.geometry.region import Array
from nameplate.units import MM_PER_UNIT

#: Most `use` elements inside one another; drawings use two or three.
MOST_USES = 12

#: Fills that colour nothing, or look like bare paper; and those that mean the same.
_BARE = frozenset({"none", "transparent", "white", "#fff", "#ffffff", "rgb(255,255,255)"})
_BLACK = frozenset({"black", "#000", "#000000", "rgb(0,0,0)"})

_CONTAINERS = frozenset({"svg", "g", "a", "switch", "use", "symbol"})
_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "polygon", "polyline", "line"})
_NOT_OUTLINES = frozenset({"text", "image"})
_BRACE = re.compile(r"([{}])")

#: A comment of a style sheet; one that is not ended goes to the end (CSS Syntax 3, section 4.3.2).
_COMMENT = re.compile(r"/\*(?:[^*]|\*(?!/))*+(?:\*/)?+")

#: What of a style is read.
_STYLES_READ = frozenset({"display", "visibility", "transform", "fill", "clip-path", "mask"})

#: What hides a part of a drawing. A program that writes pages clips all of it to the page, so it is told, not refused.
_HIDING = ("clip-path", "mask")

#: Most characters of attributes read on the walk, in which what is used again counts again: bounds what `use` can
#: multiply. Twice the largest file.
MOST_READ = 2 * MOST_BYTES


@dataclass(frozen=True, slots=True)
class Place:
    """What an element inherits from those around it."""

    matrix: Array
    width: float
    height: float
    visible: bool = True
    fill: str = "black"
    names: tuple[str, ...] = ()
    uses: tuple[str, ...] = ()


#: What a document inherits: CSS pixels become millimetres, and nothing is known of a viewport.
_NOWHERE = Place(units.scaling(MM_PER_UNIT["px"], MM_PER_UNIT["px"]), math.nan, math.nan)


@dataclass(frozen=True, slots=True)
class Drawn:
    """One drawn shape: what it is called in messages, its path data, its matrix to millimetres.

    `names` are its own and those of the groups it is in, the nearest first; `fill` is "" where it looks like paper.
    """

    label: str
    data: str
    matrix: Array
    names: tuple[str, ...] = ()
    fill: str = ""


def read_svg(path: Path) -> Traced:
    """Give the lines of an SVG file; raises FaceError with the reasons to refuse it."""
    root = read_root(path)
    shapes, ignored = _shapes(root)
    page = _page(root) if shapes else None
    sized = any(units.unit_of(root.get(side)) not in ("", "%") for side in ("width", "height"))
    unsized = None if sized else Unsized("96 of its units to the inch", 96 / 72, "at 72 to the inch")
    return Traced(tuple(_traces(shapes)), ignored, unsized, page)


def _traces(shapes: Sequence[Drawn]) -> list[Trace]:
    found: list[Trace] = []
    problems, count = [], 0
    read: dict[str, tuple[paths.Contour, ...]] = {}
    for element, shape in enumerate(shapes):
        try:
            if shape.data not in read:
                read[shape.data] = paths.contours(shape.data)
            for contour in read[shape.data]:
                count += len(contour.segments)
                strokes = ((replace(contour, matrix=shape.matrix), False),)
                found.append(Trace(shape.label, strokes, contour.closed, shape.names, "", shape.fill, element))
        except FaceError as error:
            problems += [f"{shape.label}: {p}" for p in error.problems]
        if count > paths.MOST_SEGMENTS:
            raise FaceError(f"the drawing has more than {paths.MOST_SEGMENTS} segments; simplify the outline")
    if problems:
        raise FaceError(problems)
    if not found:
        raise FaceError("nothing is drawn in it that could be an outline")
    return found


def _shapes(root: Element) -> tuple[list[Drawn], tuple[str, ...]]:
    """Give every visible shape of a document, and what is no outline; raises FaceError with all problems at once."""
    problems: list[str] = []
    drawn: list[Drawn] = []
    ignored: list[str] = []
    styles = _style_rules(root)
    ids = {e.get("id"): e for e in root.iter() if isinstance(e.tag, str) and e.get("id")}
    stack: list[tuple[Element, Place]] = [(root, _NOWHERE)]
    visited = read = 0
    while stack:
        element, place = stack.pop()
        visited, read = visited + 1, read + sum(map(len, element.attrib.values()))
        if visited > MOST_ELEMENTS:
            raise FaceError(f"the drawing repeats itself to more than {MOST_ELEMENTS} elements; save only the outline")
        if read > MOST_READ:
            raise FaceError(f"the drawing repeats itself to more than {MOST_READ / 1e6:g} MB; save only the outline")
        name = local_name(element)
        try:
            inner = _inherit(element, name, place, styles) if name in _CONTAINERS | _SHAPES | _NOT_OUTLINES else None
            if inner is None:
                continue
            ignored += [f"the {what} (what it hides counts)" for what in _hiding(element, name, styles)]
            if name in _SHAPES:
                drawn += _shape(element, name, inner)
            elif name in _NOT_OUTLINES:
                ignored.append(f"<{name}>")
            else:
                stack += reversed(list(_children(element, name, inner, ids)))
        except FaceError as error:
            problems += [f"{_label(element, name)}: {p}" for p in error.problems]
    if problems:
        raise FaceError(dict.fromkeys(problems))
    return drawn, tuple(sorted(set(ignored)))


def _label(element: Element, name: str, names: tuple[str, ...] = ()) -> str:
    if own := element.get("id"):
        return f"<{name} id={units.short(own)}>"
    return f"<{name}>{f' of {units.short(names[0])}' if names else ''} on line {element.sourceline}"


def _names(element: Element) -> Iterator[str]:
    """Give what an element is called: its labels, of any namespace, and its id."""
    for key, value in element.attrib.items():
        if key.rpartition("}")[2].lower() == "label" and value.strip():
            yield value.strip()
    if own := element.get("id", "").strip():
        yield own


# --- what is inherited ----------------------------------------------------------------------------------------------


def _inherit(element: Element, name: str, place: Place, styles: dict[str, dict[str, str]]) -> Place | None:
    """Give the place inside an element, None when it is not displayed."""
    style = _style(element, name, styles)
    if style.get("display", element.get("display", "")).strip() == "none":
        return None
    if style.get("transform", "none").strip() != "none" or element.get("transform-origin"):
        raise FaceError("CSS transforms and transform-origin are not read; apply the transform in the drawing program")
    visibility = style.get("visibility", element.get("visibility", "")).strip()
    visible = {"visible": True, "hidden": False, "collapse": False}.get(visibility, place.visible)
    matrix = units.joined(place.matrix, units.transform(element.get("transform", "")))
    names = (*_names(element), *place.names)
    fill = _fill(style.get("fill", element.get("fill", "")), place.fill)
    inner = replace(place, matrix=matrix, visible=visible, fill=fill, names=names)
    return _viewport(element, inner, outermost=math.isnan(place.width)) if name == "svg" else inner


def _hiding(element: Element, name: str, styles: dict[str, dict[str, str]]) -> list[str]:
    style = _style(element, name, styles)
    return [key for key in _HIDING if style.get(key, element.get(key, "none")).strip() != "none"]


def _fill(text: str, inherited: str) -> str:
    """Give a fill as one word, "" for one that looks like bare paper.

    >>> _fill("", "black"), _fill("#FFF", "black"), _fill("rgb(0, 0, 0)", "")
    ('black', '', 'black')
    """
    word = "".join(text.lower().split())
    if word in ("", "inherit"):
        return inherited
    return "" if word in _BARE else "black" if word in _BLACK else word


def _style(element: Element, name: str, styles: dict[str, dict[str, str]]) -> dict[str, str]:
    if not styles:
        return _declarations(element.get("style", ""))
    keys = ["*", name, *dict.fromkeys(f".{c}" for c in element.get("class", "").split()), f"#{element.get('id', '')}"]
    merged: dict[str, str] = {}
    for key in keys:
        merged |= styles.get(key, {})
    return merged | _declarations(element.get("style", ""))


def _declarations(text: str) -> dict[str, str]:
    if not text:
        return {}
    pairs = ((k.strip().lower(), v, colon) for k, colon, v in (d.partition(":") for d in text.split(";")))
    return {k: v.replace("!important", "").strip() for k, v, colon in pairs if colon and k in _STYLES_READ}


def _style_rules(root: Element) -> dict[str, dict[str, str]]:
    rules: dict[str, dict[str, str]] = {}
    for element in root.iter():
        if local_name(element) == "style":
            for selectors, body in _rules(_COMMENT.sub("", "".join(element.itertext()))):
                declared = _declarations(body)
                for selector in selectors.split(",") if declared else ():
                    rules.setdefault(selector.strip(), {}).update(declared)
    return rules


def _rules(text: str) -> Iterator[tuple[str, str]]:
    """Give selectors and declarations of each rule, the innermost ones where rules stand inside others."""
    pieces = _BRACE.split(text)
    for selectors, opened, body, closed in zip(pieces, pieces[1:], pieces[2:], pieces[3:], strict=False):
        if (opened, closed) == ("{", "}") and selectors:
            yield selectors, body


# --- viewports ------------------------------------------------------------------------------------------------------


def _page(root: Element) -> Array | None:
    """Give two opposite corners of the outermost viewport in millimetres, None where nothing says how large it is."""
    box = units.view_box(root.get("viewBox"))
    place = _viewport(root, _NOWHERE, outermost=True)
    if box is None and "%" in (_size_text(root, "width") + _size_text(root, "height")):
        return None
    x, y = (box.x, box.y) if box else (0.0, 0.0)
    corners = np.array([[x, y, 1.0], [x + place.width, y + place.height, 1.0]])
    inside: Array = (corners @ place.matrix.T)[:, :2]
    return inside


def _viewport(element: Element, place: Place, *, outermost: bool) -> Place:
    box = units.view_box(element.get("viewBox"))
    if outermost:
        width, height = _outer_size(element, box)
    else:
        width = units.length(_size_text(element, "width"), place.width)
        height = units.length(_size_text(element, "height"), place.height)
        place = _set_off(element, place)
    if not (width > 0 and height > 0):
        raise FaceError(f"the drawing area is {width:g} x {height:g}; both must be above 0")
    return _fitted(element, place, box, width, height) if box else replace(place, width=width, height=height)


def _set_off(element: Element, place: Place) -> Place:
    """Give the place at an element's `x` and `y`."""
    x = units.length(element.get("x", "0"), place.width)
    y = units.length(element.get("y", "0"), place.height)
    return replace(place, matrix=units.joined(place.matrix, units.translation(x, y)))


def _fitted(element: Element, place: Place, box: units.ViewBox, width: float, height: float) -> Place:
    """Give the place inside an element whose view box fills a viewport of a size."""
    fit = units.fit_view_box(box, width, height, element.get("preserveAspectRatio"))
    return replace(place, matrix=units.joined(place.matrix, fit), width=box.width, height=box.height)


def _size_text(element: Element, key: str) -> str:
    text = str(element.get(key, "100%")).strip()
    return "100%" if text == "auto" else text


def _outer_size(element: Element, box: units.ViewBox | None) -> tuple[float, float]:
    """Give the size of the outermost viewport in CSS pixels.

    There is no window here, so a missing or relative size follows from the other one and the view box's proportions,
    and with neither given one user unit is one pixel.
    """
    texts = [_size_text(element, k) for k in ("width", "height")]
    width, height = (None if t.endswith("%") else units.length(t, 0.0) for t in texts)
    if box is None:
        # without a view box the viewport only serves percentages, which then have nothing to refer to but each other
        known = [v for v in (width, height) if v is not None] or [1.0]
        return known[0], known[-1]
    if width is None:
        return (box.width, box.height) if height is None else (height * box.width / box.height, height)
    return width, width * box.height / box.width if height is None else height


# --- children -------------------------------------------------------------------------------------------------------


def _children(element: Element, name: str, place: Place, ids: dict[str, Element]) -> Iterator[tuple[Element, Place]]:
    if name == "use":
        yield from _used(element, place, ids)
    elif name != "symbol" or (place.uses and place.uses[-1] == element.get("id")):
        # a symbol is drawn only where it is used
        yield from ((child, place) for child in element)


def _used(element: Element, place: Place, ids: dict[str, Element]) -> Iterator[tuple[Element, Place]]:
    target = (element.get("href") or element.get(f"{{{XLINK}}}href") or "").strip().removeprefix("#")
    if not target:
        return
    if target not in ids:
        raise FaceError(f"it uses {units.short(target)}, which is not in the drawing")
    if target in place.uses:
        raise FaceError(f"it uses {units.short(target)} inside itself")
    if len(place.uses) >= MOST_USES:
        raise FaceError(f"it uses {units.short(target)} inside {MOST_USES} other uses, which is the most")
    inner = replace(_set_off(element, place), uses=(*place.uses, target))
    found = ids[target]
    if local_name(found) in ("symbol", "svg"):
        inner = _symbol_place(element, found, inner)
    yield found, inner


def _symbol_place(use: Element, symbol: Element, place: Place) -> Place:
    """Give the place inside a used `symbol`, whose viewport the `use` may size (SVG 2, section 5.5)."""
    if local_name(symbol) == "svg":
        if use.get("width") or use.get("height"):
            raise FaceError("a use that resizes an inner <svg> is not read; use a <symbol> or a group")
        return place
    width = units.length(_size_text(use, "width"), place.width)
    height = units.length(_size_text(use, "height"), place.height)
    box = units.view_box(symbol.get("viewBox"))
    return _fitted(symbol, place, box, width, height) if box else place


# --- shapes ---------------------------------------------------------------------------------------------------------


def _shape(element: Element, name: str, place: Place) -> Iterator[Drawn]:
    if not place.visible:
        return
    data = _path_data(element, name, place)
    if data.strip() not in ("", "none"):
        yield Drawn(_label(element, name, place.names), data, place.matrix, place.names, place.fill)


def _path_data(element: Element, name: str, place: Place) -> str:
    diagonal = math.hypot(place.width, place.height) / math.sqrt(2)
    whole = {"x": place.width, "y": place.height, "r": diagonal}

    def value(key: str) -> float:
        text = str(element.get(key, "0")).strip()
        return units.length("0" if text == "auto" else text, whole[key.rstrip("12")[-1]])

    match name:
        case "path":
            return str(element.get("d", ""))
        case "rect":
            given = [key for key in ("rx", "ry") if element.get(key, "auto").strip() != "auto"] or ["rx"]
            across, up = value(given[0]), value(given[-1])
            width = units.length(element.get("width", "0"), place.width)
            height = units.length(element.get("height", "0"), place.height)
            return paths.rectangle_data(value("x"), value("y"), width, height, across, up)
        case "circle":
            return paths.ellipse_data(value("cx"), value("cy"), value("r"), value("r"))
        case "ellipse":
            return paths.ellipse_data(value("cx"), value("cy"), value("rx"), value("ry"))
        case "line":
            ends = (value("x1"), value("y1"), value("x2"), value("y2"))
            return paths.polygon_data(ends, closed=False)
        case _:
            values = units.numbers(element.get("points", ""))
            return paths.polygon_data(values, closed=name == "polygon")
