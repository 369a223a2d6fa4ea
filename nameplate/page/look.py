"""The room where a job gets its look: its face, its fonts side by side on its own hardest names, sizes with figures."""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import CancelledError
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from nameplate.errors import NameplateError, TicketError
from nameplate.face.making import face_words, make_face
from nameplate.findings import Finding
from nameplate.geometry.region import bounds
from nameplate.job.designs import tickets_told
from nameplate.model import Face, Order
from nameplate.page.answers import Form, drawing, page, part, refused, status_of, to
from nameplate.page.face_picture import face_picture
from nameplate.page.opened import text_of, unless_wrong
from nameplate.page.studio import Studio
from nameplate.page.ticket_edits import Changes, table_of, tried, whose
from nameplate.page.trials import count_of, hardest, lacking, orders_of, trial_of
from nameplate.roster.rules import quoted
from nameplate.ticket.schema import NO_FACE, SHAPES, Ticket
from nameplate.ticket.tables import read_file
from nameplate.ticket.toml_edit import Place, Values
from nameplate.ticket.values import read_length
from nameplate.typesetting.fonts import bundled_fonts

#: The keys that only one form of a face has: they go when it gets another.
OF_A_FORM = ("shape", "file", "width", "height", "radius", "holes", "symmetry", "roles", "ring", "ring_at")

#: The widest web (mm) that the slider reaches; its box takes more.
WIDEST_WEB = 5.0


@dataclass(frozen=True, slots=True)
class SizeKey:
    """A size with a slider: its table and key, what it is called, how far the slider goes and its step (mm)."""

    table: str
    key: str
    label: str
    least: float
    most: float
    step: float
    value: float | None

    @property
    def shown(self) -> str:
        """The value as the box shows it."""
        return shown(self.value)


def shown(length: float | None) -> str:
    """Give a length (mm) as its box shows it.

    >>> shown(52.3875), shown(None)
    ('52.3875', '')
    """
    return "" if length is None else f"{length:g}"


def size_keys(own: Ticket, face: Face | None) -> tuple[SizeKey, ...]:
    """Give the sizes of a design that have a slider, as they are; names that stand free have one."""
    box = bounds(face.outline) if face else None
    high, narrow = (box.height, min(box.width, box.height)) if box else (100.0, 100.0)
    keys = own.lettering
    height = SizeKey(
        "lettering",
        "max_height",
        "All lines of a name together at most this high",
        1,
        math.ceil(high),
        0.5,
        keys.max_height,
    )
    inset = SizeKey("face", "inset", "Kept clear along the edge", 0, math.ceil(narrow / 2), 0.5, own.face.inset)
    web = SizeKey("lettering", "min_web", "No stroke thinner than", 0.2, WIDEST_WEB, 0.1, keys.min_web)
    return (web,) if own.face.stands_free else (height, inset, web)


# --- what is changed ------------------------------------------------------------------------------------------------


def look(studio: Studio, request: Request, form: Form) -> Response:
    """Show the look of a design and change it; undo."""
    if request.method != "POST":
        return _look(studio, request.query_params.get("design", ""))
    design = form.one("design")
    try:
        _change(studio, design, form)
    except NameplateError as error:
        wrong = {form.one("do"): error.problems}
        return _look(studio, design, wrong=wrong, typed=form, status=status_of(error))
    return to(f"/look?{urlencode({'design': design})}" if design else "/look")


def _change(studio: Studio, design: str, form: Form) -> None:
    version, do, editor = form.one("version"), form.one("do"), studio.ticket_editor
    if do == "undo":
        editor.undo(version)
        return
    # an empty one where it cannot be read, so that another face can take the place of a lost one
    ticket = unless_wrong(studio.job.ticket, Ticket()) if do in ("drawing", "shape") else studio.job.ticket()
    own = _own(ticket, design)
    if do == "drawing":
        drawing = form.file("drawing")
        if drawing is None:
            raise TicketError("no drawing was chosen: choose an SVG or DXF file, or drop it here")
        width = _length("width", form.one("width"))
        editor.take_drawing(version, design, drawing.name, drawing.data, {**dict.fromkeys(OF_A_FORM), "width": width})
    elif do == "shape":
        keys = {key: _length(key, form.one(key)) for key in ("width", "height")}
        size = " x ".join(shown(length) for length in keys.values() if length is not None)
        told = f"{whose(design)}the face is {form.one('shape')}, {size} mm"
        editor.write(version, {table_of(design, "face"): _shape_keys(own, form, keys)}, told)
    elif do == "font":
        sizes, font = size_changes(own, form.get), font_changes(own, form.one("font"))
        told = ", ".join((f"the font is {form.one('font')}", *_sizes_told(sizes)))
        both = {table: {**sizes.get(table, {}), **font.get(table, {})} for table in (*font, *sizes)}
        editor.write(version, both, f"{whose(design)}{told}")
    elif do == "sizes":
        changes = size_changes(own, form.get)
        editor.write(version, changes, f"{whose(design)}{', '.join(_sizes_told(changes))}")


