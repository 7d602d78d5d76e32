"""What stands around every request: who may ask, what may be loaded, and how long it took."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = "; ".join(
    (
        "default-src 'none'",
        "style-src 'self'",
        "script-src 'self'",
        "img-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
Broken = Callable[[Request, Exception], Response]
"""Makes the answer to a request that met a fault of the program."""
_READS = frozenset({"GET", "HEAD", "OPTIONS"})
LARGEST_BODY = 4 * 1024 * 1024
_LARGER = (("/read", 64), ("/api/read", 64), ("/laterals/", 32), ("/field", 32))
"""Addresses that take files, with how many MiB."""


class Guard:
    """Refuses foreign hosts and foreign origins; sets the headers of every answer.

    A page of another site must neither read this program by a name that leads here nor make a
    browser write to it. `hosts` are the names it answers to; none means any name.
    """

    def __init__(self, app: ASGIApp, hosts: Collection[str], broken: Broken) -> None:
        self._app = app
        self._hosts = frozenset(hosts)
        self._broken = broken

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        started = time.perf_counter()
        begun = False

        async def send_guarded(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-cache")
                took = (time.perf_counter() - started) * 1000
                headers["Server-Timing"] = f"app;dur={took:.1f}"
            await send(message)

        refused = self._refusal(scope)
        if refused is not None:
            await refused(scope, receive, send_guarded)
            return
        try:
            await self._app(scope, receive, send_guarded)
        except Exception as error:
            if begun:
                raise
            response = self._broken(Request(scope), error)
            await response(scope, receive, send_guarded)

    def _refusal(self, scope: Scope) -> JSONResponse | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if self._hosts and _name(host) not in self._hosts:
            return _refuse(400, "This program does not answer to that name.")
        if scope["method"] in _READS:
            return None
        if foreign(headers.get("origin"), headers.get("sec-fetch-site"), host):
            return _refuse(403, "Only a page of this program may write to it.")
        length = headers.get("content-length", "0")
        if "transfer-encoding" in headers:
            return _refuse(411, "Say how long it is.")
        if not length.isdecimal() or int(length) > largest(scope["path"]):
            return _refuse(413, "That is more than this program takes at once.")
        return None


def largest(path: str) -> int:
    """How many bytes this address takes at once."""
    more = (mega for start, mega in _LARGER if path.startswith(start))
    return next(more, LARGEST_BODY >> 20) << 20


def foreign(origin: str | None, fetch_site: str | None, host: str) -> bool:
    """Whether a write comes from a page of another site; programs send neither header."""
    if origin is not None:
        return urlsplit(origin).netloc.lower() != host.lower()
    return fetch_site not in (None, "same-origin", "none")


def _name(host: str) -> str:
    return (urlsplit(f"//{host}").hostname or "").lower()


def _refuse(status: int, words: str) -> JSONResponse:
    return JSONResponse(
        {"type": "about:blank", "title": words, "status": status, "errors": []},
        status,
        media_type="application/problem+json",
    )
