"""The template of a plate: a thin sheet with the face's outline and a window where the name goes.

Laid on the face edge to edge, it shows the name its place; the name drops into the window and cannot turn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from nameplate.findings import Finding
from nameplate.geometry import region as rg
from nameplate.geometry.acute_tips import dulled
from nameplate.geometry.region import Region
from nameplate.jig.labels import LEAST_LABEL, Labels, place_labels
from nameplate.jig.release import with_notches
from nameplate.jig.window import Opening, Web, loose_tongues, lost_islands, narrow_webs
from nameplate.model import Face, Feature, Order, Part
from nameplate.system.file_names import jig_stem
from nameplate.ticket.schema import JigKeys

#: A tongue of the template that hangs on by less than this is easily lost, mm: half the thickness of usual card.
TONGUE = 0.5

#: Tongues smaller than this are not worth a word, mm2; their loss opens the window by a sliver.
TONGUE_AREA = 3.0

#: A tongue that hangs on by less than this (mm) is left out: five times what a written curve may be off.
THREAD = 0.1

#: What a hole over one of the plaque is called in a template, and how far such a hole must be aside of the middle to
#: tell a turn, as a share of the face's lesser side.
SIGHT: Feature = "check"
ASIDE = 0.25

#: Radius of the acute tips that a window leaves between two letters, mm. Such a tip of card is no guide, and no beam
#: holds it to a tenth of a millimetre; a larger radius opens the window further in crevices only.
TIP = 0.1


def template_round(
    face: Face,
    opening: Opening,
    order: Order,
    keys: JigKeys,
    *,
    web: float,
    notched: bool = False,
    sights: Sequence[Region] = (),
) -> tuple[Part | None, tuple[Finding, ...]]:
    """Make the template of one plate, in plate coordinates (mm), with findings about its weak places.

    `web` is the least width that the template should keep; `notched` gives its edge release notches. Those of the
    `sights`, holes of the plaque, that leave so much are holes of the template, too. There is no template, and an
    error, when the window would break out of the face's outline.
    """
    left = rg.difference(face.outline, opening.region)
    if not rg.covers(face.outline, opening.region) or len(rg.solids(left)) != len(rg.solids(face.outline)):
        return None, (_breaks_out(face, opening.region, order, keys),)
    room = rg.offset(face.zone, keys.clearance)
    outline = with_notches(face.outline, opening.region, web, zone=room) if notched else face.outline
    inside = rg.offset(outline, -web)
    seen = [hole for hole in sights if rg.covers(inside, hole) and rg.distance(hole, opening.region) >= web]
    return cut_template(outline, opening, [(SIGHT, hole) for hole in seen], order, web=web)


def sights_of(face: Face) -> tuple[Region, ...]:
    """Give the holes of a plaque that is cut here by which one sees how a template is turned on it: those aside of its
    middle."""
    if not face.cut:
        return ()
    box = rg.bounds(face.outline)
    holes = map(rg.as_region, rg.solids(rg.intersection(face.outline, face.keep_outs)))
    return tuple(h for h in holes if math.dist(rg.bounds(h).centre, box.centre) >= ASIDE * min(box.width, box.height))


def cut_template(
    outline: Region, opening: Opening, holes: Sequence[tuple[Feature, Region]], order: Order, *, web: float
) -> tuple[Part, tuple[Finding, ...]]:
    """Make a template of any outline round an opening, with further holes, and label it.

    The opening must lie inside the outline.
    """
    openings = rg.union(opening.region, *(region for _, region in holes))
    labels = labels_of(outline, openings, order)
    pieces = rg.solids(dulled(_without_threads(rg.difference(outline, openings)), TIP))
    region = rg.as_region(rg.largest(pieces))  # what hung on by an acute tip would fall out
    window = rg.difference(outline, rg.union(region, *(hole for _, hole in holes)))
    named = (*holes, (opening.feature, window))
    part = Part(order.id, "template", "template", region, marks=labels.lines, features=named)
    findings = (*(_narrow(w, web, order) for w in narrow_webs(outline, openings, web)), *_unlabelled(labels, order))
    return part, findings


def labels_of(outline: Region, openings: Region, order: Order) -> Labels:
    """Place what is scored on the template of a plate: its id, with the name where there is room for that."""
    return place_labels(outline, openings, (f"{order.id} {order.name}", order.id))


def jig_file_name(order: Order) -> str:
    """Give the name of a plate's jig file: the one that was chosen for it in its batch, else one by its id and name.

    >>> jig_file_name(Order("007", 8, "Wren Abara")), jig_file_name(Order("007", 8, "Wren Abara", stem="7-wren-2"))
    ('007-wren-abara.svg', '7-wren-2.svg')
    """
    return f"{order.stem or jig_stem(order.id, order.name)}.svg"


def _without_threads(template: Region) -> Region:
    """Leave out what hangs on by less than THREAD: a cut may part it or not."""
    hanging = loose_tongues(template, THREAD)
    if not hanging:
        return template
    return rg.difference(template, rg.offset(rg.union(*hanging), 0.1 * THREAD))


def _breaks_out(face: Face, window: Region, order: Order, keys: JigKeys) -> Finding:
    past = rg.difference(window, face.outline)
    beyond = rg.hausdorff(face.outline, rg.union(face.outline, window))
    where = "at the edge" if past.is_empty else "near x {:.1f}, y {:.1f}".format(*rg.bounds(past).centre)
    message = (
        f"the window for “{order.name}” breaks out of the face by {beyond:.2f} mm {where}; "
        f"raise the face's inset above the {keys.window_reach:g} mm by which the window is larger, or set "
        'jig.style = "carrier"'
    )
    return Finding("window-breaks-out", "error", message, order.id, order.row, beyond, 0.0)


def _narrow(found: Web, web: float, order: Order) -> Finding:
    at_edge = "edge" in found.between
    mend = "raise the face's inset" if at_edge else "set the lines of the name farther apart (gap below a [[line]])"
    message = (
        f"the template of “{order.name}” is only {found.width:.2f} mm wide between {found.between} near "
        f"x {found.x:.1f}, y {found.y:.1f} (minimum {web:g} mm); handle it with care, or {mend}"
    )
    return Finding("template-web", "warning", message, order.id, order.row, found.width, web)


def loose_figures(lettering: Region, template: Region, keys: JigKeys) -> dict[str, object]:
    """Give the figures of what a template loses or may lose, for its record: nobody has to do anything about them.

    `closed_gaps` counts narrow gaps of the lettering that the window closes, so that no piece falls out there;
    `thin_tongues` are those that hang on by less than TONGUE, with their area (mm2): the name drops in without them.
    Figures of nought are left out.
    """
    record: dict[str, object] = {}
    islands = rg.EMPTY if keys.window == "contacts" else lost_islands(lettering, keys.clearance)
    if not islands.is_empty:
        record["closed_gaps"] = len(rg.solids(islands))
    if tongues := [t for t in loose_tongues(template, TONGUE) if t.area > TONGUE_AREA]:
        record["thin_tongues"] = {"count": len(tongues), "area": round(sum(t.area for t in tongues), 1)}
    return record


def _unlabelled(labels: Labels, order: Order) -> tuple[Finding, ...]:
    if not labels.missing:
        return ()
    what = " and ".join({"label": "id", "arrow": "up arrow"}[m] for m in labels.missing)
    message = (
        f"no room to score the {what} on the template of “{order.name}” (a label needs {LEAST_LABEL:g} mm of height "
        "clear of window and edge); write it by hand"
    )
    return (Finding("label-left-out", "note", message, order.id, order.row),)
