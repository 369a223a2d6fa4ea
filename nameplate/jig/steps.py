"""The order of work at the bench, and where glue may go: what a work card says."""

from __future__ import annotations

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.measure import inscribed
from nameplate.geometry.nearby import contains_points
from nameplate.geometry.region import Array, Region, Solid

#: Glue stays at least this far from the name's edge and its counters, mm, or it comes out when pressed
#: (common practice: a dot spreads to about twice its width). Where a stroke is too thin, as much as it has.
GLUE_EDGE = (1.5, 1.0, 0.6, 0.3)

#: Glue stays at least this far from every nub, mm, so that it cannot wick to the template.
GLUE_NUB = 5.0

#: Dots stand at least this far apart, mm, and there are at most so many: enough to hold, few enough to place in time.
DOT_PITCH, DOTS = 12.0, 8

#: With this many dots thinner strokes are left alone.
ENOUGH = 4

#: Distance of the places that are looked at for dots, mm.
_LATTICE = 0.7


#: How a template of each style comes off without moving the name.
LIFT = {
    "template": "Hold the plaque down, a finger in each notch of the template, and lift it straight up by its edge.",
    "carrier": "Lift the template straight up by both ears; push the plaque out from below.",
}


#: What comes before a jig is used that nothing but the eye keeps from turning on its face.
MARK_STEP = (
    "Mark the top of the plaque at its edge, with a pencil or on tape: its edge does not keep the {thing} from "
    "turning, so that the {arrow} and this mark alone bring the name upright."
)


def working_steps(style: str, window: str, lined_up: str = "") -> tuple[str, ...]:
    """Give the steps of gluing one name with a jig of a style and form of window, in order.

    One that may turn on its face is `lined_up` by a "mark", or by a "hole" that the template and the plaque have.

    >>> len(working_steps("none", "contour")), len(working_steps("template", "contour", "mark"))
    (4, 7)
    """
    by_mark = lined_up == "mark"
    top, printed, plaque = ("to the top", "", "its top to")
    if by_mark:
        top, printed, plaque = ("at that mark", ", its arrow at that mark,", "its mark at")
    if lined_up == "hole":
        top = "to the top, and turn it until its hole lies over the plaque's (a rod of that size goes through both)"
    lay = {
        "template": f"Lay the template on the face edge to edge, its arrow {top}; hold or tape it.",
        "print": "Check that the 100 mm line of the print measures 100 mm. Cut the window out, lay the print on the "
        f"face edge to edge{printed} and tape it: it is as true as your hand.",
        "skeleton": f"Lay what is left of the name's blank on the face edge to edge, its arrow {top}; hold or tape it.",
        "carrier": f"Lay the plaque in the pocket, {plaque} the arrow, and drop the template on the three pins; it "
        "goes on one way only.",
    }.get(style)
    if lay is None:
        return (
            "Try the name on the face dry.",
            "Put small dots of glue on its back where the picture shows them.",
            "Set it down, press it, and wait as long as the glue asks for.",
            "Tick the plate off.",
        )
    rest = ", and away from the nubs" if window == "contacts" else ""
    thing, arrow = ("plaque", "arrow of the carrier") if style == "carrier" else ("template", "arrow of the template")
    return (
        *((MARK_STEP.format(thing=thing, arrow=arrow),) if by_mark else ()),
        lay,
        "Dry fit: the name drops into the window without force. If it does not, stop and look for a burr.",
        f"Take it out; put small dots of glue on its back where the picture shows them, well inside its edge{rest}.",
        "Set the name straight down into the window and press it. Do not slide it.",
        "Wait as long as the glue asks for before you touch it again.",
        f"{LIFT.get(style, 'Lift the template straight up.')} Tick the plate off.",
    )


def glue_dots(lettering: Region, nubs: Array) -> Array:
    """Give places for dots of glue, (n, 2) mm: inside the lettering, away from its edge and from (m, 2) nubs.

    Every piece of it has at least one, whatever there is elsewhere.

    >>> glue_dots(rg.EMPTY, np.empty((0, 2))).shape
    (0, 2)
    """
    chosen = np.empty((0, 2))
    for edge in GLUE_EDGE:
        places = _lattice_in(rg.offset(lettering, -edge))
        chosen = _spread(chosen, places[_off(places, nubs) >= GLUE_NUB])
        if len(chosen) >= ENOUGH:
            break
    without = [piece for piece in rg.solids(lettering) if not contains_points(piece, chosen).any()]
    return np.vstack([chosen, *(_dot_of(piece, nubs) for piece in without)])


def _dot_of(piece: Solid, nubs: Array) -> Array:
    """Give the place for the only dot of a piece: nearest its middle where it is as far from edge and nubs as a dot
    should be, else farthest from the nubs."""
    for edge in GLUE_EDGE:
        places = _lattice_in(rg.offset(piece, -edge))
        places = places[_off(places, nubs) >= GLUE_NUB]
        if len(places):
            return _least(places, _off(places, rg.centroid(piece)[None]))
    places = np.vstack([np.array([inscribed(piece)[:2]]), _lattice_in(rg.offset(piece, -GLUE_EDGE[-1]))])
    return _least(places, -_off(places, nubs))


def _least(places: Array, by: Array) -> Array:
    found: Array = places[by.argmin()]
    return found


def _off(places: Array, nubs: Array) -> Array:
    """Give how far each place is from the nearest of some nubs, mm."""
    off: Array = np.linalg.norm(places[:, None] - nubs[None], axis=2).min(axis=1, initial=np.inf)
    return off


def _lattice_in(room: Region) -> Array:
    if room.is_empty:
        return np.empty((0, 2))
    box = rg.bounds(room)
    xs, ys = np.meshgrid(_middles(box.x0, box.x1), _middles(box.y0, box.y1))
    grid = np.column_stack([xs.ravel(), ys.ravel()])
    inside: Array = grid[contains_points(room, grid)]
    return inside


def _middles(low: float, high: float) -> Array:
    """Give the middles of cells of at most _LATTICE mm between two limits."""
    count = max(1, int(np.ceil((high - low) / _LATTICE)))
    return low + (np.arange(count) + 0.5) * (high - low) / count


def _spread(chosen: Array, places: Array) -> Array:
    """Add places to those chosen, always the one farthest from all of them, while it is far enough."""
    if not len(places):
        return chosen
    if not len(chosen):
        chosen = places[np.lexsort((places[:, 1], places[:, 0]))[:1]]
    gaps = np.linalg.norm(places[:, None] - chosen[None], axis=2).min(axis=1)
    while len(chosen) < DOTS and float(gaps.max()) >= DOT_PITCH:
        chosen = np.vstack([chosen, places[gaps.argmax()]])
        gaps = np.minimum(gaps, np.linalg.norm(places - chosen[-1], axis=1))
    return chosen
