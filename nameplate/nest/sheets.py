"""Sheets before anything lies on them: the ones on hand, offcuts, and the sizes that can be bought.

Terms. A *blank* is one physical sheet. Its *usable* region is where a finished part may lie: the sheet's outline less
the edge margin, less its damaged places grown by the gap.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.collision_set import turned_box
from nameplate.geometry.region import Region
from nameplate.nest.layout import Piece, Placement, SheetLayout, StockSheet
from nameplate.ticket.schema import NestKeys
from nameplate.ticket.workshop_schema import StockKeys
from nameplate.units import size_in_words


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
class Offcut:
    """A remainder of an earlier sheet. `outline` is in its own coordinates, inside width x height, or all of it.

    Its lower left corner is `at` (x, y) mm from that of the sheet it is left of, None where nobody knows. It is told as
    it lay then: `face_down` with its show side below.
    """

    material: str
    name: str
    width: float
    height: float
    outline: Region | None = None
    at: tuple[float, float] | None = None
    face_down: bool = False

    def lying(self, *, face_down: bool) -> Offcut:
        """Give it with that side below; turned over, it has another place on its sheet, which nobody is told."""
        if self.face_down == face_down:
            return self
        outline = None if self.outline is None else rg.moved(rg.mirrored(self.outline), self.width)
        return replace(self, outline=outline, at=None, face_down=face_down)


@dataclass(frozen=True, slots=True)
class Blank(StockSheet):
    """One empty sheet, or a size of which any number can be bought (`on_hand` false)."""

    usable: Region = field(default=rg.EMPTY, compare=False)

    def sheet(self, placements: Sequence[Placement], *, number: int = 1) -> SheetLayout:
        """Make the sheet of a number with what lies on it."""
        return SheetLayout(**self.of_stock, placements=tuple(placements), number=number)


#: Stands for the number of offcuts of a kind of which none is left, since a ticket has at least one of those it names.
USED_UP = -1


def kind_count(keys: StockKeys) -> int:
    """Give how many sheets of a kind are on hand; of an offcut at least one, unless all are used up.

    >>> [kind_count(StockKeys(offcut=True, on_hand=n)) for n in (0, 3, USED_UP)], kind_count(StockKeys())
    ([1, 3, 0], 0)
    """
    if keys.on_hand == USED_UP:
        return 0
    return max(1, keys.on_hand) if keys.offcut else keys.on_hand


def usable_region(sheet: StockSheet, rules: Rules) -> Region:
    """Give where finished parts may lie on a sheet.

    >>> usable_region(Blank("card", 100, 50, 0), Rules(gap=1, edge=5)).area
    3600.0
    """
    m = rules.edge
    if sheet.outline is not None:
        region = rg.offset(sheet.outline, -m)
    else:
        room = min(sheet.width, sheet.height) > 2 * m
        region = rg.rectangle(m, m, sheet.width - m, sheet.height - m) if room else rg.EMPTY
    return region if sheet.keep_outs is None else rg.difference(region, rg.offset(sheet.keep_outs, rules.gap))


def damaged_places(keys: StockKeys) -> Region | None:
    """Give the damaged places of a kind of sheet; None where it has none."""
    return rg.union(*(rg.rectangle(x, y, x + w, y + h) for x, y, w, h in keys.keep_out)) if keys.keep_out else None


def on_hand_of(
    stock: Sequence[StockKeys], material: str, rules: Rules, offcuts: Sequence[Offcut] = ()
) -> list[tuple[Blank, int]]:
    """Give the sheets of one material on hand, each kind once with how many there are, in the order of their use.

    Offcuts come first, then whole sheets, each largest usable area first: a remainder is worth least, and what fits a
    large one leaves the smaller ones for small parts.
    """
    kinds = [(_blank_of_offcut(offcut, rules), 1) for offcut in offcuts if offcut.material == material]
    kinds += [
        (_owned(index, keys, rules), kind_count(keys))
        for index, keys in enumerate(stock)
        if keys.material == material and (keys.offcut or keys.on_hand)
    ]
    return sorted(kinds, key=lambda kind: (not kind[0].offcut, -kind[0].usable.area))


def _owned(index: int, keys: StockKeys, rules: Rules) -> Blank:
    blank = replace(_blank_of(index, keys), on_hand=True, keep_outs=damaged_places(keys))
    if keys.offcut:
        outline = rg.from_ring(keys.outline) if keys.outline else None
        blank = replace(blank, outline=outline, offcut=f"offcut {keys.width:g} x {keys.height:g}")
    return with_usable(blank, rules)


def sizes_of(stock: Sequence[StockKeys], material: str, rules: Rules) -> list[Blank]:
    """Give the sizes of one material that can be bought, as listed."""
    return [
        with_usable(_blank_of(index, keys), rules)
        for index, keys in enumerate(stock)
        if keys.material == material and not keys.offcut
    ]


def blanks_of(
    stock: Sequence[StockKeys], material: str, rules: Rules, offcuts: Sequence[Offcut] = (), *, most: int
) -> tuple[list[Blank], list[Blank]]:
    """Give the sheets on hand, each by itself, and the sizes to buy (as listed) of one material.

    Of each kind on hand at most `most` are given: no more sheets can be needed than there are pieces.
    """
    on_hand = [blank for blank, n in on_hand_of(stock, material, rules, offcuts) for _ in range(min(n, most))]
    return on_hand, sizes_of(stock, material, rules)


def _blank_of(index: int, keys: StockKeys) -> Blank:
    return Blank(keys.material, keys.width, keys.height, index, keys.price)


def with_usable(blank: Blank, rules: Rules) -> Blank:
    """Give the blank with its usable region worked out."""
    return replace(blank, usable=usable_region(blank, rules))


def _blank_of_offcut(offcut: Offcut, rules: Rules) -> Blank:
    size = (offcut.width, offcut.height)
    blank = Blank(offcut.material, *size, -1, on_hand=True, offcut=offcut.name, outline=offcut.outline, at=offcut.at)
    return with_usable(blank, rules)


#: Angles tried when any angle is allowed. More angles, slower by as much.
FREE_TURNS = tuple(float(t) for t in range(0, 360, 15) if t % 30 == 0 or t % 45 == 0)


def rules_of(keys: NestKeys, kerf: float = 0.0, *, grain: bool = False) -> Rules:
    """Give the rules of a ticket for a material with the given kerf.

    Parts nearer than one kerf would be nicked by each other's cut, so the gap is never less than that. On a material
    with a grain only the first of the allowed turns is used. No turns at all in the ticket means any angle.
    """
    turns = tuple(dict.fromkeys(turn % 360 for turn in keys.turns)) or FREE_TURNS
    return Rules(
        max(keys.gap, kerf),
        max(keys.edge_margin, kerf),
        turns[:1] if grain else turns,
        free=not keys.turns and not grain,
    )


#: A piece may be this much larger (mm) than the usable area and still count as fitting: float noise of turning.
FIT_NOISE = 1e-6


def fitting(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules) -> list[Piece]:
    """Give the pieces whose box fits some sheet at some allowed turn; copies of one region are looked at once.

    >>> fitting([], [], Rules(gap=1, edge=5))
    []
    """
    rooms = usable_boxes(blanks)
    models = {piece.shape: piece for piece in pieces}
    good = {shape for shape, piece in models.items() if _first_turn(piece.region, rooms, rules.turns) is not None}
    return [piece for piece in pieces if piece.shape in good]


def usable_boxes(blanks: Sequence[Blank]) -> list[Box]:
    """Give the boxes round the usable areas of some blanks; one that stands there many times is looked at once."""
    return [rg.bounds(usable) for usable in {id(b.usable): b.usable for b in blanks}.values() if not usable.is_empty]


def sorted_out(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules) -> tuple[list[Piece], list[Piece]]:
    """Part pieces into those that fit some sheet and those that fit none."""
    good = fitting(pieces, blanks, rules)
    keys = {piece.key for piece in good}
    return good, [piece for piece in pieces if piece.key not in keys]


def _first_turn(region: Region, rooms: Collection[Box], turns: Iterable[float]) -> float | None:
    """Give the first of some turns at which a region fits some room; None where it fits at none."""
    if not rooms:
        return None
    corners = rg.points(rg.hull(region))
    boxes = ((turn, turned_box(corners, turn)) for turn in turns)
    fits = (
        turn
        for turn, box in boxes
        if any(box.width <= room.width + FIT_NOISE and box.height <= room.height + FIT_NOISE for room in rooms)
    )
    return next(fits, None)


def helping_turn(piece: Piece, blanks: Sequence[Blank]) -> float | None:
    """Give a turn, in whole degrees and as round as can be, at which a piece would fit some sheet; None for none."""
    return _first_turn(piece.region, usable_boxes(blanks), sorted(range(180), key=lambda turn: (*_odd(turn), turn)))


def _odd(turn: float) -> tuple[bool, ...]:
    """Tell of a turn whether it is no quarter, no half quarter, no multiple of 15 degrees.

    >>> sorted((30, 45, 44, 90), key=_odd)
    [90, 45, 30, 44]
    """
    return tuple(turn % step > 0 for step in (90, 45, 15))


def largest_usable(blanks: Sequence[Blank]) -> str:
    """Name the largest usable area of some blanks for a message, such as '590 x 290 mm'."""
    best = max(usable_boxes(blanks), key=lambda box: box.width * box.height, default=None)
    return "none" if best is None else f"{size_in_words(best.width, best.height)} mm"


def on_hand_note(on_hand: Sequence[tuple[Blank, int]], sheets: Sequence[SheetLayout]) -> str:
    """Say in what order the sheets on hand of a material were used, and which were not needed; `sheets` lie in order.

    >>> on_hand_note([(Blank("card", 300, 200, 0, on_hand=True), 1)], [])  # doctest: +ELLIPSIS
    'card: what is on hand is used before anything is bought, ...; not needed: 300 x 200 mm'
    """
    used = Counter((s.stock, s.offcut, s.width, s.height) for s in sheets if s.on_hand)
    left: Counter[tuple[int, str, float, float]] = Counter()
    for b, n in on_hand:
        left[b.stock, b.offcut, b.width, b.height] += n
    words = []
    for said, some in (("used", used), ("not needed", left - used)):
        counts: Counter[str] = Counter()
        for (_, offcut, width, height), n in some.items():
            counts[_name_of_sheet(offcut, width, height)] += n
        if counts:
            words.append(f"{said}: " + ", then ".join(f"{n} x {name}" if n > 1 else name for name, n in counts.items()))
    rule = "what is on hand is used before anything is bought, offcuts before whole sheets and each kind largest first"
    return f"{on_hand[0][0].material}: {rule}; {'; '.join(words)}"


def _name_of_sheet(offcut: str, width: float, height: float) -> str:
    size = f"{size_in_words(width, height)} mm"
    if not offcut:
        return size
    return offcut if offcut.startswith("offcut") else f"{offcut} ({size})"
