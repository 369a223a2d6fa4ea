"""Where the ids of pieces are scored, so that they can be told apart on the bed: on the waste beside each, or on the
back of what lies face down, where that is large enough.

A label on the waste lies nearer to its piece than to any other, upright as the sheet lies, outside of every outline.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import TypeAlias

from nameplate.cut.inspect import LABEL_CLEAR
from nameplate.findings import Finding, named, sort_findings
from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.nearby import Index
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import simplified
from nameplate.jig.labels import written
from nameplate.jig.placing import FreePlaces
from nameplate.job.face_down import SEEN
from nameplate.job.prepare import Batch
from nameplate.nest.layout import Piece, PieceKey, SheetLayout, placed

#: Heights of a label (mm), tried in order: common practice is 3 mm, and under 1.8 nobody reads what was scored.
HEIGHTS = (3.0, 2.4, 1.8)

#: Outlines are looked at this coarsely (mm), and get as much more room.
COARSE = 0.1

#: Room (mm) between a label and the cut of an outline: more than the inspection asks. Wider, it leaves more ids out.
CLEAR = LABEL_CLEAR + 0.2

#: A label lies at most this far (mm) from its piece; farther away nobody can tell whose it is.
REACH = 8.0

#: Plates named in a finding.
_NAMED = 8

#: The lines that are scored for a piece, in the coordinates of its sheet.
Label: TypeAlias = tuple[PieceKey, tuple[Array, ...]]


def labelled(batch: Batch) -> Batch:
    """Give a batch with the labels that its ticket asks for; what was left out for want of room is said by sheet."""
    how = batch.ticket.files.label
    if how == "none":
        return batch
    pieces = {piece.key: piece for piece in batch.pieces}
    inside = {(part.plate, part.kind) for part in batch.parts if part.cut_from}
    labels: dict[PieceKey, tuple[Array, ...]] = {}
    told: list[Finding] = []
    for sheet in batch.layout.uncut.sheets:
        lying = [(pieces[at.key], placed(pieces[at.key], at)) for at in sheet.placements]
        wanted = [n for n, (p, _) in enumerate(lying) if p.kind in SEEN and (p.plate, p.kind) not in inside]
        on_back = how == "back" and sheet.face_down
        clear = CLEAR + batch.material(sheet.material).kerf.widest / 2
        found: dict[PieceKey, tuple[Array, ...]] = {}
        for piece, shape in (lying[n] for n in wanted if on_back):
            free = FreePlaces(rg.offset(simplified(shape, COARSE), -clear - COARSE))
            found |= _where_there_is_room(piece, free.take)
        left = [n for n in wanted if lying[n][0].key not in found]
        found |= _on_waste(sheet, lying, left, clear, batch.ticket.nest.edge_margin)
        labels |= found
        if missing := [lying[n][0].plate for n in left if lying[n][0].key not in found]:
            told.append(_left_out(sheet.file, missing))
    return replace(batch, labels=labels, findings=sort_findings((*batch.findings, *told)))


def _left_out(file: str, missing: Sequence[str]) -> Finding:
    ids = named(sorted(dict.fromkeys(missing)), most=_NAMED)
    message = f"{file}: no room for a readable id at {ids}; find them by the map in worklist.html, or use a larger gap"
    return Finding("label-left-out", "note", message, measured=len(missing), allowed=0)


def _on_waste(
    sheet: SheetLayout, lying: Sequence[tuple[Piece, Region]], wanted: Sequence[int], clear: float, edge_margin: float
) -> Iterator[Label]:
    """Yield the labels that find room beside their pieces, as far from the sheet's edge (mm) as these."""
    shapes = [rg.filled(simplified(shape, COARSE)) for _, shape in lying]
    closed = [rg.offset(shape, clear + COARSE) for shape in shapes]
    damaged = [] if sheet.keep_outs is None else [sheet.keep_outs]
    free = FreePlaces(rg.difference(rg.offset(sheet.whole, -max(clear, edge_margin)), rg.union(*closed, *damaged)))
    index = Index(shapes)
    for n in wanted:
        yield from _where_there_is_room(lying[n][0], partial(_beside, n, index, free))


def _where_there_is_room(piece: Piece, find: Callable[[float, float], Box | None]) -> Iterator[Label]:
    """Yield the label of a piece as high as there is room for; `find` looks for that by width and height (mm)."""
    for height in HEIGHTS:
        if lines := written(piece.plate, height, find):
            yield piece.key, lines
            return


def _beside(number: int, index: Index, free: FreePlaces, width: float, height: float) -> Box | None:
    """Give the nearest free place for a box that is nearer to this shape than to any other, and close it."""
    own = index.shapes[number]
    for box in free.near(width, height, rg.as_region(own), REACH):
        there = rg.rectangle(*box)
        apart = rg.distance(own, there)
        if apart <= REACH and index.near(there, apart * 1.05) == (number,):
            free.close(box.grown(CLEAR))
            return box
    return None
