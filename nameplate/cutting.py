"""Sheets on their way to the laser: gathered from the layout, written, read back and burned virtually."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from nameplate.cut.dxf import steps_dxf
from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.files import write_text_atomic
from nameplate.cut.inspect import Inspected, examine_sheet
from nameplate.cut.kerf import Toolpath, cut_length
from nameplate.cut.order import PlacedToolpath, burning_order
from nameplate.cut.svg import steps_svg
from nameplate.cut.timing import Speeds, burn_time
from nameplate.errors import OutputError
from nameplate.file_names import sheet_files
from nameplate.geometry.region import solids
from nameplate.mounts import least_web
from nameplate.nest.layout import Piece, PieceKey, Placement, SheetLayout, placed
from nameplate.parts import PartKind
from nameplate.pipeline import Batch
from nameplate.ticket import ColourKeys, MaterialKeys


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

    `problems` are sentences about files that could not be written; then nothing was inspected.
    """

    cut_length: float
    seconds: float | None
    inspected: Inspected
    problems: tuple[str, ...] = ()


def sheets_of(batch: Batch) -> tuple[Sheet, ...]:
    """Gather what is cut from each sheet; files are numbered by material."""
    pieces = {piece.key: piece for piece in batch.pieces}
    cut = [*(p for w in batch.works for p in w.toolpaths), *batch.shared.toolpaths]
    paths = {(p.plate, p.kind, p.layer): p for p in cut}
    files = sheet_files([(layout.material, layout.number) for layout in batch.layout.sheets])
    return tuple(_sheet(file, at, pieces, paths) for file, at in zip(files, batch.layout.sheets, strict=True))


def _sheet(
    file: str,
    layout: SheetLayout,
    pieces: dict[PieceKey, Piece],
    paths: dict[tuple[str, PartKind, int], Toolpath],
) -> Sheet:
    return Sheet(
        file,
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
    waste = {(part.plate, part.kind) for part in batch.parts if part.is_waste}
    jigs = batch.ticket.jig.style not in ("none", "print")

    def part(piece: Piece, at: Placement) -> ExpectedPart:
        return ExpectedPart(
            plate=piece.plate,
            kind=piece.kind,
            copy=piece.copy,
            layer=piece.layer,
            region=placed(piece, at),
            pieces=made[piece.plate].pieces if piece.kind == "lettering" else len(solids(piece.region)),
            web=webs.get((piece.plate, piece.kind)),
            is_waste=(piece.plate, piece.kind) in waste,
            at=(at.x, at.y, at.turn) if jigs else None,
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
        )
        for sheet in sheets
    )


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
    try:
        write_text_atomic(folder / task.file, steps_svg(width, height, steps, task.colours, title=task.title))
        if task.dxf:
            write_text_atomic(folder / _dxf(task), steps_dxf(width, height, steps, task.colours))
    except OutputError as error:
        return CutSheet(0.0, None, Inspected(()), error.problems)
    length = sum(cut_length(placed.toolpath) for placed in task.toolpaths)
    seconds = burn_time(steps, task.speeds).seconds
    return CutSheet(length, seconds, examine_sheet(folder / task.file, task.expected))
