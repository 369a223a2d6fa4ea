"""What of a batch must drop into what, once it is cut: names, plaques and pins, each with the room that was stated."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from nameplate.cut.expectation import DropIn
from nameplate.geometry import region as rg
from nameplate.jig.carrier import KEY_GAP, PIN_GAP, plan_carrier
from nameplate.jig.layers import CARRIER
from nameplate.job.designs import DesignWork
from nameplate.job.prepare import Batch
from nameplate.model import GUIDE_LAYER, Face, Part, Plate
from nameplate.ticket.schema import JigKeys


def drop_ins(batch: Batch) -> tuple[DropIn, ...]:
    """Say what must drop into what once the batch is cut; for what was cut before, as it was said then."""
    kerf = {key: material.kerf.outside.narrowest for key, material in batch.ticket.material.items()}
    every = (fit for design in batch.designs for fit in _of_design(design, kerf))
    before = (fit for own in batch.drop_ins.values() for fit in own)
    return (*before, *(fit for fit in every if fit.outer[0] not in batch.drop_ins))


def _of_design(design: DesignWork, kerf: Mapping[str, float]) -> Iterator[DropIn]:
    """Yield what must drop in over all plates of a design; `kerf` is the narrowest of each material (mm)."""
    face, keys, shared = design.context.face, design.context.jig, design.shared.parts
    names = tuple(d for plate in design.plates for d in _names(plate, keys, kerf))
    yield from names
    if keys.style == "carrier" and names:
        carrier = next((part.plate for part in shared if part.kind == "carrier"), CARRIER)
        yield from _on_pins([d.outer[0] for d in names if d.outer[2] != GUIDE_LAYER], face, keys, carrier)
        yield from _plaques(shared, face, keys)


def _names(plate: Plate, keys: JigKeys, kerf: Mapping[str, float]) -> Iterator[DropIn]:
    """Give a plate's name, or its backing, into the template's window, and a name into the window on its backing."""
    parts = {(part.kind, part.layer): part for part in plate.parts}
    lettering, backing = parts.get(("lettering", 1)), parts.get(("backing", 1))
    name = backing or lettering
    if name is not None and ("template", 1) in parts:
        room = kerf[name.material] if keys.style == "skeleton" else keys.clearance
        yield DropIn(f"the {name.kind}", (plate.order.id, "template", 1), room, (plate.order.id, name.kind, 1))
    if lettering is not None and ("template", GUIDE_LAYER) in parts:
        guide = (plate.order.id, "template", GUIDE_LAYER)
        yield DropIn("the lettering", guide, keys.clearance, (plate.order.id, "lettering", 1))


def _on_pins(plates: Sequence[str], face: Face, keys: JigKeys, carrier: str) -> Iterator[DropIn]:
    """Give the pins, where the carrier's own burned holes hold them, into each template's holes."""
    plan = plan_carrier(face, keys)
    pins = rg.union(*(rg.disc(at, plan.pin) for at in (plan.hole, plan.slot)))
    key = rg.disc(plan.key, plan.pin)
    for plate in plates:
        yield DropIn("the locating pins", (plate, "template", 1), PIN_GAP, (carrier, "carrier", 1), pins)
        yield DropIn("the key pin", (plate, "template", 1), KEY_GAP, (carrier, "carrier", 1), key)


def _plaques(shared: Sequence[Part], face: Face, keys: JigKeys) -> Iterator[DropIn]:
    """Give the largest plaque into the pocket of every wall."""
    largest = rg.offset(face.outline, keys.plaque_tolerance / 2)
    for part in shared:
        if part.kind == "carrier" and any(feature == "pocket" for feature, _ in part.features):
            yield DropIn("the largest plaque", part.part_id, keys.clearance, None, largest)
