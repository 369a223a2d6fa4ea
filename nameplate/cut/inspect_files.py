"""The files of one sheet, and of one jig: each form read back, and held against the others and against the record."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from nameplate import tolerances
from nameplate.cut.expectation import SheetExpectation
from nameplate.cut.inspect import Inspected, examine, wanted_strokes
from nameplate.cut.read_back import ReadPath, ReadSheet, read_sheet
from nameplate.cut.read_pdf import read_jig_pdf, read_sheet_pdf
from nameplate.cut.scores import WITHIN
from nameplate.errors import OutputError
from nameplate.findings import Finding, counted
from nameplate.geometry.compare import lines_apart
from nameplate.ticket.schema import ENDINGS


def examine_files(folder: Path, names: Sequence[str], expected: SheetExpectation) -> Inspected:
    """Inspect the cut files of a sheet: burn the SVG, and compare other forms of it (named after it) with it."""
    svg, *others = names
    sheet = read_sheet(folder / svg)
    inspected = examine(sheet, expected, Path(svg).name)
    stem = svg.removesuffix(ENDINGS["svg"])
    judges = {stem + ENDINGS[form]: judge for form, judge in _JUDGES.items()}
    more = [f for o in others for f in _or_unreadable(judges[o](folder / o, sheet, expected, Path(svg).name))]
    return replace(inspected, findings=(*inspected.findings, *more))


def _or_unreadable(found: Iterator[Finding]) -> Iterator[Finding]:
    """Give what is found in a file, or that it cannot be read."""
    try:
        yield from found
    except OutputError as error:
        yield Finding("file-unreadable", "error", str(error))


def _judge_sheet_pdf(path: Path, sheet: ReadSheet, expected: SheetExpectation, of: str) -> Iterator[Finding]:
    page = read_sheet_pdf(path, expected.pen.width)
    yield from _judge_size(path.name, page.width, page.height, expected)
    wanted = _colours(expected)
    lines = [
        replace(
            own,
            points=line.points,
            closed=line.closed,
            operation=own.operation if line.colour == wanted.get(own.operation) else line.colour,
        )
        for line, own in zip(page.lines, sheet.paths, strict=False)
    ]
    yield from judge_same_lines(lines, sheet.paths, path.name, of, count=len(page.lines))


def _judge_png(path: Path, sheet: ReadSheet, expected: SheetExpectation, of: str) -> Iterator[Finding]:
    from nameplate.cut.sheet_png import read_png, unlike

    pixels = read_png(path)
    lines = [line.points for line in sheet.paths]
    if why := unlike(pixels, expected.width, expected.height, lines):
        yield Finding("other-form", "error", f"{path.name} is not a picture of {of}: {why}")


def _judge_size(name: str, width: float, height: float, expected: SheetExpectation) -> Iterator[Finding]:
    off = max(abs(width - expected.width), abs(height - expected.height))
    if off > tolerances.SAME_POINT:
        yield Finding("sheet-size", "error", f"{name}: the sheet is {width:g} x {height:g} mm, {off:g} mm off")


def _colours(expected: SheetExpectation) -> dict[str, str]:
    return {operation: colour.lower() for operation, colour in wanted_strokes(expected.pen.colours).items()}


def _judge_dxf(path: Path, sheet: ReadSheet, expected: SheetExpectation, of: str) -> Iterator[Finding]:
    from nameplate.cut.read_dxf import read_dxf

    drawing = read_dxf(path, expected.axes, sheet.cuts)
    yield from drawing.faults
    if not drawing.paths and drawing.faults:
        return
    yield from _judge_size(path.name, drawing.width, drawing.height, expected)
    wanted = _colours(expected)
    for operation, stroke in drawing.strokes:
        if stroke != wanted[operation]:
            yield Finding("colour", "error", f"{path.name}: the layer {operation} is {stroke}, not {wanted[operation]}")
    yield from judge_same_lines(drawing.paths, sheet.paths, path.name, of)


def examine_jig(folder: Path, names: Sequence[str], expected: SheetExpectation) -> tuple[Finding, ...]:
    """Inspect the drawing of a jig: its SVG, layer by layer, and its PDF where there is one (named after it)."""
    svg, *others = names
    name = Path(svg).name
    sheet = read_sheet(folder / svg, layered=True)
    found = list(sheet.faults)
    for layer in sorted({p.layer for p in sheet.paths} | {p.layer for p in expected.parts}):
        paths = tuple(p for p in sheet.paths if p.layer == layer)
        parts = tuple(p for p in expected.parts if p.layer == layer)
        found += examine(replace(sheet, paths=paths, faults=()), replace(expected, parts=parts), name).findings
    for other in others:
        found += _or_unreadable(_judge_pdf(folder / other, sheet.paths, name))
    return tuple(dict.fromkeys(found))


def _judge_pdf(path: Path, paths: Sequence[ReadPath], of: str) -> Iterator[Finding]:
    drawn = read_jig_pdf(path)
    lines = [replace(p, points=line.points, closed=line.closed) for line, p in zip(drawn, paths, strict=False)]
    yield from judge_same_lines(lines, paths, path.name, of, count=len(drawn))


# --- line by line ---------------------------------------------------------------------------------------------------


def judge_same_lines(
    got: Sequence[ReadPath], want: Sequence[ReadPath], name: str, of: str, *, count: int | None = None
) -> Iterator[Finding]:
    """Compare the lines of one form with those of another, in order; `name` and `of` are the files'.

    `count` is how many lines there are where `got` has only those that may be compared.
    """
    count = len(got) if count is None else count
    if count != len(want):
        message = f"{name} has {counted(count, 'line')}, and {of} has {len(want)}"
        yield Finding("other-form", "error", message, None, None, count, len(want))
    for number, (one, other) in enumerate(zip(got, want, strict=False), 1):
        if why := _unlike(one, other):
            message = f"{name}: line {number} is not that of {of}: {why}"
            yield Finding("other-form", "error", message, other.plate)
            return  # from there on every line may be another


def _unlike(one: ReadPath, other: ReadPath) -> str:
    if (one.operation, one.key, one.closed) != (other.operation, other.key, other.closed):
        return f"{_told(one)} in place of {_told(other)}"
    if one.points.shape == other.points.shape and np.abs(one.points - other.points).max() <= WITHIN / 2:
        return ""
    apart = lines_apart(one.points, other.points)
    x, y = one.points.mean(axis=0)
    return "" if apart <= WITHIN else f"{_told(one)} near ({x:.1f}, {y:.1f}) is {apart:.3f} mm off"


def _told(path: ReadPath) -> str:
    ends = "closed" if path.closed else "open"
    return f"{ends} {path.operation} of plate {path.plate}, {path.kind} (copy {path.copy}, layer {path.layer})"


#: What tells whether a form has the lines of the sheet.
_JUDGES: Mapping[str, Callable[[Path, ReadSheet, SheetExpectation, str], Iterator[Finding]]] = {
    "dxf": _judge_dxf,
    "pdf": _judge_sheet_pdf,
    "tiled": lambda path, sheet, expected, of: _judge_pdf(path, sheet.paths, of),
    "png": _judge_png,
}
