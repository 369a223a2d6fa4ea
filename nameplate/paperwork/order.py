"""What to order, in the words of the shop: from a layout's sheets, as sentences for the screen and as `order.csv`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from nameplate.findings import counted, enumerated
from nameplate.nest.buying.quote import RoomLeft
from nameplate.nest.layout import REST_OF, SheetLayout
from nameplate.record.overview import ShelfRest
from nameplate.record.states import CALLED
from nameplate.system.grouping import grouped
from nameplate.system.spreadsheets import csv_text
from nameplate.ticket.workshop_schema import MaterialKeys
from nameplate.units import in_inches, size_in_words, with_inches

#: The columns of `order.csv`: thickness and size in mm, at the end the same in inches.
ORDER_COLUMNS: tuple[str, ...] = ("material", "thickness", "size", "count", "price", "cost", "thickness_in", "size_in")

#: What a material is called that nobody named.
_UNNAMED = MaterialKeys()

#: A sheet that lacks no more than so much (mm2) of its rectangle lacks nothing.
NOTHING = 1.0

#: Sheets whose times are told one by one; with more, those of each material together.
MOST_TOLD = 8

#: What whoever has bought sheets does in the ticket.
WRITE_BOUGHT = "write what you have bought as on_hand below its [[stock]]"


@dataclass(frozen=True, slots=True)
class SheetsNeeded:
    """Sheets of one material and size (mm): to buy at a price each, or from the shop; price, thickness 0 if not known.

    Materials of the ticket with the same name and thickness are one material to whoever sells it. An estimate may be
    wrong by `perhaps` sheets more. An offcut that has a name is told by it; one that is not all of the rectangle round
    it lies `within` that.
    """

    source: Literal["buy", "on hand", "offcut"]
    material: str
    thickness: float
    width: float
    height: float
    price: float
    count: int
    perhaps: int = 0
    name: str = ""
    within: bool = False

    @property
    def size(self) -> str:
        """Width and height as a shop writes them."""
        return size_in_words(self.width, self.height)


@dataclass(frozen=True, slots=True)
class PlaquesNeeded:
    """Plaques of one design that are made elsewhere: as large as their face (mm), how many, and how many of them are
    spare."""

    design: str
    width: float
    height: float
    count: int
    spare: int = 0


def sheets_needed(
    sheets: Sequence[SheetLayout], materials: Mapping[str, MaterialKeys], perhaps: Mapping[str, int] | None = None
) -> tuple[SheetsNeeded, ...]:
    """Count the sheets of a layout by what they are to the shop: first those to buy, in the order of the layout.

    `perhaps` gives by the material's key how many sheets more it may take; they are told with the first size to buy.

    >>> sheets_needed([], {})
    ()
    """
    counts = Counter(_needed(sheet, materials) for sheet in sheets)
    mores: Counter[SheetsNeeded] = Counter()
    for key, more in (perhaps or {}).items():
        mores[_needed(next(sheet for sheet in sheets if sheet.material == key), materials)] += more
    lines = [replace(line, count=count, perhaps=mores[line]) for line, count in counts.items()]
    return tuple(sorted(lines, key=lambda line: line.source != "buy"))


def _needed(sheet: SheetLayout, materials: Mapping[str, MaterialKeys]) -> SheetsNeeded:
    material = materials.get(sheet.material, _UNNAMED)
    called_so = f"{_UNNAMED.name} ({sheet.material})" if material.name == _UNNAMED.name else material.name
    source: Literal["buy", "on hand", "offcut"] = "offcut" if sheet.offcut else "on hand" if sheet.on_hand else "buy"
    price = sheet.price if source == "buy" else 0.0
    name = sheet.offcut if sheet.stock < 0 else ""
    size = (sheet.width, sheet.height)
    within = sheet.outline is not None and sheet.outline.area < sheet.width * sheet.height - NOTHING
    return SheetsNeeded(source, called_so, material.thickness, *size, price, 1, name=name, within=within)


def order_sentences(needed: Sequence[SheetsNeeded], *, off: float = 0.0, inches: bool = False) -> tuple[str, ...]:
    """Say what to order and what to take from the shop, a line each; money only where prices are known.

    `off` is the share by which an estimate may be wrong. `inches`: sheets are told in mm and in inches.

    >>> order_sentences([SheetsNeeded("buy", "grey board", 1, 600, 300, 0, 1)])
    ('Order 1 sheet grey board 1 mm, 600 x 300',)
    >>> order_sentences([SheetsNeeded("buy", "birch", 3.175, 609.6, 304.8, 6.5, 2)], inches=True)
    ('Order 2 sheets birch 3.175 mm (1/8 in), 609.6 x 304.8 (24 x 12 in): 13.00 (6.50 each)',)
    >>> order_sentences([])
    ('Nothing to order',)
    """
    buy = [line for line in needed if line.source == "buy"]
    priced = [line for line in buy if line.price]
    lines = [*([] if buy else ["Nothing to order"]), *(_sentence(line, off, inches=inches) for line in needed)]
    if priced and len(buy) > 1:
        more = "" if len(priced) == len(buy) else " and what has no price in the ticket"
        lines.append(f"Together {sum(line.count * line.price for line in priced):.2f}{more}")
    return tuple(lines)


def plaques_sentence(plaques: PlaquesNeeded, *, inches: bool = False) -> str:
    """Say which plaques must be there.

    >>> plaques_sentence(PlaquesNeeded("", 110, 80, 1))
    'Have ready 1 plaque, 110 x 80, which is not cut here'
    >>> plaques_sentence(PlaquesNeeded("gold", 127, 63.5, 6, 1), inches=True)
    'Have ready 6 plaques of gold, 127 x 63.5 (5 x 2 1/2 in), 1 of them spare, which are not cut here'
    """
    size = with_inches(size_in_words(plaques.width, plaques.height), plaques.width, plaques.height, inches=inches)
    which = f"{counted(plaques.count, 'plaque')}{f' of {plaques.design}' if plaques.design else ''}, {size}"
    spare = f", {plaques.spare} of them spare" if plaques.spare else ""
    return f"Have ready {which}{spare}, which {'is' if plaques.count == 1 else 'are'} not cut here"


def asked_sentence(needed: Sequence[SheetsNeeded], asked: Sequence[SheetsNeeded], *, inches: bool = False) -> str:
    """Say which of the sheets to buy the last run `asked` for, too: whoever has bought them since has them.

    >>> board = SheetsNeeded("buy", "grey board", 1, 600, 300, 4.0, 3)
    >>> asked_sentence([board], [replace(board, count=2, price=3.0)]).partition(":")[0]
    'The last run asked for 2 sheets grey board 1 mm, 600 x 300 of these, which are not cut yet'
    >>> asked_sentence([board], [replace(board, source="on hand")])
    ''
    """
    both = (_to_buy(needed) & _to_buy(asked)).items()
    what = " and ".join(_sheets(line, count, inches=inches) for line, count in both)
    advice = f"order no more than is missing, and {WRITE_BOUGHT}"
    return f"The last run asked for {what} of these, which are not cut yet: {advice}" if what else ""


def _to_buy(lines: Sequence[SheetsNeeded]) -> Counter[SheetsNeeded]:
    """Count the sheets to buy of each material and size, whatever their price."""
    counts: Counter[SheetsNeeded] = Counter()
    for line in lines:
        if line.source == "buy":
            counts[replace(line, price=0.0, count=1, perhaps=0)] += line.count
    return counts


def _sheets(line: SheetsNeeded, count: int, *, inches: bool) -> str:
    thing = "offcut" if line.source == "offcut" else "sheet"
    return f"{counted(count, thing)} {_what(line, inches=inches)}"


def _what(line: SheetsNeeded, *, inches: bool) -> str:
    """Say the material of sheets, its thickness and their size."""
    thickness = with_inches(f" {line.thickness:g} mm", line.thickness, inches=inches) if line.thickness else ""
    within = "within " * line.within
    return f"{line.material}{thickness}, {within}{with_inches(line.size, line.width, line.height, inches=inches)}"


def _sentence(line: SheetsNeeded, off: float, *, inches: bool) -> str:
    if line.name:
        count = "" if line.count == 1 else f"{line.count} times "
        return f"Take {count}{called(line.name)} ({_what(line, inches=inches)})"
    what = _sheets(line, line.count, inches=inches)
    more = f" (take {line.count + line.perhaps}: the estimate may be {off * 100:g} % off)" if line.perhaps else ""
    if line.source != "buy":
        return f"Take from the shop {what}{more}"
    each = "" if line.count == 1 else f" ({line.price:.2f} each)"
    return f"Order {what}{more}" + (f": {line.count * line.price:.2f}{each}" if line.price else "")


def called(offcut: str) -> str:
    """Speak of an offcut by its name.

    >>> called("rest of lettering 01"), called("blue")
    ('the rest of lettering 01', 'the offcut “blue”')
    """
    return f"the {offcut}" if offcut.startswith(REST_OF) else f"the offcut “{offcut}”"


def rest_words(rest: ShelfRest, *, inches: bool = False) -> str:
    """Say how large the rest of a sheet is: its box, as it is told where it is taken, and what is free in it.

    >>> rest_words(ShelfRest("rest of lettering 01", "lettering", 130, 150, 156.6, 150))
    'within 156.6 x 150 mm, 130 x 150 mm of it free in one piece'
    >>> rest_words(ShelfRest("rest of lettering 01", "lettering", 127, 150, 127, 150), inches=True)
    '127 x 150 mm (5 x 5.9 in)'
    """
    box, free = (rest.box_width, rest.box_height), (rest.width, rest.height)
    whole, part = (with_inches(f"{size_in_words(*size)} mm", *size, inches=inches) for size in (box, free))
    return whole if tuple(round(side, 1) for side in box) == free else f"within {whole}, {part} of it free in one piece"


def material_in_words(materials: Mapping[str, MaterialKeys], key: str, *, inches: bool = False) -> str:
    """Say which material a key means.

    >>> from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS
    >>> material_in_words(DEFAULT_MATERIALS, "lettering"), material_in_words(DEFAULT_MATERIALS, "gilt")
    ('cast acrylic 3 mm', 'gilt')
    """
    if key not in materials:
        return key
    thickness = materials[key].thickness
    return f"{materials[key].name} {with_inches(f'{thickness:g} mm', thickness, inches=inches)}"


def sheet_words(material: str) -> str:
    """Give what sheets of a material are called on paper and on the screen.

    >>> sheet_words("blank"), sheet_words("birch")
    ('plaque', 'birch')
    """
    return CALLED["blank"] if material == "blank" else material


def room_sentence(rooms: Sequence[RoomLeft]) -> str:
    """Say for how many more names of each design the sheets have room, and which of them are full first.

    >>> room_sentence([RoomLeft("", 17, False, "template")]), room_sentence([RoomLeft("", 0, False, "")])
    ('Room for 17 more names like these; the template sheets are full first', 'Room for no more names like these')
    >>> room_sentence([RoomLeft("gold", 1, False, "template"), RoomLeft("silver", 50, True, "")])
    'Room for 1 more name of gold (the template sheets are full first), or for more than 50 more of silver'
    >>> room_sentence([RoomLeft("gold", 2, False, "template"), RoomLeft("", 0, False, "template")])
    'Room for 2 more names of gold, or for no more without a design; the template sheets are full first'
    >>> room_sentence([RoomLeft(design, 2, False, "") for design in ("", "gold", "silver")])
    'Room for 2 more names without a design or of gold or silver'
    >>> room_sentence([])
    ''
    """
    told: list[str] = []
    alike = grouped(((room.names, room.more, _full(room)), room) for room in rooms)
    fulls = dict.fromkeys(full for _, _, full in alike)
    for (_, _, full), own in alike.items():
        which = "like these" if len(rooms) == 1 else of_designs([room.design for room in own])
        why = f" ({full})" if len(fulls) > 1 and full else ""
        told.append(f"for {_names(own[0], first=not told)} {which}{why}")
    last = "".join(f"; {full}" for full in fulls if full and len(fulls) == 1)
    return f"Room {', or '.join(told)}{last}" if told else ""


def of_designs(names: Sequence[str]) -> str:
    """Say of which designs something is.

    >>> of_designs(["gold"]), of_designs([""]), of_designs(["a", "", "b", "c"])
    ('of gold', 'without a design', 'without a design or of a, b or c')
    """
    of = enumerated([name for name in names if name], "or")
    return enumerated([*(["without a design"] if "" in names else []), *([f"of {of}"] if of else [])], "or")


def _names(room: RoomLeft, *, first: bool) -> str:
    names = f" name{'' if room.names == 1 else 's'}" if first else ""
    return f"{'more than ' if room.more else ''}{room.names or 'no'} more{names}"


def _full(room: RoomLeft) -> str:
    known = room.full_first and not room.more
    return f"the {sheet_words(room.full_first)} sheets are full first" if known else ""


def burning_sentence(sheets: Sequence[SheetLayout], seconds: Sequence[float | None]) -> str:
    """Say how long burning takes, in all and a sheet; empty where no speed is known. Many sheets are told by material.

    >>> sheet = SheetLayout("lettering", 600, 300, 0, 0, ())
    >>> burning_sentence([sheet], [780.0]), burning_sentence([sheet], [None])
    ('Burning takes about 13 min: lettering sheet 1 13 min', '')
    """
    known = [(sheet, s) for sheet, s in zip(sheets, seconds, strict=True) if s is not None]
    if not known:
        return ""
    told = [f"{sheet_words(sheet.material)} sheet {sheet.number} {minutes(s)}" for sheet, s in known]
    if len(told) > MOST_TOLD:
        totals = grouped((sheet.material, s) for sheet, s in known)
        told = [f"{counted(len(own), f'{sheet_words(key)} sheet')} {minutes(sum(own))}" for key, own in totals.items()]
    without = sorted({sheet.material for sheet in sheets} - {sheet.material for sheet, _ in known})
    rest = f"; {' and '.join(map(sheet_words, without))}: no cut_speed is known" if without else ""
    return f"Burning takes about {minutes(sum(s for _, s in known))}: {', '.join(told)}{rest}"


def minutes(seconds: float) -> str:
    """Say a time in minutes, or in hours and minutes.

    >>> minutes(20), minutes(780), minutes(7500)
    ('1 min', '13 min', '2 h 5 min')
    """
    whole = max(1, round(seconds / 60))
    return f"{whole} min" if whole < 100 else f"{whole // 60} h {whole % 60} min"


def plate_sentence(plates: int, *, material: float, machine: float, rate: float) -> str:
    """Say what one of so many plates costs, without and with the machine; empty where nothing is known.

    `material` and `machine` are what all plates cost, 0 where that is not known; `rate` is what an hour of it costs.

    >>> plate_sentence(10, material=20.0, machine=5.0, rate=40)
    'A plate costs 2.00 of material, 2.50 with the machine at 40 an hour'
    >>> plate_sentence(1, material=0.0, machine=5.0, rate=40), plate_sentence(3, material=0.0, machine=0.0, rate=40)
    ('A plate costs 5.00 of the machine at 40 an hour', '')
    """
    if not plates or not (material or machine):
        return ""
    if not machine:
        return f"A plate costs {material / plates:.2f} of material"
    if not material:
        return f"A plate costs {machine / plates:.2f} of the machine at {rate:g} an hour"
    both = (material + machine) / plates
    return f"A plate costs {material / plates:.2f} of material, {both:.2f} with the machine at {rate:g} an hour"


def order_csv(needed: Sequence[SheetsNeeded], plaques: Sequence[PlaquesNeeded] = ()) -> str:
    """Return what to buy as CSV, lengths in mm and in inches; what nobody knows (price, cost, thickness) is empty.

    The plaques that are made elsewhere come last.
    """
    bought = [line for line in needed if line.source == "buy"]
    return csv_text(ORDER_COLUMNS, [_row(line) for line in (*bought, *map(_as_a_line, plaques))])


def _as_a_line(plaques: PlaquesNeeded) -> SheetsNeeded:
    what = f"plaques{f' of {plaques.design}' if plaques.design else ''}, not cut here"
    return SheetsNeeded("buy", what, 0.0, plaques.width, plaques.height, 0.0, plaques.count)


def _row(line: SheetsNeeded) -> dict[str, str]:
    price, cost = (f"{line.price:.2f}", f"{line.count * line.price:.2f}") if line.price else ("", "")
    thickness, in_in = (f"{line.thickness:g}", in_inches(line.thickness)) if line.thickness else ("", "")
    size_in = f"{in_inches(line.width)} x {in_inches(line.height)}"
    values = (line.material, thickness, line.size, str(line.count), price, cost, in_in, size_in)
    return dict(zip(ORDER_COLUMNS, values, strict=True))
