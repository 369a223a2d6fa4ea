"""How well a batch's jigs locate: the play of every plate, and what is said about faces that do not locate at all."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np

from nameplate import tolerances
from nameplate.findings import Finding
from nameplate.geometry import region as rg
from nameplate.geometry.compare import agree
from nameplate.geometry.nearby import line_within
from nameplate.geometry.region import Region
from nameplate.jig.play import CUT_ERROR, FREE_TURN, Motions, Play, total_play, window_motions
from nameplate.jig.turning import HALF_ROUND
from nameplate.model import Face, Order
from nameplate.ticket.schema import JigKeys

#: How far a window may be tighter than its clearance, mm: what flattening costs, twice.
FIT = 2 * tolerances.FLATTEN

#: Linear expansion of acrylic per kelvin (data sheets of cast PMMA: 7.2e-5), and the swing of temperature between a
#: workshop in the morning and one in the afternoon, K (common practice).
EXPANSION, SWING = 7.2e-5, 15.0

#: Words by which a material's name is known for acrylic.
ACRYLIC = ("acryl", "acríl", "acril", "akryl", "pmma")

#: A clearance below this, mm, is no advice: two cut edges are off by nearly as much, and card swells by more.
LEAST_CLEARANCE = 0.05

#: Findings about faces whose edge does not keep a jig from turning.
TURNING = frozenset({"face-does-not-locate", "face-locates-poorly"})

#: Turns at which a face may look the same again, degrees.
_TURNS = (180, 120, 90, 72, 60, 45)


def name_motions(lettering: Region, keys: JigKeys) -> tuple[Motions, ...]:
    """Give the motions of a lettering in its window: one set for each loose piece.

    The gap is the clearance plus what two cut edges may be off.
    """
    pieces = rg.solids(rg.filled(lettering))
    return tuple(window_motions(rg.as_region(piece), keys.clearance + CUT_ERROR) for piece in pieces)


@lru_cache(maxsize=4)
def plaque_motions(outline: Region, keys: JigKeys) -> Motions:
    """Give the motions of the smallest plaque in a pocket made for the largest (see `pocket_gap`)."""
    return window_motions(outline, keys.clearance + keys.plaque_tolerance + CUT_ERROR)


def pocket_gap(keys: JigKeys) -> float:
    """Give how far the pocket stands off the face's drawn outline, mm.

    The largest plaque is half the tolerance bigger on every side and still has the clearance.
    """
    return keys.clearance + keys.plaque_tolerance / 2


def worst_play(lettering: Region, windows: Sequence[Motions], others: Sequence[Motions] = ()) -> Play:
    """Give the worst play of a lettering over its loose pieces, with the locators behind the window added up."""
    pieces = [rg.as_region(piece) for piece in rg.solids(rg.filled(lettering))]
    plays = [total_play(piece, [w, *others]) for piece, w in zip(pieces, windows, strict=True)]
    return Play(*(max(values) for values in zip(*plays, strict=True)))


def play_figures(play: Play) -> dict[str, float]:
    """Give a play as figures for the summary: mm, degrees, mm."""
    return {"shift": round(play.shift, 3), "turn": round(play.turn, 3), "far": round(play.far, 3)}


def needed_clearance(far: Mapping[str, float], keys: JigKeys) -> float:
    """Give the clearance (mm, a whole number of hundredths) at which the parts of a stray add up to the tolerance.

    `far` is what window, pins and pocket let the farthest point stray, mm. Those of window and pocket grow with their
    gaps, as motions of one shape do.

    >>> needed_clearance({"window": 0.3, "pins": 0.1, "pocket": 0.3}, JigKeys(clearance=0.2, tolerance=0.4))
    0.09
    >>> needed_clearance({"window": 0.44}, JigKeys(clearance=0.2, tolerance=0.4))
    0.18
    """
    window_gap, pocket_gap = keys.clearance + CUT_ERROR, keys.clearance + keys.plaque_tolerance + CUT_ERROR
    window, pocket = far.get("window", 0.0) / window_gap, far.get("pocket", 0.0) / pocket_gap
    fixed = far.get("pins", 0.0) + window * CUT_ERROR + pocket * (CUT_ERROR + keys.plaque_tolerance)
    return math.floor(100 * (keys.tolerance - fixed) / (window + pocket) + 1e-9) / 100


def judge_play(play: Play, order: Order, keys: JigKeys) -> tuple[Finding, ...]:
    """Say when a name may end up farther off than the eye lets pass."""
    if play.far <= keys.tolerance:
        return ()
    message = (
        f"the jig holds “{order.name}” to {play.far:.2f} mm at its farthest point (shift {play.shift:.2f} mm, turn "
        f"{play.turn:.2f} degrees), more than the tolerance of {keys.tolerance:g} mm; {_advice(play, keys)}"
    )
    return (Finding("jig-play", "warning", message, order.id, order.row, round(play.far, 3), keys.tolerance),)


def _advice(play: Play, keys: JigKeys) -> str:
    if play.turn >= FREE_TURN:
        return "give the piece a shape that cannot turn"
    if keys.style == "skeleton":
        return "its play is the kerf; a template of its own stock can be made to fit closer"
    needed = needed_clearance({"window": play.far}, keys)
    if needed < LEAST_CLEARANCE:
        return "no clearance that can be cut would hold it"
    return f"jig.clearance = {needed:g} (now {keys.clearance:g}) would hold it"


def judge_gap(template: Region, lettering: Region, order: Order, keys: JigKeys) -> tuple[Finding, ...]:
    """Prove that a name drops into its window: it stands clear of the template by the clearance, to 0.01 mm."""
    if not line_within(template, rg.filled(lettering), keys.clearance - FIT):
        return ()
    gap = rg.distance(template, lettering)
    message = (
        f"“{order.name}” has only {gap:.3f} mm of room in its window, {keys.clearance:g} mm a side wanted, which is a "
        "fault of the program: report it, and try another jig.clearance meanwhile"
    )
    return (Finding("window-too-tight", "error", message, order.id, order.row, round(gap, 4), keys.clearance),)


def judge_warmth(face: Face, keys: JigKeys, material: str) -> tuple[Finding, ...]:
    """Say when a name of this material may grow by a good part of its clearance between cutting and gluing.

    `material` is the lettering's name in the ticket; only acrylic grows enough to matter.
    """
    if keys.style == "none" or not any(word in material.lower() for word in ACRYLIC):
        return ()
    growth = rg.bounds(face.zone).width / 2 * EXPANSION * SWING
    if growth <= keys.clearance / 3:
        return ()
    message = (
        f"acrylic as wide as the face grows by {growth:.2f} mm at either end when {SWING:g} °C warmer, and the "
        f"jig's clearance is {keys.clearance:g} mm: glue at the temperature at which you cut, or raise jig.clearance"
    )
    return (Finding("jig-warmth", "note", message, measured=round(growth, 3), allowed=round(keys.clearance / 3, 3)),)


def judge_kerf(keys: JigKeys, templates: float, names: float = 0.0) -> tuple[Finding, ...]:
    """Say when windows are to fit closer than the beam can cut their corners, or those of what lies in them.

    `templates` is the kerf of the templates, `names` that of the names, or of their backings, mm.

    >>> judge_kerf(JigKeys(clearance=0.2), 0.3), len(judge_kerf(JigKeys(clearance=0.05), 0.2))
    ((), 1)
    """
    kerf, whose, corners = max((templates, "templates", "a window"), (names, "names", "a name"))
    if keys.style not in ("template", "carrier") or keys.clearance >= kerf / 2:
        return ()
    least = math.ceil(50 * kerf - 1e-9) / 100
    message = (
        f"jig.clearance = {keys.clearance:g} mm is less than half the kerf of the {whose} ({kerf:g} mm): the beam "
        f"rounds the corners of {corners} by more than that, and a name may catch there, which the inspection refuses; "
        f"with jig.clearance = {least:g} it cannot"
    )
    return (Finding("clearance-under-kerf", "warning", message, measured=keys.clearance, allowed=kerf / 2),)


def judge_face(face: Face, keys: JigKeys, *, seen: bool = False) -> tuple[Finding, ...]:
    """Say of a face, once for the batch, when its outline does not locate a jig or looks the same turned.

    By a hole of the plaque that is `seen` through the templates these can be turned.
    """
    motions = plaque_motions(face.outline, keys)
    found = []
    play = total_play(face.zone, [motions])
    if motions.free:
        turns = "freely" if motions.turn >= HALF_ROUND else f"by up to {motions.turn:.0f} degrees"
        by_hole = (
            "turn each template until its hole lies over the plaque's; where one has no room for a hole, mark the top "
            "of the plaque and line that up with the arrow scored on the template"
        )
        marked = (
            "give every plaque a flat, a notch or a pencil mark at its top and line that up with the arrow scored on "
            "the jig"
        )
        message = (
            f"the face ({face.name}) does not hold its jig: it turns {turns} in one that fits its edge; "
            f"{by_hole if seen else marked}"
        )
        found.append(Finding("face-does-not-locate", "warning", message, measured=None, allowed=keys.tolerance))
    elif play.far > 2 * keys.tolerance:
        message = (
            f"the face ({face.name}) holds its jig poorly: at a clearance of {keys.clearance:g} mm it turns by up to "
            f"{motions.turn:.1f} degrees, which moves the end of a name by {play.far:.2f} mm; mark the top of every "
            "plaque and line it up with the jig's arrow, or give it a flat or a notch"
        )
        found.append(
            Finding("face-locates-poorly", "warning", message, measured=round(play.far, 3), allowed=keys.tolerance)
        )
    if not motions.free:
        found += _judge_turns(face, keys)
    return tuple(found)


def _judge_turns(face: Face, keys: JigKeys) -> list[Finding]:
    ways = same_turned(face.outline, 2 * pocket_gap(keys))
    if not ways:
        return []
    message = (
        f"the face ({face.name}) fits its jig {len(ways) + 1} ways round (turned by "
        f"{', '.join(f'{w:g}' for w in ways)} degrees); where a plaque has a top, mark it and line it up with the "
        "arrow scored on the jig"
    )
    return [Finding("face-fits-turned", "note", message, measured=float(len(ways) + 1))]


def same_turned(outline: Region, slack: float) -> tuple[float, ...]:
    """Give the turns (degrees, ascending, 0 left out) after which an outline is the same again, to `slack` mm.

    >>> same_turned(rg.rectangle(0, 0, 4, 2), 0.1)
    (180.0,)
    """
    x, y = rg.bounds(rg.as_region(outline)).centre
    centred = rg.moved(outline, -x, -y)
    turns = sorted({float(k * t) for t in _TURNS for k in range(1, 360 // t)})
    return tuple(turn for turn in turns if _same(centred, rg.moved(centred, turn=turn), slack))


def _same(a: Region, b: Region, slack: float) -> bool:
    low = np.subtract(rg.bounds(a), rg.bounds(b))
    return bool(np.abs(low).max() <= 2 * slack) and agree(a, b, slack)
