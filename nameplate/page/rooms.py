"""The rooms of the page: what each shows, and what its forms do."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from nameplate.errors import NameplateError
from nameplate.job.approving import approve_plates
from nameplate.job.status import status_of
from nameplate.page.answers import STALE, Form, page, to
from nameplate.page.bench import TICKS, mark, sheets_of, undo_last
from nameplate.page.studio import Studio

#: What each command that the page runs is, by the word for it; the last word is the folder that it leaves.
COMMANDS = {
    "make": ("--timing", "make", "{ticket}", "-o", "out"),
    "proof": ("--timing", "proof", "{ticket}", "-o", "proof"),
    "order": ("--timing", "estimate", "{ticket}", "--json"),
}


# --- sign-off -------------------------------------------------------------------------------------------------------


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
