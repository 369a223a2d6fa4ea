"""The rooms of the page: what each shows, and what its forms do."""

from __future__ import annotations

from collections.abc import Iterator

from starlette.requests import Request
from starlette.responses import Response

from nameplate.errors import NameplateError
from nameplate.findings import Finding
from nameplate.job.approving import approve_plates
from nameplate.job.status import status_of
from nameplate.page.answers import STALE, Form, page, to
from nameplate.page.bench import TICKS, mark, sheets_of, undo_last
from nameplate.page.edits import NameList, StaleError, read_names
from nameplate.page.studio import Studio, by_row
from nameplate.roster.characters import clean
from nameplate.roster.rewrite import Place
from nameplate.roster.rules import quoted

#: What each command that the page runs is, by the word for it; the last word is the folder that it leaves.
COMMANDS = {
    "make": ("--timing", "make", "{ticket}", "-o", "out"),
    "proof": ("--timing", "proof", "{ticket}", "-o", "proof"),
    "order": ("--timing", "estimate", "{ticket}", "--json"),
}


# --- names ----------------------------------------------------------------------------------------------------------


def names(studio: Studio, request: Request, form: Form) -> Response:
    """Show the list with its problems beside their rows; correct a row, hold it, undo."""
    if request.method != "POST":
        return _names(studio)
    try:
        _change(studio, form)
    except NameplateError as error:
        typed = {key: form.one(key) for key in form.cells()} if "row" in form else {}
        status = STALE if isinstance(error, StaleError) else 422
        return _names(studio, problems=error.problems, row=form.number("row"), typed=typed, status=status)
    return to("/names")


def _change(studio: Studio, form: Form) -> None:
    version, row = form.one("version"), form.number("row")
    if form.one("do") == "undo":
        studio.editor.undo(version)
        return
    there, held = read_names(studio.job.ticket()), bool(form.one("held"))
    if form.one("do") == "hold":
        cells = there.holding(row, release=held)
        studio.editor.write(version, cells, f"row {row} {'released' if held else 'on hold'}")
        return
    cells = dict(_typed(there, form, row))
    if cells:
        texts = ", ".join(f"{quoted(there.cell(*at))} to {quoted(text)}" for at, text in cells.items())
        studio.editor.write(version, cells, f"row {row}: {texts}")


def _typed(there: NameList, form: Form, row: int) -> Iterator[tuple[Place, str]]:
    """Yield the cells of a row whose text was changed on the page; the browser sends both texts alike."""
    for key in form.cells():
        column = int(key[1:])
        old = form.one(f"o{column}") if f"o{column}" in form else there.cell(row, column)
        text = form.one(key).replace("\r\n", "\n")
        if text != old.replace("\r\n", "\n"):
            yield (row, column), text


def _names(
    studio: Studio,
    *,
    problems: tuple[str, ...] = (),
    row: int = 0,
    typed: dict[str, str] | None = None,
    status: int = 200,
) -> Response:
    there = read_names(studio.job.ticket())
    findings, held = tuple[Finding, ...](), set[int]()
    try:
        view = studio.view()
        findings, held = view.findings, {own.number for own in view.listed.roster.rows if own.hold}
    except NameplateError as error:
        problems = (*problems, *error.problems)
    rows, general = by_row(findings)
    first, width = there.header.row, there.header.width
    values = {
        "names": there,
        "file": there.path.name,
        "headings": [there.cell(first, at + 1) for at in range(width)],
        "rows": [
            (number, [(at + 1, there.cell(number, at + 1)) for at in range(width)], rows.get(number, []))
            for number in range(first + 1, len(there.table.rows) + 1)
            if any(clean(cell).text for cell in there.table.rows[number - 1])
        ],
        "held": held,
        "general": general,
        "problems": problems,
        "typed_row": row,
        "typed": typed or {},
        "undo": studio.editor.last,
    }
    return page(studio, "names.html", values, at="/names", status=status)


