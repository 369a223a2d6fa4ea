"""The page's addresses: its rooms, the pictures of plates, the files of a run, and what a command says as it goes."""

from __future__ import annotations

import asyncio
import json
import tempfile
from collections.abc import AsyncIterator, Callable, Iterator
from functools import partial
from importlib import resources
from pathlib import Path
from typing import IO

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, Response, StreamingResponse
from starlette.routing import Route

from nameplate.errors import NameplateError
from nameplate.page import bench, look, names_room, plate_room, plates_room, rooms, settings_room, sheets, sign_off_room
from nameplate.page.answers import drawing, part, refused, room, to
from nameplate.page.downloads import KINDS, file_in, seen_sheet, write_archive
from nameplate.page.drawing import PlateDrawing
from nameplate.page.guard import Guard
from nameplate.page.opened import JobView
from nameplate.page.running import CommandRun
from nameplate.page.studio import Studio

#: Seconds between two looks at what a command says, or whether somebody waits for a plate still.
LOOK_S = 0.2

#: Bytes of an archive that are sent at a time.
CHUNK = 1 << 16

#: What a page of a run may do that is shown in the browser: look as it was made, and nothing else.
PAPER_POLICY = "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'"

#: The page's own files.
STATIC = {
    "page.css": "text/css; charset=utf-8",
    "page.js": "text/javascript; charset=utf-8",
    "look.js": "text/javascript; charset=utf-8",
    "sheet.js": "text/javascript; charset=utf-8",
    "htmx.min.js": "text/javascript; charset=utf-8",
}


def make_app(studio: Studio, *, port: int, token: str, close: Callable[[], None]) -> Starlette:
    """Make the application for one job; `close` ends the server."""
    views = _Views(studio, close)
    both = ["GET", "POST"]
    return Starlette(
        routes=[
            Route("/", lambda request: to("/names")),
            Route("/names", room(studio, "/names", names_room.names), methods=both),
            Route("/look", room(studio, "/look", look.look), methods=both),
            Route("/look/trial", room(studio, "/look", look.trial)),
            Route("/look/count", room(studio, "/look", look.count)),
            Route("/look/font", room(studio, "/look", look.font)),
            Route("/look/face.svg", room(studio, "/look", look.face)),
            Route("/look/drafts/{key}.svg", room(studio, "/look", look.picture)),
            Route("/settings", room(studio, "/settings", settings_room.settings), methods=both),
            Route("/plates", room(studio, "/plates", plates_room.plates)),
            Route("/plates/waiting", room(studio, "/plates", plates_room.waiting)),
            Route("/plate", room(studio, "/plates", plate_room.plate), methods=both),
            Route("/plate/draft", room(studio, "/plates", plate_room.draft), methods=["POST"]),
            Route("/plate/finished/{key}", room(studio, "/plates", plate_room.finished)),
            Route("/plates/{key}.svg", views.picture),
            Route("/plates/{key}/card", partial(views.card, "one-card.html")),
            Route("/plates/{key}/sign", partial(views.card, "sign-card.html")),
            Route("/sign-off", room(studio, "/sign-off", sign_off_room.sign_off), methods=both),
            Route("/sign-off/waiting", room(studio, "/sign-off", sign_off_room.waiting)),
            Route("/sheets", room(studio, "/sheets", sheets.sheets)),
            Route("/sheets/{name}.svg", views.sheet),
            Route("/sheets/{name}", room(studio, "/sheets", sheets.sheet)),
            Route("/make", room(studio, "/make", rooms.make)),
            Route("/run", room(studio, "/make", rooms.run), methods=["POST"]),
            Route("/run/{what}/events", views.events),
            Route("/run/{what}/state", room(studio, "/make", rooms.state)),
            Route("/bench", room(studio, "/bench", bench.bench), methods=both),
            Route("/out.zip", views.archive),
            Route("/out/{name:path}", partial(views.file, studio.job.out)),
            Route("/proof/{name:path}", partial(views.file, studio.job.proof)),
            Route("/proof-part/{name:path}", partial(views.file, studio.job.proof_part)),
            Route("/static/{name}", views.static),
            Route("/favicon.ico", lambda request: Response(status_code=204)),
            Route("/close", views.close, methods=["POST"]),
        ],
        middleware=[Middleware(Guard, port=port, token=token)],
        exception_handlers={NameplateError: _refused},
    )


