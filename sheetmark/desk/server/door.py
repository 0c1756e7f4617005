"""Who may open the desk: whoever has the code of this start, which only its terminal shows.

On this machine's own address nobody else gets in, whoever else may use the machine. On an address
that other machines reach, everybody may look at cases and print, and only who typed the code may
change what is kept: settings, punch, printers, arch models.
"""

from __future__ import annotations

import hmac
import html
import secrets
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from sheetmark.desk.server.computing import Computes
from sheetmark.desk.server.guard import query_of, with_headers
from sheetmark.desk.server.pages import html_file

UNLOCK_PATH = "/unlock"
# Letters and figures that are not taken for each other; eight of 31 make 40 bits.
_SIGNS = "23456789abcdefghjkmnpqrstuvwxyz"


def new_code() -> str:
    """A code that a person can type, such as `k7p2-9xqm`."""
    signs = [secrets.choice(_SIGNS) for _ in range(8)]
    return f"{''.join(signs[:4])}-{''.join(signs[4:])}"


class Door:
    """Stands before the desk, guard included.

    `code` may be typed as often as one likes. `first` opens once: it stands in the address that the
    browser is started with, which others of this machine could see. `shared` lets everybody
    look and have things computed.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        computes: Computes,
        code: str,
        first: str,
        port: int,
        shared: bool,
    ) -> None:
        self.app = app
        self._computes = computes
        self.code = code
        self.first = first
        self.shared = shared
        # Cookies ignore the port, so another desk's cookie needs another name.
        self._name = f"sheetmark-{port}"
        self._value = secrets.token_urlsafe(24)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request at the door, or pass it on."""
        answer = self._answer(scope) if scope["type"] == "http" else None
        if answer is None:
            await self.app(scope, receive, send)
        else:
            await answer(scope, receive, with_headers(send))

    def _answer(self, scope: Scope) -> Response | None:
        """What keeps a request out, or takes its code; None for one that may pass."""
        path, looks = scope["path"], scope["method"] in ("GET", "HEAD")
        typed = query_of(scope).get("code") if path == "/" else None
        if typed:
            return self._opened() if self._fits(typed[0]) else _door("That was not the code.", 403)
        if path == UNLOCK_PATH:
            return _door("With the code this page may also change what is kept.", 200)
        if self._has_cookie(scope) or path.startswith("/page/"):
            return None
        if self.shared and (looks or self._computes(scope["method"], path)):
            return None
        if looks and path == "/":
            return _door("This page was opened without the code of this start.", 403)
        why = "this page may look and print, and change nothing" if self.shared else "no code"
        return JSONResponse(
            {"problems": [f"{why}; open {UNLOCK_PATH} here and type the code of the terminal"]}, 403
        )

    def _fits(self, typed: str) -> bool:
        given = typed.strip().lower().encode()
        if self.first and hmac.compare_digest(given, self.first.encode()):
            self.first = ""
            return True
        return hmac.compare_digest(given, self.code.encode())

    def _opened(self) -> Response:
        answer = RedirectResponse("/", 303)
        answer.set_cookie(self._name, self._value, httponly=True, samesite="strict")
        return answer

    def _has_cookie(self, scope: Scope) -> bool:
        try:
            found = SimpleCookie("; ".join(Headers(scope=scope).getlist("cookie"))).get(self._name)
        except CookieError:
            return False
        return found is not None and hmac.compare_digest(found.value.encode(), self._value.encode())


def _door(why: str, status: int) -> HTMLResponse:
    return HTMLResponse(html_file("door.html").replace("WHY", html.escape(why)), status)
