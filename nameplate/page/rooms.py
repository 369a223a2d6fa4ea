"""The room where the files are made, and the commands that the page runs."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response

from nameplate.errors import NameplateError
from nameplate.findings import counted
from nameplate.page.answers import Form, page, part, to
from nameplate.page.opened import unless_wrong
from nameplate.page.studio import PlateCard, Studio, without_plate
from nameplate.record.plate_lists import in_ranges

#: What each command that the page runs is, by the word for it; the last word is the folder that it leaves.
COMMANDS = {
    "make": ("--timing", "make", "{ticket}", "-o", "out"),
    "proof": ("--timing", "proof", "{ticket}", "-o", "proof"),
    "order": ("--timing", "estimate", "{ticket}", "--json"),
}

#: What a run leaves to print for others than the laser and the bench, which its answer names.
PAPERS = ("proof.pdf", "wall.pdf", "drilling.pdf")

#: What is added for a proof of what nobody has approved.
UNSIGNED = ("--unsigned", "-o", "proof-part")


def run(studio: Studio, request: Request, form: Form) -> Response:
    """Start one of the commands, and go to the page that shows it."""
    what, again = form.one("what"), form.one("again")
    if what not in COMMANDS or (again and again not in [card.order.id for card in retold_cards(studio)]):
        return to("/")
    words = [word.format(ticket=studio.job.ticket_file.name) for word in COMMANDS[what]]
    if what == "order" and studio.runner.busy is None:
        studio.ordered = studio.state()
    words += [f"--again={again}"] if again else UNSIGNED if what == "proof" and form.one("unsigned") else []
    studio.runner.start(what, words)
    return to(form.one("back") if form.one("back") in ("/make", "/sheets", "/sign-off") else "/make")


def make(studio: Studio, request: Request, form: Form) -> Response:
    """Show the one button that makes the files, what the command says, and the way to the files."""
    values = {
        "run": studio.runner.last("make"),
        "is_made": (studio.job.out / "summary.json").is_file(),
        "papers": [name for name in PAPERS if (studio.job.out / name).is_file()],
        "retold": retold_cards(studio),
        **_due(studio),
        "without_plate": unless_wrong(lambda: without_plate(view := studio.view(), studio.cards(view)), ""),
    }
    return page(studio, "make.html", values, at="/make")


def state(studio: Studio, request: Request, form: Form) -> Response:
    """Say in one line how far a command is; asked by every room while it works."""
    busy = studio.runner.last(request.path_params["what"])
    return Response(status_code=204) if busy is None else part("busy.html", busy=busy)


def _due(studio: Studio) -> Mapping[str, str]:
    """Say how many plates nobody has approved, and what becomes of them, and which plates a run would make that are in
    no file as they are now; empty where that is none, or unknown."""
    try:
        ticket, due = studio.job.ticket(), studio.status().due
    except NameplateError:  # what is wrong with them is said by the command
        return {}
    count = counted(len(due.approve), "plate", "is", "are")
    then = "left out until somebody approves" if ticket.job.approval == "required" else "made all the same"
    unsigned = f"{count} not approved as now ordered ({in_ranges(due.approve)}), and will be {then}."
    plates = dict.fromkeys((*due.make, *(plate for own in due.stale.values() for plate in own)))
    make = f"To be made, or made anew: {counted(len(plates), 'plate')} ({in_ranges(plates)})."
    return {"unsigned": unsigned if due.approve else "", "to_make": make if plates else ""}


def retold_cards(studio: Studio) -> list[PlateCard]:
    """Give the plates that were cut with another text than the list has now; none where it cannot be read."""
    none: list[PlateCard] = []
    return [card for card in unless_wrong(lambda: studio.cards(studio.view()), none) if card.cut_as]
