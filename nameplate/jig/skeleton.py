"""The skeleton: a name is cut from a blank of its face's outline, and what is left of the blank is its template.

One cut parts the two, so the play per side is the kerf, and no template stock is needed; in return every name takes a
whole blank of lettering stock. The template needs no accuracy of its own: its window is the cut of the name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nameplate.geometry import region as rg
from nameplate.geometry.acute_tips import MITRE_LIMIT
from nameplate.geometry.region import Region
from nameplate.jig.make import Jig, make_jig
from nameplate.model import Face, Lettering, Order, Part
from nameplate.nest.layout import Layout, Placement
from nameplate.ticket.schema import JigKeys


def make_skeleton(
    face: Face, lettering: Lettering, order: Order, keys: JigKeys, name: Part, *, kerf: float, web: float
) -> tuple[Jig, tuple[Part, ...]]:
    """Make the jig of a plate whose `name` part is cut out of its own blank, and the two parts that share the cut.

    The parts come back as the name, marked as cut from the template, and the template in the name's material; none
    when the name does not fit its face.
    """
    jig = make_jig(face, lettering, order, replace(keys, window="contour", clearance=kerf), web=web)
    if jig.part is None:
        return jig, ()
    waste = rg.difference(face.outline, swath(name.region, kerf))
    template = replace(jig.part, material=name.material, region=waste, features=(), copies=name.copies, is_waste=True)
    return jig, (replace(name, cut_from="template"), template)


def swath(name: Region, kerf: float) -> Region:
    """Give what the beam takes with the name: its outline and the strip that is burned round it."""
    middle = rg.offset(rg.filled(name), kerf / 2, join="mitre", mitre_limit=MITRE_LIMIT)
    return rg.offset(middle, kerf / 2)


def own_cuts(part: Part) -> Part:
    """Leave out of waste the window that the cut of another part makes."""
    return replace(part, region=rg.filled(part.region)) if part.is_waste else part


def nestable(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Give the parts that need a place of their own: names cut from a template go where it goes, and it is whole.

    >>> nestable([])
    ()
    """
    return tuple(own_cuts(part) for part in parts if not part.cut_from)


def with_names(layout: Layout, parts: Sequence[Part]) -> Layout:
    """Lay the names that are cut from templates where their templates lie."""
    hosted = {(part.plate, part.cut_from): part for part in parts if part.cut_from}
    if not hosted:
        return layout
    sheets = tuple(
        replace(sheet, placements=tuple(p for at in sheet.placements for p in _with_name(at, hosted)))
        for sheet in layout.sheets
    )
    return replace(layout, sheets=sheets)


def _with_name(at: Placement, hosted: dict[tuple[str, str], Part]) -> tuple[Placement, ...]:
    name = hosted.get((at.plate, at.kind)) if at.layer == 1 else None  # layer 2 lies on a backing, cut by itself
    return (at,) if name is None else (at, replace(at, kind=name.kind, layer=name.layer))


def without_names(layout: Layout, parts: Sequence[Part]) -> Layout:
    """Undo `with_names`."""
    names = {(part.plate, part.kind) for part in parts if part.cut_from}
    sheets = tuple(
        replace(sheet, placements=tuple(at for at in sheet.placements if (at.plate, at.kind) not in names))
        for sheet in layout.sheets
    )
    return replace(layout, sheets=sheets)


def skeleton_stock(parts: Sequence[Part]) -> dict[str, float] | None:
    """Give what skeletons take of the lettering stock (mm2), beside the names alone and the template stock saved."""
    copies = {(part.plate, part.cut_from): part for part in parts if part.cut_from}
    blanks = [part for part in parts if part.is_waste and (part.plate, part.kind) in copies]
    if not blanks:
        return None
    whole = sum(rg.filled(part.region).area * part.copies for part in blanks)
    names = sum(rg.filled(part.region).area * part.copies for part in copies.values())
    once = sum(rg.filled(part.region).area for part in blanks)
    return {"blanks": round(whole, 1), "names": round(names, 1), "templates_saved": round(once, 1)}
