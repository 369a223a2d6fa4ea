"""The ways a name meets its plate: glued on, glued on with a backing, cut through the plate, or marked on it.

| mount | parts | what a jig locates |
|---|---|---|
| applied | lettering | the lettering |
| backed | lettering, backing (its contour grown, in a second material; the name's outline scored on it) | the backing |
| pierced | blank: the plate with the name cut through it | nothing |
| marked | blank: the plate with the name scored on it | nothing |

Where the plaque is cut here (`[face] cut`), applied and backed have a blank too: the face with its holes. What the
face's drawing has to be scored or hatched is scored on every blank, and so are the lines of a plate that are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from nameplate.errors import GeometryError
from nameplate.findings import Finding
from nameplate.geometry.measure import stretches
from nameplate.geometry.region import (
    Array,
    Region,
    bounds,
    centroid,
    covers,
    difference,
    filled,
    intersection,
    moved,
    offset,
    rectangle,
    solids,
)
from nameplate.lettering.backing import backing
from nameplate.lettering.rules import SCORED_DETAIL, LetteringRules
from nameplate.lettering.scoring import LEAST_LINE, hatch, outline
from nameplate.lettering.stencil import pierce
from nameplate.lettering.strength import Strengthened, allowable, strengthen
from nameplate.lettering.webs import weakest
from nameplate.model import GUIDE_LAYER, Face, Lettering, Neck, Order, Part
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.materials import GLUED
from nameplate.ticket.workshop_schema import MaterialKeys
from nameplate.typesetting.spacing import LOOSE_GAP

#: Letters that lose more than this share of their area to the plate's webs are made, with a warning.
MOST_LOST = 0.2

#: A name is not made when more of its letters (in square minimum webs) is farther than a web from all that is cut out:
#: whole strokes are gone, and other letters are read. Lower refuses names that lost the end of a swash.
STROKES_LOST = 2.0

#: Scored letters may lie under what is glued on by so much (mm2): less than a dot.
HIDDEN = 0.05

#: Where they do, the gap that is advised is so many times what they need, since all letters get smaller by it.
CLEAR = 1.15

#: A dot, an accent or a letter by itself is lost when it keeps less than this share of its area.
LEAST_KEPT = 0.15

#: Bridges that move the weight of what is cut out by more than this (mm) to one side have the name moved back, by the
#: first of these shares for which there is room: half of what is promised of a name on a symmetric face.
ASIDE, SHARES = 0.25, (1.0, 0.75, 0.5, 0.25)

#: Smaller parts of letters (mm2) are specks of the font and may be lost.
LEAST_PART = 0.1

#: Half the least width (mm) by which a template's tongue between two strokes may hang on; narrower gaps are closed. A
#: larger value closes gaps that a reader needs.
THREAD = 0.1


@dataclass(frozen=True, slots=True)
class Mounted:
    """The parts of one plate without its jig, its lettering as cut, and what a jig locates (None: nothing)."""

    lettering: Lettering | None
    parts: tuple[Part, ...] = ()
    findings: tuple[Finding, ...] = ()
    located: Lettering | None = None


def zone_for(mount: str, face: Face, keys: LetteringKeys) -> Region:
    """Give where the lettering may lie: a backing needs room of its own, and of a plate that a name is cut through the
    minimum web stays beside it, however near to the edge a zone was drawn."""
    if mount == "backed":
        return offset(face.zone, -keys.backing)
    if mount != "pierced":
        return face.zone
    room = offset(blank_of(face), -keys.min_web)
    return face.zone if covers(room, face.zone) else intersection(room, face.zone)


def rules_for(mount: str, keys: LetteringKeys, sheet: MaterialKeys, clearance: float) -> LetteringRules:
    """Give what the lettering must keep: letters that stay in the plate need no ties.

    `clearance` (mm) is that of the window which a jig will have for the name.
    """
    return LetteringRules(
        web=SCORED_DETAIL if mount == "marked" else keys.min_web,
        max_height=keys.max_height,
        kerf=sheet.kerf.widest,
        tied=mount in GLUED,
        thickness=sheet.thickness,
        load=keys.load,
        window_growth=clearance + THREAD,
    )


def mounted(
    order: Order,
    face: Face,
    lettering: Lettering,
    keys: LetteringKeys,
    *,
    kerf: float = 0.2,
    clearance: float = 0.2,
    draft: bool = False,
) -> Mounted:
    """Make the parts of one plate from its finished lettering.

    `kerf` (mm) is that of a blank, `clearance` (mm) the play of a name in the template that places it on its backing.
    Of a `draft` nothing is judged, and a name that is to be cut through its plaque is not cut out of it.
    """
    try:
        match order.mount:
            case "backed":
                return _on_plaque(order, face, keys, _backed(order, face, lettering, keys, clearance), draft=draft)
            case "pierced" if draft:
                return Mounted(lettering, (_plaque(order, face, keys, blank_of(face), lettering.scored),))
            case "pierced":
                return _pierced(order, face, lettering, keys, kerf)
            case "marked":
                return Mounted(lettering, (_plaque(order, face, keys, blank_of(face), lettering.region),))
            case _:
                applied = Mounted(lettering, (_lettering_part(order, lettering),), located=lettering)
                return _on_plaque(order, face, keys, applied, draft=draft)
    except GeometryError as error:
        return Mounted(None, findings=refusals("cannot-be-hatched", error))


def refusals(code: str, error: GeometryError) -> tuple[Finding, ...]:
    """Say why something cannot be made: each problem that is named, as an error."""
    return tuple(Finding(code, "error", problem) for problem in error.problems)


def _on_plaque(order: Order, face: Face, keys: LetteringKeys, done: Mounted, *, draft: bool) -> Mounted:
    """Add the plaque where it is cut here; what a jig locates stays the last part."""
    if not face.cut:
        return done
    assert done.lettering is not None and done.located is not None
    room = keys.backing if order.mount == "backed" else 0.0
    if not draft and (covered := _covered(order, done.lettering, done.located.region, room)):
        return Mounted(None, findings=(covered,))
    plaque = _plaque(order, face, keys, blank_of(face), done.lettering.scored)
    return replace(done, parts=(plaque, *done.parts))


def _plaque(order: Order, face: Face, keys: LetteringKeys, plate: Region, letters: Region) -> Part:
    """Give the plate of a name as a part, with the lines that score letters: their outlines and, where the ticket has
    them hatched, what fills these."""
    hatched = hatch(letters, keys.hatch) if keys.mark == "hatch" else ()
    marks = (*outline(letters), *hatched, *face_marks(face, plate, keys.hatch))
    return Part(order.id, "blank", "blank", plate, marks=marks, copies=order.copies)


def _covered(order: Order, lettering: Lettering, over: Region, room: float) -> Finding | None:
    """Refuse a plate whose scored lines lie partly under what is glued on, or where it is cut through.

    What covers them stands out from the name by `room` (mm).
    """
    hidden = intersection(lettering.scored, over).area
    if hidden <= HIDDEN:
        return None
    texts = [line for line, at in zip(lettering.lines, lettering.line_places, strict=True) if at.scored]
    where = {"backed": "under the backing", "pierced": "where the name is cut through"}.get(
        order.mount, "under the name"
    )
    gap = math.ceil(20 * CLEAR * (LOOSE_GAP + (room + 1.0) / lettering.size)) / 20
    message = (
        f"“{order.name}”: part of what is scored ({', '.join(f'“{text}”' for text in texts)}) would lie {where}; write "
        f"gap = {gap:g} below every [[line]]"
    )
    return Finding("score-covered", "error", message, measured=hidden, allowed=HIDDEN)


def face_marks(face: Face, blank: Region, spacing: float) -> tuple[Array, ...]:
    """Give the lines that a face's drawing has scored on its plaque, hatch lines `spacing` mm apart among them.

    They end at the edges of the blank, so that none goes over a hole. Raises GeometryError for too many hatch lines.
    """
    lines = [piece for line in face.scored for piece in stretches(line, blank)]
    kept = tuple(line for line in lines if np.ptp(line, axis=0).max() >= LEAST_LINE)
    return (*kept, *hatch(intersection(face.hatched, blank), spacing))


def _lettering_part(order: Order, lettering: Lettering) -> Part:
    return Part(order.id, "lettering", "lettering", lettering.region, copies=order.copies)


def _backed(order: Order, face: Face, lettering: Lettering, keys: LetteringKeys, clearance: float) -> Mounted:
    contour = backing(lettering.region, grow=keys.backing, fill_holes_under=keys.backing_holes, room=face.zone)
    scored = outline(filled(lettering.region)) if keys.register == "score" else ()
    under = Part(order.id, "backing", "backing", contour, marks=scored, copies=order.copies)
    guide: tuple[Part, ...] = ()
    if keys.register == "template":  # it lies on the backing edge to edge and has a window for the name
        window = filled(offset(filled(lettering.region), clearance))
        ring = difference(filled(contour), window)
        guide = (Part(order.id, "template", "template", ring, features=(("window", window),), layer=GUIDE_LAYER),)
    located = replace(lettering, region=contour, pieces=len(solids(contour)))
    return Mounted(lettering, (_lettering_part(order, lettering), *guide, under), located=located)


def blank_of(face: Face) -> Region:
    """Give the plate itself, with its holes."""
    return difference(face.outline, intersection(face.outline, face.keep_outs))


def thin_plaque(face: Face, web: float) -> tuple[Finding, ...]:
    """Warn of a plaque that is cut here and is by itself, whatever its name, narrower than the minimum web (mm)."""
    weak = weakest(blank_of(face), web)
    if weak is None:
        return ()
    x, y = bounds(face.outline).centre
    message = (
        f"the plaque itself is only {weak.width:.1f} mm wide at ({weak.x - x:.0f}, {weak.y - y:.0f}) from its middle, "
        f"less than min_web = {web:g}: it may break there, and no name can be cut through it; move or shrink the hole "
        "beside that place, or make the face larger there"
    )
    return (Finding("plaque-thin", "warning", message, measured=weak.width, allowed=web),)


def _pierced(order: Order, face: Face, lettering: Lettering, keys: LetteringKeys, kerf: float) -> Mounted:
    blank = blank_of(face)
    pierced = pierce(
        blank,
        lettering.region,
        web=keys.min_web,
        slant=lettering.slant,
        kerf=kerf,
        baselines=lettering.baselines,
        arc=lettering.arc,
        places=lettering.letters,
    )
    if not pierced.holds or len(solids(pierced.blank)) != 1:
        return Mounted(None, findings=(plate_too_thin(order, keys),))
    openings = difference(blank, pierced.blank)
    if difference(lettering.region, offset(openings, keys.min_web)).area > STROKES_LOST * keys.min_web**2:
        message = (
            f"whole letters of “{order.name}” close where the plate must stay {keys.min_web:g} mm wide; "
            "use a larger face, more lines, a shorter text or a smaller min_web"
        )
        return Mounted(None, findings=(Finding("letters-lost", "error", message, allowed=keys.min_web),))
    there, openings = _balanced(lettering, openings, face, keys)
    plate = pierced.blank if there.origin == lettering.origin else difference(blank, openings)
    lettering, cut = there, replace(there, region=openings, pieces=len(solids(openings)))
    if covered := _covered(order, lettering, openings, 0.0):
        return Mounted(None, findings=(covered,))
    part = _plaque(order, face, keys, plate, lettering.scored)
    return Mounted(cut, (part,), tuple(_lost(order, lettering, openings, 1 - pierced.kept)))


def _balanced(lettering: Lettering, openings: Region, face: Face, keys: LetteringKeys) -> tuple[Lettering, Region]:
    """Move a name and its openings so that the openings weigh where its letters did, as far as there is room.

    Nothing is moved where it comes near to the plate's edge, where bridges would not be the same.
    """
    aside, share = float(centroid(openings)[0] - centroid(lettering.region)[0]), 0.0
    if abs(aside) > ASIDE and (keys.place, keys.align) == ("centre", "centre"):
        room = intersection(face.zone, offset(blank_of(face), -keys.min_web))
        if covers(room, lettering.whole):
            share = next((s for s in SHARES if covers(room, moved(lettering.whole, -s * aside))), 0.0)
    x, y = lettering.placed
    if share:
        lettering, openings = lettering.moved_by(-share * aside, 0.0), moved(openings, -share * aside)
    return replace(lettering, placed=(x + (1 - share) * aside, y)), openings


def plate_too_thin(order: Order, keys: LetteringKeys) -> Finding:
    """Say that a plate cannot keep the minimum web where a name is cut through it."""
    message = (
        f"the plate of “{order.name}” would be thinner than {keys.min_web:g} mm between its letters; "
        "use a larger face, a shorter text or a smaller min_web"
    )
    return Finding("plate-web-too-thin", "error", message, allowed=keys.min_web)


def _lost(order: Order, lettering: Lettering, openings: Region, lost: float) -> Iterator[Finding]:
    """Warn of the share that the letters lose, and tell how many parts that stand by themselves are not cut out, or
    hardly: the name is spelt differently then."""
    if lost > MOST_LOST:
        message = (
            f"what holds the plate together takes {lost:.0%} of the letters of “{order.name}”; look at the proof, and "
            "give it a larger face, more lines or a smaller min_web where it does not read"
        )
        yield Finding("letters-thinned", "warning", message, measured=lost, allowed=MOST_LOST)
    parts = [part for part in solids(lettering.region) if part.area > LEAST_PART]
    marks = sum(intersection(part, openings).area < LEAST_KEPT * part.area for part in parts)
    if marks:
        message = (
            f"{marks} {'dot or accent' if marks == 1 else 'dots or accents'} of “{order.name}” cannot be cut out of "
            "the plate; give it a larger face or a smaller min_web if they matter"
        )
        yield Finding("marks-lost", "warning", message, measured=marks, allowed=0.0)


def least_web(mount: str, kind: str, keys: LetteringKeys) -> float | None:
    """Give the minimum web that a part of this kind must keep after burning; None where it has none.

    >>> least_web("applied", "template", LetteringKeys()), least_web("pierced", "blank", LetteringKeys())
    (None, 1.5)
    """
    return keys.min_web if kind == "lettering" or (kind == "blank" and mount == "pierced") else None


def strengthened(
    order: Order, face: Face, lettering: Lettering, keys: LetteringKeys, sheet: MaterialKeys
) -> tuple[Lettering, tuple[Finding, ...]]:
    """Widen the necks that the handling load would break, where the ticket allows it, and tell of what stays too weak.

    What a material bears and where that is from: :mod:`nameplate.lettering.strength`.
    """
    neck, bears = lettering.neck, allowable(sheet.name)
    if neck is None or bears is None or neck.stress <= bears:
        return lettering, ()
    if keys.strengthen:
        wider = stronger(lettering.region, keys, sheet, bears, room_to_widen(order, face, lettering, keys), neck)
        lettering = replace(lettering, region=wider.region, neck=wider.neck, drawn_neck=neck)
        if wider.neck is None or wider.holds:
            return lettering, ()
        neck = wider.neck
    return lettering, (fragile(order, lettering, neck, bears, keys),)


def stronger(
    region: Region, keys: LetteringKeys, sheet: MaterialKeys, limit: float, room: Region, neck: Neck | None = None
) -> Strengthened:
    """Widen the necks of lettering cut from a sheet until none bears more than a limit (MPa), as `strengthen` does."""
    sizes = {"thickness": sheet.thickness, "kerf": sheet.kerf.widest, "web": keys.min_web, "load": keys.load}
    return strengthen(region, limit=limit, room=room, neck=neck, **sizes)


def fragile(order: Order, lettering: Lettering, neck: Neck, allowed: float, keys: LetteringKeys) -> Finding:
    """Say that the stress at a neck of a lettering is more than is allowed (MPa)."""
    message = (
        f"“{order.name}”: thin spot {_where(lettering, neck)}, {neck.width:.1f} mm: may snap in handling; "
        f"{'' if keys.strengthen else 'strengthen = true, '}a sturdier font, a larger face, or thicker material helps"
    )
    return Finding("fragile", "warning", message, measured=neck.stress, allowed=allowed)


def _where(lettering: Lettering, neck: Neck) -> str:
    """Say between which letters a neck lies, and where on the face."""
    near = sorted(range(len(lettering.letters)), key=lambda i: lettering.letters[i].off(neck.x, neck.y))[:2]
    names = [lettering.letters[i].text.strip() for i in sorted(near)]
    place = f"at ({neck.x:.0f}, {neck.y:.0f})"
    return f"between {' and '.join(names)} {place}" if len(names) == 2 else place


def room_to_widen(order: Order, face: Face, lettering: Lettering, keys: LetteringKeys) -> Region:
    """Give where finished lettering may become wider: within its zone, and no taller than the ticket says."""
    zone = zone_for(order.mount, face, keys)
    if keys.max_height is None:
        return zone
    box, own = bounds(zone), bounds(lettering.region)
    spare = max(0.0, keys.max_height - own.height) / 2
    return intersection(zone, rectangle(box.x0, own.y0 - spare, box.x1, own.y1 + spare))
