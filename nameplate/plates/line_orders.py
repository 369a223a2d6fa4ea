"""What the lines of one plate say: the texts of the ticket's `[[line]]` tables, filled in from a row of the list."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from nameplate.errors import TicketError
from nameplate.model import OrderedLine
from nameplate.roster.characters import clean, joined_lines
from nameplate.roster.headings import heading_key
from nameplate.roster.reader import Roster, Row
from nameplate.roster.rules import check_words
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.lettering_schema import LetteringKeys, LineKeys
from nameplate.ticket.schema import Ticket
from nameplate.ticket.values import COLUMN
from nameplate.ticket.words import show

#: Columns with a meaning of their own that a line may show; every other column of the list can be shown, too.
SHOWN: tuple[str, ...] = ("name", "line2", "id", "position")

#: The text of a line that is broken as names are.
NAME = "{name}"

#: Where a text is broken into lines.
BREAK = "\n"

#: What stands between columns and says nothing by itself: it goes with a column that is empty.
SEPARATORS = frozenset(" -–—/,;:·•|+&()[]")


def columns_of(lines: Sequence[LineKeys]) -> tuple[str, ...]:
    """Return the headings of the columns that some lines show, each once.

    >>> columns_of([LineKeys(text="{born} - {died}"), LineKeys(text="{name}")])
    ('born', 'died', 'name')
    """
    return tuple(dict.fromkeys(column.strip() for line in lines for column in COLUMN.findall(line.text)))


def lettered_columns(ticket: Ticket) -> tuple[str, ...]:
    """Return the headings of the columns that the lines of a ticket and of its designs show, each once."""
    return columns_of([line for own in tickets_of(ticket) for line in own.line])


def check_lines(lines: Sequence[LineKeys], roster: Roster, *, design: str) -> None:
    """Raise TicketError for columns that the list has not, and for what no line can say; the lines are a design's."""
    where = f"design.{design}.line" if design else "line"
    problems = [
        f"the ticket's [[{where}]] {number}, text = {show(line.text)}: {problem}"
        for number, line in enumerate(lines, 1)
        for problem in _problems(line, roster)
    ]
    if problems:
        raise TicketError(problems)


def _problems(line: LineKeys, roster: Roster) -> Iterator[str]:
    known = {heading_key(heading): heading for heading in (*SHOWN, *roster.extra_columns)}
    for column in columns_of([line]):
        if heading_key(column) not in known:
            columns = ", ".join(known.values())
            yield f"the list has no column {show(column)} that a line can show; expected one of {columns}"
    own = COLUMN.sub(" ", line.text)
    for finding in check_words("text", own, clean(own), 0, lettered=True):
        if finding.severity == "error":
            yield finding.message


def ordered_lines(lines: Sequence[LineKeys], row: Row, lettering: LetteringKeys) -> tuple[OrderedLine, ...]:
    """Return what some lines say of a row; a line whose columns are all empty is left out, or says nothing.

    The latter where it has a size, against which the others may have their scale. Where the name is broken in its cell,
    a line that shows it is broken there. Of a name that is marked all lines are scored, and none of them apart from the
    others.

    >>> lines = [LineKeys(text="{title}"), LineKeys(text="for {name}")]
    >>> [line.text for line in ordered_lines(lines, Row(2, "Ada", extra=(("Title", ""),)), LetteringKeys())]
    ['for Ada']
    >>> [line.lines for line in ordered_lines(lines, Row(2, "Ada Pell", lines=("Ada", "Pell")), LetteringKeys())]
    [('for Ada', 'Pell')]
    """
    own = {"name": BREAK.join(row.lines) or row.name, "line2": row.line2, "id": row.id, "position": row.position}
    cells = {heading_key(heading): clean(text).text for heading, text in row.extra} | own
    said = ((line, _filled(line.text, cells)) for line in lines)
    return tuple(_ordered(line, text, row, lettering) for line, text in said if text or line.size is not None)


