"""Plates in bundles for a worker: each jig drawn, read back and judged, each part put down as the record has it.

Terms. A *drawing* is a jig's nominal one, in files of its own; a *picture* is a PNG of a plate, to look at. A *bundle*
is some plates' parts, drawings and pictures, or those that a batch shares.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.inspect_files import examine_jig
from nameplate.cut.kerf import Toolpath
from nameplate.cut.machine import CutPen
from nameplate.cut.nominal_file import PartEntry, SheetEntry, part_entries, sheet_entry
from nameplate.cut.pdf import jig_pdf
from nameplate.cut.svg import jig_sheet, jig_svg
from nameplate.findings import Finding
from nameplate.geometry.beam import Kerf
from nameplate.geometry.curves.curve import flatten
from nameplate.geometry.lie import UNMOVED, Lie
from nameplate.geometry.region import difference, from_ring, solids, union
from nameplate.job.out_folder import write_file
from nameplate.job.prepare import Batch
from nameplate.model import PartId
from nameplate.paperwork.pictures import backing_of
from nameplate.paperwork.plate_png import PlatePicture, picture_file
from nameplate.paperwork.proof import colours_on
from nameplate.pdf.paper import A4, PAPERS, Paper
from nameplate.plates.make import PlateWork
from nameplate.system.grouping import in_groups
from nameplate.system.shelf import changed

#: Plates in a bundle, half a second of work. More leave workers idle at the end, fewer cost the parent more looks
#: after the pool.
BUNDLE = 12


@dataclass(frozen=True, slots=True)
class JigDrawing:
    """The drawing of one jig: its files (an SVG, and a PDF for paper), the nominal lines of each layer, and the part
    that each is cut as, None where nothing is cut.

    `layered` drawings, of a carrier, have a group for each of their paths. A PDF is for sheets of `paper`.
    """

    files: tuple[str, ...]
    paths: tuple[Toolpath, ...]
    parts: tuple[ExpectedPart | None, ...]
    pen: CutPen
    layered: bool = False
    paper: Paper = A4

    def contents(self) -> Iterator[tuple[str, str | bytes]]:
        """Give the files by their names, one after another."""
        svg, *pdf = self.files
        yield svg, jig_svg(self.paths, self.pen, layered=self.layered)
        yield from ((name, jig_pdf(self.paths[0], self.paper)) for name in pdf)

    def expected(self) -> SheetExpectation:
        """Say what the files must show: the part as it is cut, or what is drawn where nothing is cut."""
        sheet = jig_sheet(self.paths)
        at = Lie(sheet.x, sheet.y)
        parts = []
        for path, part in zip(self.paths, self.parts, strict=True):
            own = _drawn(path) if part is None else part
            parts.append(changed(own, region=at.region(own.region), marks=at.lines(path.marks), at=at))
        return SheetExpectation("", sheet.width, sheet.height, Kerf.of(0.0), 0.0, 0.0, tuple(parts), pen=self.pen)


@dataclass(frozen=True, slots=True)
class PlateTask:
    """The parts of one plate as they are cut, in plate coordinates, its drawing, and its picture where one is wanted.

    A window of its template is the part that it locates, grown by `clearance` mm.
    """

    parts: tuple[ExpectedPart, ...]
    drawing: JigDrawing | None
    clearance: float
    picture: PlatePicture | None = None

    @property
    def files(self) -> tuple[str, ...]:
        """The names of its files, under the out folder."""
        drawn = self.drawing.files if self.drawing is not None else ()
        return (*drawn, self.picture.file) if self.picture is not None else drawn

    def entries(self) -> tuple[PartEntry, ...]:
        """Give what the record says of the parts, and of what is only drawn."""
        drawn = [] if self.drawing is None else zip(self.drawing.paths, self.drawing.parts, strict=True)
        return part_entries(self.parts, self.clearance, drawn=[_drawn(path) for path, part in drawn if part is None])


@dataclass(frozen=True, slots=True)
class Bundle:
    """Some plates, for a worker."""

    plates: tuple[PlateTask, ...]

    @property
    def files(self) -> tuple[str, ...]:
        """The names of all files, under the out folder."""
        return tuple(name for plate in self.plates for name in plate.files)


@dataclass(frozen=True, slots=True)
class Recorded:
    """What became of a bundle: what the record says of it, what is wrong with its drawings, and the digests of its
    files by name. `problems` are sentences about files that could not be written."""

    parts: tuple[PartEntry, ...]
    jigs: tuple[tuple[str, SheetEntry], ...]
    wrong: tuple[Finding, ...] = ()
    digests: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[str, ...] = ()


def bundles_of(batch: Batch, every: Mapping[PartId, ExpectedPart]) -> list[Bundle]:
    """Put the plates of a batch together for workers, in their order; what the batch shares comes last.

    `every` has the `expected_parts` of the batch.
    """
    return [Bundle(tasks) for tasks in in_groups(tuple(_plate_tasks(batch, every)), BUNDLE)]


def _plate_tasks(batch: Batch, every: Mapping[PartId, ExpectedPart]) -> Iterator[PlateTask]:
    pen = CutPen.of(batch.ticket.colours, batch.ticket.machine)
    for work in batch.works:
        drawing = None
        parts = {(p.kind, p.layer): every[p.part_id] for p in work.plate.parts}
        if (path := work.jig) is not None:
            cut = parts.get((path.kind, path.layer))
            part = None if cut is None or cut.is_waste else cut
            file, printed = str(work.plate.jig["file"]), work.plate.jig["style"] == "print"
            files = (file, f"{file.removesuffix('.svg')}.pdf") if printed else (file,)
            drawing = JigDrawing(files, (path,), (part,), pen, paper=PAPERS[batch.ticket.job.paper])
        if parts:
            # a skeleton's window is what the beam leaves of it
            kerf = next((batch.material(p.material).kerf.outside.widest for p in work.plate.parts if p.is_waste), None)
            clearance = batch.contexts[work.plate.order.design].jig.clearance
            picture = _picture(batch, work) if "png" in batch.ticket.cut_files.formats else None
            yield PlateTask(tuple(parts.values()), drawing, clearance if kerf is None else kerf, picture)
    for own in batch.shared.values():
        shared = {p.part_id: every[p.part_id] for p in own.parts}
        drawing = None
        if own.file:
            cut_as = tuple(shared.get(p.part_id) for p in own.nominal)
            drawing = JigDrawing((own.file,), own.nominal, cut_as, pen, layered=True)
        if shared or drawing is not None:
            yield PlateTask(tuple(shared.values()), drawing, 0.0)


def _picture(batch: Batch, work: PlateWork) -> PlatePicture | None:
    """Give what a plate's picture shows; none of one that is not made."""
    order, lettering = work.plate.order, work.plate.lettering
    if lettering is None:
        return None
    context = batch.contexts[order.design]
    colours = colours_on(order, context.materials)
    return PlatePicture(picture_file(order), context.face, lettering, backing_of(work.plate), colours)


