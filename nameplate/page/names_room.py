"""The room of the names: the list with its problems beside their rows; corrected, held, added to, replaced, undone."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from starlette.requests import Request
from starlette.responses import Response

from nameplate.errors import NameplateError, RosterError
from nameplate.findings import Finding, counted
from nameplate.job.desk import before_of
from nameplate.job.sign_off import ListedJob, numbering_of
from nameplate.job.status import BEGUN
from nameplate.page.answers import Form, page, status_of, to
from nameplate.page.edits import HELD, HOLD, NameList, change_in_words, list_of, ticket_and_list
from nameplate.page.incoming import (
    NO_DESIGN,
    OWN,
    Incoming,
    Unmatched,
    as_list,
    as_rows,
    as_text,
    dropped,
    matched,
    of_design,
    of_lines,
    pasted,
)
from nameplate.page.opened import JobView, unless_wrong
from nameplate.page.plate_numbers import ASKING, ID, Asked, asked_of, number_cells
from nameplate.page.studio import Studio, by_row
from nameplate.record.overview import Overview, read_overview, state_of_plate
from nameplate.record.runs import settled_reading
from nameplate.roster.characters import clean
from nameplate.roster.headings import CHOICE, COLUMNS, heading_key
from nameplate.roster.rewrite import Place
from nameplate.roster.rules import SPACES, quoted
from nameplate.system.grouping import grouped
from nameplate.ticket.starter import is_sample

#: Rows of what came that are shown before it is taken, besides those about which there is something to say.
MOST_SHOWN = 12

#: The columns that the page of a plate sets, or a button: they are shown where somebody asks for all.
SET_ELSEWHERE = ("hold", "font", "size", "dx", "dy")

#: The columns with a meaning that are filled in row by row, and are offered where the list lacks them.
NEW_COLUMNS = tuple(column for column in COLUMNS if column not in (*SET_ELSEWHERE, "name", CHOICE))

#: What a column that came may be said to be.
MATCHED = (*(column for column in COLUMNS if column not in ("dx", "dy")), "first name", "last name")

#: The address of the room, by whether all columns are shown.
HERE = {False: "/names", True: "/names?columns=all"}

#: Characters that the box of a name has room for, and that of any other cell, as far as the longest one needs it.
NAME_WIDTHS, OTHER_WIDTHS = (28, 52), (7, 26)

#: Width (of a page's usual letter height) of a character, of what is round a box, of the numbers and the buttons of a
#: row; and what a page of 1280 pixels has for a list with the picture of a plate beside it.
CHARACTER, ROUND_BOX, NUMBERS, BUTTONS, ROOM = 0.55, 1.9, 3.5, 15.5, 61.0

#: The column that says how many pieces a row stands for, which a list with a name twice is offered.
COPIES = "copies"

#: The name of a field that is a cell of another row: r and its number, c and the column (0: that of the designs).
_OTHER = re.compile("r([1-9][0-9]{0,6})c(0|[1-9][0-9]{0,3})")

#: What it is called to take what came as the list, and to go on with a spreadsheet as text: as edits of the ticket both
#: are undone here, other edits of it where they were made.
AS_LIST, AS_TEXT = "used as the list", "as text"


@dataclass(frozen=True, slots=True)
class _Answer:
    """What the room shows besides the list: what came, what is wrong, and what was typed and not written.

    `row` is the row whose cells were `typed`, 0 for a new one.
    """

    incoming: Incoming | Unmatched | None = None
    problems: tuple[str, ...] = ()
    row: int = -1
    typed: Mapping[str, str] = field(default_factory=dict)
    pasted: str = ""
    status: int = 200
    all_columns: bool = False


def names(studio: Studio, request: Request, form: Form) -> Response:
    """Show the list; do what one of its forms says."""
    do, every = form.one("do"), request.query_params.get("columns") == "all"
    if request.method != "POST":
        return _shown(studio, _Answer(all_columns=every))
    try:
        if do in ("bring", "match", "lines"):
            return _shown(studio, _Answer(_came(studio, form), pasted=form.one("text"), all_columns=every))
        _DEEDS.get(do, _save)(studio, form)
    except NameplateError as error:
        key = form.one("incoming")
        incoming = unless_wrong(lambda: studio.inbox.get(key), None) if key else None
        typed = {key: form.one(key) for key in form.cells()}
        row = form.number("row") if typed else -1
        return _shown(studio, _Answer(incoming, error.problems, row, typed, form.one("text"), status_of(error), every))
    return to(HERE[every])


# --- what the forms do ----------------------------------------------------------------------------------------------


def _hold(studio: Studio, form: Form) -> None:
    row, held = form.number("row"), bool(form.one("held"))
    cells = list_of(studio.job).setting(row, {HOLD: "" if held else HELD})
    studio.editor.write(form.one("version"), cells, f"row {row} {'released' if held else 'on hold'}", then={})


def _save(studio: Studio, form: Form) -> None:
    """Write a row, and with it all other rows that were changed on the page, which its script sends along."""
    row, there = form.number("row"), list_of(studio.job)
    changed = [
        *_typed(there, form, {key: (row, int(key[1:])) for key in form.cells()}),
        *_typed(there, form, _others(form)),
    ]
    if changed:
        said = grouped((at[0], change_in_words(old, text)) for at, old, text in changed)
        texts = "; ".join(f"row {number}: {', '.join(own)}" for number, own in said.items())
        then = {at: old for at, old, _ in changed}
        cells = there.headed({at: text for at, _, text in changed})
        studio.editor.write(form.one("version"), cells, texts, then=then)


def _others(form: Form) -> dict[str, Place]:
    """Give the fields that are cells of other rows than that whose button was pressed."""
    found = ((key, _OTHER.fullmatch(key)) for key in form.names)
    return {key: (int(match[1]), int(match[2])) for key, match in found if match}


def _typed(there: NameList, form: Form, cells: Mapping[str, Place]) -> Iterator[tuple[Place, str, str]]:
    """Yield the cells whose text was changed on the page, by their fields: the text that they had there, and the one
    that they have; the browser sends both alike."""
    for key, (row, column) in cells.items():
        at = row, column or there.of_designs
        was = key.replace("c", "o")
        old = (form.one(was) if was in form else there.table.cell(*at)).replace("\r\n", "\n")
        text = form.one(key).replace("\r\n", "\n")
        if text != old:
            yield at, old, text


def _delete(studio: Studio, form: Form) -> None:
    row, there = form.number("row"), list_of(studio.job)
    said = ", ".join(quoted(text) for at in there.header.names if (text := there.table.cell(row, at + 1)))
    studio.editor.delete(form.one("version"), row, f"row {row} deleted: {said}")


def _add(studio: Studio, form: Form) -> None:
    there = list_of(studio.job)
    headings = ["name"] if there.is_empty else []
    width = there.header.width + len(headings)
    row = [form.one(f"c{column}").replace("\r\n", "\n") for column in range(1, width + 1)]
    if not any(text.strip() for text in row):
        raise RosterError("nothing was written: the new row is empty; type a name into it")
    if design := form.one("c0"):
        headings += [] if there.column(CHOICE) else [CHOICE]
        at = there.column(CHOICE) or width + 1
        row[at - 1 : at] = [design]
    said = ", ".join(quoted(text) for text in row if text.strip())
    studio.editor.add(form.one("version"), headings, [row], f"row added: {said}")


def _column(studio: Studio, form: Form) -> None:
    """Bring a column with a heading that the list has not, to be filled in row by row."""
    there, heading = list_of(studio.job), clean(form.one("heading")).text
    if not heading:
        raise RosterError("no column was added: give it a heading, like position or tree")
    if heading_key(heading) in map(heading_key, there.headings):
        raise RosterError(f"the list has a column {heading} already; type there what it is to say")
    if not there.header.row:
        raise RosterError(there.problems or ["bring the names first, or type one; then columns can be added"])
    studio.editor.add(form.one("version"), [heading], [], f"column {heading} added")


def _spaces(studio: Studio, form: Form) -> None:
    """Take the spaces that nobody sees out of all names and second lines."""
    there = list_of(studio.job)
    columns = sorted({*(at + 1 for at in there.header.names), there.column("line2")} - {0})
    cells = {
        (row, column): re.sub(" +", " ", text).strip(" ")
        for row in there.rows
        for column in columns
        if re.search("^ |  | $", text := there.table.cell(row, column))
    }
    if not cells:
        raise RosterError(f"there are no spaces to take out of {there.path.name} any more")
    studio.editor.write(form.one("version"), cells, f"spaces taken out of {counted(len(cells), 'cell')}")


def _number(studio: Studio, form: Form) -> None:
    """Write which plates some rows are, and the numbers of all others, into the column of ids."""
    there, job = list_of(studio.job), studio.view().listed
    cells, said = number_cells(there, job, _asked(studio, job), form.all("number"))
    studio.editor.write(form.one("version"), cells, f"{said}; column {ID} written")


def _asked(studio: Studio, job: ListedJob) -> tuple[Asked, ...]:
    """Give what is asked about the numbers of a list; a list that is not asked about is not compared again."""
    if ASKING.isdisjoint(finding.code for finding in job.findings):
        return ()
    return tuple(asked_of(job, numbering_of(job, before_of(studio.job.record))))


def _came(studio: Studio, form: Form) -> Incoming | Unmatched:
    """Read what was pasted, the file that was chosen, or rows whose columns were said, and keep it until somebody says
    what to do with it."""
    ticket, there = ticket_and_list(studio.job)
    if form.one("do") == "match":
        unmatched = studio.inbox.unmatched(form.one("unmatched"))
        chosen = {at: form.one(f"column{at}") for at, _, _ in unmatched.columns}
        came = matched(unmatched, chosen, there, ticket, first_is_row=bool(form.one("first")))
    elif form.one("do") == "lines":
        numbers, only, heading = bool(form.one("numbers")), bool(form.one("only")), form.one("heading").strip()
        incoming = studio.inbox.get(form.one("incoming"))
        came = of_lines(incoming, there, ticket, numbers=numbers, numbered_only=only, heading=heading)
    elif file := form.file("file"):  # what was pasted stays where it is
        came = dropped(file.name, file.data, there, ticket)
    else:
        came = pasted(form.one("text"), there, ticket)
    studio.inbox.put(came)
    return came


def _take(studio: Studio, form: Form) -> None:
    """Add what came to the list, or use it as the list."""
    incoming, (ticket, there) = studio.inbox.get(form.one("incoming")), ticket_and_list(studio.job)
    if (design := form.one("design")) and incoming.undesigned:
        if ticket is None or design not in ticket.designs:
            raise RosterError(
                f"the ticket has no design {quoted(design)} any more; choose another, nothing was written"
            )
        incoming = of_design(incoming, design)
    count = f"{counted(len(incoming.rows), 'row')} of {incoming.said}"
    if form.one("how") == "add":
        headings, rows = as_rows(incoming, there)
        studio.editor.add(form.one("version"), headings, rows, f"{count} added")
        return
    data, is_same_kind = as_list(incoming, there)
    if is_same_kind:
        studio.editor.replace(form.one("version"), data, f"{count} {AS_LIST}")
    else:
        _go_on_as_text(studio, form, there, data, f"{count} {AS_LIST}")


def _text(studio: Studio, form: Form) -> None:
    """Let the job go on with its spreadsheet as text, whose cells can be written here."""
    there = list_of(studio.job)
    if there.is_text or not there.rows:
        raise RosterError(there.problems or [f"{there.path.name} is text already"])
    rows = [there.table.rows[number - 1] for number in (there.header.row, *there.rows)]
    _go_on_as_text(studio, form, there, as_text(rows, there.path.name), f"{there.path.name} {AS_TEXT}")


def _go_on_as_text(studio: Studio, form: Form, there: NameList, data: bytes, said: str) -> None:
    """Lay a list as text beside the spreadsheet, which stays, and let the ticket go on with it."""
    there.check(form.one("version"))
    studio.ticket_editor.take_list(f"{there.path.stem}.csv", data, said)


_DEEDS: Mapping[str, Callable[[Studio, Form], object]] = {
    "undo": lambda studio, form: studio.editor.undo(form.one("version")),
    "undo-ticket": lambda studio, form: studio.ticket_editor.undo(form.one("version")),
    "hold": _hold,
    "save": _save,
    "delete": _delete,
    "add": _add,
    "column": _column,
    "number": _number,
    "spaces": _spaces,
    "take": _take,
    "text": _text,
}


# --- what is shown --------------------------------------------------------------------------------------------------


def _shown(studio: Studio, answer: _Answer) -> Response:
    ticket, there = ticket_and_list(studio.job)
    findings, held, asked = tuple[Finding, ...](), set[int](), tuple[Asked, ...]()
    plates: Mapping[int, tuple[str, str]] = {}
    came = answer.incoming
    unmatched = came if isinstance(came, Unmatched) else None
    problems = [*answer.problems, *(unmatched.problems if unmatched else ()), *there.problems]
    if there.rows:
        try:
            view = studio.view()
            listed, plates = view.listed, _plates(studio, view, there)
            findings, asked = listed.findings, _asked(studio, listed)
            held = {own.number for own in listed.roster.rows if own.hold}
            if not any(map(any, plates.values())):
                plates = {}  # the list has the numbers itself, and there is nothing else to say
        except NameplateError as error:
            problems += error.problems
    rows, general = by_row(findings)
    hidden = set() if answer.all_columns else _hidden(there, rows)
    titles = dict(enumerate(there.headings, 1))
    headings = [(column, title) for column, title in titles.items() if column not in hidden] or [(1, "name")]
    own, designs = there.column(CHOICE), tuple(ticket.designs) if ticket else ()
    if designs and there.is_text:
        headings = [(0 if column == own else column, title) for column, title in headings]
        headings += [] if own else [(0, CHOICE)]
    widths = {column: _width(there, column) for column, _ in headings}
    taken = NUMBERS * (2 if plates else 1) + BUTTONS + sum(CHARACTER * w + ROUND_BOX for w in widths.values())
    values = {
        "names": there,
        "file": there.path.name,
        "here": HERE[answer.all_columns],
        "headings": headings,
        "hidden": [titles[column] for column in sorted(hidden)],
        "rows": [
            (n, [(at, head, there.table.cell(n, at or there.of_designs)) for at, head in headings], rows.get(n, []))
            for n in there.rows
        ],
        "held": held,
        "plates": plates,
        "widths": widths,
        "many": taken > ROOM,
        "designs": designs,
        "lacks_copies": not there.column(COPIES),
        "general": general,
        "spaced": any(finding.code == SPACES for finding in findings),
        "asked": asked,
        "problems": tuple(dict.fromkeys(problems)),
        "typed_row": answer.row,
        "typed": answer.typed,
        "pasted": answer.pasted,
        "undo": studio.editor.last,
        "ticket": studio.ticket_editor if studio.ticket_editor.last.endswith((AS_LIST, AS_TEXT)) else None,
        "unmatched": unmatched,
        "meanings": MATCHED,
        "lacking": [heading for heading in NEW_COLUMNS if not there.column(heading)],
        "own": OWN,
        "sample": is_sample(there.data),
        **_preview(came if isinstance(came, Incoming) else None, there),
    }
    return page(studio, "names.html", values, at="/names", status=answer.status if unmatched is None else 422)


def _plates(studio: Studio, view: JobView, there: NameList) -> dict[int, tuple[str, str]]:
    """Give by row its plate, empty where its own cell says it, and in a word how far that is: where something was cut
    its state, else whether somebody approved it. What was cut with another text is told with that."""
    with settled_reading(studio.job.record) as store:
        seen = Overview() if store is None else read_overview(store)
    found, column = {}, there.column(ID)
    for order in view.orders:
        plate = "" if column and there.table.cell(order.row, column).strip() else order.id
        pieces = seen.pieces.get(order.id, ())
        state = state_of_plate(pieces, order.copies, seen.parts.get(order.id, frozenset()))
        if state not in BEGUN and any(piece.state in BEGUN for piece in pieces):
            state = "begun"  # what else it has is to be cut
        sign = view.listed.signs.get(order.id)
        if state in BEGUN:
            was = view.retold.get(order.id, "")
            found[order.row] = plate, f"{state} as {quoted(was)}" if was else state
        else:
            found[order.row] = plate, "approved" if sign and sign.by else ""
    return found


def _width(there: NameList, column: int) -> int:
    """Give the characters that the boxes of a column have room for (0: that of the designs)."""
    least, most = NAME_WIDTHS if column - 1 in there.header.names else OTHER_WIDTHS
    texts = (there.table.cell(row, column or there.of_designs) for row in there.rows)
    return min(max([least, *(len(text) + 1 for text in texts)]), most)


def _hidden(there: NameList, findings: Mapping[int, Sequence[Finding]]) -> set[int]:
    """Give the columns that are set elsewhere, but for those in which a row with an error says something."""
    columns = {there.column(meaning) for meaning in SET_ELSEWHERE} - {0}
    wrong = [row for row, own in findings.items() if any(finding.severity == "error" for finding in own)]
    return {column for column in columns if not any(there.table.cell(row, column) for row in wrong)}


def _preview(incoming: Incoming | None, there: NameList) -> dict[str, object]:
    """Give what is shown of what came: its first rows and all with problems; how its lines are written, and the first
    heading that the list has besides those that mean something."""
    if incoming is None:
        return {"incoming": None}
    rows, general = by_row(tuple(finding for finding in incoming.findings if finding.code != NO_DESIGN))
    first = [(n, cells, rows.get(n, [])) for at, (n, cells) in enumerate(incoming.rows) if at < MOST_SHOWN or n in rows]
    titles = [incoming.table.cell(incoming.header.row, at + 1) for at in range(incoming.header.width)]
    values = {"incoming": incoming, "titles": titles, "first": first, "about": general}
    return {**values, "habits": incoming.habits, "more": next(iter(there.header.extra.values()), "")}
