"""From rows to orders: ids given, the ticket's defaults filled in, every letter looked up in the fonts."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from functools import cache
from pathlib import Path
from typing import NamedTuple, TypeAlias

from nameplate.errors import FontError
from nameplate.findings import Finding, counted, enumerated, row_ranges
from nameplate.model import Order
from nameplate.plates.line_orders import check_lines, columns_of, fonts_of_row, named_fonts, ordered_lines
from nameplate.plates.plate_ids import NOTHING_SETTLED, Settled, ids_by_order, plate_ids
from nameplate.record.ids import KnownPlate
from nameplate.roster.characters import describe
from nameplate.roster.headings import CHOICE, heading_key, meaning_of
from nameplate.roster.reader import Roster, Row, fold
from nameplate.roster.rules import LONGEST_NAME, quoted
from nameplate.system.file_names import jig_stems
from nameplate.ticket.checks import is_complete, tickets_of
from nameplate.ticket.keys import read_value
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.materials import MOUNT_MATERIALS, is_plaque_cut, needed_materials
from nameplate.ticket.schema import Ticket
from nameplate.ticket.words import nearest
from nameplate.typesetting.fonts import fonts_with, load_font, load_fonts, load_row_fonts

#: (font as the ticket spells it, text) to the letters that it lacks. Raises FontError when there is no such font.
Covers: TypeAlias = Callable[[str, str], tuple[str, ...]]

#: Letters that a font lacks are described by their Unicode names up to so many; more are told by how they look.
MOST_DESCRIBED = 2

#: Columns that a note names; more would hide what it says.
MOST_TITLES = 8


class _Problem(NamedTuple):
    """Why an order cannot be made: the code of a finding, and what that says behind the name."""

    code: str
    said: str


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
    load = cache(load_font)

    def lacks(font: str, text: str) -> tuple[str, ...]:
        return load(font, ticket.folder).missing(text)

    for own in tickets_of(ticket):
        check_lines(own.line, roster, design=own.design if own.line != ticket.line else "")
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
        problems = list(_design_problems(order, ticket))
        problems = problems or list(_problems(order, own, lacks, letters=order.row not in unreadable))
        problems = problems or list(_own_font_problems(order, own, tried))
        found += [Finding(p.code, "error", quoted(order.name) + p.said, order.id, order.row) for p in problems]
        (refused if problems or order.row in bad_rows else made).append(order)
    held = tuple(order for order in every if order.hold)
    every_finding = (*remarks, *_design_remarks(made, ticket), *numbered.asked, *numbered.lost, *found)
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
    if choosing := [heading for heading in unused if meaning_of(heading) == CHOICE]:
        unused = [heading for heading in unused if heading not in choosing]
        yield from _lacks_designs(roster, choosing[0])
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


def _lacks_designs(roster: Roster, heading: str) -> Iterator[Finding]:
    """Say how a ticket gets the designs that a column names."""
    values = [dict(row.extra).get(heading, "") for row in roster.rows]
    wanted = [value for value in dict.fromkeys(values) if re.fullmatch(r"[A-Za-z0-9_-]+", value)] or ["NAME"]
    tables = ", ".join(f"[design.{value}]" for value in wanted[:MOST_TITLES]) + ", ..." * (len(wanted) > MOST_TITLES)
    text = (
        f"the column {heading!r} chooses nothing yet: the ticket has no designs, and all plates are made alike; a "
        f"design is a table of the ticket ({tables}) with what is other in it, like its face"
    )
    yield Finding("no-designs", "note", text)


def ticket_of(design: str, ticket: Ticket) -> Ticket:
    """Give the ticket that rows of a design are made by; the ticket itself where there is no such design."""
    return ticket.of(design if design in ticket.designs else "")


def _font_remarks(ticket: Ticket) -> tuple[Finding, ...]:
    """Say what the makers of the ticket's fonts want known; raises FontError for what of them cannot be used."""
    remarks: dict[str, None] = {}
    for own in tickets_of(ticket):
        for _, specs, axes in named_fonts(own):
            fonts = load_fonts(specs, own.folder, axes=axes)
            remarks |= dict.fromkeys(remark for font in fonts for remark in font.remarks)
    return tuple(Finding("font-licence", "warning", remark) for remark in remarks)


def _design_problems(order: Order, ticket: Ticket) -> Iterator[_Problem]:
    """Yield why an order has no design that it could be made by."""
    if order.design and order.design not in ticket.designs:
        hint = nearest(order.design, ticket.designs)
        known = "" if hint.startswith("known") else f" (known: {', '.join(ticket.designs)})"
        yield _Problem("unknown-design", f": the ticket has no design {quoted(order.design)}; {hint}{known}")
    elif not order.design and ticket.designs and not is_complete(ticket):
        choice = enumerated(tuple(ticket.designs), "or")
        yield _Problem(
            "no-design",
            f": choose a design: {choice}, in the column design or tier; or give the ticket a [face] and sheets for "
            "rows without one",
        )


