"""The files of one sheet, and of one jig: each form read back, and held against the others and against the record."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from nameplate import tolerances
from nameplate.cut.expectation import SheetExpectation
from nameplate.cut.inspect import Inspected, examine
from nameplate.cut.read_back import ReadPath, ReadSheet, read_sheet
from nameplate.cut.read_pdf import read_jig_pdf
from nameplate.cut.same_lines import judge_same_lines
from nameplate.errors import OutputError
from nameplate.findings import Finding


def examine_files(folder: Path, names: Sequence[str], expected: SheetExpectation) -> Inspected:
    """Inspect the cut files of a sheet: burn the SVG, and compare other forms of it (named after it) with it."""
    svg, *others = names
    sheet = read_sheet(folder / svg)
    inspected = examine(sheet, expected, Path(svg).name)
    more = [finding for name in others for finding in _judge_dxf(folder / name, sheet, expected, Path(svg).name)]
    return replace(inspected, findings=(*inspected.findings, *more))


def _judge_dxf(path: Path, sheet: ReadSheet, expected: SheetExpectation, of: str) -> Iterator[Finding]:
    from nameplate.cut.read_dxf import read_dxf

    drawing = read_dxf(path)
    yield from drawing.faults
    if not drawing.paths and drawing.faults:
        return
    off = max(abs(drawing.width - expected.width), abs(drawing.height - expected.height))
    if off > tolerances.SAME_POINT:
        message = f"{path.name}: the sheet is {drawing.width:g} x {drawing.height:g} mm, {off:g} mm off"
        yield Finding("sheet-size", "error", message)
    colours = expected.colours
    wanted = {"score": colours.score, "cut-inside": colours.cut_inside, "cut-outside": colours.cut_outside}
    for operation, stroke in drawing.strokes:
        if stroke != wanted[operation].lower():
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
        found += _judge_pdf(folder / other, sheet.paths, name)
    return tuple(dict.fromkeys(found))


def _judge_pdf(path: Path, paths: Sequence[ReadPath], of: str) -> Iterator[Finding]:
    try:
        drawn = read_jig_pdf(path)
    except OutputError as error:
        yield Finding("file-unreadable", "error", str(error))
        return
    if len(drawn) != len(paths):
        message = f"{path.name} has {len(drawn)} lines, and {of} has {len(paths)}"
        yield Finding("other-form", "error", message, None, None, len(drawn), len(paths))
    whose = zip(drawn, paths, strict=False)
    lines = [replace(p, points=line.points, closed=line.closed) for line, p in whose]
    yield from judge_same_lines(lines, paths[: len(lines)], path.name, of)
