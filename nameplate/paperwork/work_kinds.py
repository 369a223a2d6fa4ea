"""The kinds of work on plates, by mount and jig: what each is called, and its steps, in words."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from nameplate.geometry import region as rg
from nameplate.geometry.engraving_font import can_draw
from nameplate.jig.steps import working_steps
from nameplate.jig.template import SIGHT
from nameplate.model import GUIDE_LAYER, Plate
from nameplate.record.plate_lists import in_ranges
from nameplate.ticket.materials import GLUED

#: The kind of work of a name that stands free, which is not mounted on anything.
FREE = "free"

_MOUNTS = {
    FREE: "Names that stand free",
    "applied": "Names glued on",
    "backed": "Names on backings, glued on",
    "pierced": "Names cut through their plates",
    "marked": "Engraved names",
}

_STYLES = {
    "template": " with a template",
    "carrier": " in the carrier",
    "skeleton": " with the rest of their blanks",
    "print": " with a printed template",
}

#: What is done with a plate on which nothing is glued.
_WITHOUT_GLUE = {
    FREE: (
        "Lift the name out of its sheet, holding it by its thickest letter, and push out what is left in its letters.",
        "Clean it as its maker says, and compare it with the signed proof.",
        "Where it has a ring, hang it by that: it hangs straight. Tick it off.",
    ),
    "pierced": (
        "Lift the plate out of its sheet and push out what is left in the letters, gently: bridges hold their insides.",
        "Look that no bridge broke, and compare the name with the signed proof.",
        "Tick the plate off.",
    ),
    "marked": (
        "Lift the plate out of its sheet and clean it as its maker says.",
        "Compare the name with the signed proof.",
        "Tick the plate off.",
    ),
}

#: What comes first where the plaque is cut here and the name glued on it.
_PLAQUE_STEP = (
    "Lift the plaque out of its sheet{holes}, and clean it as its maker says: glue holds neither on dust nor on "
    "masking."
)

_OUT_OF_HOLES = ", push out what is left in its holes"

#: What brings a name on its backing, before both are glued on the face: where a smaller template places it, or a line.
_BY_WINDOW = (
    "Lay the smaller template on the backing edge to edge. Dry fit the name in its window; put small dots of glue on "
    "its back."
)
_BY_LINE = (
    "Dry fit the name on its backing, inside the line scored there; take it off and put small dots of glue on it."
)
_ON_BACKING = "Press the name on its backing and wait as long as the glue asks for."

#: What comes before all else where parts hang by tabs.
SNAP_STEP = (
    "Lift the sheet off the machine whole. Your eyes protected, snap out what hangs in it by tabs, held flat close to "
    "the tab, and sand off what is left of the tabs."
)

#: What the signs that are scored on a template mean; what has no room is left out.
_SCORED = (
    "Scored on a {thing}: the plate's id{name}; an arrow to the top of the face; a square bracket, 10 mm long: "
    "where it measures anything else the sheet was not cut at its true size: stop and put that right first."
)
_WITH_SIGNS = {"template": "template", "carrier": "template", "skeleton": "name's blank"}


@dataclass(frozen=True, slots=True)
class WorkKind:
    """What the work on a plate hangs on: its mount, its jig's style and window, what places it on its backing,
    whether its plaque is cut here, whether that has holes, and by what ("mark" or "hole") its jig is lined up."""

    mount: str
    style: str
    window: str
    guided: bool
    plaque: bool
    holes: bool
    lined_up: str

    @property
    def glued(self) -> bool:
        """Whether a name is glued on."""
        return self.mount in GLUED

    @property
    def heading(self) -> str:
        """What plates of this kind are, in words."""
        if not self.glued:
            return _MOUNTS[self.mount]
        plaques = f", plaques{' with holes' * self.holes} cut here" if self.plaque else ""
        lined_up = f", lined up by a {self.lined_up}" if self.lined_up else ""
        return _MOUNTS[self.mount] + _STYLES.get(self.style, "") + lined_up + plaques

    def scored(self, plates: Iterable[Plate]) -> str:
        """Say what the signs on the templates of its `plates` mean; empty where it has none that is cut.

        A name with signs that cannot be scored is left to its id.
        """
        thing = _WITH_SIGNS.get(self.style, "") if self.glued else ""
        named = {plate.order.id: can_draw(f"{plate.order.id} {plate.order.name}") for plate in plates}
        alone = [plate for plate, drawn in named.items() if not drawn]
        but = f" ({in_ranges(alone, most=len(alone))}: the id alone)" if alone else ""
        name = f", and its name where there is room{but}" if len(alone) < len(named) else ""
        return _SCORED.format(thing=thing, name=name) if thing else ""

    @property
    def steps(self) -> tuple[str, ...]:
        """The work on one plate, in order: plaque and backing first; no glue where nothing is glued."""
        if not self.glued:
            return _WITHOUT_GLUE[self.mount]
        backing = (_BY_WINDOW if self.guided else _BY_LINE, _ON_BACKING) if self.mount == "backed" else ()
        plaque = (_PLAQUE_STEP.format(holes=_OUT_OF_HOLES if self.holes else ""),) if self.plaque else ()
        return plaque + backing + working_steps(self.style, self.window, self.lined_up)


def kind_of(plate: Plate, turning: Collection[str] = ()) -> WorkKind:
    """Give the kind of work that a plate takes; jigs may turn on the faces of designs that are `turning`."""
    style, window = str(plate.jig.get("style", "none")), str(plate.jig.get("window", "contour"))
    guided = any(part.kind == "template" and part.layer == GUIDE_LAYER for part in plate.parts)
    plaques = [part.region for part in plate.parts if part.kind == "blank"]
    holes = any(map(rg.hole_rings, plaques))
    mount = FREE if plate.order.free else plate.order.mount
    turns = style != "none" and mount in GLUED and plate.order.design in turning
    named = {feature for part in plate.parts if part.kind == "template" for feature, _ in part.features}
    lined_up = "" if not turns else "hole" if SIGHT in named else "mark"
    return WorkKind(mount, style, window, guided, bool(plaques), holes, lined_up)
