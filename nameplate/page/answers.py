"""Answers of the page: templates filled in, forms read within bounds, problems told in sentences."""

from __future__ import annotations

import re
from collections.abc import AsyncGenerator, Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias
from urllib.parse import parse_qs

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.formparsers import MultiPartException, MultiPartParser
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response

from nameplate.errors import NameplateError
from nameplate.page.history import StaleError
from nameplate.page.studio import Studio
from nameplate.roster.delimited_text import MOST_BYTES as LARGEST_LIST
from nameplate.system.html_pages import render

#: What answers a request of a room.
Endpoint: TypeAlias = Callable[[Request], Awaitable[Response]]

#: Bytes and fields of a form: every cell of the longest row that a list may have, and the ids of 20,000 plates.
MOST_BYTES, MOST_FIELDS = 1_000_000, 25_000

#: Bytes of a form with a file: the largest list of names that is read, which is larger than any drawing of a face, and
#: the few fields beside it.
MOST_UPLOADED = LARGEST_LIST + 100_000

#: The name of a field that is a cell of a row: c and the number of its column, 0 for that of the designs.
_CELL = re.compile("c(?:0|[1-9][0-9]{0,3})")

#: The status of an answer to a form that was sent from a page which is not true any more.
STALE = 409

#: The rooms of the page, in the order of the work, and what they are called.
ROOMS: Mapping[str, str] = {
    "/names": "Names",
    "/look": "Look",
    "/settings": "Settings",
    "/plates": "Plates",
    "/sign-off": "Sign-off",
    "/sheets": "Sheets",
    "/make": "Make",
    "/bench": "Bench",
}


@dataclass(frozen=True, slots=True)
class Upload:
    """A file that a form sent: the name that it had there, and its bytes."""

    name: str
    data: bytes


class Form:
    """What a form sent; empty for a page that is only looked at."""

    def __init__(
        self, fields: Mapping[str, Sequence[str]] | None = None, files: Mapping[str, Upload] | None = None
    ) -> None:
        self._fields, self._files = fields or {}, files or {}

    def file(self, name: str) -> Upload | None:
        """Give a file; None where none was chosen."""
        return self._files.get(name)

    def one(self, name: str) -> str:
        """Give a field; empty where it is missing."""
        return self._fields.get(name, [""])[0]

    def get(self, name: str) -> str | None:
        """Give a field; None where it is missing."""
        return self.one(name) if name in self else None

    def all(self, name: str) -> Sequence[str]:
        """Give all fields of a name."""
        return self._fields.get(name, [])

    def number(self, name: str) -> int:
        """Give a field that is a count; 0 where it is none."""
        text = self.one(name)
        return int(text) if text.isascii() and text.isdecimal() and len(text) < 9 else 0

    @property
    def names(self) -> list[str]:
        """The names of its fields."""
        return list(self._fields)

    def cells(self) -> list[str]:
        """Give the fields that are cells of a row."""
        return [key for key in self._fields if _CELL.fullmatch(key)]

    def __contains__(self, name: str) -> bool:
        return name in self._fields


async def read_form(request: Request) -> Form | None:
    """Read the form of a request; None for one that is too large, breaks off, or is none at all."""
    has_files = request.headers.get("content-type", "").startswith("multipart/form-data")
    data = bytearray()
    try:
        async for chunk in request.stream():
            data += chunk
            if len(data) > (MOST_UPLOADED if has_files else MOST_BYTES):
                return None
    except ClientDisconnect:
        return None
    if has_files:
        return await _with_files(request.headers, bytes(data))
    try:
        return Form(parse_qs(data.decode("utf-8"), keep_blank_values=True, max_num_fields=MOST_FIELDS))
    except ValueError:
        return None


async def _with_files(headers: Headers, data: bytes) -> Form | None:
    """Read a form that has files, of which browsers send also those that were not chosen, without a name."""

    async def whole() -> AsyncGenerator[bytes, None]:
        yield data

    fields: dict[str, list[str]] = {}
    files: dict[str, Upload] = {}
    try:
        parsed = await MultiPartParser(headers, whole(), max_fields=MOST_FIELDS).parse()
    except (MultiPartException, ValueError):
        return None
    for name, value in parsed.multi_items():
        if isinstance(value, str):
            fields.setdefault(name, []).append(value)
        elif value.filename:
            files[name] = Upload(value.filename, await value.read())
    await parsed.close()
    return Form(fields, files)


def page(studio: Studio, template: str, values: Mapping[str, object], *, at: str, status: int = 200) -> Response:
    """Fill a template in."""
    own = {"title": studio.title(), "rooms": ROOMS, "at": at, "busy": studio.runner.busy, **values}
    return HTMLResponse("".join(render(template, own, room="page")), status_code=status)


def part(template: str, **values: object) -> Response:
    """Fill in the template of a part of a page, which a script puts in its place."""
    return HTMLResponse("".join(render(template, values, room="page")))


def drawing(svg: str) -> Response:
    """Send a picture that is the same whenever its address is."""
    return Response(svg, media_type="image/svg+xml", headers={"cache-control": "private, max-age=3600"})


def refused(error: NameplateError) -> Response:
    """Say in place of a part or a picture what is wrong."""
    return PlainTextResponse("; ".join(error.problems), status_code=422)


def status_of(error: NameplateError) -> int:
    """Give the status of an answer to a form for which this is wrong."""
    return STALE if isinstance(error, StaleError) else 422


def to(address: str) -> Response:
    """Send the browser to an address after something was done."""
    return RedirectResponse(address, status_code=303)


def room(studio: Studio, at: str, show: Callable[[Studio, Request, Form], Response]) -> Endpoint:
    """Make the endpoint of a room: its form is read, its work done in a thread, its problems told on a page."""

    def shown(request: Request, form: Form) -> Response:
        try:
            return show(studio, request, form)
        except NameplateError as error:
            return page(studio, "problem.html", {"problems": error.problems}, at=at, status=422)

    async def endpoint(request: Request) -> Response:
        form = Form() if request.method != "POST" else await read_form(request)
        if form is None:
            return PlainTextResponse("This is too large, or not a form.", status_code=413)
        return await run_in_threadpool(shown, request, form)

    return endpoint
