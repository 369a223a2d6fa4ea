"""The stage of the layout: all parts laid on sheets, by the nest or as an earlier run has stored it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeAlias

from nameplate.errors import LayoutError
from nameplate.findings import Finding
from nameplate.jig.skeleton import nestable, with_names, without_names
from nameplate.job.face_down import SEEN
from nameplate.model import Part, Plate
from nameplate.nest.layout import Layout, PieceKey, pieces_of, same_places, strangers
from nameplate.nest.nesting import nest
from nameplate.nest.request import NestRequest
from nameplate.nest.search.budget import ESTIMATE, ROUGH_ESTIMATE
from nameplate.nest.search.part_masks import NestStore
from nameplate.nest.sheets import on_hand_note, on_hand_of, rules_of
from nameplate.nest.stored import as_stocked, left_out, read_layout, with_left_out
from nameplate.nest.verify import verify
from nameplate.plates.batch_parts import SharedWork
from nameplate.plates.draft import drafted_materials
from nameplate.plates.make import PlateWork, as_it_stands
from nameplate.pool.interface import Pool
from nameplate.record.kept import Kept
from nameplate.system.reading import shown
from nameplate.ticket.cautions import has_wood_grain
from nameplate.ticket.workshop_schema import MaterialKeys

#: Lays parts on sheets, of the supply that a request without pieces tells: the nest, or a stored layout.
Arrange: TypeAlias = Callable[[Sequence[Part], NestRequest], Layout]


@dataclass(frozen=True, slots=True)
class Arranged:
    """What found its place: plates and shared parts, and where it lies."""

    works: tuple[PlateWork, ...]
    shared: Mapping[str, SharedWork]
    layout: Layout


def lay_out(
    works: Sequence[PlateWork], shared: Mapping[str, SharedWork], supply: NestRequest, arrange: Arrange
) -> Arranged:
    """Lay all parts on sheets. A plate one of whose parts finds no place leaves the layout with all its parts."""
    findings: tuple[Finding, ...] = ()
    unplaced: tuple[PieceKey, ...] = ()
    not_made = tuple(work.plate.order.id for work in works if work.plate.lettering is None)
    while True:
        parts = [part for work in works for part in work.plate.parts]
        parts += [part for own in shared.values() for part in own.parts]
        layout = arrange(parts, supply)
        findings += layout.findings
        lost = {plate for plate, *_ in layout.unplaced} & {part.plate for part in parts}
        if not lost:
            break
        unplaced += tuple(piece.key for piece in pieces_of(p for p in parts if p.plate in lost))
        works = tuple(without_parts(w) if w.plate.order.id in lost else w for w in works)
        shared = {name: own.without(lost) for name, own in shared.items()}
    sheets = tuple(replace(sheet, face_down=sheet.material in supply.face_down) for sheet in layout.sheets)
    told = tuple(dict.fromkeys(findings))
    layout = replace(layout, sheets=sheets, findings=told, unplaced=unplaced, not_made=not_made)
    return Arranged(tuple(works), shared, layout)


@dataclass(frozen=True, slots=True)
class NestArrange:
    """Nests parts. `jig_styles` and `draft` tell whose outline is not known exactly; `stores` keep what is prepared."""

    jig_styles: Collection[str]
    draft: bool = False
    stores: dict[str, NestStore] | None = None
    pool: Pool | None = None

    def __call__(self, parts: Sequence[Part], supply: NestRequest) -> Layout:
        """Nest the parts on the supply."""
        request = nest_request(parts, supply, jig_styles=self.jig_styles, draft=self.draft)
        return with_names(nest(request, stores=self.stores, pool=self.pool), parts)


def nest_request(
    parts: Sequence[Part], supply: NestRequest, *, jig_styles: Collection[str], draft: bool
) -> NestRequest:
    """Give what is to be nested; drafts are nested as far as it takes to count sheets."""
    rough = drafted_materials(parts, jig_styles) if draft else ()
    budgets = {part.material: ROUGH_ESTIMATE if part.material in rough else ESTIMATE for part in parts}
    pieces = pieces_of(nestable(parts), supply.face_down)
    return replace(supply, pieces=pieces, budgets=budgets if draft else {})


@dataclass(frozen=True, slots=True)
class StoredArrange:
    """Lays parts as the layout in a file has them. It is read at once, before any name is made."""

    path: Path
    layout: Layout

    @classmethod
    def read(cls, path: Path) -> StoredArrange:
        """Read a stored layout; raises LayoutError when the file is none."""
        try:
            return cls(path, read_layout(path))
        except LayoutError as error:
            raise LayoutError([*error.problems, _advice(path)]) from error

    def __call__(self, parts: Sequence[Part], supply: NestRequest) -> Layout:
        """Check that the layout belongs to these parts and still holds; raises LayoutError with every reason."""
        layout = with_left_out(self.layout.uncut, pieces_of(parts))  # what was cut is in the record
        problems = [
            *strangers(layout, pieces_of(parts)),
            *(
                f"{sheet.name} lies face {'down' if sheet.face_down else 'up'} in it, and now the other way"
                for sheet in layout.sheets
                if sheet.face_down != (sheet.material in supply.face_down)
            ),
        ]
        if not problems:
            rules = {part.material: supply.rules(part.material) for part in parts}
            bare, pieces = without_names(layout, parts), pieces_of(nestable(parts), supply.face_down)
            whole, problems = as_stocked(bare, supply.stock, rules, supply.offcuts)
            problems += [f.message for f in verify(bare, pieces, rules)]
            if not problems and not same_places(whole := with_names(whole, parts), layout):
                problems = ["a name that is cut from its template does not lie where the template lies"]
        if problems:
            raise LayoutError([*(f"{self.path.name}: {problem}" for problem in problems), _advice(self.path)])
        return replace(whole, findings=left_out(layout, pieces_of(parts)))


def _advice(path: Path) -> str:
    return f"{shown(path)} does not fit this job; nest it anew without --layout"


def grain_findings(layout: Layout, materials: Mapping[str, MaterialKeys]) -> Iterator[Finding]:
    """Say of which woods pieces that are seen lie across, where the ticket does not say whether they may."""
    across = {key: 0 for key, own in materials.items() if own.grain is None and has_wood_grain(own.name)}
    for sheet in layout.uncut.sheets:
        if sheet.material in across:
            across[sheet.material] += sum(at.kind in SEEN and at.turn % 180 != 0 for at in sheet.placements)
    told = {key: count for key, count in across.items() if count}
    if told:
        which = ", ".join(f"{key} ({materials[key].name}): {count}" for key, count in told.items())
        where = ", ".join(f"[material.{key}]" for key in told)
        text = (
            f"pieces lie turned on wood, so that their grain runs another way: {which}; write grain = true below "
            f"{where} and all lie alike, or grain = false where it may run as it comes"
        )
        yield Finding("grain-turned", "note", text, measured=sum(told.values()), allowed=0)


def on_hand_used(layout: Layout, supply: NestRequest) -> dict[str, str]:
    """Say by material how its stock on hand was used; materials without any are left out."""
    said = {}
    for material in sorted({sheet.material for sheet in layout.sheets}):
        on_hand = on_hand_of(supply.stock, material, rules_of(supply.keys), supply.offcuts)
        if on_hand:
            said[material] = on_hand_note(on_hand, [s for s in layout.sheets if s.material == material])
    return said


def without_parts(work: PlateWork) -> PlateWork:
    """Give a plate that is not made, with what was found about it; of one that goes on, what was cut stays."""
    if work.on:
        return as_it_stands(work)
    return PlateWork(Plate(work.plate.order, None, findings=work.plate.findings))


# --- the sheets that were cut ----------------------------------------------------------------------------------------


def with_cut(layout: Layout, kept: Kept) -> Layout:
    """Give a layout with the sheets that were cut, by material and number."""
    every = (*(sheet.layout for sheet in kept.sheets), *layout.sheets)
    return replace(layout, sheets=tuple(sorted(every, key=lambda sheet: (sheet.material, sheet.number))))
