"""From pieces and stock to a checked layout: one material a sheet, sheets on hand first, then the cheapest to buy.

Method, for each material: set aside what fits no sheet (a finding each); fill the sheets on hand, largest first; for
what is left try each size alone, let pieces too large for it go to the other sizes, and keep the cheapest; put the
last sheet's parts on a cheaper size when they fit there. Whatever the engine, the result is verified exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from nameplate.findings import Finding
from nameplate.geometry.region import bounds, moved
from nameplate.nest.effort import Report, improve
from nameplate.nest.layout import Layout, Piece, Placement, SheetLayout, name_of
from nameplate.nest.rectangles import Packed, pack_boxes
from nameplate.nest.sheets import Blank, Offcut, Rules, blanks_of, largest_usable, rules_of
from nameplate.nest.trueshape import pack_shapes
from nameplate.nest.verify import verify
from nameplate.ticket import NestKeys, StockKeys

#: An engine packs pieces onto given sheets, in order, and says what is left over.
Engine: TypeAlias = Callable[[Sequence[Piece], Sequence[Blank], Rules], Packed]

#: A piece may be this much larger (mm) than the usable area and still count as fitting: float noise of turning.
FIT_NOISE = 1e-6

#: What `nest.engine` may say.
ENGINES: Mapping[str, Engine] = {"rectangle": pack_boxes, "shape": pack_shapes}

Purchase: TypeAlias = list[tuple[Blank, tuple[Placement, ...]]]


def nest(
    pieces: Sequence[Piece],
    stock: Sequence[StockKeys],
    keys: NestKeys,
    *,
    kerf: Mapping[str, float] | None = None,
    grain: Collection[str] = (),
    offcuts: Sequence[Offcut] = (),
    report: Report = lambda _: None,
) -> Layout:
    """Lay pieces on sheets.

    `kerf` is the width of the cut (mm) for each material; parts are never nearer than that. `grain` names the
    materials on which all parts lie the same way. `offcuts` are used before anything else. `report` is told how the
    work goes. Pieces that fit no sheet come back as `unplaced`, each with an error finding.

    >>> nest([], [], NestKeys())
    Layout(sheets=(), findings=(), unplaced=())
    """
    sheets: list[SheetLayout] = []
    findings: list[Finding] = []
    unplaced: list[Piece] = []
    rules_by_material = {}
    for material in sorted({piece.material for piece in pieces}):
        rules = rules_of(keys, (kerf or {}).get(material, 0.0), grain=material in grain)
        rules_by_material[material] = rules
        mine = [piece for piece in pieces if piece.material == material]
        done = nest_material(mine, blanks_of(stock, material, rules, offcuts), rules, keys, report=report)
        sheets += [replace(blank.sheet(rows), number=n) for n, (blank, rows) in enumerate(done.purchase, 1)]
        unplaced += done.left
        findings += done.findings
    layout = Layout(tuple(sheets), tuple(findings), tuple(piece.key for piece in unplaced))
    faults = verify(layout, pieces, rules_by_material)
    return replace(layout, findings=layout.findings + faults)


@dataclass(frozen=True, slots=True)
class Nested:
    """The sheets used of one material, the pieces that found no place, and what there is to say."""

    purchase: Purchase
    left: list[Piece]
    findings: list[Finding]


def nest_material(
    pieces: Sequence[Piece],
    blanks: tuple[list[Blank], list[Blank]],
    rules: Rules,
    keys: NestKeys,
    *,
    report: Report = lambda _: None,
) -> Nested:
    """Lay the pieces of one material on the sheets on hand and the sizes to buy (`blanks`, in this order)."""
    on_hand, to_buy = blanks
    if not on_hand + to_buy:
        return Nested([], list(pieces), [_no_stock(p) for p in pieces])
    engine = ENGINES[keys.engine]
    fitting = [p for p in pieces if fits(p, on_hand + to_buy, rules)]
    too_large = [p for p in pieces if not fits(p, on_hand + to_buy, rules)]
    packed = engine(fitting, on_hand, rules)
    owned: Purchase = [(blank, rows) for blank, rows in zip(on_hand, packed.placements, strict=True) if rows]
    rest = [fitting[i] for i in packed.left if fits(fitting[i], to_buy, rules)]
    full = [fitting[i] for i in packed.left if not fits(fitting[i], to_buy, rules)]
    purchase = owned + _last_sheet_cheaper(_cheapest(rest, to_buy, rules, engine), rest, to_buy, rules, engine)
    findings = [_too_large(p, on_hand + to_buy) for p in too_large] + [_none_left(p) for p in full]
    if keys.engine == "shape":
        laid = [p for p in fitting if p not in full] if full else fitting
        purchase, said = improve(purchase, laid, rules, keys.effort, report=report)
        findings += said
    return Nested(purchase, [*too_large, *full], findings)


def _no_stock(piece: Piece) -> Finding:
    text = f"there is no [[stock]] of material {piece.material!r}; add a sheet size to the ticket"
    return Finding("no-stock", "error", f"{name_of(piece.key)}: {text}", plate=piece.plate)


def _none_left(piece: Piece) -> Finding:
    text = "the sheets on hand are full and no size that can be bought takes it; add a [[stock]] size to the ticket"
    return Finding("stock-used-up", "error", f"{name_of(piece.key)}: {text}", plate=piece.plate)


def fits(piece: Piece, blanks: Sequence[Blank], rules: Rules) -> bool:
    """Tell whether a piece's box fits some sheet at some allowed turn."""
    rooms = {bounds(b.usable) for b in blanks if not b.usable.is_empty}
    for turn in rules.turns:
        box = bounds(moved(piece.region, turn=turn))
        if any(box.width <= r.width + FIT_NOISE and box.height <= r.height + FIT_NOISE for r in rooms):
            return True
    return False