def _sizes_told(changes: Changes) -> list[str]:
    every = [(key, value) for values in changes.values() for key, value in values.items()]
    return [f"{key} {'left out' if value is None else value}" for key, value in every]


def _own(ticket: Ticket, design: str) -> Ticket:
    """Give the ticket of a design; raises TicketError where there is none of that name."""
    if design and design not in ticket.designs:
        raise TicketError(f"there is no [design.{design}] in the ticket any more")
    return ticket.of(design)


def _shape_keys(own: Ticket, form: Form, sizes: Values) -> Values:
    """Give the keys of a face of a plain shape; those that stay are left as they are written."""
    if form.one("shape") == own.face.shape:
        return {key: value for key, value in sizes.items() if form.one(key).strip() != shown(getattr(own.face, key))}
    return {**dict.fromkeys(OF_A_FORM), "shape": form.one("shape"), **sizes}


def font_changes(own: Ticket, font: str) -> Changes:
    """Give the change that makes a font the first, before the ticket's fallbacks; raises TicketError for one that the
    page does not offer: a path may lead anywhere."""
    if font not in offered(own):
        raise TicketError(f"{quoted(font)} is none of the fonts below; a font file is named in the ticket itself")
    others = [name for name in own.lettering.font[1:] if name != font]
    return {table_of(own.design, "lettering"): {"font": [font, *others] if others else font}}


def offered(own: Ticket) -> tuple[str, ...]:
    """Give the fonts to choose from: those that come with the program, and the ticket's own."""
    return tuple(dict.fromkeys((*(info.name for info in bundled_fonts()), *own.lettering.font)))


def size_changes(own: Ticket, typed: Callable[[str], str | None]) -> Changes:
    """Give the changes of sizes that were `typed`, by their keys: nothing takes a size out of the ticket, one that is
    not there (None), or as its box shows it, stays. Raises TicketError, with every problem, for what is no length."""
    changes: dict[Place, dict[str, float | None]] = {}
    problems: list[str] = []
    for size in size_keys(own, None):
        if (text := typed(size.key)) is None or text.strip() == size.shown:
            continue
        try:
            value = _length(size.key, text)
        except TicketError as error:
            problems += error.problems
            continue
        if value != size.value:
            changes.setdefault(table_of(own.design, size.table), {})[size.key] = value
    if problems:
        raise TicketError(problems)
    return changes


def _length(key: str, text: str) -> float | None:
    """Read a length as the ticket has it, in mm or with a unit; give mm, None where nothing was typed."""
    if not text.strip():
        return None
    try:
        value = read_length(text, {}, Path())
    except ValueError as error:
        raise TicketError(f"{key} {quoted(text)}: {error}") from error
    return int(value) if value == int(value) else round(value, 5)


# --- what is shown --------------------------------------------------------------------------------------------------


