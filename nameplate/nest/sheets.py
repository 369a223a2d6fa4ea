"""Sheets before anything lies on them: the ones on hand, offcuts, and the sizes that can be bought.

Terms. A *blank* is one physical sheet. Its *usable* region is where a finished part may lie: the sheet's outline less
the edge margin, less its damaged places grown by the gap.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from nameplate.geometry.region import EMPTY, Region, bounds, difference, offset, rectangle
from nameplate.nest.layout import Placement, SheetLayout
from nameplate.ticket import NestKeys, StockKeys


@dataclass(frozen=True, slots=True)
class Rules:
    """What every placement keeps to.

    `gap` and `edge` are between finished parts, never less than one kerf. With `free` any angle is allowed, and
    `turns` are the ones worth trying.
    """

    gap: float
    edge: float
    turns: tuple[float, ...] = (0.0, 180.0)
    free: bool = False


@dataclass(frozen=True, slots=True)
class Blank:
    """One empty sheet, or a size of which any number can be bought (`on_hand` false)."""

    stock: int
    material: str
    width: float
    height: float
    price: float = 0.0
    on_hand: bool = False
    offcut: str = ""
    outline: Region | None = None
    keep_outs: Region | None = None
    usable: Region = field(default=EMPTY, compare=False)

    @property
    def plain(self) -> bool:
        """Whether the usable region is a whole rectangle."""
        return self.outline is None and self.keep_outs is None

    @property
    def cost(self) -> float:
        """What one such sheet costs."""
        return 0.0 if self.on_hand else self.price

    def sheet(self, placements: Sequence[Placement]) -> SheetLayout:
        """Make the sheet with what lies on it; it is numbered later."""
        return SheetLayout(
            material=self.material,
            width=self.width,
            height=self.height,
            stock=self.stock,
            price=self.price,
            placements=tuple(placements),
            on_hand=self.on_hand,
            offcut=self.offcut,
            outline=self.outline,
            keep_outs=self.keep_outs,
        )


def usable_region(
    width: float, height: float, outline: Region | None, keep_outs: Region | None, rules: Rules
) -> Region:
    """Give where finished parts may lie on a sheet.

    >>> usable_region(100, 50, None, None, Rules(gap=1, edge=5)).area
    3600.0
    """
    if outline is None:
        m = rules.edge
        region = rectangle(m, m, width - m, height - m) if min(width, height) > 2 * m else EMPTY
    else:
        region = offset(outline, -rules.edge)
    return region if keep_outs is None else difference(region, offset(keep_outs, rules.gap))


def blanks_of(stock: Sequence[StockKeys], material: str, rules: Rules) -> tuple[list[Blank], list[Blank]]:
    """Give the sheets on hand (largest usable area first) and the sizes to buy (as listed) of one material."""
    on_hand, to_buy = [], []
    for index, keys in enumerate(stock):
        if keys.material != material:
            continue
        usable = usable_region(keys.width, keys.height, None, None, rules)
        blank = Blank(index, material, keys.width, keys.height, keys.price, usable=usable)
        to_buy.append(blank)
        owned = Blank(index, material, keys.width, keys.height, keys.price, on_hand=True, usable=usable)
        on_hand += [owned] * keys.on_hand
    on_hand.sort(key=lambda b: -b.usable.area)
    return on_hand, to_buy


def rules_of(keys: NestKeys, kerf: float = 0.0) -> Rules:
    """Give the rules of a ticket for a material with the given kerf.

    Parts nearer than one kerf would be nicked by each other's cut, so the gap is never less than that.
    """
    return Rules(max(keys.gap, kerf), max(keys.edge_margin, kerf), keys.turns)


def largest_usable(blanks: Sequence[Blank]) -> str:
    """Name the largest usable area of some blanks for a message, such as '590 x 290 mm'."""
    sizes = [bounds(b.usable) for b in blanks if not b.usable.is_empty]
    if not sizes:
        return "none"
    best = max(sizes, key=lambda box: box.width * box.height)
    return f"{best.width:g} x {best.height:g} mm"
