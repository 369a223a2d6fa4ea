"""A whole run: prepare the batch, write its files beside the old ones, inspect them, only then put them in place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from nameplate.cut.burn import PartKey
from nameplate.cut.drop_in import judge_drop_ins
from nameplate.cut.dxf import sheet_dxf
from nameplate.cut.expectation import DropIn, ExpectedPart, SheetExpectation
from nameplate.cut.inspect import Inspected, examine_sheet
from nameplate.cut.kerf import Toolpath, cut_length
from nameplate.cut.order import PlacedToolpath, burning_order
from nameplate.cut.pdf import jig_pdf
from nameplate.cut.record import record
from nameplate.cut.svg import jig_svg, sheet_svg
from nameplate.cut.timing import Speeds, burn_time
from nameplate.drop_ins import drop_ins
from nameplate.errors import InspectionError, LayoutError
from nameplate.geometry.region import Region, solids
from nameplate.jig.skeleton import nestable, without_names
from nameplate.mounts import least_web
from nameplate.nest.estimate import Estimate, estimate
from nameplate.nest.layout import (
    Layout,
    Piece,
    PieceKey,
    SheetLayout,
    layout_from_json,
    layout_to_json,
    pieces_of,
    placed,
)
from nameplate.nest.offcuts import offcuts_to_json, remainders
from nameplate.nest.sheets import rules_of
from nameplate.nest.verify import verify
from nameplate.output import check_folder, staged, write_files
from nameplate.paperwork.cards import cards_html
from nameplate.paperwork.proof import proof_html
from nameplate.paperwork.worklist import worklist_csv, worklist_html
from nameplate.parts import Part, PartKind
from nameplate.pipeline import Batch, Progress, Silence, prepare, timed
from nameplate.summary import summary_json
from nameplate.ticket import MaterialKeys, Ticket
from nameplate.workers import Failure, run_all


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet with everything that is cut from it: its file, its layout, its parts and their toolpaths."""

    file: str
    layout: SheetLayout
    pieces: tuple[Piece, ...]
    toolpaths: tuple[PlacedToolpath, ...]

    @property
    def cut_length(self) -> float:
        """Length in mm that the beam cuts on this sheet."""
        return sum(cut_length(p.toolpath) for p in self.toolpaths)

    def seconds(self, material: MaterialKeys) -> float | None:
        """About how long the beam takes, where the ticket gives the material's speeds."""
        if material.cut_speed is None:
            return None
        speeds = Speeds(cut=material.cut_speed, score=material.score_speed or material.cut_speed)
        return burn_time(burning_order(self.toolpaths), speeds).seconds


def make_job(
    ticket: Ticket,
    out: Path,
    *,
    progress: Progress | None = None,
    workers: int | None = None,
    layout_file: Path | None = None,
) -> tuple[Batch, Estimate]:
    """Make a whole job and leave it in the folder `out`, or leave `out` as it was.

    Raises OutputError when `out` is not ours to write, InspectionError when a written file does not keep its promise,
    and what :func:`~nameplate.pipeline.prepare` raises.
    """
    progress = progress or Silence()
    check_folder(out)
    arrange = None if layout_file is None else partial(stored_layout, layout_file, ticket)
    batch = prepare(ticket, progress=progress, workers=workers, arrange=arrange)
    figures = estimate(batch.layout, batch.pieces, ticket.stock, ticket.nest)
    sheets = sheets_of(batch)
    with staged(out) as stage:
        with timed("write"):
            progress.stage("writing", 1)
            write_files(stage, files_of(batch, figures, sheets))
        with timed("inspect"):
            _inspect(stage, batch, sheets, progress, workers)
    return batch, figures


def stored_layout(path: Path, ticket: Ticket, parts: Sequence[Part]) -> Layout:
    """Read a layout and check that it belongs to these parts and still holds; raises LayoutError with every reason."""
    try:
        layout = layout_from_json(path.read_text(encoding="utf-8"), pieces=pieces_of(parts))
    except (OSError, UnicodeDecodeError) as error:
        raise LayoutError(f"{path} cannot be read: {error}") from error
    used = {part.material: ticket.material.get(part.material, MaterialKeys()) for part in parts}
    rules = {key: rules_of(ticket.nest, material.kerf, grain=material.grain) for key, material in used.items()}
    faults = verify(without_names(layout, parts), pieces_of(nestable(parts)), rules)
    if faults:
        raise LayoutError(
            [*(f.message for f in faults), f"{path} does not fit this job; nest it anew without --layout"]
        )
    return layout


def sheets_of(batch: Batch) -> tuple[Sheet, ...]:
    """Gather what is cut from each sheet; files are numbered by material."""
    pieces = {piece.key: piece for piece in batch.pieces}
    cut = [*(p for w in batch.works for p in w.toolpaths), *batch.shared.toolpaths]
    paths = {(p.plate, p.kind, p.layer): p for p in cut}
    return tuple(_sheet(layout, pieces, paths) for layout in batch.layout.sheets)


def _sheet(
    layout: SheetLayout, pieces: dict[PieceKey, Piece], paths: dict[tuple[str, PartKind, int], Toolpath]
) -> Sheet:
    return Sheet(
        f"cut/{layout.material}-{layout.number:02d}.svg",
        layout,
        tuple(pieces[at.key] for at in layout.placements),
        tuple(
            PlacedToolpath(paths[at.plate, at.kind, at.layer], at.copy, at.x, at.y, at.turn) for at in layout.placements
        ),
    )


