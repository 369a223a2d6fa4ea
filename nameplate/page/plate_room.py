"""The room of one plate: large, its text, font, size, place and line breaks to change, each change drawn at once."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import CancelledError
from concurrent.futures import TimeoutError as LateError
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from nameplate.errors import NameplateError, RosterError
from nameplate.findings import errors_in
from nameplate.page.answers import Form, page, part, status_of, to
from nameplate.page.drawing import PlateDrawing
from nameplate.page.edits import list_of
from nameplate.page.plate_form import MEANT, STEP, cells_of, in_words, plate_form
from nameplate.page.studio import Studio
from nameplate.page.tried_row import TriedRow, tried_row

#: Seconds that a draft is waited for, the first one for its worker to start, too, and a finished plate: then the page
#: goes on without.
DRAFT_S, FINISHED_S = 10.0, 120.0


def plate(studio: Studio, request: Request, form: Form) -> Response:
    """Show one plate; write what one of its buttons says."""
    if request.method != "POST":
        return _shown(studio, request.query_params.get("id", ""))
    try:
        names = list_of(studio.job)
        if form.one("do") == "undo":
            studio.editor.undo(form.one("version"))
        elif cells := cells_of(names, form):
            said = f"row {form.number('row')}: {', '.join(in_words(names, cells))}"
            studio.editor.write(form.one("version"), cells, said)
    except NameplateError as error:
        typed = {key: form.one(key) for key in (*form.cells(), *MEANT) if key in form}
        return _shown(studio, form.one("id"), problems=error.problems, typed=typed, status=status_of(error))
    return to(f"/plate?id={quote(form.one('id'), safe='')}")


def draft(studio: Studio, request: Request, form: Form) -> Response:
    """Draw a row as it is typed, not written: its draft, and in time the finished plate."""
    names = list_of(studio.job)
    if not names.rows:
        return Response(status_code=204)
    try:
        tried = tried_row(studio.view(), names, form.number("row"), cells_of(names, form), studio.room)
    except NameplateError as error:
        return _figure(TriedRow("", problems=error.problems), None)
    known = studio.try_out(tried)
    if tried.view is None or (known is not None and known.svg is not None):
        return _figure(tried, known)
    try:
        sketch = studio.drafts.ask(tried.view, tried.plate).result(DRAFT_S)
    except LateError:
        sketch = None
    except CancelledError:  # another row, or another letter, is typed by now
        return Response(status_code=204)
    if known is not None:  # and cannot be made
        return _figure(tried, known, sketch=sketch)
    return _figure(tried, sketch, is_draft=True)


def finished(studio: Studio, request: Request, form: Form) -> Response:
    """Show a plate that was tried, once it is finished."""
    key = request.path_params["key"]
    waiting = studio.room.waiting(key)
    if waiting is None:
        return Response(status_code=204)
    try:
        drawn = waiting.result(FINISHED_S)
        return _figure(TriedRow("", looks=studio.looks_tried(key)), drawn, sketch=studio.drafts.known(key))
    except (CancelledError, LateError):
        return Response(status_code=204)


def _figure(
    tried: TriedRow, drawn: PlateDrawing | None, *, is_draft: bool = False, sketch: PlateDrawing | None = None
) -> Response:
    """Give the picture of a plate, and what is to be said of it; of one that cannot be made its `sketch`, if any."""
    key = tried.key if is_draft else ""
    svg, facts, found = (drawn.svg, drawn.facts, drawn.findings) if drawn else (None, (), ())
    problems = (*tried.problems, *errors_in(found))
    looks = tuple(dict.fromkeys((*tried.looks, *(drawn.looks if drawn else ()))))
    if svg is None and sketch is not None:
        svg, is_draft = sketch.svg, True
    return part("drawing.html", svg=svg, facts=facts, problems=problems, looks=looks, key=key, is_draft=is_draft)


def _shown(
    studio: Studio,
    plate: str,
    *,
    problems: tuple[str, ...] = (),
    typed: Mapping[str, str] | None = None,
    status: int = 200,
) -> Response:
    view, names = studio.view(), list_of(studio.job)
    at = next((at for at, order in enumerate(view.orders) if order.id == plate), None)
    if at is None:
        raise RosterError(f"there is no plate {plate} in the list as it is now")
    order = view.orders[at]
    card = studio.card(view, plate)
    values = {
        "card": card,
        "names": names,
        "form": plate_form(names, order, view.ticket, typed or {}),
        "before": view.orders[at - 1] if at else None,
        "after": view.orders[at + 1] if at + 1 < len(view.orders) else None,
        "is_cut": plate in view.on,
        "undo": studio.editor.last,
        "problems": problems,
        "is_typed": bool(typed),
        "drawn": card.drawn if not typed and card.drawn and card.drawn.svg else None,
        "step": STEP,
    }
    return page(studio, "plate.html", values, at="/plates", status=status)
