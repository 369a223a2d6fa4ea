"""The sheets that were cut, among those of a new run: in its layout, and what stock they leave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nameplate.nest.layout import Layout, SheetLayout
from nameplate.nest.request import NestRequest
from nameplate.nest.sheets import USED_UP, kind_count
from nameplate.record.kept import Kept, KeptSheet
from nameplate.ticket.workshop_schema import StockKeys


def with_cut(layout: Layout, kept: Kept) -> Layout:
    """Give a layout with the sheets that were cut, by material and number."""
    every = (*(sheet.layout for sheet in kept.sheets), *layout.sheets)
    return replace(layout, sheets=tuple(sorted(every, key=lambda sheet: (sheet.material, sheet.number))))


def what_is_left(supply: NestRequest, kept: Kept) -> NestRequest:
    """Give the supply without the sheets on hand that were cut, with the remainders of all that were."""
    if not kept.sheets:
        return supply
    stock = tuple(_left(keys, [s for s in kept.sheets if _is_of(s, keys)]) for keys in supply.stock)
    return replace(supply, stock=stock, offcuts=kept.offcuts(supply.offcuts), numbered_after=kept.last_numbers)


def count_on_hand(sheet: SheetLayout, stock: Sequence[StockKeys]) -> int:
    """Give how many of a sheet's kind the ticket has on hand, itself among them; 0 for one that is bought."""
    if not sheet.on_hand or not 0 <= sheet.stock < len(stock):
        return 0
    return kind_count(stock[sheet.stock])


def _is_of(sheet: KeptSheet, keys: StockKeys) -> bool:
    """Tell whether a sheet was one of those that the ticket still counts: another count is one taken since."""
    own = sheet.layout
    same = (own.material, own.width, own.height) == (keys.material, keys.width, keys.height)
    return same and sheet.on_hand == kind_count(keys) > 0 and bool(own.offcut) == keys.offcut


def _left(keys: StockKeys, cut: Sequence[KeptSheet]) -> StockKeys:
    if not cut:
        return keys
    left = max(0, kind_count(keys) - len(cut))
    return replace(keys, on_hand=left or (USED_UP if keys.offcut else 0))
