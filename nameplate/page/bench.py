"""The bench: what is cut, spoiled, fitted and hung, read from the record and marked in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from nameplate.errors import NameplateError, RecordError
from nameplate.job.stale_sheets import in_sentence
from nameplate.job.status import Status, recut_in_words
from nameplate.page.answers import STALE, Form, page
from nameplate.page.opened import unless_wrong
from nameplate.page.rooms import retold_cards
from nameplate.page.sheets import left_of
from nameplate.page.studio import Studio
from nameplate.record.clock import user
from nameplate.record.marks import Wanted, in_words, last_mark, steps_of, take, undo
from nameplate.record.overview import PieceState, read_overview
from nameplate.record.runs import settled_reading, settled_writing
from nameplate.record.store import Say

#: What can be ticked, in the order in which it is written.
TICKS: tuple[str, ...] = ("cut", "spoiled", "fitted", "hung")


def bench(studio: Studio, request: Request, form: Form) -> Response:
    """Show where every plate stands; tick what was cut, spoiled, fitted and hung."""
    said: list[str] = []
    problems: tuple[str, ...] = ()
    if request.method == "POST":
        studio.ticker = form.one("by").strip() or studio.ticker
        try:
            if form.one("do") == "undo":
                said = [f"undone: {_undo_last(studio.job.record, say=said.append)}"]
            else:
                said += _ticked(studio, form, say=said.append)
        except NameplateError as error:
            problems = error.problems
    status = studio.status()
    values = {
        "status": status,
        "retold": {card.order.id: card.cut_as for card in retold_cards(studio)},
        "stale": _stale(status),
        "left_of": left_of(studio),
        **_recorded(studio.job.record, status),
        "said": said,
        "problems": problems,
        "by": studio.ticker,
        "ticked": {state: form.all(state) if problems else () for state in TICKS},
        "papers": [name for name in ("worklist.html", "cards.html", "wall.html") if (studio.job.out / name).is_file()],
    }
    return page(studio, "bench.html", values, at="/bench", status=STALE if problems else 200)


def _stale(status: Status) -> Mapping[str, str]:
    """Say by sheet what makes it stale."""
    return {sheet: in_sentence(sheet, plates) for sheet, plates in status.due.stale.items()}


def _recorded(record: Path, status: Status) -> dict[str, object]:
    """Read the sheets that the record knows, its last mark in words, by plate what of it is how far, where not all of
    it is equally far or a piece is to be cut again, and which plates have a name of its own that is fitted: one cut
    through its plaque is not."""
    with settled_reading(record) as store:
        if store is None:
            return {"sheets": (), "last": "", "apart": {}, "fits": ()}
        last, seen = last_mark(store), read_overview(store)
    untold = {plate.id for plate in status.plates if plate.state == "spoiled"}  # that is said already
    again = {p: "" if p in untold else recut_in_words(count) for p, count in status.due.recut.items()}
    told = {p: again[p] if p in again else _apart(pieces) for p, pieces in seen.pieces.items()}
    apart = {plate: text for plate, text in told.items() if text}
    fits = {plate for plate, pieces in seen.pieces.items() if any(piece.kind == "lettering" for piece in pieces)}
    return {"sheets": seen.sheets, "last": last.what if last else "", "apart": apart, "fits": fits}


def _apart(pieces: Iterable[PieceState]) -> str:
    """Say how far the pieces of a plate are, each kind once; empty where they are equally far. Others were cut in the
    place of spoiled ones.

    >>> _apart([PieceState("template", 1, "planned"), PieceState("lettering", 1, "cut")])
    'template planned, lettering cut'
    >>> _apart([PieceState("lettering", 1, state) for state in ("spoiled", "cut")])
    ''
    """
    told = dict.fromkeys((piece.kind, piece.state) for piece in pieces if piece.state != "spoiled")
    return ", ".join(map(" ".join, told)) if len({state for _, state in told}) > 1 else ""


def _ticked(studio: Studio, form: Form, *, say: Say) -> list[str]:
    """Mark what is ticked, all of it or nothing, and give it in words; raises RecordError with every reason.

    A stale sheet is marked once somebody was `told` that it is: the page that they ticked it on says so.
    """
    record, by = studio.job.record, form.one("by")
    stale: Mapping[str, str] = unless_wrong(lambda: _stale(studio.status()), {})
    if new := [stale[sheet] for sheet in form.all("cut") if sheet in stale and sheet not in form.all("told")]:
        raise RecordError([f"{text}; nothing was marked: tick it again if it was cut all the same" for text in new])
    if not record.exists():
        raise RecordError("the job was not made yet; nothing can be marked before that")
    if not by.strip():
        raise RecordError("nothing was marked: who ticked it? Write a name into “Ticked by”")
    told = []
    with settled_writing(record, say=say) as store, store.transaction():
        for state in TICKS:
            if (things := form.all(state)) and (steps := steps_of(store, Wanted(state, tuple(things)))):
                told.append(in_words(steps, state))
                take(store, steps, told[-1], who=user(by))
    return [f"marked: {text}" for text in told]


def _undo_last(record: Path, *, say: Say) -> str:
    """Take the last mark back, and say which; raises RecordError where there is none."""
    if record.exists():
        with settled_writing(record, say=say) as store, store.transaction():
            if (last := last_mark(store)) is not None:
                undo(store, last)
                return last.what
    raise RecordError("there is no mark that could be undone")
