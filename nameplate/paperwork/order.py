"""What to order, in the words of the shop: from a layout's sheets, as sentences for the screen and as `order.csv`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from nameplate.nest.layout import SheetLayout
from nameplate.paperwork.spreadsheets import csv_text
from nameplate.ticket.workshop_schema import MaterialKeys

ORDER_COLUMNS: tuple[str, ...] = ("material", "thickness", "size", "count", "price", "cost")


@dataclass(frozen=True, slots=True)
class SheetsNeeded:
    """Sheets of one material and size (mm): to buy at a price each (0 where none is known), or from the shop.

    Materials of the ticket with the same name and thickness are one material to whoever sells it.
    """

    source: Literal["buy", "on hand", "offcut"]
    material: str
    thickness: float
    width: float
    height: float
    price: float
    count: int

    @property
    def size(self) -> str:
        """Width and height as a shop writes them."""
        return f"{self.width:.4g} x {self.height:.4g}"


def sheets_needed(sheets: Sequence[SheetLayout], materials: Mapping[str, MaterialKeys]) -> tuple[SheetsNeeded, ...]:
    """Count the sheets of a layout by what they are to the shop: first those to buy, in the order of the layout.

    >>> sheets_needed([], {})
    ()
    """
    counts: Counter[SheetsNeeded] = Counter(_needed(sheet, materials) for sheet in sheets)
    lines = [SheetsNeeded(n.source, n.material, n.thickness, n.width, n.height, n.price, k) for n, k in counts.items()]
    return tuple(sorted(lines, key=lambda line: line.source != "buy"))


def _needed(sheet: SheetLayout, materials: Mapping[str, MaterialKeys]) -> SheetsNeeded:
    material = materials.get(sheet.material, MaterialKeys(name=sheet.material))
    source: Literal["buy", "on hand", "offcut"] = "offcut" if sheet.offcut else "on hand" if sheet.on_hand else "buy"
    price = sheet.price if source == "buy" else 0.0
    return SheetsNeeded(source, material.name, material.thickness, sheet.width, sheet.height, price, 1)


def order_sentences(needed: Sequence[SheetsNeeded]) -> tuple[str, ...]:
    """Say what to order and what to take from the shop, a line each; money only where prices are known.

    >>> order_sentences([SheetsNeeded("buy", "grey board", 1, 600, 300, 0, 1)])
    ('Order 1 sheet grey board 1 mm, 600 x 300',)
    >>> order_sentences([])
    ('Nothing to order',)
    """
    if not needed:
        return ("Nothing to order",)
    buy = [line for line in needed if line.source == "buy"]
    priced = [line for line in buy if line.price]
    lines = [_sentence(line) for line in needed]
    if not buy:
        lines.insert(0, "Nothing to order")
    if len(priced) > 1 and len(priced) == len(buy):
        lines.append(f"Together {_cost(priced):.2f}")
    elif priced and len(priced) < len(buy):
        lines.append(f"Together {_cost(priced):.2f} and what has no price in the ticket")
    return tuple(lines)


def _cost(lines: Sequence[SheetsNeeded]) -> float:
    return sum(line.count * line.price for line in lines)


def _sentence(line: SheetsNeeded) -> str:
    thing = "offcut" if line.source == "offcut" else "sheet"
    what = f"{line.count} {thing}{'' if line.count == 1 else 's'} {line.material} {line.thickness:g} mm, {line.size}"
    if line.source != "buy":
        return f"Take from the shop {what}"
    each = "" if line.count == 1 else f" ({line.price:.2f} each)"
    return f"Order {what}" + (f": {line.count * line.price:.2f}{each}" if line.price else "")


def order_csv(needed: Sequence[SheetsNeeded]) -> str:
    """Return what to buy as CSV; thickness and size in mm, price a sheet and cost empty where no price is known."""
    return csv_text(ORDER_COLUMNS, [_row(line) for line in needed if line.source == "buy"])


def _row(line: SheetsNeeded) -> dict[str, str]:
    price = f"{line.price:.2f}" if line.price else ""
    cost = f"{line.count * line.price:.2f}" if line.price else ""
    values = (line.material, f"{line.thickness:g}", line.size, str(line.count), price, cost)
    return dict(zip(ORDER_COLUMNS, values, strict=True))
