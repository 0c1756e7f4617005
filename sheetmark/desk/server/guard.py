"""Who may use the desk: its own page in this machine's browser, and nobody else through it.

Another site's page must not drive the desk, neither by posting to it nor by a name of its own
that points at this machine; a body is bounded in size and time; every answer says what the
browser may do with it.
"""

from __future__ import annotations

import asyncio
import hmac
from collections.abc import Iterable
from urllib.parse import parse_qs, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from sheetmark.desk.server.desk import Desk

TOKEN_HEADER = "X-Sheetmark-Token"
# Far more than a day's list or a form (assumptions).
MOST_BYTES = 4 * 1024 * 1024
MOST_SECONDS = 10.0
# A scan and a photograph are larger: 1.2 million triangles, 60 MB (assumptions).
LARGE_PATHS = ("/api/arch/scan", "/api/check")
MOST_LARGE_BYTES = 64 * 1024 * 1024
MOST_ADDRESS_BYTES = 16 * 1024

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "font-src 'self'; connect-src 'self'; manifest-src 'self'; frame-src blob:; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
# A browser shows a PDF by parts of its own, which the whole policy would forbid.
_PDF_POLICY = "form-action 'none'; frame-ancestors 'none'; base-uri 'none'"
# What a browser may offer a page and this page has no use for, as OWASP lists it.
_UNUSED = (
    *("accelerometer", "autoplay", "camera", "cross-origin-isolated", "display-capture"),
    *("encrypted-media", "fullscreen", "geolocation", "gyroscope", "keyboard-map"),
    *("magnetometer", "microphone", "midi", "payment", "picture-in-picture"),
    *("publickey-credentials-get", "screen-wake-lock", "sync-xhr", "usb"),
    "xr-spatial-tracking",
)
_ALWAYS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Embedder-Policy": "require-corp",
    "X-Permitted-Cross-Domain-Policies": "none",
    "Permissions-Policy": ", ".join(f"{name}=()" for name in _UNUSED),
    "Cache-Control": "no-store",
}


class Guard:
    """Lets through only requests of the desk's own page, with a bounded body."""

    def __init__(self, app: ASGIApp, desk: Desk) -> None:
        self.app = app
        self.desk = desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse a request, or pass it on with its body read."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no web sockets
        refusal = self._refusal(scope)
        answer = with_headers(send)
        if refusal:
            await _refuse(*refusal)(scope, receive, answer)
            return
        most_bytes = MOST_LARGE_BYTES if scope["path"] in LARGE_PATHS else MOST_BYTES
        try:
            async with asyncio.timeout(MOST_SECONDS):
                body = await _whole(receive, most_bytes)
        except TimeoutError:
            await _refuse(408, f"the request took more than {MOST_SECONDS:g} s to arrive")(
                scope, receive, answer
            )
            return
        except _TooLarge:
            await _refuse(413, f"the request is larger than {most_bytes} bytes")(
                scope, receive, answer
            )
            return
        await self.app(scope, _again(body, receive), answer)

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        """Status and message for a request that is not the page's own; None for its own."""
        headers = Headers(scope=scope)
        if headers.getlist("host") != [headers.get("host")] or not self._is_own(
            headers["host"], scope
        ):
            return 421, "this desk answers under its own address only"
        origin = headers.get("origin")
        if origin is not None and not self._has_own(origin, scope):
            return 403, "another site's page may not use this desk"
        site = headers.get("sec-fetch-site", "same-origin")
        opened = headers.get("sec-fetch-mode") == "navigate" and scope["path"] == "/"
        if site not in ("same-origin", "none") and not opened:
            return 403, "another site's page may not use this desk"
        if scope["method"] not in ("GET", "HEAD"):
            token = headers.get(TOKEN_HEADER, "")
            if not hmac.compare_digest(token.encode(), self.desk.token.encode()):
                return 403, "this page belongs to an earlier run of the desk; reload it"
        if len(scope.get("query_string", b"")) > MOST_ADDRESS_BYTES:
            return 414, f"the address is longer than {MOST_ADDRESS_BYTES} bytes"
        return None

    def _is_own(self, host: str, scope: Scope) -> bool:
        """Whether a host, with port, is this desk: one of its names, or where it was reached."""
        reached = scope.get("server")
        return host.lower() in self.desk.hosts or (
            reached is not None and host == f"{spelled(reached[0])}:{reached[1]}"
        )

    def _has_own(self, origin: str, scope: Scope) -> bool:
        try:
            parts = urlsplit(origin)
        except ValueError:
            return False
        return parts.scheme == "http" and self._is_own(parts.netloc, scope)


def query_of(scope: Scope) -> dict[str, list[str]]:
    """The values of each name in the address."""
    return parse_qs(scope.get("query_string", b"").decode("latin-1"))


def spelled(host: str) -> str:
    """An IP address as an address of the web has it."""
    return f"[{host}]" if ":" in host else host


class _TooLarge(Exception):  # noqa: N818  never leaves this module
    pass


async def _whole(receive: Receive, most_bytes: int) -> bytes:
    body = bytearray()
    while True:
        message = await receive()
        body += message.get("body", b"")
        if len(body) > most_bytes:
            raise _TooLarge
        if message["type"] != "http.request" or not message.get("more_body", False):
            return bytes(body)


def _again(body: bytes, receive: Receive) -> Receive:
    """A body that was read, to be read once more; then whatever else comes."""
    messages: Iterable[Message] = iter([{"type": "http.request", "body": body, "more_body": False}])

    async def read() -> Message:
        for message in messages:
            return message
        return await receive()

    return read


def with_headers(send: Send) -> Send:
    """Answers that say what the browser may do with them."""

    async def answer(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _ALWAYS.items():
                headers.setdefault(name, value)
            is_pdf = headers.get("content-type") == "application/pdf"
            headers["Content-Security-Policy"] = _PDF_POLICY if is_pdf else _POLICY
        await send(message)

    return answer


def _refuse(status: int, message: str) -> JSONResponse:
    return JSONResponse({"problems": [message]}, status)
