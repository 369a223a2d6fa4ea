"""From rows to orders: ids given, the ticket's defaults filled in, every letter looked up in the fonts."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING

from nameplate.errors import FontError
from nameplate.findings import Finding, counted, row_ranges
from nameplate.model import Order
from nameplate.plates.choice import chosen_design, design_problems, design_remarks, ticket_of
from nameplate.plates.line_orders import axes_of, check_lines, columns_of, fonts_of_row, ordered_lines
from nameplate.plates.plate_ids import NOTHING_SETTLED, Settled, ids_by_order, plate_ids
from nameplate.record.ids import KnownPlate
from nameplate.roster.characters import describe
from nameplate.roster.headings import heading_key
from nameplate.roster.reader import Roster, Row
from nameplate.roster.rules import LONGEST_NAME, quoted
from nameplate.system.file_names import jig_stems
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.keys import read_value
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.materials import MOUNT_MATERIALS, is_plaque_cut, needed_materials
from nameplate.ticket.schema import Ticket

if TYPE_CHECKING:
    from nameplate.typesetting.fonts import Font

#: (font as the ticket spells it, text) to the letters that it lacks. Raises FontError when there is no such font.
Covers = Callable[[str, str], tuple[str, ...]]

#: Letters that a font lacks are described by their Unicode names up to so many; more are told by how they look.
MOST_DESCRIBED = 2

#: Columns that a note names; more would hide what it says.
MOST_TITLES = 8


@dataclass(frozen=True, slots=True)
class Orders:
    """What to make, what was refused, and why. Every row of the roster is in exactly one of the first three.

    ``refused`` and ``held`` keep the order of the list; their ids are unique too, so that a report can list all rows by
    id. ``listed`` is what a record keeps of the rows whose id is known; plates that a row may be are ``waiting``.
    """

    orders: tuple[Order, ...]
    refused: tuple[Order, ...] = ()
    held: tuple[Order, ...] = ()
    findings: tuple[Finding, ...] = ()
    listed: tuple[KnownPlate, ...] = ()
    waiting: tuple[str, ...] = ()

    @property
    def every(self) -> tuple[Order, ...]:
        """The orders of all rows, in the order of the list."""
        return tuple(sorted((*self.orders, *self.refused, *self.held), key=lambda order: order.row))


def make_orders(
    roster: Roster, ticket: Ticket, *, known: Sequence[KnownPlate] = (), settled: Settled = NOTHING_SETTLED
) -> Orders:
    """Return the orders of a roster: a row's own values before the ticket's, letters checked against the fonts.

    ``known`` are the plates of the record, by which rows have their ids; a row that may be several of them is refused.
    ``settled`` says which of them were approved or cut: about these it is rather asked.
    ``findings`` are only those made here (the roster's own are not repeated); rows that have an error in the roster
    or here are in ``refused``.

    Raises FontError when a font of the ticket cannot be used, TicketError for a line with a column that the list has
    not.

    >>> make_orders(Roster(()), Ticket())
    Orders(orders=(), refused=(), held=(), findings=(), listed=(), waiting=())
    """
    lacks = _font_covers(ticket.folder)
    for own in tickets_of(ticket):
        check_lines(own.line, roster, design=own.design if own.line != ticket.line else "")
    for font in dict.fromkeys(font for own in tickets_of(ticket) for font in _fonts_of(own)):
        lacks(font, "")
    remarks = _font_remarks(ticket)
    unreadable = {f.row for f in roster.findings if f.code in _NOT_LETTERS}
    numbered = plate_ids(roster.rows, known, settled)
    orders = [_order(row, i, ticket) for row, i in zip(roster.rows, numbered.ids, strict=True)]
    every = tuple(_named(orders, tuple(ticket.designs)))
    bad_rows = {f.row for f in (*roster.findings, *numbered.asked) if f.severity == "error"}
    made: list[Order] = []
    refused: list[Order] = []
    found: list[Finding] = []
    tried: dict[tuple[str, ...], tuple[str, ...]] = {}
    for order in (order for order in every if not order.hold):
        own = ticket_of(order.design, ticket)
        problems = tuple(design_problems(order, ticket))
        problems = problems or tuple(_problems(order, own, lacks, letters=order.row not in unreadable))
        if not problems:
            problems = tuple(_own_font_problems(order, own, tried))
        found += problems
        (refused if problems or order.row in bad_rows else made).append(order)
    held = tuple(order for order in every if order.hold)
    every_finding = (*remarks, *design_remarks(made, ticket), *numbered.asked, *numbered.lost, *found)
    return Orders(tuple(made), tuple(refused), held, every_finding, numbered.listed, numbered.waiting)


def list_remarks(roster: Roster, shown: Sequence[str] = (), *, kept: bool = False) -> Iterator[Finding]:
    """Say once each: what ids hang on, which columns stand on no plate, what is on hold. Columns `shown` stand on some.

    Ids that are `kept` in a record hang on nothing.

    >>> list(list_remarks(Roster((Row(2, "Ada", id="7"),))))
    []
    """
    if not kept:
        yield from ids_by_order(roster.rows)
    on_plates = set(map(heading_key, shown))
    unused = [heading for heading in roster.extra_columns if heading_key(heading) not in on_plates]
    if unused:
        titles = ", ".join(map(repr, unused[:MOST_TITLES])) + (" and more" if len(unused) > MOST_TITLES else "")
        columns, belong, them = (
            ("column", "it belongs", "it") if len(unused) == 1 else ("columns", "they belong", "them")
        )
        text = (
            f"on no plate, only on the worklist: {columns} {titles}; where {belong} on plates, a [[line]] shows {them}"
        )
        yield Finding("unused-columns", "note", text)
    held = [row.number for row in roster.rows if row.hold]
    if held:
        names = counted(len(held), "name", "is", "are")
        yield Finding("on-hold", "note", f"{names} on hold and not made ({row_ranges(held)})")


def _fonts_of(ticket: Ticket) -> tuple[str, ...]:
    """Give the fonts that a ticket, or a design, has for its rows and lines."""
    return (*ticket.lettering.font, *(font for line in ticket.line for font in line.font))


def _loaded(ticket: Ticket) -> Iterator[Font]:
    """Load these fonts; raises FontError for axes that the first of them has not."""
    from nameplate.typesetting.fonts import load_fonts

    keys = ticket.lettering
    yield from load_fonts(keys.font, ticket.folder, axes=keys.font_axes)
    for line in ticket.line:
        yield from load_fonts(line.font or keys.font, ticket.folder, axes=axes_of(line, keys))


def _font_remarks(ticket: Ticket) -> tuple[Finding, ...]:
    """Say what the makers of the ticket's fonts want known; raises FontError for axes that the first font has not."""
    fonts = [font for own in tickets_of(ticket) for font in _loaded(own)]
    remarks = dict.fromkeys(remark for font in fonts for remark in font.remarks)
    return tuple(Finding("font-licence", "warning", remark) for remark in remarks)


def _order(row: Row, plate_id: str, ticket: Ticket) -> Order:
    design = chosen_design(row, ticket)
    own = ticket_of(design, ticket)
    keys = own.lettering
    return Order(
        id=plate_id,
        row=row.number,
        name=row.name,
        line2=row.line2,
        lines=row.lines,
        copies=row.copies,
        fonts=fonts_of_row(row, keys),
        position=row.position,
        size=row.size,
        mount=row.mount or keys.mount,
        hold=row.hold,
        dx=row.dx,
        dy=row.dy,
        extra=row.extra,
        design=design,
        styled=ordered_lines(own.line, row, keys),
        free=own.face.stands_free,
    )


def _named(orders: Sequence[Order], designs: Sequence[str]) -> Iterator[Order]:
    """Give each order the stem of its files; refused rows have theirs, so that a corrected one renames no other."""
    for order, stem in zip(orders, jig_stems([(o.id, o.name) for o in orders], designs), strict=True):
        yield replace(order, stem=stem)


#: Findings of the roster after which it says nothing new that a font lacks these letters.
_NOT_LETTERS = frozenset({"unsupported-script", "emoji", "lost-character", "stray-mark"})


def _problems(order: Order, ticket: Ticket, lacks: Covers, *, letters: bool) -> Iterator[Finding]:
    """Yield why an order cannot be made; `letters` tells whether to ask the fonts for its letters."""
    where = quoted(order.name)
    yield from _mount_problem(order, where)
    yield from _free_problems(order, where)
    yield from _stock_problems(order, ticket, where)
    yield from _line_problems(order, ticket, where)
    if letters:
        yield from _letter_problems(order, where, lacks)


def _free_problems(order: Order, where: str) -> Iterator[Finding]:
    """Yield what a row asks for that a name which stands free has not."""
    if not order.free:
        return
    if order.mount != "applied" and order.mount in MOUNT_MATERIALS:
        text = f"{where} stands free (shape none), so it cannot be {order.mount}; leave its mount empty"
        yield Finding("bad-mount", "error", text, plate=order.id, row=order.row)
    if order.dx or order.dy:
        text = f"{where} stands free (shape none), so there is nothing to move it on; leave its dx and dy empty"
        yield Finding("moved-out", "error", text, plate=order.id, row=order.row)


def _line_problems(order: Order, ticket: Ticket, where: str) -> Iterator[Finding]:
    """Yield why the lines of an order cannot be lettered, whatever their letters."""
    if ticket.line and not any(line.text for line in order.styled):
        columns = columns_of(ticket.line)
        which = f"{'the column' if len(columns) == 1 else 'one of the columns'} {', '.join(columns)}"
        text = f"{where}: all its lines are empty; fill {which}"
        yield Finding("no-text", "error", text, plate=order.id, row=order.row)
    yield from _score_problems(order, ticket, where)
    for line in order.styled:
        if len(line.text) > LONGEST_NAME:
            text = f"{where}: its line {quoted(line.text)} has {len(line.text)} characters, more than {LONGEST_NAME}"
            yield Finding("name-too-long", "error", text, plate=order.id, row=order.row)


def _score_problems(order: Order, ticket: Ticket, where: str) -> Iterator[Finding]:
    """Yield why the lines of an order that are scored cannot be, by what its own row says."""
    said = [line for line in order.styled if line.text]
    scored = [line for line in said if line.scored]
    if scored and len(scored) == len(said):
        text = (
            f"{where}: all its lines that say something are scored, and none is left to be {order.mount}; its mount "
            '"marked" scores them all'
        )
        yield Finding("no-text", "error", text, plate=order.id, row=order.row)
    if scored and not is_plaque_cut(ticket, order.mount):
        text = (
            f"{where} is {order.mount}, and its line {quoted(scored[0].text)} is scored on a plaque that is not cut "
            "here; write cut = true below [face], or leave operation out of that [[line]]"
        )
        yield Finding("no-plaque", "error", text, plate=order.id, row=order.row)


def _stock_problems(order: Order, ticket: Ticket, where: str) -> Iterator[Finding]:
    """Yield the materials that an order of a mount of its own needs, and of which the ticket has no sheet.

    What the ticket's own mount needs was asked for when the ticket was read.
    """
    if order.mount == ticket.lettering.mount or order.mount not in MOUNT_MATERIALS:
        return
    has = {stock.material for stock in ticket.stock}
    for material in needed_materials(ticket, order.mount):
        if material not in has:
            advice = f'add a [[stock]] with material = "{material}"'
            text = f"{where} is {order.mount}, and the ticket has no sheet of {material}; {advice}"
            yield Finding("no-stock", "error", text, plate=order.id, row=order.row)


def _letter_problems(order: Order, where: str, lacks: Covers) -> Iterator[Finding]:
    lines = [(line.fonts, line.text) for line in order.styled]
    for fonts, text in lines or [(order.fonts, f"{order.name} {order.line2}".strip())]:
        yield from _missing_letters(order, fonts, text, where, lacks)


def _missing_letters(order: Order, fonts: Sequence[str], words: str, where: str, lacks: Covers) -> Iterator[Finding]:
    """Yield which letters of some words none of the fonts has."""
    missing: dict[str, None] | None = None
    for font in fonts:
        try:
            absent = dict.fromkeys(lacks(font, words))
        except FontError as error:
            text = f"{where}: font {quoted(font)}: {'; '.join(error.problems)}"
            yield Finding("font", "error", text, plate=order.id, row=order.row)
            return
        missing = absent if missing is None else {c: None for c in missing if c in absent}
    if missing:
        letters = ", ".join(map(describe, missing) if len(missing) <= MOST_DESCRIBED else missing)
        text = f"{where}: {' and '.join(fonts)} has no {letters}; {_advice(tuple(missing))}"
        yield Finding("missing-letter", "error", text, plate=order.id, row=order.row)


def _own_font_problems(
    order: Order, ticket: Ticket, known: dict[tuple[str, ...], tuple[str, ...]]
) -> Iterator[Finding]:
    """Yield why a row's own font cannot be used; `known` keeps what was found for fonts of rows before."""
    if order.fonts[0] == ticket.lettering.font[0]:
        return
    if order.fonts not in known:
        known[order.fonts] = tuple(_why_not(order.fonts, ticket))
    for problem in known[order.fonts]:
        yield Finding("font", "error", f"{quoted(order.name)}: {problem}", plate=order.id, row=order.row)


def _why_not(fonts: tuple[str, ...], ticket: Ticket) -> Iterator[str]:
    """Yield why some fonts cannot be used with the ticket's axes; to lack such an axis altogether is no reason."""
    from nameplate.typesetting.fonts import load_fonts, load_row_fonts

    try:
        load_fonts(fonts, ticket.folder)
    except FontError as error:
        yield "; ".join(error.problems)
        return
    try:
        load_row_fonts(fonts, ticket.folder, axes=ticket.lettering.font_axes)
    except FontError as error:
        yield f"{'; '.join(error.problems)}; the ticket sets this for all rows"


def _advice(letters: tuple[str, ...]) -> str:
    """Say which bundled fonts have all the letters, or else which letter none has, or which fonts each needs."""
    from nameplate.typesetting.fonts import fonts_with

    by_letter = {letter: fonts_with(letter) for letter in letters}
    first = by_letter[letters[0]]
    both = [font for font in first if all(font in fonts for fonts in by_letter.values())]
    it = "it" if len(letters) == 1 else "all of them"
    if both:
        return f"bundled fonts that have {it}: {', '.join(both)}"
    nowhere = [letter for letter, fonts in by_letter.items() if not fonts]
    if nowhere:
        return f"no bundled font has {' '.join(nowhere)}"
    each = "; ".join(f"{letter}: {', '.join(fonts)}" for letter, fonts in by_letter.items())
    return f"no bundled font has all of them ({each})"


def _mount_problem(order: Order, where: str) -> Iterator[Finding]:
    rules = next(f.metadata for f in fields(LetteringKeys) if f.name == "mount")
    try:
        read_value(order.mount, rules, Path())
    except ValueError as error:
        text = f"{where}: mount {quoted(order.mount)}: {error}"
        yield Finding("bad-mount", "error", text, plate=order.id, row=order.row)


def _font_covers(folder: Path) -> Covers:
    from nameplate.typesetting.fonts import load_font

    fonts: dict[str, Font] = {}

    def lacks(spec: str, text: str) -> tuple[str, ...]:
        if spec not in fonts:
            fonts[spec] = load_font(spec, folder)
        missing: tuple[str, ...] = fonts[spec].missing(unicodedata.normalize("NFC", text))
        return missing

    return lacks
