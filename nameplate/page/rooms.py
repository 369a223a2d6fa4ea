"""The rooms of the page: what each shows, and what its forms do."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response

from nameplate.errors import NameplateError, RecordError
from nameplate.findings import counted
from nameplate.job.stale_sheets import in_sentence
from nameplate.job.status import Status
from nameplate.page.answers import STALE, Form, page, part, to
from nameplate.page.bench import TICKS, bench_of, mark, undo_last
from nameplate.page.opened import unless_wrong
from nameplate.page.studio import PlateCard, Studio
from nameplate.record.plate_lists import in_ranges
from nameplate.record.store import Say

#: What each command that the page runs is, by the word for it; the last word is the folder that it leaves.
COMMANDS = {
    "make": ("--timing", "make", "{ticket}", "-o", "out"),
    "proof": ("--timing", "proof", "{ticket}", "-o", "proof"),
    "order": ("--timing", "estimate", "{ticket}", "--json"),
}


# --- commands -------------------------------------------------------------------------------------------------------


def run(studio: Studio, request: Request, form: Form) -> Response:
    """Start one of the commands, and go to the page that shows it."""
    what, again = form.one("what"), form.one("again")
    if what not in COMMANDS or (again and again not in [card.order.id for card in cut_otherwise(studio)]):
        return to("/")
    words = [word.format(ticket=studio.job.ticket_file.name) for word in COMMANDS[what]]
    if what == "order" and studio.runner.busy is None:
        studio.ordered = studio.state()
    studio.runner.start(what, [*words, f"--again={again}"] if again else words)
    return to(form.one("back") if form.one("back") in ("/make", "/sheets", "/sign-off") else "/make")


def make(studio: Studio, request: Request, form: Form) -> Response:
    """Show the one button that makes the files, what the command says, and the way to the files."""
    values = {
        "run": studio.runner.last("make"),
        "is_made": (studio.job.out / "summary.json").is_file(),
        "otherwise": cut_otherwise(studio),
        "unsigned": _unsigned(studio),
    }
    return page(studio, "make.html", values, at="/make")


def state(studio: Studio, request: Request, form: Form) -> Response:
    """Say in one line how far a command is; asked by every room while it works."""
    busy = studio.runner.last(request.path_params["what"])
    return Response(status_code=204) if busy is None else part("busy.html", busy=busy)


def _unsigned(studio: Studio) -> str:
    """Say how many plates nobody has approved, and what becomes of them; empty where that is none, or unknown."""
    try:
        ticket, plates = studio.job.ticket(), studio.status().due.approve
    except NameplateError:  # what is wrong with them is said by the command
        return ""
    count = counted(len(plates), "plate", "is", "are")
    then = "left out until somebody approves" if ticket.job.approval == "required" else "made all the same"
    return f"{count} not approved as now ordered ({in_ranges(plates)}), and will be {then}." if plates else ""


def cut_otherwise(studio: Studio) -> list[PlateCard]:
    """Give the plates that were cut with another text than the list has now; none where it cannot be read."""
    none: list[PlateCard] = []
    return [card for card in unless_wrong(lambda: studio.cards(studio.view()), none) if card.cut_as]


# --- the bench ------------------------------------------------------------------------------------------------------


def bench(studio: Studio, request: Request, form: Form) -> Response:
    """Show where every plate stands; tick what was cut, spoiled, fitted and hung."""
    said: list[str] = []
    problems: tuple[str, ...] = ()
    if request.method == "POST":
        studio.ticker = form.one("by").strip() or studio.ticker
        try:
            if form.one("do") == "undo":
                said = [f"undone: {undo_last(studio.job.record, say=said.append)}"]
            else:
                said += _ticked(studio, form, say=said.append)
        except NameplateError as error:
            problems = error.problems
    status = studio.status()
    there = bench_of(studio.job.record)
    papers = [name for name in ("worklist.html", "cards.html", "wall.html") if (studio.job.out / name).is_file()]
    values = {
        "status": status,
        "otherwise": {card.order.id: card.cut_as for card in cut_otherwise(studio)},
        "sheets": there.sheets,
        "stale": _stale(status),
        "last": there.last,
        "apart": there.apart,
        "said": said,
        "problems": problems,
        "by": studio.ticker,
        "papers": papers,
    }
    return page(studio, "bench.html", values, at="/bench", status=STALE if problems else 200)


def _ticked(studio: Studio, form: Form, *, say: Say) -> list[str]:
    """Mark what is ticked and give it in words; raises RecordError with the reasons where it cannot be.

    A stale sheet is marked once somebody was `told` that it is: the page that they ticked it on says so.
    """
    stale: Mapping[str, str] = unless_wrong(lambda: _stale(studio.status()), {})
    if new := [stale[sheet] for sheet in form.all("cut") if sheet in stale and sheet not in form.all("told")]:
        raise RecordError([f"{text}; nothing was marked: tick it again if it was cut all the same" for text in new])
    ticks = [(state, form.all(state)) for state in TICKS]
    return [f"marked: {text}" for text in mark(studio.job.record, ticks, by=form.one("by"), say=say)]


def _stale(status: Status) -> Mapping[str, str]:
    """Say by sheet what makes it stale."""
    return {sheet: in_sentence(sheet, plates) for sheet, plates in status.due.stale.items()}
