"""Reading a stored layout, and checking it against the job and the stock it is to be used for.

A layout file may have been changed by anybody. Nothing in it is used before every field has been read as what it must
be; and of what it says, only where the pieces lie is believed. Sizes, prices and outlines must be those of the ticket's
stock and offcuts, no sheet on hand is used more often than it lies there, and its findings are not read at all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from msgspec import structs

from nameplate.errors import LayoutError
from nameplate.findings import Finding
from nameplate.geometry.region import Region, difference
from nameplate.nest.layout import VERSION, Layout, Piece, Placement, SheetLayout, degrees, mm, name_of
from nameplate.nest.sheets import Blank, Offcut, Rules, on_hand_of, sizes_of
from nameplate.nest.stored_form import (
    LayoutForm,
    StoredSheetForm,
    check_corners,
    in_form,
    read_document,
    stored_region,
)
from nameplate.ticket.workshop_schema import StockKeys

#: A layout file is at most this large (bytes): that of 100,000 names. Read, it takes ten times as much memory.
LARGEST = 40_000_000

#: Sizes and outlines of a layout may differ from those of the stock by this (mm): a few last decimals.
SAME = 5e-4


def read_layout(path: Path) -> Layout:
    """Read a layout file; raises LayoutError, naming the file and the field that is wrong."""
    return read_document(path, LARGEST, layout_from, what="a stored layout (layout.json)")


def layout_from(document: object) -> Layout:
    """Read a layout from a JSON document; raises LayoutError, naming the field that is wrong."""
    form = in_form(document, LayoutForm, VERSION, f"the layout has version {{}}; this program reads version {VERSION}")
    check_corners(outline for sheet in form.sheets for outline in (sheet.outline, sheet.keep_outs))
    numbers = Counter((sheet.material, sheet.number) for sheet in form.sheets)
    if twice := [
        f"sheet {n} of {material} is in the layout {k} times" for (material, n), k in numbers.items() if k > 1
    ]:
        raise LayoutError(twice)
    sheets = tuple(_sheet(sheet, f"sheets {number}") for number, sheet in enumerate(form.sheets, 1))
    return Layout(sheets, (), form.unplaced, form.not_made)


def _sheet(form: StoredSheetForm, where: str) -> SheetLayout:
    solids = {"outline": form.outline, "keep_outs": form.keep_outs}
    shapes = {name: own if own is None else stored_region(own, f"{where}, {name}") for name, own in solids.items()}
    placements = tuple(
        Placement(at.plate, at.kind, at.copy, at.layer, mm(at.x), mm(at.y), degrees(at.turn)) for at in form.placements
    )
    return SheetLayout(**{**structs.asdict(form), **shapes, "placements": placements})


def with_left_out(layout: Layout, pieces: Sequence[Piece]) -> Layout:
    """Count the pieces of plates that were not made for the layout among those that it leaves out.

    >>> with_left_out(Layout(), []) == Layout()
    True
    """
    late = tuple(piece.key for piece in pieces if piece.plate in layout.not_made)
    return replace(layout, unplaced=(*layout.unplaced, *late), not_made=())


def left_out(layout: Layout, pieces: Sequence[Piece]) -> tuple[Finding, ...]:
    """Say which pieces a stored layout leaves out, an error for each.

    >>> left_out(Layout(), [])
    ()
    """
    absent = set(layout.unplaced)
    text = "has no place in the stored layout; nest anew without --layout, or add stock"
    return tuple(
        Finding("unplaced", "error", f"{name_of(piece.key)} {text}", plate=piece.plate)
        for piece in pieces
        if piece.key in absent
    )


# --- the stock ------------------------------------------------------------------------------------------------------


@dataclass
class _Shelf:
    """The stock of one material: how many of each sheet on hand are left, and the sizes to buy."""

    on_hand: list[tuple[Blank, int]]
    to_buy: list[Blank]

    def take(self, sheet: SheetLayout) -> Blank | str:
        """Give the blank of a sheet and count it as used; or say what is the matter."""
        if not sheet.on_hand:
            return _agreeing(sheet, [blank for blank in self.to_buy if blank.stock == sheet.stock])
        which = (sheet.stock, sheet.offcut)
        mine = {n: blank for n, (blank, _) in enumerate(self.on_hand) if (blank.stock, blank.offcut) == which}
        found = _agreeing(sheet, list(mine.values()))
        if isinstance(found, str):
            return found
        for n, blank in mine.items():
            left = self.on_hand[n][1]
            if left and not _difference(sheet, blank):
                self.on_hand[n] = blank, left - 1
                return blank
        return "is one more than lie on hand"


def as_stocked(
    layout: Layout, stock: Sequence[StockKeys], rules: Mapping[str, Rules], offcuts: Sequence[Offcut]
) -> tuple[Layout, list[str]]:
    """Give a layout whose sheets are those of the ticket's stock; and, one sentence each, which of them are not.

    `rules` by material. A sheet that differs from its stock in size, price, outline or damaged places is refused, and
    so is one more on hand than there are.

    >>> as_stocked(Layout(), [], {}, [])
    (Layout(sheets=(), findings=(), unplaced=(), not_made=()), [])
    """
    shelves: dict[str, _Shelf] = {}
    sheets, problems = [], []
    for sheet in layout.sheets:
        if sheet.material not in rules:
            problems.append(f"{_title(sheet)} is of a material that this job has no parts of")
            continue
        if sheet.material not in shelves:
            of = (stock, sheet.material, rules[sheet.material])
            shelves[sheet.material] = _Shelf(on_hand_of(*of, offcuts), sizes_of(*of))
        blank = shelves[sheet.material].take(sheet)
        if isinstance(blank, str):
            problems.append(f"{_title(sheet)} {blank}")
        else:
            sheets.append(blank.sheet(sheet.placements, number=sheet.number))
    return replace(layout, sheets=tuple(sheets)), problems


def _title(sheet: SheetLayout) -> str:
    kind = "offcut" if sheet.offcut else "sheet"
    return f"{kind} {sheet.number} of {sheet.material} ({sheet.width:g} x {sheet.height:g} mm)"


def _agreeing(sheet: SheetLayout, blanks: Sequence[Blank]) -> Blank | str:
    """Give the first blank that a sheet agrees with; or say how it differs from the nearest."""
    if not blanks:
        what = f"the offcut “{sheet.offcut}”" if sheet.offcut else "it"
        where = "on hand" if sheet.on_hand else "to be bought"
        return f"is not in the ticket's stock any more: {what} is not {where} as stock {sheet.stock + 1} of the ticket"
    return next((blank for blank in blanks if not _difference(sheet, blank)), _difference(sheet, blanks[0]))


def _difference(sheet: SheetLayout, blank: Blank) -> str:
    """Say how a sheet differs from a blank; nothing where it does not."""
    if max(abs(sheet.width - blank.width), abs(sheet.height - blank.height)) > SAME:
        return f"is {blank.width:g} x {blank.height:g} mm in the ticket's stock"
    if abs(sheet.price - blank.price) > SAME:
        return f"costs {sheet.price:g} in the layout and {blank.price:g} in the ticket's stock"
    for what, mine, theirs in (
        ("outline", sheet.outline, blank.outline),
        ("keep_outs", sheet.keep_outs, blank.keep_outs),
    ):
        if not _alike(mine, theirs):
            return f"has another {what} in the layout than in the ticket's stock"
    return ""


def _alike(a: Region | None, b: Region | None) -> bool:
    """Tell whether two outlines are the same but for the rounding of a file."""
    if a is None or b is None:
        return a is b
    allowed = SAME * max(a.length, b.length)
    return bool(difference(a, b).area <= allowed and difference(b, a).area <= allowed)