def _filled(text: str, cells: Mapping[str, str]) -> str:
    """Return a text with the cells of its columns; empty where it has columns and all of them are empty.

    >>> [_filled("{born} - {died}", {"born": born, "died": died}) for born, died in (("1931", "2012"), ("1990", ""))]
    ['1931 - 2012', '1990']
    """
    parts = COLUMN.split(text)
    between, found = parts[::2], [cells.get(heading_key(column), "") for column in parts[1::2]]
    if found and not any(found):
        return ""
    said, run = "", between[:1]
    for cell, after in zip(found, between[1:], strict=True):
        if cell:
            said += _joined(run, before=bool(said), behind=True) + cell
            run = []
        run.append(after)
    said += _joined(run, before=True, behind=False)
    return BREAK.join(" ".join(line.split()) for line in said.split(BREAK))


def _joined(run: Sequence[str], *, before: bool, behind: bool) -> str:
    """Return what stands between two cells, or at an end, where there is none `before` or `behind`: of some texts, the
    columns between which are empty.

    Separators beside an empty column go with it; of some that are alike one is left between two cells, and a bracket
    stays with its cell.

    >>> _joined([" - "], before=True, behind=True), _joined([", ", ", "], before=True, behind=True)
    (' - ', ', ')
    >>> _joined([" (", ")"], before=True, behind=False), _joined(["", " ("], before=False, behind=True)
    (' ', ' (')
    """
    if len(run) == 1:
        return run[0]
    kept = ["" if set(text) <= SEPARATORS else text for text in run]
    if before and not kept[0]:
        kept[0] = "".join(sign for sign in run[0] if sign in ")]")
    if behind and not kept[-1]:
        kept[-1] = "".join(sign for sign in run[-1] if sign in "([")
    if any(kept):
        return " ".join(kept)
    return run[0] if before and behind and len({text.strip() for text in run}) == 1 else " "


def axes_of(line: LineKeys, lettering: LetteringKeys) -> dict[str, float]:
    """Return the axes of a line's first font: a font of its own takes nothing from the ticket's.

    >>> axes_of(LineKeys(), LetteringKeys(weight=700)), axes_of(LineKeys(font=("Satisfy",)), LetteringKeys(weight=700))
    ({'weight': 700}, {})
    """
    inherited = {} if line.font else lettering.font_axes
    return inherited if line.weight is None else inherited | {"weight": line.weight}


def named_fonts(own: Ticket) -> Iterator[tuple[str, tuple[str, ...], dict[str, float]]]:
    """Yield the fonts that a design names, with their axes, each behind its key.

    >>> [key for key, *_ in named_fonts(Ticket(line=(LineKeys("{name}"), LineKeys("{tree}"))))]
    ['lettering.font', 'line 1.font', 'line 2.font']
    """
    keys = own.lettering
    yield "lettering.font", keys.font, keys.font_axes
    for number, line in enumerate(own.line, start=1):
        yield f"line {number}.font", line.font or keys.font, axes_of(line, keys)


def fonts_of_row(row: Row, lettering: LetteringKeys) -> tuple[str, ...]:
    """Return the fonts of a row: its own before the ticket's fallbacks, else the ticket's.

    >>> fonts_of_row(Row(2, "Ada", font="Satisfy"), LetteringKeys(font=("Pacifico", "Lobster")))
    ('Satisfy', 'Lobster')
    """
    return tuple(dict.fromkeys((row.font, *lettering.font[1:]))) if row.font else lettering.font


def _ordered(line: LineKeys, text: str, row: Row, lettering: LetteringKeys) -> OrderedLine:
    lines = tuple(text.split(BREAK))
    return OrderedLine(
        text=joined_lines(lines),
        fonts=line.font or fonts_of_row(row, lettering),
        axes=tuple(axes_of(line, lettering).items()),
        features=lettering.features if line.features is None else line.features,
        scale=line.scale,
        size=line.size,
        gap=line.gap,
        align=line.align,
        breaks=line.text == NAME,
        scored=line.operation == "score" and (row.mount or lettering.mount) != "marked",
        lines=lines if len(lines) > 1 else (),
        column=COLUMN.fullmatch(line.text) is not None,
    )
