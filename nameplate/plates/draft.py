"""One order becomes a draft of its plate: about the parts that the run will cut, for saying how many sheets they take.

The lettering is a draft (`lettering.draft`). A template or a blank is the outline it takes up on its sheet, without its
window or openings, in which nothing else finds room. What the whole batch shares has the shape it is cut in.

Known limit: strength, jigs and carrier, the webs of a pierced plate, and labels are not judged.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import lru_cache

from nameplate.findings import Finding
from nameplate.geometry.region import Region, covers, filled, moved, offset
from nameplate.jig.carrier import CarrierPlan, plan_carrier, template_outline
from nameplate.jig.make import make_jig, shared_parts
from nameplate.jig.window import contour_window
from nameplate.lettering.draft import draft_lettering
from nameplate.model import Face, Lettering, Order, Part, Plate
from nameplate.placement.fit import centre
from nameplate.plates.batch_parts import SharedWork
from nameplate.plates.make import Shop, Work, fonts_of, level_of, of_order
from nameplate.plates.mounts import GLUED, Mounted, blank_of, mounted, rules_for, zone_for
from nameplate.ticket.schema import JigKeys
from nameplate.typesetting.setting import borrowed_letters, ways_to_set


def draft_work(shop: Shop, order: Order) -> Work:
    """Draft one plate. Never raises for a bad order: the reasons are the plate's findings."""
    lettering, findings = _lettering(shop, order)
    if lettering is None:
        return Work(Plate(order, None, findings=of_order(order, findings)))
    done = _mounted(order, shop.face, lettering, shop)
    parts = done.parts
    if shop.ticket.jig.style != "none" and done.located is not None:
        refused = _break_out(shop, order, done.located)
        if refused:
            return Work(Plate(order, None, findings=of_order(order, findings + refused)))
        parts = _with_jig(shop, order, done.located, parts)
    return Work(Plate(order, lettering, parts, of_order(order, findings)))


def draft_shared_work(shop: Shop, orders: Sequence[Order]) -> SharedWork:
    """Make the parts that a batch of orders shares, unjudged and without toolpaths."""
    ticket = shop.ticket
    if not any(order.mount in GLUED for order in orders):
        return SharedWork()
    thickness = shop.material("carrier").thickness
    return SharedWork(shared_parts(shop.face, ticket.jig, title=ticket.job.title, carrier_thickness=thickness))


def drafted_materials(parts: Iterable[Part], style: str) -> frozenset[str]:
    """Give the materials of parts whose outline a draft does not know exactly, with a jig of this style.

    >>> drafted_materials([], "template")
    frozenset()
    """
    kinds = {"lettering", "backing"} | ({"template"} if style == "carrier" else set())
    return frozenset(part.material for part in parts if part.kind in kinds and not part.cut_from)


def _lettering(shop: Shop, order: Order) -> tuple[Lettering | None, tuple[Finding, ...]]:
    keys = shop.ticket.lettering
    (font, *fallbacks), remarks = fonts_of(shop.ticket, order)
    rules = rules_for(order.mount, keys, shop.material("lettering"), shop.ticket.jig.clearance)
    ways = ways_to_set(
        order.name,
        order.line2,
        font,
        words=keys.words,
        features=keys.features,
        fallbacks=fallbacks,
        holding=rules.tied,
        lines=order.lines,
        word_space=keys.word_space,
    )
    zone = zone_for(order.mount, shop.face, keys)
    lettering, findings = draft_lettering(ways, zone, rules, size=order.size, level=level_of(shop, order))
    borrowed = borrowed_letters(order.name, font, ways[0].setting) if fallbacks else ()
    return lettering, (*findings, *remarks, *borrowed)


def _mounted(order: Order, face: Face, lettering: Lettering, shop: Shop) -> Mounted:
    if order.mount in GLUED:
        return mounted(order, face, lettering, shop.ticket.lettering, clearance=shop.ticket.jig.clearance)
    return Mounted(lettering, (Part(order.id, "blank", "blank", blank_of(face), copies=order.copies),))


def _with_jig(shop: Shop, order: Order, located: Lettering, parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """Add what the jig takes of its stock."""
    outline, keys = shop.face.outline, shop.ticket.jig
    if keys.style == "print":
        return parts
    if keys.style == "skeleton":  # the name takes its place inside its own template
        *others, name = parts
        blank = Part(order.id, "template", name.material, outline, copies=name.copies, is_waste=True)
        return (*others, replace(name, cut_from="template"), blank)
    if keys.style == "carrier":
        outline = filled(template_outline(_plan(shop.face, keys), contour_window(located.region, keys.clearance)))
    return (*parts, Part(order.id, "template", "template", outline))


@lru_cache(maxsize=4)
def _plan(face: Face, keys: JigKeys) -> CarrierPlan:
    return plan_carrier(face, keys)


def _break_out(shop: Shop, order: Order, located: Lettering) -> tuple[Finding, ...]:
    """Say when a window breaks out of its template; the jig is made for that only where it could."""
    keys = shop.ticket.jig
    reach = keys.clearance + (keys.relief if keys.window == "contacts" else 0.0)
    if keys.style == "carrier" or _keeps_inside(shop.face.outline, shop.face.zone, reach):
        return ()
    place = centre(located.region, shop.face.zone)
    if place is not None:
        located = replace(located, region=moved(located.region, place.dx, place.dy))
    style = "template" if keys.style == "skeleton" else keys.style
    jig = make_jig(shop.face, located, order, replace(keys, style=style), web=shop.ticket.lettering.min_web)
    return jig.findings if jig.part is None else ()


@lru_cache(maxsize=4)
def _keeps_inside(outline: Region, zone: Region, reach: float) -> bool:
    return covers(offset(outline, -reach), zone)