# --- plates and their sign-off --------------------------------------------------------------------------------------


def plates(studio: Studio, request: Request, form: Form) -> Response:
    """Show the wall of all plates; in time all of them are drawn."""
    view = studio.view()
    studio.room.ask_all(view)
    cards = studio.cards(view)
    only, find = "look" in request.query_params, request.query_params.get("find", "")
    words = find.casefold().split()
    shown = [c for c in cards if not only or c.needs_a_look]
    shown = [c for c in shown if all(word in f"{c.order.id} {c.text}".casefold() for word in words)]
    values = {
        "cards": shown,
        "total": len(cards),
        "waiting": sum(bool(card.key) and card.drawn is None for card in cards),
        "only": only,
        "find": find,
    }
    return page(studio, "plates.html", values, at="/plates")


def sign_off(studio: Studio, request: Request, form: Form) -> Response:
    """Show who approved what; keep who approves a plate, or all that can be made."""
    view = studio.view()
    said: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    if request.method == "POST":
        if form.one("version") != view.version:
            problems = (
                "the list or the ticket was changed since this page was drawn; nothing was approved: look again",
            )
        elif not form.one("by").strip():
            problems = ("who approves it? Write a name above; nothing was approved",)
        else:
            given = [form.one("plate")] if form.one("plate") else []
            remarks: list[str] = []
            try:
                told = approve_plates(view.ticket, studio.job.record, given, by=form.one("by"), say=remarks.append)
                said = (*remarks, *(text for text in told if not text.startswith("note: ")))
            except NameplateError as error:
                problems = error.problems
            view = studio.view()
    values = {
        "cards": [card for card in studio.cards(view) if not card.order.hold],
        "version": view.version,
        "by": form.one("by"),
        "said": said,
        "problems": problems,
        "proof": studio.runner.last("proof"),
        "is_proof": (studio.job.proof / "proof.pdf").is_file(),
    }
    return page(studio, "sign-off.html", values, at="/sign-off", status=STALE if problems else 200)


# --- commands -------------------------------------------------------------------------------------------------------


def run(studio: Studio, request: Request, form: Form) -> Response:
    """Start one of the commands, and go to the page that shows it."""
    what = form.one("what")
    if what not in COMMANDS:
        return to("/")
    words = [word.format(ticket=studio.job.ticket_file.name) for word in COMMANDS[what]]
    studio.runner.start(what, words)
    return to(form.one("back") if form.one("back") in ("/make", "/sheets", "/sign-off") else "/make")


def make(studio: Studio, request: Request, form: Form) -> Response:
    """Show the one button that makes the files, what the command says, and the way to the files."""
    values = {"run": studio.runner.last("make"), "is_made": (studio.job.out / "summary.json").is_file()}
    return page(studio, "make.html", values, at="/make")


# --- the bench ------------------------------------------------------------------------------------------------------


def bench(studio: Studio, request: Request, form: Form) -> Response:
    """Show where every plate stands; tick what was cut, spoiled, fitted and hung."""
    said: list[str] = []
    problems: tuple[str, ...] = ()
    if request.method == "POST":
        try:
            if form.one("do") == "undo":
                said = [f"undone: {undo_last(studio.job.record, say=said.append)}"]
            else:
                ticks = [(state, form.all(state)) for state in TICKS]
                said += [
                    f"marked: {text}" for text in mark(studio.job.record, ticks, by=form.one("by"), say=said.append)
                ]
        except NameplateError as error:
            problems = error.problems
    status = status_of(studio.job.ticket(), studio.job.record)
    there, last = sheets_of(studio.job.record)
    papers = [name for name in ("worklist.html", "cards.html", "wall.html") if (studio.job.out / name).is_file()]
    values = {
        "status": status,
        "sheets": there,
        "last": last,
        "said": said,
        "problems": problems,
        "by": form.one("by"),
        "papers": papers,
    }
    return page(studio, "bench.html", values, at="/bench", status=STALE if problems else 200)
