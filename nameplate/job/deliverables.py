"""What a run leaves behind besides its cut files: jigs, paper, and the records for later runs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from nameplate.cut.expectation import DropIn, ExpectedPart, SheetExpectation
from nameplate.cut.kerf import Toolpath
from nameplate.cut.nominal_file import RECORD, record_lines
from nameplate.cut.order import placed_marks
from nameplate.cut.pdf import jig_pdf
from nameplate.cut.svg import jig_sheet, jig_svg
from nameplate.geometry.curves.curve import flatten
from nameplate.geometry.region import Region, difference, from_ring, moved, solids, union
from nameplate.job.out_folder import Content
from nameplate.job.prepare import Batch
from nameplate.job.progress import timed
from nameplate.job.sheets import Sheet
from nameplate.model import PartKind
from nameplate.nest.layout import layout_to_json
from nameplate.nest.offcuts import offcuts_to_json, remainders
from nameplate.paperwork.cards import cards_html
from nameplate.paperwork.proof import proof_html
from nameplate.paperwork.worklist import worklist_csv, worklist_html
from nameplate.plates.make import Work
from nameplate.ticket.schema import ColourKeys

#: A file's name under the out folder (with `/`), and what is in it.
Named = tuple[str, Content]

#: The files of one jig, and what they must show.
Drawing = tuple[tuple[str, ...], SheetExpectation]


def left_behind(
    batch: Batch,
    sheets: Sequence[Sheet],
    expected: Sequence[SheetExpectation],
    drop_ins: Sequence[DropIn],
    drawings: JigDrawings,
) -> Iterator[Named]:
    """Give every file but the cut files and the summary, one after another."""
    with timed("jigs"):
        yield from _jigs(batch)
    with timed("records"):
        yield from _records(batch, sheets, expected, drop_ins, drawings)
    with timed("paperwork"):
        yield from _paper(batch, [f"{s.file} (left out)" if s.file in batch.left_out else s.file for s in sheets])


def _jigs(batch: Batch) -> Iterator[Named]:
    colours = batch.ticket.colours
    for work in batch.works:
        if work.jig is not None:
            svg, *pdf = _jig_files(batch, work)
            yield svg, jig_svg(work.jig, colours)
            for name in pdf:
                yield name, jig_pdf(work.jig)
    if batch.shared.file:
        yield batch.shared.file, jig_svg(batch.shared.nominal, colours)


def _jig_files(batch: Batch, work: Work) -> tuple[str, ...]:
    name = str(work.plate.jig["file"])
    return (name, f"{name.removesuffix('.svg')}.pdf") if batch.ticket.jig.style == "print" else (name,)


@dataclass(frozen=True, slots=True)
class JigDrawings:
    """What the files of each jig must show: the part as it is cut, or what is drawn where nothing is cut.

    Each is put together when it is asked for, since those of a large batch are much together.
    """

    batch: Batch

    def __iter__(self) -> Iterator[Drawing]:
        batch = self.batch
        shapes = {(p.plate, p.kind, p.layer): p.region for p in batch.parts if not p.is_waste}
        colours = batch.ticket.colours
        for work in batch.works:
            if work.jig is not None:
                yield _jig_files(batch, work), _drawing([work.jig], shapes, colours)
        if batch.shared.file:
            yield (batch.shared.file,), _drawing(batch.shared.nominal, shapes, colours)


@dataclass(frozen=True, slots=True)
class _BySvg:
    """The same by the name of the SVG alone."""

    drawings: JigDrawings

    def __iter__(self) -> Iterator[tuple[str, SheetExpectation]]:
        return ((files[0], expected) for files, expected in self.drawings)


def _drawing(
    paths: Sequence[Toolpath], shapes: Mapping[tuple[str, PartKind, int], Region], colours: ColourKeys
) -> SheetExpectation:
    sheet = jig_sheet(paths)
    parts = []
    for path in paths:
        shape = shapes.get((path.plate, path.kind, path.layer))
        shape = _enclosed(path) if shape is None else shape
        part = ExpectedPart(
            plate=path.plate,
            kind=path.kind,
            copy=1,
            layer=path.layer,
            region=moved(shape, sheet.x, sheet.y),
            pieces=len(solids(shape)),
            marks=placed_marks(path.marks, sheet.x, sheet.y, 0.0),
            at=(sheet.x, sheet.y, 0.0),
        )
        parts.append(part)
    return SheetExpectation("", sheet.width, sheet.height, 0.0, 0.0, 0.0, None, tuple(parts), colours=colours)


def _enclosed(path: Toolpath) -> Region:
    """Give the area within the outer contours of a toolpath and outside the inner ones."""
    rings = [(c.operation, from_ring(flatten(c.curve))) for c in path.contours]
    outer, inner = (union(*(r for own, r in rings if own == which)) for which in ("cut-outside", "cut-inside"))
    return difference(outer, inner)


def _records(
    batch: Batch,
    sheets: Sequence[Sheet],
    expected: Sequence[SheetExpectation],
    drop_ins: Sequence[DropIn],
    drawings: JigDrawings,
) -> Iterator[Named]:
    yield "layout.json", layout_to_json(batch.layout)
    kerf = {key: material.kerf for key, material in batch.ticket.material.items()}
    yield "offcuts.json", offcuts_to_json(remainders(batch.layout, batch.pieces, batch.ticket.nest.gap, kerf))
    named = [(s.file, e) for s, e in zip(sheets, expected, strict=True) if s.file not in batch.left_out]
    yield RECORD, record_lines(named, drop_ins, _BySvg(drawings))


def _paper(batch: Batch, files: Sequence[str]) -> Iterator[Named]:
    plates, face, title = batch.plates, batch.shop.face, batch.ticket.job.title
    yield "worklist.csv", worklist_csv(plates, batch.layout, files)
    yield (
        "worklist.html",
        worklist_html(
            plates,
            batch.layout,
            files,
            face,
            title=title,
            findings=batch.findings,
            shared=batch.shared.parts,
            carrier=batch.shared.record,
        ),
    )
    if batch.ticket.jig.style != "none":
        yield "cards.html", cards_html(plates, face, title=title, carrier=batch.shared.record)
    yield "proof.html", proof_html(plates, face, batch.findings, title=title)
