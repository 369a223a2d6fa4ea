"""Who may ask the page for something: the browser that was sent to it, on this machine, from its own pages.

Any other page that is open in the browser can send requests to this machine, so that listening on loopback alone is
not enough. A request must name our own address as its Host (no foreign name that was pointed here), must have the
cookie that only the first address gives (its token is known to whoever saw the terminal), and what changes something
must come from a page of our own (Origin).
"""

from __future__ import annotations

import hmac

from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

#: The page's own files and nothing else: no inline script or style, no frame round it, no other address.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)

_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # with no-referrer browsers hide the Origin of forms from us, too
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}


class Guard:
    """Refuses what does not come from the browser that was let in, and gives every answer its policy."""

    def __init__(self, app: ASGIApp, *, port: int, token: str) -> None:
        self._app, self._token = app, token
        self._hosts = frozenset((f"127.0.0.1:{port}", f"localhost:{port}"))
        self._cookie = f"nameplate-{port}"  # cookies are of a host, not of its port

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or let it through."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {name for name, _ in message["headers"]}
                more = [(n.encode(), v.encode()) for n, v in _HEADERS.items() if n.encode() not in own]
                message = {**message, "headers": [*message["headers"], *more]}
            await send(message)

        await (self._verdict(Request(scope)) or self._app)(scope, receive, with_headers)

    def _verdict(self, request: Request) -> Response | None:
        """Give the answer to a request that is not let through; None for one that is."""
        host, origin = request.headers.get("host", ""), request.headers.get("origin")
        if host not in self._hosts:
            return _refused("This address is not that of the page.")
        if origin != f"http://{host}" and (origin is not None or request.method not in ("GET", "HEAD")):
            return _refused("This did not come from the page.")
        if request.method == "GET" and request.url.path == "/" and "token" in request.query_params:
            return self._let_in(request.query_params["token"])
        if not self._is_token(request.cookies.get(self._cookie, "")):
            return _refused("Open the page by the address that nameplate open shows.")
        return None

    def _is_token(self, text: str) -> bool:
        return hmac.compare_digest(text.encode(), self._token.encode())

    def _let_in(self, token: str) -> Response:
        if not self._is_token(token):
            return _refused("This address is of an earlier page; nameplate open shows the new one.")
        answer = RedirectResponse("/", status_code=303)
        answer.set_cookie(self._cookie, self._token, httponly=True, samesite="strict", path="/")
        return answer


def _refused(why: str) -> Response:
    return PlainTextResponse(why, status_code=403)