def draw_and_record(folder: Path, bundle: Bundle) -> Recorded:
    """Write the drawings of some plates under `folder`, read them back and judge them, and record the plates.

    Raises OutputError when one cannot be written.
    """
    parts: list[PartEntry] = []
    jigs: list[tuple[str, SheetEntry]] = []
    wrong: list[Finding] = []
    digests: dict[str, str] = {}
    for plate in bundle.plates:
        parts += plate.entries()
        if (drawing := plate.drawing) is not None:
            expected = drawing.expected()
            digests |= {name: write_file(folder, name, content) for name, content in drawing.contents()}
            wrong += examine_jig(folder, drawing.files, expected)
            jigs.append((drawing.files[0], sheet_entry(expected)))
        if (picture := plate.picture) is not None:
            digests[picture.file] = write_file(folder, picture.file, picture.png())
    return Recorded(tuple(parts), tuple(jigs), tuple(wrong), digests)


def _drawn(path: Toolpath) -> ExpectedPart:
    """Say what a drawing shows of a part that is not cut, in plate coordinates: what its own lines bound."""
    rings = [(c.operation, from_ring(flatten(c.curve))) for c in path.contours]
    outer, inner = (union(*(r for own, r in rings if own == which)) for which in ("cut-outside", "cut-inside"))
    shape = difference(outer, inner)
    marks = UNMOVED.lines(path.marks)
    return ExpectedPart(path.plate, path.kind, 1, path.layer, shape, len(solids(shape)), marks=marks, at=UNMOVED)
