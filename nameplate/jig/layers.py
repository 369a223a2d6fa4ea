"""The carrier as parts to cut: how many layers its plaque takes, the layers, and the list of what to buy for it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nameplate.findings import Finding
from nameplate.geometry import region as rg
from nameplate.geometry.region import Region
from nameplate.jig.carrier import PIN_GAP, CarrierPlan
from nameplate.jig.closure import relieved_pin_float
from nameplate.jig.labels import place_labels
from nameplate.model import Feature, Part
from nameplate.ticket.schema import JigKeys

#: The plate name under which a batch's carrier goes in cut files and layouts.
CARRIER = "carrier"

#: Walls may stand this much over the plaque's face, mm: a template lying on them still guides the name.
OVER = 0.3

#: A plaque may stand this much over the walls before its template needs washers under it on the pins, mm.
PROUD = 0.5

#: Pins stand at least this far out of the template, mm, so that it drops on without looking.
PIN_LEAD = 3.0


#: A pin that is relieved by filing keeps this part of its diameter as land: thinner, it bends (common practice).
LAND = 3.0


@dataclass(frozen=True, slots=True)
class Stack:
    """The carrier's layers: wall layers above one floor, and how far the plaque stands over the walls (mm)."""

    walls: int
    thickness: float
    proud: float

    @property
    def layers(self) -> int:
        """Floor and walls."""
        return self.walls + 1


def stack_for(plaque_height: float, thickness: float) -> Stack:
    """Give the layers of a stock that a plaque of a height takes: as high as it goes without topping the plaque.

    >>> stack_for(3.0, 3.0), stack_for(8.0, 3.0).walls, round(stack_for(8.0, 3.0).proud, 6)
    (Stack(walls=1, thickness=3.0, proud=0.0), 2, 2.0)
    """
    walls = max(1, math.floor((plaque_height + OVER) / thickness + 1e-9))
    return Stack(walls, thickness, plaque_height - walls * thickness)


def carrier_parts(plan: CarrierPlan, stack: Stack, title: str) -> tuple[Part, ...]:
    """Make the carrier's layers, bottom to top: the floor is layer 1, the walls are alike."""
    pins: tuple[tuple[Feature, Region], ...] = tuple(("pin-hole", rg.disc(p, plan.pin)) for p in plan.pins)
    floor: tuple[tuple[Feature, Region], ...] = (*pins, ("release", plan.release), ("check", plan.pegs))
    wall: tuple[tuple[Feature, Region], ...] = (*pins, ("pocket", plan.pocket))
    return tuple(
        _layer(plan, number, floor if number == 1 else wall, f"{title} {number}/{stack.layers}")
        for number in range(1, stack.layers + 1)
    )


def _layer(plan: CarrierPlan, number: int, features: tuple[tuple[Feature, Region], ...], title: str) -> Part:
    holes = rg.union(*(region for _, region in features))
    labels = place_labels(plan.outline, holes, (title, title.rpartition(" ")[2]))
    named = tuple((name, region) for name, region in features if not region.is_empty)
    solid = rg.difference(plan.outline, holes)
    return Part(CARRIER, "carrier", "carrier", solid, marks=labels.lines, features=named, layer=number)


def pin_length(stack: Stack, template: float) -> float:
    """Give the length of the pins in whole mm: through every layer and the template, and out to be found.

    >>> pin_length(Stack(1, 3.0, 0.0), 1.0)
    10.0
    """
    return float(math.ceil(stack.layers * stack.thickness + max(0.0, stack.proud) + template + PIN_LEAD - 1e-9))


def parts_list(plan: CarrierPlan, stack: Stack, template: float) -> tuple[dict[str, object], ...]:
    """List what a carrier needs besides its layers, as rows for summary and worklist."""
    length = pin_length(stack, template)
    land = plan.pin / LAND
    spacing = relieved_pin_float(plan.pin, plan.pin + 2 * PIN_GAP, land)
    note = (
        f"pressed into the carrier; where the slot is drilled as a round hole instead, file its pin to {land:.1f} mm "
        f"across: it then forgives {spacing:.2f} mm of spacing"
    )
    rows: list[dict[str, object]] = [
        {"what": "dowel pin", "count": 3, "diameter": plan.pin, "length": length, "note": note}
    ]
    if stack.proud > PROUD:
        note = f"under each template, one on each pin, together {stack.proud:.1f} mm high"
        rows.append({"what": "washer", "count": 3, "diameter": plan.pin, "length": round(stack.proud, 2), "note": note})
    if not plan.pegs.is_empty:
        note = "through the plaque's hole into the floor, so that the plaque lies the right way up"
        rows.append({"what": "peg", "count": len(rg.solids(plan.pegs)), "note": note})
    return tuple(rows)


def judge_stack(stack: Stack, keys: JigKeys) -> tuple[Finding, ...]:
    """Say when the stock does not suit the plaque's height."""
    if stack.proud < -OVER:
        message = (
            f"one wall layer of {stack.thickness:g} mm is {-stack.proud:.1f} mm higher than the plaque "
            f"(jig.plaque_height = {keys.plaque_height:g}): the template would hang above the face; take thinner "
            "carrier stock, or lay packing of that height under the plaque"
        )
    elif stack.proud > PROUD:
        wall = f"{stack.walls} layer{'s' * (stack.walls > 1)} of {stack.thickness:g} mm"
        message = (
            f"the plaque stands {stack.proud:.1f} mm above the carrier's wall ({wall}): put washers of "
            f"{stack.proud:.1f} mm on the three pins under the template so that it lies level"
        )
    else:
        return ()
    return (Finding("carrier-height", "warning", message, measured=round(stack.proud, 3), allowed=PROUD),)