def _look(
    studio: Studio,
    design: str,
    *,
    wrong: dict[str, tuple[str, ...]] | None = None,
    typed: Form | None = None,
    status: int = 200,
) -> Response:
    problems: list[str] = []
    ticket = unless_wrong(studio.job.ticket, Ticket(), problems)
    none: tuple[Order, ...] = ()
    rows = unless_wrong(lambda: studio.view().orders, none)
    designs = [own.design for own in tickets_told(ticket, rows)]
    with_rows = (name for name in designs if any(order.design == name for order in rows))
    own = _own(ticket, design if design in ticket.designs else next(with_rows, designs[0]))
    nothing: tuple[Face | None, tuple[Finding, ...]] = (None, ())
    face, found = nothing if problems else unless_wrong(lambda: make_face(own.face), nothing, problems)
    names: tuple[str, ...] = ()
    if not problems:
        names = unless_wrong(lambda: tuple(map(text_of, hardest(studio.view(), own.design))), (), problems)
    values = {
        "version": studio.ticket_editor.version,
        "ticket_file": studio.job.ticket_file.name,
        "designs": designs,
        "design": own.design,
        "own": own,
        "face_words": "" if face is None or own.face.stands_free else face_words(face),
        "found": found,
        "shapes": (*SHAPES, NO_FACE),
        "sizes": size_keys(own, face),
        "fonts": offered(own),
        "main_font": own.lettering.font[0],
        "names": names,
        "all_cut": bool(names) and not any(o.design == own.design for o in studio.view().anew.values()),
        "wrong": wrong or {},
        "problems": tuple(problems),
        "typed": typed or Form(),
        "undo": studio.ticket_editor.last,
    }
    return page(studio, "look.html", values, at="/look", status=status)


def _answered(work: Callable[[Studio, Request], Response]) -> Callable[[Studio, Request, Form], Response]:
    """Make a part of the room of what draws it: what is wrong with what was tried is said in its place."""

    @wraps(work)
    def answer(studio: Studio, request: Request, form: Form) -> Response:
        try:
            return work(studio, request)
        except NameplateError as error:
            return part("look-wrong.html", problems=error.problems)
        except CancelledError:
            return Response(status_code=204)

    return answer


@_answered
def trial(studio: Studio, request: Request) -> Response:
    """Draw the hardest names as other sizes would have them; what an earlier trial asked for is dropped."""
    asked = request.query_params
    view, ticket = studio.view(), _tried_ticket(studio, request)
    names = trial_of(view, ticket, hardest(view, asked.get("design", "")))
    studio.try_now(names.keys())
    has_face = not _own(ticket, asked.get("design", "")).face.stands_free
    return part("look-trial.html", names=names.drawn(studio.drafts), query=urlencode(dict(asked)), has_face=has_face)


@_answered
def count(studio: Studio, request: Request) -> Response:
    """Count, by drafts of all names of a design, how many need a look."""
    view, ticket = studio.view(), _tried_ticket(studio, request)
    names = trial_of(view, ticket, orders_of(view, request.query_params.get("design", "")))
    studio.try_now(names.keys())
    return part("look-count.html", count=count_of(names, studio.drafts))


@_answered
def font(studio: Studio, request: Request) -> Response:
    """Draw the hardest names in a font, and say which letters of the list it lacks."""
    design, name = request.query_params.get("design", ""), request.query_params.get("name", "")
    view = studio.view()
    changes = font_changes(_own(view.ticket, design), name)
    _, ticket = tried(studio.job, read_file(studio.job.ticket_file), changes)
    orders = [order for order in view.orders if order.design == design and not order.hold]
    names = trial_of(view, ticket, hardest(view, design)).drawn(studio.drafts)
    return part("look-font.html", names=names, lacks=lacking(_own(ticket, design), orders))


def face(studio: Studio, request: Request, form: Form) -> Response:
    """Draw the face, with the zone that a tried inset leaves."""
    try:
        ticket = _tried_ticket(studio, request)
        picture = face_picture(make_face(_own(ticket, request.query_params.get("design", "")).face)[0])
    except NameplateError as error:
        return refused(error)
    return Response(picture, media_type="image/svg+xml")


def picture(studio: Studio, request: Request, form: Form) -> Response:
    """Give the picture of a draft that was drawn."""
    drawn = studio.drafts.known(request.path_params["key"])
    if drawn is None or drawn.svg is None:
        return PlainTextResponse("There is no such draft any more.", status_code=404)
    return drawing(drawn.svg)


def _tried_ticket(studio: Studio, request: Request) -> Ticket:
    """Give the ticket with the sizes that are tried."""
    asked = request.query_params
    own = _own(studio.job.ticket(), asked.get("design", ""))
    return tried(studio.job, read_file(studio.job.ticket_file), size_changes(own, asked.get))[1]