def _too_large(piece: Piece, blanks: Sequence[Blank]) -> Finding:
    box = bounds(piece.region)
    return Finding(
        "too-large-for-stock",
        "error",
        f"{name_of(piece.key)} is {box.width:.1f} x {box.height:.1f} mm and fits no sheet of {piece.material}; the "
        f"largest usable area is {largest_usable(blanks)}; add a larger [[stock]] size, allow more turns, or make it "
        "smaller",
        plate=piece.plate,
        measured=max(box.width, box.height),
    )


def total_cost(purchase: Purchase) -> tuple[float, float, int]:
    """Rank a purchase: cost, then area bought (mm2), then number of sheets."""
    area = sum(blank.width * blank.height for blank, _ in purchase)
    return round(sum(blank.cost for blank, _ in purchase), 6), area, len(purchase)


def _cheapest(pieces: Sequence[Piece], sizes: Sequence[Blank], rules: Rules, engine: Engine) -> Purchase:
    """Buy mainly one size, whichever is cheapest; what does not fit it goes to the others in the same way."""
    if not pieces:
        return []
    offers = []
    for size in sizes:
        mine = [p for p in pieces if fits(p, [size], rules)]
        if not mine:
            continue
        others = [s for s in sizes if s is not size]
        rest = [p for p in pieces if not fits(p, [size], rules)]
        if len(mine) == len(pieces) or all(fits(p, others, rules) for p in rest):
            offers.append(fill(mine, size, rules, engine) + _cheapest(rest, others, rules, engine))
    return min(offers, key=total_cost)


def fill(pieces: Sequence[Piece], size: Blank, rules: Rules, engine: Engine) -> Purchase:
    """Lay pieces, each of which fits, on as many sheets of one size as it takes."""
    area = sum(p.region.area for p in pieces)
    count = 2 + int(3 * area / size.usable.area)
    while True:
        packed = engine(pieces, [size] * count, rules)
        if not packed.left:
            return [(size, rows) for rows in packed.placements if rows]
        count *= 2


def _last_sheet_cheaper(
    purchase: Purchase, pieces: Sequence[Piece], sizes: Sequence[Blank], rules: Rules, engine: Engine
) -> Purchase:
    """Put the parts of the emptiest sheet on the cheapest size that takes them all."""
    if not purchase:
        return purchase
    by_key = {piece.key: piece for piece in pieces}
    at = min(range(len(purchase)), key=lambda i: (sum(by_key[p.key].region.area for p in purchase[i][1]), -i))
    blank, rows = purchase[at]
    mine = [by_key[p.key] for p in rows]
    for size in sorted(sizes, key=lambda s: (s.cost, s.width * s.height)):
        if (size.cost, size.width * size.height) >= (blank.cost, blank.width * blank.height):
            break
        packed = engine(mine, [size], rules)
        if not packed.left:
            return [*purchase[:at], *purchase[at + 1 :], (size, packed.placements[0])]
    return [*purchase[:at], *purchase[at + 1 :], purchase[at]]
