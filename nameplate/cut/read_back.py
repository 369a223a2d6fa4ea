"""Reads a written cut file back from disk, strictly: what the form does not allow is an error.

It shares nothing with the writer: its own grammar and flattening (`path_data.py`), the geometry from the file's text
alone. The form: an `svg` whose width and height are in mm (or as many pixels) and whose viewBox has the same numbers;
in it groups with `data-operation`, in burning order; in them `path` elements with absolute M L C Z, numbers of at most
four decimals, `fill="none"`; every cut closed; nothing else at all. The file of a jig has the same form, with one more
group round the groups of each layer where it has several.

A file whose `data-cuts` says so has more: `parts`, groups of cuts one part after the other; `lead-ins`, paths that
begin with a straight line from the waste (`data-lead-in`, its length); `tabs`, outlines in arcs (`data-arc`, which of
how many), open between one and the next.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from nameplate.cut.machine import WORDS
from nameplate.cut.path_data import NUMBER, outline
from nameplate.errors import OutputError
from nameplate.findings import Finding
from nameplate.geometry.region import Array
from nameplate.system.reading import read_regular
from nameplate.units import MM_PER_UNIT

SVG = "{http://www.w3.org/2000/svg}"

#: Burning order.
OPERATIONS = ("score", "cut-inside", "cut-outside")

#: Parts a cut file may name.
KINDS = ("lettering", "template", "carrier", "backing", "blank", "coupon")

ALLOWED = {
    "svg": {"version", "width", "height", "viewBox", "data-title", "data-cuts"},
    "g": {"data-operation", "id", "fill", "stroke", "stroke-width"},
    "path": {f"data-{what}" for what in ("plate", "part", "copy", "layer", "feature", "lead-in", "arc")}
    | {"fill", "d"},
}

#: How far (mm) a size in pixels may be from the viewBox's: what programs leave that write four decimals and more.
PIXELS_OFF = 0.001

#: Largest cut file read (bytes). A sheet of five hundred names is about 10 MB.
LARGEST = 200_000_000

_SIZE = re.compile(r"((?:0|[1-9][0-9]{0,5}+)(?:\.[0-9]{1,9}+)?)(mm|px|)")
_SIDE = re.compile(r"(?:0|[1-9][0-9]{0,5}+)(?:\.[0-9]{1,9}+)?")
_COUNT = re.compile(r"[1-9][0-9]{0,8}+")
_ARC = re.compile(r"([1-9][0-9]{0,2}+)/([1-9][0-9]{0,2}+)")


@dataclass(frozen=True, slots=True, eq=False)
class ReadPath:
    """One path as read: flattened points (n, 2) in mm, y up; a closed one repeats its first point at the end.

    Its first line may be a `lead_in` so long (mm); an `arc` of an outline says which of how many it is.
    """

    operation: str
    plate: str
    kind: str
    copy: int
    layer: int
    points: Array
    closed: bool
    segments: int
    lead_in: float = 0.0
    arc: tuple[int, int] | None = None

    @property
    def key(self) -> tuple[str, str, int, int]:
        """Which part the path belongs to: plate, kind, copy, layer."""
        return self.plate, self.kind, self.copy, self.layer


@dataclass(frozen=True, slots=True, eq=False)
class ReadSheet:
    """A cut file as read, with everything about its form that is not allowed.

    `strokes` are the operation and the stroke's colour of each group, in the file's order, `widths` the stroke's width.
    `cuts` are the words by which the file says how its parts are cut free (`CutStyle.words`).
    """

    width: float
    height: float
    paths: tuple[ReadPath, ...]
    faults: tuple[Finding, ...]
    strokes: tuple[tuple[str, str], ...] = ()
    widths: tuple[tuple[str, str], ...] = ()
    cuts: tuple[str, ...] = ()


def read_sheet(path: Path, *, layered: bool = False) -> ReadSheet:
    """Read a cut file; a file that cannot be read at all gives a sheet without paths and a fault.

    `layered` allows the form of a jig's file: groups of groups, one a layer.
    """
    from lxml import etree

    try:
        tree = _parsed(read_regular(path, LARGEST, OutputError, what="a cut file"))
    except OSError as error:
        return unreadable(path, str(error))
    except etree.XMLSyntaxError as error:
        return unreadable(path, f"it is damaged, or no SVG drawing (not well-formed, line {error.lineno or 1})")
    return _Reader(path.name, layered=layered).read(tree)


def read_text(text: str, name: str) -> ReadSheet:
    """Read the text of a cut file that is not on a disk, as `read_sheet` does; `name` stands in what is wrong with it.

    Raises ValueError when it is no XML.
    """
    from lxml import etree

    try:
        return _Reader(name).read(_parsed(text.encode("utf-8")))
    except etree.XMLSyntaxError as error:
        raise ValueError(f"{name} cannot be read: {error}") from error


def _parsed(data: bytes) -> Any:  # noqa: ANN401 - lxml has no types
    from lxml import etree

    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=True)
    return etree.fromstring(data, parser).getroottree()


def unreadable(path: Path, why: str) -> ReadSheet:
    """Give what is known of a file that cannot be read."""
    return ReadSheet(0.0, 0.0, (), (Finding("file-unreadable", "error", f"{path.name} cannot be read: {why}"),))


class FormReader:
    """Walks one file and collects faults on the way; `cuts` is what the sheet says of how its parts are cut free."""

    def __init__(self, name: str, cuts: Sequence[str] = ()) -> None:
        self.name = name
        self.cuts = tuple(cuts)
        self.faults: list[Finding] = []
        self.rank = 0

    def fault(self, code: str, message: str, plate: str | None = None) -> None:
        """Note what is wrong."""
        self.faults.append(Finding(code, "error", f"{self.name}: {message}", plate))

    def follows(self, operation: str) -> None:
        """Note that lines of an operation come next, and that they come too late, if so."""
        rank = ranked(operation, self.cuts)
        if rank < self.rank:
            self.fault("burning-order", f"{operation} comes after {OPERATIONS[self.rank]}")
        self.rank = max(self.rank, rank)


class _Reader(FormReader):
    def __init__(self, name: str, *, layered: bool = False) -> None:
        super().__init__(name)
        self.layered = layered
        self.strokes: list[tuple[str, str]] = []
        self.widths: list[tuple[str, str]] = []
        self.height = 0.0

    def read(self, tree: Any) -> ReadSheet:  # noqa: ANN401 - lxml has no types
        root = tree.getroot()
        if tree.docinfo.doctype or tree.docinfo.internalDTD is not None:
            self.fault("file-form", "a document type is declared; a cut file has none")
        for other in (*root.itersiblings(), *root.itersiblings(preceding=True)):
            self.fault("file-form", f"{_tag(other)} stands beside the drawing")
        if root.tag != SVG + "svg":
            self.fault("file-form", f"the file is a {root.tag!r}, not an SVG drawing")
            return ReadSheet(0.0, 0.0, (), tuple(self.faults))
        self.attributes(root, "svg")
        size = self.size(root)
        if size is None:
            return ReadSheet(0.0, 0.0, (), tuple(self.faults))
        width, self.height = size
        self.cuts = self.said_of_cuts(root)
        paths = tuple(self.layers(root) if self.layered else self.groups(root))
        self.outside(paths, width)
        strokes, widths = tuple(self.strokes), tuple(self.widths)
        return ReadSheet(width, self.height, paths, tuple(self.faults), strokes, widths, self.cuts)

    def said_of_cuts(self, root: Any) -> tuple[str, ...]:  # noqa: ANN401
        said = tuple((root.get("data-cuts") or "").split())
        if said != tuple(word for word in WORDS if word in said):
            self.fault("file-form", f"data-cuts says {' '.join(said)[:40]!r}; known are {', '.join(WORDS)}, once each")
            return ()
        return said

    def attributes(self, element: Any, tag: str) -> None:  # noqa: ANN401
        if extra := sorted(set(element.attrib) - ALLOWED[tag]):
            self.fault("file-form", f"{tag} carries {', '.join(extra)}, which a cut file must not have")
        if tag != "svg" and element.get("fill") != "none":
            self.fault("file-form", f'{tag} must have fill="none", not {element.get("fill")!r}')
        for text in (element.text, *(child.tail for child in element)):
            if text and text.strip():
                self.fault("file-form", f"text {text.strip()[:30]!r} stands in {tag}")

    def size(self, root: Any) -> tuple[float, float] | None:  # noqa: ANN401
        """Give width and height in mm; None, and one fault, where a unit of the drawing is not one mm."""
        box = (root.get("viewBox") or "").split()
        numbers = [float(v) for v in box] if len(box) == 4 and all(map(_SIDE.fullmatch, box)) else []
        sizes = [self.side(root, name, side) for name, side in zip(("width", "height"), numbers[2:], strict=False)]
        if None not in sizes and numbers == [0.0, 0.0, *sizes]:
            return numbers[2], numbers[3]
        said = ", ".join(f"{name} {root.get(name)!r}" for name in ("width", "height", "viewBox"))
        self.fault(
            "true-size",
            f"one unit of the drawing is not one mm: {said}; nothing else of the file is judged; save it with width "
            "and height in mm and a viewBox of the same numbers, or write it anew with nameplate make",
        )
        return None

    def side(self, root: Any, name: str, box: float) -> float | None:  # noqa: ANN401
        """Give a side in mm; pixels, 96 to an inch (CSS), count where they come to the mm that the viewBox has."""
        match = _SIZE.fullmatch(root.get(name) or "")
        if match is None or float(match[1]) <= 0:
            return None
        if match[2] == "mm":
            return float(match[1])
        return box if abs(float(match[1]) * MM_PER_UNIT["px"] - box) <= PIXELS_OFF else None

    def layers(self, root: Any) -> Iterator[ReadPath]:  # noqa: ANN401
        """Read the groups of each layer; groups that stand in no layer are read as they are."""
        within = [g for g in root if g.tag == SVG + "g" and set(g.attrib) - {"id"} == {"data-layer"}]
        if len(within) < len(root):
            yield from self.groups(root)
        else:
            for layer in within:
                name = f"layer-{layer.get('data-layer')}"
                self.named(layer, name)
                yield from self.groups(layer, f"{name}-")

    def named(self, group: Any, name: str) -> None:  # noqa: ANN401
        """Find a group that is called otherwise than it should be; one without an id is shown without a name."""
        if group.get("id", name) != name:
            self.fault("file-form", f"a group is called {group.get('id')!r}; {name!r} is right")

    def groups(self, root: Any, within: str = "") -> Iterator[ReadPath]:  # noqa: ANN401
        self.rank = 0
        count = Counter[str]()
        for group in root:
            if group.tag != SVG + "g":
                self.fault("file-form", f"{_tag(group)} stands in the drawing; only groups may")
                continue
            self.attributes(group, "g")
            operation = group.get("data-operation")
            if operation not in OPERATIONS:
                self.fault("operation", f"the operation {operation!r} is unknown; it is one of {', '.join(OPERATIONS)}")
                continue
            self.follows(operation)
            count[operation] += 1
            again = f"-{count[operation]}" if "parts" in self.cuts and count[operation] > 1 else ""
            self.named(group, within + operation + again)
            self.strokes.append((operation, group.get("stroke") or "none"))
            self.widths.append((operation, group.get("stroke-width") or "none"))
            yield from self.paths(group, operation)

    def paths(self, group: Any, operation: str) -> Iterator[ReadPath]:  # noqa: ANN401
        for element in group:
            if element.tag != SVG + "path":
                self.fault("file-form", f"{_tag(element)} stands in {operation}; only paths may")
                continue
            self.attributes(element, "path")
            if len(element):
                self.fault("file-form", f"a path of {operation} has something in it")
            if (path := self.path(element, operation)) is not None:
                yield path

    def path(self, element: Any, operation: str) -> ReadPath | None:  # noqa: ANN401
        plate, kind = element.get("data-plate"), element.get("data-part")
        if not plate or kind not in KINDS:
            self.fault("path-owner", f"a path of {operation} names plate {plate!r} and part {kind!r}", plate)
            return None
        copy, layer = element.get("data-copy") or "", element.get("data-layer") or "1"
        if not _COUNT.fullmatch(copy) or not _COUNT.fullmatch(layer):
            self.fault("path-owner", f"a path of plate {plate} has copy {copy!r} and layer {layer!r}", plate)
            return None
        try:
            points, closed, segments = outline(element.get("d") or "")
        except ValueError as error:
            self.fault("path-data", f"plate {plate}, {kind}, {operation}: {error}", plate)
            return None
        open_cuts = {"lead-ins", "tabs"} & set(self.cuts)
        if operation != "score" and not closed and not open_cuts:
            self.fault("open-cut", f"plate {plate}, {kind}: a path of {operation} is open; every cut must close", plate)
            return None
        points = points * (1, -1) + (0, self.height)
        own = ReadPath(operation, plate, kind, int(copy), int(layer), points, closed, segments)
        return self.opened(element, own)

    def opened(self, element: Any, path: ReadPath) -> ReadPath | None:  # noqa: ANN401
        """Read what a path says of its lead-in and of the arc that it is; None, and a fault, where that cannot be."""
        lead, arc = element.get("data-lead-in"), element.get("data-arc")
        if lead is None and arc is None:
            return path
        match = None if arc is None else _ARC.fullmatch(arc)
        may = path.operation != "score" and not path.closed
        led = lead is None or ("lead-ins" in self.cuts and bool(NUMBER.fullmatch(lead)) and path.segments > 1)
        arched = arc is None or (
            "tabs" in self.cuts
            and path.operation == "cut-outside"
            and match is not None
            and int(match[1]) <= int(match[2])
        )
        if not (may and led and arched):
            message = (
                f"plate {path.plate}, {path.kind}: a path of {path.operation} has lead-in {lead!r} and arc {arc!r}"
            )
            self.fault("open-cut", message, path.plate)
            return None
        return replace(path, lead_in=float(lead or 0), arc=match and (int(match[1]), int(match[2])))

    def outside(self, paths: tuple[ReadPath, ...], width: float) -> None:
        for path in paths:
            low, high = path.points.min(axis=0), path.points.max(axis=0)
            if low.min() < 0 or high[0] > width or high[1] > self.height:
                self.fault(
                    "off-sheet",
                    f"plate {path.plate}, {path.kind}: a line of {path.operation} runs off the sheet "
                    f"(x {low[0]:.2f} to {high[0]:.2f}, y {low[1]:.2f} to {high[1]:.2f})",
                    path.plate,
                )


def ranked(operation: str, cuts: Sequence[str]) -> int:
    """Give the place of an operation in the burning order of a file that says this of its cuts.

    >>> [ranked(operation, ["parts"]) for operation in OPERATIONS]
    [0, 1, 1]
    """
    return min(OPERATIONS.index(operation), 1 if "parts" in cuts else len(OPERATIONS))


def _tag(element: Any) -> str:  # noqa: ANN401
    return element.tag.replace(SVG, "") if isinstance(element.tag, str) else "a comment or instruction"
