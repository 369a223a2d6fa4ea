"""One order becomes a draft of its plate: about the parts that the run will cut, for saying how many sheets they take.

The lettering is a draft (`lettering.draft`). A template or a pierced plate is the outline it takes up on its sheet,
without its window or openings, in which nothing else finds room; a template says about where its window will be. What
the whole batch shares has the shape it is cut in.

Known limit: names moved by hand are drafted where they would stand, and not refused; strength, jigs and carrier, the
webs of a pierced plate, what covers scored lines, and labels are not judged.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from functools import lru_cache

from nameplate.findings import Finding
from nameplate.geometry.region import covers, filled, moved, offset
from nameplate.jig.carrier import plan_carrier, template_outline
from nameplate.jig.make import make_jig, shared_parts
from nameplate.jig.template import labels_of
from nameplate.jig.window import contour_window
from nameplate.lettering.draft import draft_lettering
from nameplate.model import Lettering, Order, Part, Plate
from nameplate.placement.fit import prepared
from nameplate.plates.batch_parts import SharedWork
from nameplate.plates.free_standing import approximately_hung
from nameplate.plates.make import PlateContext, PlateWork, lettering_rules, of_order, standing_for
from nameplate.plates.mounts import mounted, zone_for
from nameplate.plates.typeset import size_of, ways_for
from nameplate.ticket.materials import GLUED
from nameplate.typesetting.setting import borrowed_letters

#: The carrier of a design, laid out once.
_carrier = lru_cache(maxsize=4)(plan_carrier)


def draft_work(context: PlateContext, order: Order) -> PlateWork:
    """Draft one plate. Never raises for a bad order: the reasons are the plate's findings."""
    lettering, findings = _lettering(context, order)
    if lettering is None:
        return PlateWork(Plate(order, None, findings=of_order(order, findings)))
    clearance = context.jig.clearance
    done = mounted(order, context.face, lettering, context.lettering, clearance=clearance, draft=True)
    if done.lettering is None:
        return PlateWork(Plate(order, None, findings=of_order(order, findings + done.findings)))
    done = approximately_hung(context.face, done, context.lettering.min_web)
    lettering = done.lettering or lettering
    parts = done.parts
    if context.jig.style != "none" and done.located is not None:
        refused = _break_out(context, order, done.located)
        if refused:
            return PlateWork(Plate(order, None, findings=of_order(order, findings + refused)))
        parts = _with_jig(context, order, done.located, parts)
    return PlateWork(Plate(order, lettering, context.called(parts), of_order(order, findings)))


def draft_shared_work(context: PlateContext, orders: Sequence[Order], *, title: str) -> SharedWork:
    """Make the parts that a batch of orders shares, unjudged and without toolpaths."""
    if not any(order.mount in GLUED for order in orders):
        return SharedWork()
    thickness = context.material("carrier").thickness
    parts = shared_parts(context.face, context.jig, title=title, carrier_thickness=thickness)
    return SharedWork(context.called(parts)).of_design(orders[0].design)


def drafted_materials(parts: Iterable[Part], styles: Collection[str]) -> frozenset[str]:
    """Give the materials of parts whose outline a draft does not know exactly, with jigs of these styles.

    >>> drafted_materials([], ["template"])
    frozenset()
    """
    kinds = {"lettering", "backing"} | ({"template"} if "carrier" in styles else set())
    return frozenset(part.material for part in parts if part.kind in kinds and not part.cut_from)


def _lettering(context: PlateContext, order: Order) -> tuple[Lettering | None, tuple[Finding, ...]]:
    rules, zone = lettering_rules(context, order), zone_for(order.mount, context.face, context.lettering)
    ways, remarks = ways_for(context.lettering, context.folder, order, holding=rules.tied)
    size = size_of(order, context.folder)
    lettering, findings = draft_lettering(ways, zone, rules, size=size, standing=standing_for(context, order))
    several = any(len(style.typefaces) > 1 for style in ways[0].styles)
    borrowed = borrowed_letters(order.name, ways[0].setting) if several else ()
    return lettering, (*findings, *remarks, *borrowed)


def _with_jig(context: PlateContext, order: Order, located: Lettering, parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """Add what the jig takes of its stock, with about what is scored on it and cut out."""
    outline, keys = context.face.outline, context.jig
    if keys.style == "print":
        return parts
    window = contour_window(located.region, keys.window_reach)
    if keys.style == "skeleton":  # the name takes its place inside its own template
        *others, name = parts
        marks = labels_of(outline, window, order).lines
        blank = Part(order.id, "template", name.material, outline, marks, copies=name.copies, is_waste=True)
        return (*others, replace(name, cut_from="template"), blank)
    if keys.style == "carrier":
        outline = filled(template_outline(_carrier(context.face, keys), window))
    marks = labels_of(outline, window, order).lines
    return (*parts, Part(order.id, "template", "template", outline, marks, (("window", window),)))


def _break_out(context: PlateContext, order: Order, located: Lettering) -> tuple[Finding, ...]:
    """Say when a window breaks out of its template; the jig is made for that only where it could."""
    keys = context.jig
    if keys.style == "carrier" or covers(offset(context.face.outline, -keys.window_reach), context.face.zone):
        return ()
    place = prepared(context.face.zone).at_size(located.region, standing_for(context, order))
    if place is not None:
        located = replace(located, region=moved(located.region, place.dx, place.dy))
    style = "template" if keys.style == "skeleton" else keys.style
    jig = make_jig(context.face, located, order, replace(keys, style=style), web=context.lettering.min_web)
    return jig.findings if jig.part is None else ()