class _Views:
    """The addresses that are no rooms."""

    def __init__(self, studio: Studio, close: Callable[[], None]) -> None:
        self._studio, self._close = studio, close
        self.closing = False

    async def picture(self, request: Request) -> Response:
        """Draw a plate; the same address is the same picture."""
        _, _, done = await self._drawn(request)
        if done is None or done.svg is None:
            raise HTTPException(404, "There is no such plate as the list is now.")
        return drawing(done.svg)

    async def card(self, template: str, request: Request) -> Response:
        """Give the card of a plate when it is drawn."""
        view, plate, done = await self._drawn(request)
        if view is None or done is None:
            raise HTTPException(404, "The list was changed meanwhile.")
        return part(template, card=await run_in_threadpool(self._studio.card, view, plate))

    async def _drawn(self, request: Request) -> tuple[JobView | None, str, PlateDrawing | None]:
        """Wait for the plate whose picture has a key; None where there is none by now, or nobody waits for it."""
        view = await run_in_threadpool(self._studio.view)
        key = request.path_params["key"]
        plate = next((plate for plate, own in view.keys.items() if own == key), None)
        if plate is None:
            return None, "", None
        try:
            waiting = asyncio.wrap_future(self._studio.room.ask(view, plate))
            while not (await asyncio.wait({waiting}, timeout=LOOK_S))[0]:
                if self.closing or await request.is_disconnected():
                    return None, plate, None
            return view, plate, waiting.result()
        except asyncio.CancelledError:
            return None, plate, None

    async def events(self, request: Request) -> Response:
        """Tell what a command says, line by line, and how it ended."""
        run = self._studio.runner.last(request.path_params["what"])
        if run is None:
            raise HTTPException(404, "Nothing was started.")
        return StreamingResponse(self._told(run), media_type="text/event-stream")

    async def _told(self, run: CommandRun) -> AsyncIterator[str]:
        at = 0
        while not self.closing:
            done, lines = run.is_done, run.lines[at:]
            at += len(lines)
            for line in lines:
                yield f"data: {json.dumps(line)}\n\n"
            if done:
                yield f"event: end\ndata: {run.code}\n\n"
                return
            await asyncio.sleep(LOOK_S)

    async def archive(self, request: Request) -> Response:
        """Give the out folder as a zip file."""
        out = self._studio.job.out
        if not out.is_dir():
            raise HTTPException(404, "There are no files yet: make them first.")
        file = tempfile.TemporaryFile()  # noqa: SIM115 - closed when it is sent
        await run_in_threadpool(write_archive, out, file)
        named = {"content-disposition": 'attachment; filename="out.zip"'}
        return StreamingResponse(_chunks(file), media_type="application/zip", headers=named)

    async def file(self, folder: Path, request: Request) -> Response:
        """Give a file of a folder of the job."""
        path = _file(folder, request.path_params["name"])
        kind = KINDS[path.suffix.lower()]
        return FileResponse(path, headers={"content-security-policy": PAPER_POLICY}, media_type=kind)

    async def sheet(self, request: Request) -> Response:
        """Give a sheet to look at."""
        path = _file(self._studio.job.out / "cut", f"{request.path_params['name']}.svg")
        data = await run_in_threadpool(path.read_bytes)
        laid = await run_in_threadpool(sheets.laid_sheets, self._studio)
        seen = seen_sheet(data, sheets.outline_data(laid.get(path.stem)))
        return Response(seen, media_type="image/svg+xml", headers={"content-security-policy": PAPER_POLICY})

    async def static(self, request: Request) -> Response:
        """Give a file of the page itself."""
        name = request.path_params["name"]
        if name not in STATIC:
            raise HTTPException(404, "There is no such file.")
        data = resources.files("nameplate.page").joinpath("static", name).read_bytes()
        return Response(data, headers={"content-type": STATIC[name], "cache-control": "private, max-age=600"})

    async def close(self, request: Request) -> Response:
        """End the server once this is answered."""
        self.closing = True
        self._close()
        return part("closed.html")


def _chunks(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        file.seek(0)
        while chunk := file.read(CHUNK):
            yield chunk


def _file(folder: Path, name: str) -> Path:
    if (path := file_in(folder, name)) is None:
        raise HTTPException(404, "There is no such file.")
    return path


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, NameplateError)
    return refused(error)
