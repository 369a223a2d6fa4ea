"""The exact check of a layout, after every nest and in the tests: nothing lost, doubled, too near or off the sheet.

Method: every placement is applied to the true outline; a spatial index gives the few neighbours of each piece, whose
exact distance is measured. Linear in the number of pieces.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from nameplate.findings import Finding
from nameplate.geometry.collision_set import OVERLAP
from nameplate.geometry.nearby import Index
from nameplate.geometry.region import Region, covers, distance, filled, hole_count, intersection, intersects
from nameplate.geometry.room import Room
from nameplate.nest.layout import Layout, Piece, PieceKey, SheetLayout, name_of, placed, strangers
from nameplate.nest.sheets import Rules, usable_region

#: How much (mm) a gap may be short of its rule: the rounding of two placements and of the offset's chords.
SLACK = 0.001


def verify(layout: Layout, pieces: Sequence[Piece], rules: Rules | dict[str, Rules]) -> tuple[Finding, ...]:
    """Check a layout exactly; no findings means that it holds.

    `rules` may differ by material. Every piece must lie in the layout once or be named as unplaced.

    >>> verify(Layout(), [], Rules(gap=1, edge=5))
    ()
    """
    found = [Finding("layout-pieces", "error", text) for text in strangers(layout, pieces)]
    by_key = {piece.key: piece for piece in pieces}
    for sheet in layout.sheets:
        of_sheet = rules[sheet.material] if isinstance(rules, dict) else rules
        found += _check_sheet(sheet, by_key, of_sheet)
    return tuple(found)


def _check_sheet(sheet: SheetLayout, by_key: dict[PieceKey, Piece], rules: Rules) -> Iterator[Finding]:
    known = [at for at in sheet.placements if at.key in by_key]
    regions = [placed(by_key[at.key], at) for at in known]
    names = [name_of(at.key) for at in known]
    where = f"sheet {sheet.material} {sheet.number}"

    def fault(code: str, i: int, text: str, measured: float | None = None, allowed: float | None = None) -> Finding:
        plate = known[i].plate
        return Finding(code, "error", f"{names[i]} {text}", plate=plate, measured=measured, allowed=allowed)

    for i, at in enumerate(known):
        if not rules.free and not turn_allowed(at.turn, rules.turns):
            text = f"on {where} is turned by {at.turn:g} degrees, which the ticket does not allow"
            yield fault("layout-turn", i, text)
    room = Room(usable_region(sheet, rules))
    for i, region in enumerate(regions):
        if not room.holds(region):
            text = (
                f"on {where} is nearer than {rules.edge:g} mm to the sheet's edge, or than {rules.gap:g} mm to a "
                "damaged place"
            )
            yield fault("layout-edge", i, text, rules.edge - room.outside(region), rules.edge)
    for i, j, apart in too_near(regions, rules.gap - SLACK):
        text = (
            f"on {where} are {apart:.4f} mm apart; the gap is {rules.gap:g} mm" if apart >= 0 else f"overlap on {where}"
        )
        yield fault("layout-gap", i, f"and {names[j]} {text}", apart, rules.gap)
    for i, j in _in_holes(regions):
        text = f"lies in a hole of {names[j]} on {where}; holes are cut first, and it would fall with the waste"
        yield fault("layout-hole", i, text)


def _in_holes(regions: Sequence[Region]) -> list[tuple[int, int]]:
    """Give the pairs of regions of which the first lies in a hole of the second: their positions."""
    index = Index(regions)
    whole = {j: filled(region) for j, region in enumerate(regions) if hole_count(region)}
    return [
        (i, j)
        for j, outer in whole.items()
        for i in index.near(outer)
        if i != j and covers(outer, regions[i]) and not intersects(regions[j], regions[i])
    ]


def turn_allowed(turn: float, turns: Sequence[float]) -> bool:
    """Tell whether a turn is one of the allowed ones.

    >>> turn_allowed(180, (0, 180)), turn_allowed(90, (0, 180))
    (True, False)
    """
    return any(min((turn - t) % 360, (t - turn) % 360) < 1e-4 for t in turns)


def too_near(regions: Sequence[Region], gap: float, *, overlap_share: float = OVERLAP) -> list[tuple[int, int, float]]:
    """Give the pairs of regions nearer than `gap` mm: positions and distance.

    Overlapping pairs have minus the overlap's area (mm2) for a distance; an overlap under `overlap_share` of the
    smaller region counts as touching.
    """
    found = []
    index = Index(regions)
    for i, region in enumerate(regions):
        for j in index.near(region, max(gap, 0.0)):
            if j <= i:
                continue
            apart = distance(region, regions[j])
            if apart == 0:
                area = intersection(region, regions[j]).area
                apart = -area if area > overlap_share * min(region.area, regions[j].area) else 0.0
            if apart < min(gap, math.inf) and (apart < 0 or gap > 0):
                found.append((i, j, apart))
    return found
