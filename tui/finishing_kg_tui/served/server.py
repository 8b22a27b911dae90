"""The server behind the page. It alone needs textual-serve, which runs the interface and carries its screens.

What that library brings for its own page (a logo, a font from elsewhere) is not used: the page is ours, and what it
loads comes from this machine. Who may connect is decided here, before anything else is looked at.
"""

from __future__ import annotations

import hmac
import html
import ipaddress
import logging
import shlex
import subprocess
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path

from aiohttp import web
from aiohttp.typedefs import Middleware
from textual_serve.server import Server

_RUN = "from finishing_kg_tui import run; raise SystemExit(run())"
_COOKIE = "finishing-kg"
_MOST_SESSIONS = 8  # each is a process of its own
_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self' 'unsafe-inline'; font-src 'self'; "
    "img-src 'self' data: blob:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}

_Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


def is_loopback(address: str) -> bool:
    """Whether only this machine reaches an address. A name other than ``localhost`` may lead anywhere, so it is none."""
    if address == "localhost":
        return True
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return False


def in_url(address: str) -> str:
    """An address as it stands in the address of a page."""
    return f"[{address}]" if ":" in address else address


class BrowserServer(Server):
    """Serves the interface, to this machine alone or to those who have the token.

    Args:
        address: what to listen on.
        port: the port there.
        token: what a browser must show; ``None`` on a loopback address only.

    Raises:
        ValueError: another address without a token.
    """

    def __init__(self, address: str, port: int, token: str | None = None) -> None:
        if token is None and not is_loopback(address):
            raise ValueError(f"{address} can be reached by others, so a token is needed")
        # -P: a file in the folder where somebody starts this must not be taken for a part of the program.
        words = [sys.executable, "-P", "-c", _RUN]
        super().__init__(subprocess.list2cmdline(words) if sys.platform == "win32" else shlex.join(words), host=address, port=port)
        self._token = token
        self._sessions = 0

    def run(self, announce: Callable[[], None]) -> None:
        """Serve until somebody stops it.

        Args:
            announce: called once browsers can connect.

        Raises:
            OSError: the address and port cannot be listened on.
        """
        logging.basicConfig(level=logging.WARNING, format="%(message)s")
        web.run_app(self._make_app(), host=self.host, port=self.port, print=lambda *_: announce(), access_log=None)

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.middlewares.append(self._guard())
        return app

    async def on_startup(self, app: web.Application) -> None:
        """The library would print its own name here."""

    def _guard(self) -> Middleware:
        """What each request must get past."""

        @web.middleware
        async def guard(request: web.Request, handler: _Handler) -> web.StreamResponse:
            refused = self._refusal(request)
            if refused:
                return web.Response(status=403, text=refused, headers=_HEADERS)
            given = request.query.get("token")
            if self._token is not None and given is not None:
                # Out of the address at once, so that it is not left lying in a history or shown over a shoulder.
                moved = web.Response(status=302, headers={**_HEADERS, "Location": "/"})
                moved.set_cookie(_COOKIE, self._token, httponly=True, samesite="Strict")
                return moved
            response = await handler(request)
            if not response.prepared:
                response.headers.update(_HEADERS)
            return response

        return guard

    def _refusal(self, request: web.Request) -> str:
        """Why a request is not answered, or nothing.

        Pages from elsewhere run in the same browser: one that connects here names its own origin, and one whose name was
        made to point at this machine still asks for that name.
        """
        name = request.url.host or ""
        if self._token is None and not is_loopback(name):
            return "Open this page by the address that finishing-kg serve printed."
        origin = request.headers.get("Origin")
        if origin is not None and origin != f"{request.scheme}://{request.host}":
            return "Another page may not connect to the adviser."
        if self._token is not None:
            shown = request.query.get("token") or request.cookies.get(_COOKIE, "")
            if not hmac.compare_digest(shown.encode(), self._token.encode()):
                return "Open this page by the address that finishing-kg serve printed; the token in it is missing or wrong."
        return ""

    async def handle_index(self, request: web.Request) -> web.Response:
        """The page; the library's own gives what its template needs instead."""
        page = Path(__file__).with_name("page.html").read_text(encoding="utf-8")
        return web.Response(text=page.replace("{websocket}", html.escape(f"ws://{request.host}/ws")), content_type="text/html")

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """One session of the interface."""
        if self._sessions >= _MOST_SESSIONS:
            raise web.HTTPServiceUnavailable(text=f"There are {_MOST_SESSIONS} sessions already. Close one first.")
        self._sessions += 1
        try:
            return await super().handle_websocket(request)
        finally:
            self._sessions -= 1