def _design_remarks(orders: Sequence[Order], ticket: Ticket) -> Iterator[Finding]:
    """Say once which rows have no design and are made by the ticket's own tables."""
    plain = [order.row for order in orders if not order.design]
    if ticket.designs and plain:
        text = (
            f"{counted(len(plain), 'row')} without a design ({row_ranges(plain)}): made as the ticket "
            f"says for all; designs that could be named there: {', '.join(ticket.designs)}"
        )
        yield Finding("without-design", "note", text)


def _order(row: Row, plate_id: str, ticket: Ticket) -> Order:
    design = next((name for name in ticket.designs if fold(name) == fold(row.design)), row.design)
    design = design if ticket.designs else ""
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


def _problems(order: Order, ticket: Ticket, lacks: Covers, *, letters: bool) -> Iterator[_Problem]:
    """Yield why an order cannot be made; `letters` tells whether to ask the fonts for its letters."""
    try:
        read_value(order.mount, next(f.metadata for f in fields(LetteringKeys) if f.name == "mount"), Path())
    except ValueError as error:
        yield _Problem("bad-mount", f": mount {quoted(order.mount)}: {error}")
    if order.free:
        yield from _free_problems(order)
    yield from _stock_problems(order, ticket)
    yield from _line_problems(order, ticket)
    lines = [(line.fonts, line.text) for line in order.styled]
    for fonts, text in (lines or [(order.fonts, f"{order.name} {order.line2}".strip())]) if letters else ():
        yield from _missing_letters(fonts, text, lacks)


def _free_problems(order: Order) -> Iterator[_Problem]:
    """Yield what a row asks for that a name which stands free has not."""
    if order.mount != "applied" and order.mount in MOUNT_MATERIALS:
        yield _Problem("bad-mount", f" stands free (shape none), so it cannot be {order.mount}; leave its mount empty")
    if order.dx or order.dy:
        yield _Problem(
            "moved-out", " stands free (shape none), so there is nothing to move it on; leave its dx and dy empty"
        )


def _line_problems(order: Order, ticket: Ticket) -> Iterator[_Problem]:
    """Yield why the lines of an order cannot be lettered, or scored, whatever their letters."""
    said = [line for line in order.styled if line.text]
    scored = [line for line in said if line.scored]
    if ticket.line and not said:
        columns = columns_of(ticket.line)
        which = f"{'the column' if len(columns) == 1 else 'one of the columns'} {', '.join(columns)}"
        yield _Problem("no-text", f": all its lines are empty; fill {which}")
    if scored and len(scored) == len(said):
        yield _Problem(
            "no-text",
            f": all its lines that say something are scored, and none is left to be {order.mount}; its mount "
            '"marked" scores them all',
        )
    if scored and not is_plaque_cut(ticket, order.mount):
        yield _Problem(
            "no-plaque",
            f" is {order.mount}, and its line {quoted(scored[0].text)} is scored on a plaque that is not cut here; "
            "write cut = true below [face], or leave operation out of that [[line]]",
        )
    for line in order.styled:
        if len(line.text) > LONGEST_NAME:
            length = f"{len(line.text)} characters, more than {LONGEST_NAME}"
            yield _Problem("name-too-long", f": its line {quoted(line.text)} has {length}")


def _stock_problems(order: Order, ticket: Ticket) -> Iterator[_Problem]:
    """Yield the materials that an order of a mount of its own needs, and of which the ticket has no sheet.

    What the ticket's own mount needs was asked for when the ticket was read.
    """
    if order.mount == ticket.lettering.mount or order.mount not in MOUNT_MATERIALS:
        return
    has = {stock.material for stock in ticket.stock}
    for material in needed_materials(ticket, order.mount):
        if material not in has:
            advice = f'add a [[stock]] with material = "{material}"'
            yield _Problem("no-stock", f" is {order.mount}, and the ticket has no sheet of {material}; {advice}")


def _missing_letters(fonts: Sequence[str], words: str, lacks: Covers) -> Iterator[_Problem]:
    """Yield which letters of some words none of the fonts has."""
    missing: dict[str, None] | None = None
    for font in fonts:
        try:
            absent = dict.fromkeys(lacks(font, words))
        except FontError as error:
            yield _Problem("font", f": font {quoted(font)}: {'; '.join(error.problems)}")
            return
        missing = absent if missing is None else {c: None for c in missing if c in absent}
    if missing:
        letters = ", ".join(map(describe, missing) if len(missing) <= MOST_DESCRIBED else missing)
        yield _Problem("missing-letter", f": {' and '.join(fonts)} has no {letters}; {_advice(tuple(missing))}")


def _own_font_problems(
    order: Order, ticket: Ticket, known: dict[tuple[str, ...], tuple[str, ...]]
) -> Iterator[_Problem]:
    """Yield why a row's own font cannot be used; `known` keeps what was found for designs and fonts of rows before."""
    if order.fonts[0] == ticket.lettering.font[0]:
        return
    which = (order.design, *order.fonts)
    if which not in known:
        known[which] = tuple(_why_not(order.fonts, ticket))
    yield from (_Problem("font", f": {problem}") for problem in known[which])


def _why_not(fonts: tuple[str, ...], ticket: Ticket) -> Iterator[str]:
    """Yield why some fonts cannot be used with the ticket's axes; to lack such an axis altogether is no reason."""
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
