"""Sheets on their way to the laser: gathered from the layout, written, read back and burned virtually."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from nameplate.cut.dxf import steps_dxf
from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.inspect import Inspected
from nameplate.cut.inspect_files import examine_files
from nameplate.cut.kerf import Toolpath, cut_length
from nameplate.cut.order import PlacedToolpath, burning_order, placed_marks
from nameplate.cut.svg import steps_svg
from nameplate.cut.timing import Speeds, burn_time
from nameplate.errors import OutputError
from nameplate.geometry.region import Region, solids
from nameplate.job.out_folder import write_file
from nameplate.job.prepare import Batch, cut_file
from nameplate.model import PartKind
from nameplate.nest.layout import Lying, Piece, PieceKey, Placement, SheetLayout
from nameplate.nest.sheets import rules_of, usable_region
from nameplate.plates.mounts import least_web
from nameplate.system.shelf import Drawers, packed
from nameplate.ticket.schema import ColourKeys, MaterialKeys


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet with everything that is cut from it: its file, its layout, its parts and their toolpaths."""

    file: str
    layout: SheetLayout
    pieces: tuple[Piece, ...]
    toolpaths: tuple[PlacedToolpath, ...]


@dataclass(frozen=True, slots=True)
class SheetTask:
    """All that a worker needs to write one sheet and to inspect it. `dxf` asks for that form too."""

    file: str
    toolpaths: tuple[PlacedToolpath, ...]
    expected: SheetExpectation
    colours: ColourKeys
    title: str
    dxf: bool = False
    speeds: Speeds | None = None


@dataclass(frozen=True, slots=True)
class CutSheet:
    """What became of a sheet: mm that the beam cuts, seconds it takes where the speeds are known, the inspection.

    `problems` are sentences about files that could not be written; then nothing was inspected. `digests` are those of
    the files, by name.
    """

    cut_length: float
    seconds: float | None
    inspected: Inspected
    problems: tuple[str, ...] = ()
    digests: Mapping[str, str] = field(default_factory=dict)


def sheets_of(batch: Batch) -> tuple[Sheet, ...]:
    """Gather what is cut from each sheet; files are numbered by material."""
    pieces = {piece.key: piece for piece in batch.pieces}
    cut = [*(p for w in batch.works for p in w.toolpaths), *batch.shared.toolpaths]
    paths = {(p.plate, p.kind, p.layer): p for p in cut}
    return tuple(_sheet(layout, pieces, paths) for layout in batch.layout.sheets)


def _sheet(
    layout: SheetLayout,
    pieces: dict[PieceKey, Piece],
    paths: dict[tuple[str, PartKind, int], Toolpath],
) -> Sheet:
    return Sheet(
        cut_file(layout),
        layout,
        tuple(pieces[at.key] for at in layout.placements),
        tuple(
            PlacedToolpath(paths[at.plate, at.kind, at.layer], at.copy, at.x, at.y, at.turn) for at in layout.placements
        ),
    )


def expectations(batch: Batch, sheets: Sequence[Sheet]) -> tuple[SheetExpectation, ...]:
    """Say of each sheet what must be left of it after burning its file."""
    made = {w.plate.order.id: w.plate.lettering for w in batch.works if w.plate.lettering is not None}
    webs = {
        (part.plate, part.kind): least_web(w.plate.order.mount, part.kind, batch.ticket.lettering)
        for w in batch.works
        for part in w.plate.parts
    }
    waste = {(part.plate, part.kind, part.layer) for part in batch.parts if part.is_waste}
    marks = {(part.plate, part.kind, part.layer): part.marks for part in batch.parts}
    jigs = batch.ticket.jig.style not in ("none", "print")

    def part(piece: Piece, at: Placement) -> ExpectedPart:
        region: Any = Lying(piece, at)
        return ExpectedPart(
            plate=piece.plate,
            kind=piece.kind,
            copy=piece.copy,
            layer=piece.layer,
            region=region,
            pieces=made[piece.plate].pieces if piece.kind == "lettering" else len(solids(piece.region)),
            web=webs.get((piece.plate, piece.kind)),
            is_waste=(piece.plate, piece.kind, piece.layer) in waste,
            marks=placed_marks(marks[piece.plate, piece.kind, piece.layer], at.x, at.y, at.turn),
            at=(at.x, at.y, at.turn),
            fits=jigs,
        )

    return tuple(
        SheetExpectation(
            material=sheet.layout.material,
            width=sheet.layout.width,
            height=sheet.layout.height,
            kerf=batch.shop.material(sheet.layout.material).kerf,
            gap=batch.ticket.nest.gap,
            edge_margin=batch.ticket.nest.edge_margin,
            web=None,
            parts=tuple(map(part, sheet.pieces, sheet.layout.placements)),
            room=_room(batch, sheet.layout),
            colours=batch.ticket.colours,
        )
        for sheet in sheets
    )


def _room(batch: Batch, sheet: SheetLayout) -> Region | None:
    """Give where finished parts may lie on a sheet, None where that is a whole rectangle."""
    if sheet.outline is None and sheet.keep_outs is None:
        return None
    rules = rules_of(batch.ticket.nest, batch.shop.material(sheet.material).kerf)
    return usable_region(sheet.width, sheet.height, sheet.outline, sheet.keep_outs, rules)


def task_of(batch: Batch, sheet: Sheet, expected: SheetExpectation) -> SheetTask:
    """Put together what a worker needs for one sheet."""
    ticket = batch.ticket
    speeds = _speeds(batch.shop.material(sheet.layout.material))
    return SheetTask(sheet.file, sheet.toolpaths, expected, ticket.colours, ticket.job.title, ticket.job.dxf, speeds)


def _speeds(material: MaterialKeys) -> Speeds | None:
    if material.cut_speed is None:
        return None
    return Speeds(cut=material.cut_speed, score=material.score_speed or material.cut_speed)


def files_of(task: SheetTask) -> tuple[str, ...]:
    """Give the names of the files that a task writes, under the out folder."""
    return (task.file, *([_dxf(task)] if task.dxf else []))


def _dxf(task: SheetTask) -> str:
    return task.file.removesuffix(".svg") + ".dxf"


def cut_sheet(folder: Path, task: SheetTask) -> CutSheet:
    """Write one sheet under `folder`, read it back from disk and burn it virtually (runs in a worker process)."""
    steps = burning_order(task.toolpaths)
    width, height = task.expected.width, task.expected.height
    digests = {}
    try:
        svg = steps_svg(width, height, steps, task.colours, title=task.title)
        digests[task.file] = write_file(folder, task.file, svg)
        if task.dxf:
            digests[_dxf(task)] = write_file(folder, _dxf(task), steps_dxf(width, height, steps, task.colours))
    except OutputError as error:
        return CutSheet(0.0, None, Inspected(()), error.problems)
    length = sum(cut_length(placed.toolpath) for placed in task.toolpaths)
    seconds = burn_time(steps, task.speeds).seconds
    inspected = examine_files(folder, files_of(task), task.expected)
    kept = replace(inspected, burned=Drawers(inspected.burned))
    return packed(CutSheet(length, seconds, kept, digests=digests))
