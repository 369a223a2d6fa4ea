"""What was cut of a plate that is made anew, and that it goes on with: its plaque, where it has the form that it had.

Terms. A piece is *taken over* when it was cut of an earlier version of its plate and is one of the new version from now
on. Only a plaque on which a name is glued is: it carries no text. It must still be good, with nothing glued on it, and
of the material, the outline and the scored lines that are asked for now.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nameplate.findings import Finding
from nameplate.geometry.compare import agree, lines_apart
from nameplate.job.designs import Contexts
from nameplate.job.kept_plates import Before
from nameplate.job.looks import differing, look_of
from nameplate.model import Part, Plate
from nameplate.nest.layout import PieceKey
from nameplate.plates.make import PlateContext, PlateWork
from nameplate.record.kept import KeptVersion
from nameplate.record.plate_json import unpacked_plate
from nameplate.record.plate_lists import plates_in_words
from nameplate.system.shelf import changed
from nameplate.ticket.materials import GLUED
from nameplate.tolerances import CURVE

#: Keys of a look that a plaque must have in common with the one that was cut. Its kerf is not among them: the plaque
#: is there, however it was cut.
_KEYS = ("material.blank.name", "material.blank.thickness", "material.blank.face_down", "files.face_down")


@dataclass(frozen=True, slots=True)
class TakenOver:
    """Plates with what is still to be cut of them, the pieces that they go on with, and what is said of that."""

    works: tuple[PlateWork, ...]
    pieces: frozenset[PieceKey] = frozenset()
    findings: tuple[Finding, ...] = ()


def take_over(works: Sequence[PlateWork], contexts: Contexts, before: Before, superseded: Sequence[str]) -> TakenOver:
    """Leave out of plates that are made anew the plaques that they go on with; raises RecordError for a damaged record.

    `superseded` plates have pieces that were cut.
    """
    begun = before.kept.begun
    anew = {work.plate.order.id: work.plate for work in works if work.plate.order.id in superseded}
    found = {
        plate: tuple(_plaques(begun[plate], made, contexts[made.order.design]))
        for plate, made in anew.items()
        if made.lettering is not None
    }
    plates = [plate for plate, keys in found.items() if keys]
    return TakenOver(
        tuple(_without(work, len(found.get(work.plate.order.id, ()))) for work in works),
        frozenset(key for keys in found.values() for key in keys),
        (_told(sorted(plates)),) if plates else (),
    )


def _plaques(version: KeptVersion, made: Plate, context: PlateContext) -> Iterator[PieceKey]:
    """Yield the pieces that were cut of a version of a plate and that serve it as it is `made` now."""
    # on one that is only cut nothing is glued; where all names are spoiled a person said that it is good without
    plaques = (piece for piece in version.pieces if piece.key[1] == "blank" and piece.stands)
    free = [piece.key for piece in plaques if piece.state == "cut" or not version.is_named]
    then = unpacked_plate(version.made, name=f"plate {version.plate}").plate if free else None
    if then is None or set(_KEYS) & set(differing(version.look, look_of(made.order, context))):
        return
    old, new = _plaque(then), _plaque(made)
    if old is not None and new is not None and _is_the_same(old, new):
        yield from free


def _plaque(plate: Plate) -> Part | None:
    """Give the plaque of a plate, where it carries no text."""
    if plate.order.mount not in GLUED or plate.lettering is None or not plate.lettering.scored.is_empty:
        return None
    return next((part for part in plate.parts if part.kind == "blank"), None)


def _is_the_same(old: Part, new: Part) -> bool:
    if old.material != new.material or len(old.marks) != len(new.marks):
        return False
    pairs = zip(old.marks, new.marks, strict=True)
    return agree(old.region, new.region, CURVE) and all(lines_apart(*pair) <= CURVE for pair in pairs)


def _without(work: PlateWork, plaques: int) -> PlateWork:
    if not plaques:
        return work
    left = [changed(p, copies=max(0, p.copies - plaques)) if p.kind == "blank" else p for p in work.plate.parts]
    return changed(work, plate=changed(work.plate, parts=tuple(left)))


def _told(plates: Sequence[str]) -> Finding:
    its, is_ = ("its plaque", "is") if len(plates) == 1 else ("their plaques", "are")
    text = (
        f"{plates_in_words(plates)}: made anew but for {its}, which {is_} cut and still good; where not, "
        f"nameplate mark spoiled TICKET {plates[0]} --part plaque, then make"
    )
    return Finding("cut-taken-over", "note", text)
