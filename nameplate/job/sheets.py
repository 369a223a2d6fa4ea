"""Sheets on their way to the laser: gathered from the layout, written, read back and burned virtually."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, TypeAlias

from nameplate.cut.cut_free import PLAINLY_CUT, CutFree
from nameplate.cut.dxf import steps_dxf
from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.inspect import Inspected
from nameplate.cut.inspect_files import examine_files
from nameplate.cut.kerf import Toolpath
from nameplate.cut.machine import Axes, CutPen, CutRules, CutStyle
from nameplate.cut.order import PlacedToolpath, Step, burning_order
from nameplate.cut.pdf import steps_pdf, tiled_pdf
from nameplate.cut.sheet_png import steps_png
from nameplate.cut.svg import steps_svg
from nameplate.cut.timing import Speeds, burn_time
from nameplate.errors import OutputError
from nameplate.geometry.lie import UNMOVED, Lie
from nameplate.geometry.region import Array
from nameplate.job.burning import speeds_of
from nameplate.job.out_folder import write_file
from nameplate.job.prepare import Batch
from nameplate.model import Part, PartId
from nameplate.nest.layout import Piece, PieceKey, PlacedRegion, Placement, SheetLayout
from nameplate.nest.offcuts import Remainder, remainder
from nameplate.nest.sheets import rules_of, usable_region
from nameplate.pdf.paper import PAPERS, Paper
from nameplate.plates.mounts import least_web
from nameplate.plates.trial import expected_part
from nameplate.system.shelf import Drawers, Later, changed, packed, stored
from nameplate.ticket.schema import ENDINGS, FilesKeys

#: By what a part goes that lies turned by so many degrees.
TurnedId: TypeAlias = tuple[str, str, int, float]


@dataclass(frozen=True, slots=True)
class SheetTask:
    """All that a worker needs to write one sheet and to inspect it. `forms` asks for other forms too.

    Cuts that follow each other lie `spread_heat` mm apart where they can.
    """

    layout: SheetLayout
    toolpaths: tuple[PlacedToolpath, ...]
    expected: SheetExpectation
    title: str
    forms: FilesKeys
    paper: Paper
    speeds: Speeds | None = None
    spread_heat: float = 0.0

    @property
    def file(self) -> str:
        """The cut file, under the out folder."""
        return self.layout.file

    def other_form(self, form: str) -> str:
        """Name the file of another form."""
        return self.file.removesuffix(ENDINGS["svg"]) + ENDINGS[form]


@dataclass(frozen=True, slots=True)
class CutSheet:
    """What became of a sheet: mm that the beam cuts, seconds it takes where the speeds are known, the inspection.

    `rest` is what of it can be used again. `problems` are sentences about files that could not be written; then nothing
    was inspected. `digests` are those of the files, by name; `freed` says how its parts come free.
    """

    cut_length: float
    seconds: float | None
    inspected: Inspected
    rest: Remainder | None = None
    problems: tuple[str, ...] = ()
    digests: Mapping[str, str] = field(default_factory=dict)
    freed: CutFree = PLAINLY_CUT


@dataclass(frozen=True, slots=True)
class MadeSheet:
    """A sheet that is handed over: what it was made by, what became of it, and its entry in the summary."""

    task: SheetTask
    cut: CutSheet
    figures: Mapping[str, Any]

    @property
    def expected(self) -> SheetExpectation:
        """What must be left of it, with the tabs that its parts hang by."""
        return with_tabs(self.task.expected, self.cut.freed)


def tasks_of(batch: Batch, parts: Mapping[PartId, ExpectedPart]) -> tuple[SheetTask, ...]:
    """Put together what workers need for the sheets that are to be cut; `parts` are the `expected_parts`."""
    ticket = batch.ticket
    pieces = {piece.key: piece for piece in batch.pieces}
    cut = [path for work in batch.works for path in work.toolpaths]
    cut += [path for own in batch.shared.values() for path in own.toolpaths]
    paths: dict[PartId, Toolpath] = {p.part_id: p for p in cut}

    def lying(at: Placement, layout: SheetLayout) -> PlacedToolpath:
        turned = (*at.part_id, upright_turn(at, over=layout.face_down))
        path = batch.turned.get(turned, paths[at.part_id])  # lines made for its turn, where it matters how it lies
        return PlacedToolpath(path, at.copy, at.x, at.y, at.turn, layout.face_down, batch.labels.get(at.key, ()))

    return tuple(
        SheetTask(
            layout,
            tuple(lying(at, layout) for at in layout.placements),
            _expectation(batch, layout, pieces, parts),
            ticket.job.title,
            ticket.cut_files,
            PAPERS[ticket.job.paper],
            speeds_of(batch.material(layout.material), ticket.machine),
            ticket.machine.spread_heat,
        )
        for layout in batch.layout.uncut.sheets
    )


def upright_turn(at: Placement, *, over: bool) -> float:
    """Give by how many degrees (0 to 180) a part that is cut alike lies turned without being turned over.

    A beam with two axes of symmetry cuts alike after half a turn; and mirrored, where it is turned the other way.
    """
    return (-at.turn if over else at.turn) % 180


def expected_parts(batch: Batch) -> dict[PartId, ExpectedPart]:
    """Say of each part of a batch what must be left of every copy, in plate coordinates."""
    made = {w.plate.order.id: w.plate.lettering for w in batch.works if w.plate.lettering is not None}
    orders = {w.plate.order.id: w.plate.order for w in batch.works}
    names = {part.plate: name for name, own in batch.shared.items() for part in own.parts}

    def expected(part: Part) -> ExpectedPart:
        order = orders.get(part.plate)
        keys = batch.contexts[order.design if order else names[part.plate]]
        web = None if order is None else least_web(order.mount, part.kind, keys.lettering)
        own = expected_part(part, made.get(part.plate), web)
        return changed(own, marks=stored(part, "marks"), at=UNMOVED, fits=keys.jig.style not in ("none", "print"))

    return {part.part_id: expected(part) for part in batch.parts}


@dataclass(frozen=True, slots=True)
class _PlacedMarks(Later[tuple[Array, ...]]):
    """The marks of a part where it lies, placed when they are looked at."""

    part: ExpectedPart
    at: Lie

    def made(self) -> tuple[Array, ...]:
        """Give the marks where the part lies."""
        return self.at.lines(self.part.marks or ())


def _expectation(
    batch: Batch, layout: SheetLayout, pieces: Mapping[PieceKey, Piece], parts: Mapping[PartId, ExpectedPart]
) -> SheetExpectation:
    """Say what must be left of a sheet after burning its file."""

    def lying(at: Placement) -> ExpectedPart:
        part, lie = parts[at.part_id], at.lie(over=layout.face_down)
        own = {"region": PlacedRegion(pieces[at.key], at), "marks": _PlacedMarks(part, lie)}
        return changed(part, copy=at.copy, **own, labels=batch.labels.get(at.key, ()), at=lie)

    kerf = batch.material(layout.material).kerf
    return SheetExpectation(
        material=layout.material,
        width=layout.width,
        height=layout.height,
        kerf=kerf,
        gap=batch.ticket.nest.gap,
        edge_margin=batch.ticket.nest.edge_margin,
        parts=tuple(map(lying, layout.placements)),
        room=None if layout.plain else usable_region(layout, rules_of(batch.ticket.nest, kerf.widest)),
        pen=CutPen.of(batch.ticket.colours, batch.ticket.machine),
        face_down=layout.face_down,
        axes=Axes.of(batch.ticket.machine),
        style=CutStyle.of(batch.ticket.machine),
    )


def _drawn(task: SheetTask, steps: Sequence[Step], form: str) -> str | bytes:
    """Give what is in the file of another form."""
    width, height = task.expected.width, task.expected.height
    if form == "dxf":
        polylines = task.forms.curves == "polylines"
        axes, frame = task.expected.axes, task.forms.frame
        return steps_dxf(width, height, steps, task.expected.pen, frame=frame, polylines=polylines, axes=axes)
    if form == "tiled":
        return tiled_pdf(steps, task.paper, decimals=task.expected.pen.decimals)
    return (steps_pdf if form == "pdf" else steps_png)(width, height, steps, task.expected.pen)


def cut_sheet(folder: Path, task: SheetTask) -> CutSheet:
    """Write one sheet under `folder`, read it back from disk and burn it virtually (runs in a worker process)."""
    width, height = task.expected.width, task.expected.height
    rest = task.expected.axes.corner(width, height)
    rules = CutRules(task.expected.style, task.expected.kerf.widest, task.expected.gap, width, height)
    steps = burning_order(task.toolpaths, rest=rest, spread_heat=task.spread_heat, rules=rules)
    digests = {}
    try:
        svg = steps_svg(width, height, steps, task.expected.pen, title=task.title, cuts=rules.style.words)
        digests[task.file] = write_file(folder, task.file, svg)
        for form in task.forms.others:
            name = task.other_form(form)
            digests[name] = write_file(folder, name, _drawn(task, steps, form))
    except OutputError as error:
        return CutSheet(0.0, None, Inspected(()), problems=error.problems)
    time, freed = burn_time(steps, task.speeds, rest=rest), CutFree.of(steps, rules.style)
    inspected = examine_files(folder, tuple(digests), with_tabs(task.expected, freed))
    kept = replace(inspected, burned=Drawers(inspected.burned))
    own = task.expected
    left = remainder(task.layout, [part.region for part in own.parts], max(own.gap, own.kerf.widest))
    return packed(CutSheet(time.cut_length, time.seconds, kept, left, digests=digests, freed=freed))


def with_tabs(expected: SheetExpectation, freed: CutFree) -> SheetExpectation:
    """Say of a sheet where the tabs are that its parts hang by."""
    return replace(expected, tabs=freed.tabs) if len(freed.tabs) else expected
