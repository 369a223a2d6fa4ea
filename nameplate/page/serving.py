"""`nameplate open`: the page's server on this machine alone, from the first address to its end."""

from __future__ import annotations

import asyncio
import secrets
import socket
import webbrowser
from collections.abc import Callable

import uvicorn

from nameplate.page.app import make_app
from nameplate.page.opened import OpenJob
from nameplate.page.studio import Studio

#: Seconds that answers under way have when the page is closed.
GRACE_S = 2

#: Bytes of chance in the token of the first address.
TOKEN_BYTES = 32


def serve(job: OpenJob, *, browse: bool, say: Callable[[str], None]) -> None:
    """Serve the page of a job until it is closed; `say` is told its address, which `browse` opens in the browser."""
    with socket.create_server(("127.0.0.1", 0)) as place:
        port = place.getsockname()[1]
        token = secrets.token_urlsafe(TOKEN_BYTES)
        address = f"http://127.0.0.1:{port}/?token={token}"
        studio = Studio(job)
        try:
            server = _server(studio, port, token)
            say(address)
            if browse:
                webbrowser.open(address)
            server.run(sockets=[place])
        finally:
            studio.stop()


class _Server(uvicorn.Server):
    """A server whose answers do not wait for plates once it is to end."""

    def __init__(self, config: uvicorn.Config, let_go: Callable[[], None]) -> None:
        super().__init__(config)
        self._let_go = let_go

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End, with what is under way and the connections of browsers that still wait for it."""
        self._let_go()
        await super().shutdown(sockets)
        for connection in list(self.server_state.connections):
            connection.transport.abort()
        await asyncio.sleep(0)  # they are closed in the next turn


def _server(studio: Studio, port: int, token: str) -> uvicorn.Server:
    def close() -> None:
        server.should_exit = True

    app = make_app(studio, port=port, token=token, close=close)
    config = uvicorn.Config(
        app,
        log_level="error",  # what the server thinks of odd requests is not for users
        access_log=False,
        server_header=False,
        proxy_headers=False,
        lifespan="off",
        ws="none",
        timeout_graceful_shutdown=GRACE_S,
    )
    server = _Server(config, studio.let_go)
    return server
