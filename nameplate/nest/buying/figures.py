"""The figures of a layout: sheets to buy by size, what they cost, how full they are, and how few there could be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from nameplate.geometry.collision_set import turned_box
from nameplate.geometry.region import points
from nameplate.nest.buying.bounds import Bound, best_bound
from nameplate.nest.layout import Layout, Piece, PieceKey, SheetLayout
from nameplate.nest.sheets import rules_of
from nameplate.system.grouping import grouped
from nameplate.ticket.schema import NestKeys


@dataclass(frozen=True, slots=True)
class SizeLine:
    """Sheets of one size: how many are used, how many of them were on hand, what the others cost, how full all are."""

    material: str
    width: float
    height: float
    count: int
    on_hand: int
    to_buy: int
    price: float
    cost: float
    offcut: str = ""
    density: float = 0.0


@dataclass(frozen=True, slots=True)
class SheetFigures:
    """One sheet: how many parts, the share of it they cover, and how far along x it is used (mm)."""

    material: str
    number: int
    width: float
    height: float
    parts: int
    area: float
    density: float
    used_length: float


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a layout needs.

    `sheets_used` counts the last sheet of a material only as far as it is used, for comparing layouts. `bound` is by
    material, against the largest sheet that the layout uses; None where nothing was placed.
    """

    sizes: tuple[SizeLine, ...]
    sheets: tuple[SheetFigures, ...]
    cost: float
    density: float
    bounds: tuple[tuple[str, Bound], ...]
    sheets_used: tuple[tuple[str, float], ...]


def estimate(layout: Layout, pieces: Sequence[Piece], keys: NestKeys) -> Estimate:
    """Work out the figures of a layout.

    >>> estimate(Layout(), [], NestKeys()).cost
    0.0
    """
    by_key = {piece.key: piece for piece in pieces}
    sheets = tuple(sheet_figures(sheet, by_key) for sheet in layout.sheets)
    area = sum(s.width * s.height for s in layout.sheets)
    materials = sorted({s.material for s in layout.sheets})
    return Estimate(
        sizes=_size_lines(layout, sheets),
        sheets=sheets,
        cost=round(sum((sheet.cost for sheet in layout.sheets), 0.0), 6),
        density=sum(s.area for s in sheets) / area if area else 0.0,
        bounds=tuple((m, _bound(layout, m, by_key, keys)) for m in materials),
        sheets_used=tuple((m, _used([s for s in sheets if s.material == m])) for m in materials),
    )


def sheet_figures(sheet: SheetLayout, by_key: dict[PieceKey, Piece]) -> SheetFigures:
    """Give the figures of one sheet; `by_key` finds the piece of each placement."""
    area = sum(by_key[at.key].region.area for at in sheet.placements)
    right = (turned_box(points(by_key[at.key].region), at.turn).x1 + at.x for at in sheet.placements)
    return SheetFigures(
        sheet.material,
        sheet.number,
        sheet.width,
        sheet.height,
        len(sheet.placements),
        area,
        area / (sheet.width * sheet.height),
        max(right, default=0.0),
    )


def _size_lines(layout: Layout, figures: Sequence[SheetFigures]) -> tuple[SizeLine, ...]:
    both = zip(layout.sheets, figures, strict=True)
    groups = grouped(((sheet.material, sheet.stock, sheet.offcut), (sheet, figure)) for sheet, figure in both)
    return tuple(_size_line([s for s, _ in groups[of]], [f for _, f in groups[of]]) for of in sorted(groups))


def _size_line(sheets: Sequence[SheetLayout], figures: Sequence[SheetFigures]) -> SizeLine:
    one = sheets[0]
    return SizeLine(
        material=one.material,
        width=one.width,
        height=one.height,
        count=len(sheets),
        on_hand=sum(s.on_hand for s in sheets),
        to_buy=sum(not s.on_hand for s in sheets),
        price=one.price,
        cost=round(sum(s.cost for s in sheets), 6),
        offcut=one.offcut,
        density=sum(f.area for f in figures) / sum(s.width * s.height for s in sheets),
    )


def _bound(layout: Layout, material: str, by_key: dict[PieceKey, Piece], keys: NestKeys) -> Bound:
    mine = [s for s in layout.sheets if s.material == material]
    largest = max(mine, key=lambda s: s.width * s.height)
    lying = [by_key[at.key] for s in mine for at in s.placements]
    rules = rules_of(keys)
    return best_bound(lying, largest.width, largest.height, rules.gap, rules.edge, rules.turns)


def _used(sheets: Sequence[SheetFigures]) -> float:
    """Count sheets, the last one only as far along x as it is used."""
    return len(sheets) - 1 + sheets[-1].used_length / sheets[-1].width if sheets else 0.0