def files_of(batch: Batch, figures: Estimate, sheets: Sequence[Sheet]) -> dict[str, str | bytes]:
    """Give the text of every file of the run, under its name in the out folder."""
    ticket = batch.ticket
    files: dict[str, str | bytes] = {
        s.file: sheet_svg(s.layout.width, s.layout.height, s.toolpaths, ticket.colours, title=ticket.job.title)
        for s in sheets
    }
    if ticket.job.dxf:
        for s in sheets:
            name = s.file.removesuffix(".svg") + ".dxf"
            files[name] = sheet_dxf(s.layout.width, s.layout.height, s.toolpaths, ticket.colours)
    for work in batch.works:
        if work.jig is not None:
            name = str(work.plate.jig["file"])
            files[name] = jig_svg(work.jig, ticket.colours)
            if ticket.jig.style == "print":
                files[f"{name.removesuffix('.svg')}.pdf"] = jig_pdf(work.jig)
    if batch.shared.file:
        files[batch.shared.file] = jig_svg(batch.shared.nominal, ticket.colours)
    names = [s.file for s in sheets]
    files["layout.json"] = layout_to_json(batch.layout)
    kerf = {key: material.kerf for key, material in ticket.material.items()}
    files["offcuts.json"] = offcuts_to_json(remainders(batch.layout, batch.pieces, ticket.nest.gap, kerf))
    files["nominal.json"] = record([(s.file, expectation(batch, s)) for s in sheets], fits_of(batch))
    files["worklist.csv"] = worklist_csv(batch.plates, batch.layout, names)
    files["worklist.html"] = worklist_html(
        batch.plates,
        batch.layout,
        names,
        batch.shop.face,
        title=ticket.job.title,
        findings=batch.findings,
        shared=batch.shared.parts,
    )
    if ticket.jig.style != "none":
        files["cards.html"] = cards_html(
            batch.plates, batch.shop.face, title=ticket.job.title, carrier=batch.shared.record
        )
    files["proof.html"] = proof_html(batch.plates, batch.shop.face, batch.findings, title=ticket.job.title)
    files["summary.json"] = summary_json(batch, figures, _burning(batch, sheets), list(files))
    return files


def _burning(batch: Batch, sheets: Sequence[Sheet]) -> dict[str, tuple[float, float | None]]:
    return {s.file: (s.cut_length, s.seconds(batch.shop.material(s.layout.material))) for s in sheets}


def fits_of(batch: Batch) -> tuple[DropIn, ...]:
    """Say what must drop into what once the batch is cut."""
    plates = [w.plate for w in batch.works]
    kerf = {key: material.kerf for key, material in batch.ticket.material.items()}
    return drop_ins(plates, batch.shared.parts, batch.shop.face, batch.ticket.jig, kerf=kerf)


def expectation(batch: Batch, sheet: Sheet) -> SheetExpectation:
    """Say what must be left of a sheet after burning its file."""
    ticket, layout = batch.ticket, sheet.layout
    made = {w.plate.order.id: w.plate.lettering for w in batch.works if w.plate.lettering is not None}
    webs = {
        (part.plate, part.kind): least_web(w.plate.order.mount, part.kind, ticket.lettering)
        for w in batch.works
        for part in w.plate.parts
    }
    waste = {(part.plate, part.kind) for part in batch.parts if part.is_waste}
    parts = []
    for piece, at in zip(sheet.pieces, layout.placements, strict=True):
        lettering = piece.kind == "lettering"
        parts.append(
            ExpectedPart(
                plate=piece.plate,
                kind=piece.kind,
                copy=piece.copy,
                layer=piece.layer,
                region=placed(piece, at),
                pieces=made[piece.plate].pieces if lettering else len(solids(piece.region)),
                web=webs.get((piece.plate, piece.kind)),
                is_waste=(piece.plate, piece.kind) in waste,
                at=(at.x, at.y, at.turn) if ticket.jig.style not in ("none", "print") else None,
            )
        )
    return SheetExpectation(
        material=layout.material,
        width=layout.width,
        height=layout.height,
        kerf=batch.shop.material(layout.material).kerf,
        gap=ticket.nest.gap,
        edge_margin=ticket.nest.edge_margin,
        web=None,
        parts=tuple(parts),
    )


def _inspect(stage: Path, batch: Batch, sheets: Sequence[Sheet], progress: Progress, workers: int | None) -> None:
    """Read every cut file back and burn it virtually; raises InspectionError with every fault."""
    progress.stage("inspecting", len(sheets))
    tasks = [(s.file, expectation(batch, s)) for s in sheets]
    outcomes = run_all(inspect_file, tasks, stage, workers=workers, done=progress.step)
    faults: list[str] = []
    burned: dict[PartKey, Region] = {}
    for (file, _), outcome in zip(tasks, outcomes, strict=True):
        if isinstance(outcome, Failure):
            faults.append(f"{file}: the inspection {outcome.reason}")
        else:
            faults += [f"{file}: {'plate ' + f.plate + ': ' if f.plate else ''}{f.message}" for f in outcome.findings]
            burned |= outcome.burned
    faults += [f.message for f in judge_drop_ins(fits_of(batch), burned)]
    if faults:
        raise InspectionError([*faults, "nothing was put into the out folder"])


def inspect_file(folder: Path, task: tuple[str, SheetExpectation]) -> Inspected:
    """Inspect one written file (runs in a worker process)."""
    file, expected = task
    return examine_sheet(folder / file, expected)
