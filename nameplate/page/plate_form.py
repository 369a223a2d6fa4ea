"""The form of one plate: its texts, font, size, place and line breaks, and the cells that a change of them writes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from nameplate.errors import RosterError
from nameplate.model import Order
from nameplate.page.answers import Form
from nameplate.page.edits import NameList, change_in_words
from nameplate.plates.line_orders import columns_of
from nameplate.plates.orders import ticket_of
from nameplate.roster.characters import clean, joined_lines, lines_of
from nameplate.roster.headings import heading_key
from nameplate.roster.rewrite import Place
from nameplate.roster.rules import read_values
from nameplate.ticket.schema import Ticket
from nameplate.typesetting.fonts import bundled_fonts
from nameplate.typesetting.line_breaking import JOINED, parted

#: How far an arrow moves a name (mm).
STEP = 0.5

#: The arrows: which column each changes, and which way.
ARROWS: Mapping[str, tuple[str, int]] = {"left": ("dx", -1), "right": ("dx", 1), "up": ("dy", 1), "down": ("dy", -1)}

#: The columns that the form has whether the list has them or not: what says nothing needs none.
MEANT: tuple[str, ...] = ("line2", "font", "size", "dx", "dy")

#: What breaks a name in its cell.
BREAK = " | "


@dataclass(frozen=True, slots=True)
class Text:
    """A cell of the list that is lettered: the name of its field, what it is called, and what it says."""

    field: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Word:
    """A word of a name; `breaks` tells whether a line ends behind it, `joined` whether without one no space follows."""

    text: str
    breaks: bool
    joined: bool = False


@dataclass(frozen=True, slots=True)
class PlateForm:
    """What the form shows: texts, the words of the name (none where it stands in several columns), and, as they are in
    the list, its font, size and place. `fonts` can be chosen; `of_ticket` is the one without a choice."""

    texts: tuple[Text, ...]
    words: tuple[Word, ...]
    told: Mapping[str, str]
    fonts: tuple[str, ...]
    of_ticket: str


def plate_form(names: NameList, order: Order, ticket: Ticket, typed: Mapping[str, str]) -> PlateForm:
    """Give the form of a plate; what was `typed` and not written stands in place of what the list says."""
    own = ticket_of(order.design, ticket)
    told = {**{key: names.table.cell(order.row, names.column(key)) for key in MEANT}, **typed}
    texts = [_text(names, order.row, at + 1, typed) for at in (*names.header.names, *_shown(names, own))]
    if names.column("line2") or not own.line:
        texts.append(Text("line2", "second line", told["line2"]))
    fonts = dict.fromkeys((*(info.name for info in bundled_fonts()), *filter(None, [told["font"]])))
    words = words_of(texts[0].text) if len(names.header.names) == 1 else ()
    return PlateForm(tuple(texts), words, told, tuple(fonts), own.lettering.font[0])


def _text(names: NameList, row: int, column: int, typed: Mapping[str, str]) -> Text:
    title = clean(names.headings[column - 1]).text
    return Text(f"c{column}", title, typed.get(f"c{column}", names.table.cell(row, column)))


def _shown(names: NameList, ticket: Ticket) -> list[int]:
    """Give the columns (from 0) besides the name's that lines of the ticket show."""
    keys = {heading_key(column) for column in columns_of(ticket.line)}
    return [at for at in names.header.extra if heading_key(names.headings[at]) in keys]


def words_of(name: str) -> tuple[Word, ...]:
    """Give the words of a name, parted behind inner hyphens, too, and where its cell breaks it.

    >>> words_of("In memory | of Ada")[1], words_of("Ek-Torre")[0], words_of("")
    (Word(text='memory', breaks=True, joined=False), Word(text='Ek-', breaks=False, joined=True), ())
    """
    lines = [parted(" ".join(line.split())) for line in lines_of(name)]
    words = [_word(piece, ends=at == len(line)) for line in lines for at, piece in enumerate(line, 1)]
    return (*words[:-1], Word(words[-1].text, breaks=False)) if words else ()


def _word(piece: str, *, ends: bool) -> Word:
    text = piece.rstrip(JOINED)
    return Word(text, ends, joined=piece != text or (ends and joined_lines([text, "n"]) == f"{text}n"))


def toggled_break(name: str, behind: int) -> str:
    """Give a name with a break more, or less, behind a word, counted from 1; one that has no such place as it was.

    >>> toggled_break("Ada & Tomás Pell", 1), toggled_break("Ada | & Tomás Pell", 1), toggled_break("Ada", 1)
    ('Ada | & Tomás Pell', 'Ada & Tomás Pell', 'Ada')
    >>> toggled_break("Ida Ek-Torre", 2), toggled_break("Ida Ek- | Torre", 2)
    ('Ida Ek- | Torre', 'Ida Ek-Torre')
    """
    words = words_of(name)
    if not 0 < behind < len(words):
        return name
    breaks = [word.breaks != (at == behind) for at, word in enumerate(words, 1)]
    ends = (BREAK if broken else "" if word.joined else " " for word, broken in zip(words[:-1], breaks, strict=False))
    return "".join(word.text + end for word, end in zip(words, (*ends, ""), strict=True))


def moved(column: str, text: str, steps: int, row: int) -> str:
    """Give the text of dx or dy, so many steps on; raises RosterError for a text that is no length.

    >>> moved("dx", "", 1, 2), moved("dx", "0.5", -1, 2), moved("dy", "1/8in", 1, 2)
    ('0.5', '', '3.675')
    """
    values, problems = read_values({column: text}, row)
    if problems:
        raise RosterError([f"row {row}: {problem.message}" for problem in problems])
    there = round(values.get(column, 0.0) + steps * STEP, 3)
    return f"{there:g}" if there else ""


def cells_of(names: NameList, form: Form) -> dict[Place, str]:
    """Give the cells of a row (0: a new one) that a form changes, the headings of new columns included; raises
    RosterError for an arrow that cannot be followed."""
    row = form.number("row") or len(names.table.rows) + 1
    told = {key: form.one(key).strip() for key in MEANT if key in form}
    texts = {int(key[1:]) or names.of_designs: form.one(key).replace("\r\n", "\n") for key in form.cells()}
    do, _, behind = form.one("do").partition("-")
    if do in ARROWS:
        column, steps = ARROWS[do]
        told[column] = moved(column, told.get(column, ""), steps, row)
    elif do == "break" and len(names.header.names) == 1 and behind.isdecimal():
        at = names.header.names[0] + 1
        texts[at] = toggled_break(texts.get(at, names.table.cell(row, at)), int(behind))
    cells = names.setting(row, told) if names.header.row else {}
    old = {column: names.table.cell(row, column).replace("\r\n", "\n") for column in texts}
    return cells | names.headed({(row, column): text for column, text in texts.items() if text != old[column]})


def in_words(names: NameList, cells: Mapping[Place, str]) -> Iterator[str]:
    """Say what cells of a row change, one after the other; headings of new columns are left out."""
    for (row, column), text in cells.items():
        if row != names.header.row:
            title = names.table.cell(names.header.row, column) or cells.get((names.header.row, column), "")
            yield f"{clean(title).text} {change_in_words(names.table.cell(row, column), text)}"
