"""Who may ask what: the host spoken to, the token, whether a change comes from our own page, what a page may do.

A browser may be made to ask on behalf of any page that is open in it. So a request names a host of ours (or it is a
name that was bent to our address), a change carries the sign of the session it was offered in, and a page runs no
script and takes no style but the desk's own files.
"""

from __future__ import annotations

import asyncio
import contextlib
import functools
import hashlib
import hmac
import ipaddress
import secrets
import socket
from collections.abc import Iterable
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING, Final
from urllib.parse import SplitResult, urlsplit

from msgspec import Struct
from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse

if TYPE_CHECKING:
    from starlette.requests import HTTPConnection
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

SILENT_S: Final = 60.0
"""Seconds that a body may stay away: whoever sends nothing holds a connection, and what it has sent so far."""
ENTER: Final = "/enter"
_OPEN: Final = (ENTER, "/static/")
_LOOPBACK: Final = frozenset({"localhost", "127.0.0.1", "::1"})
_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; font-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS: Final = {
    "content-security-policy": _POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}


class Session(Struct, frozen=True):
    """A browser's session: its number, and whether it has shown the token."""

    number: str
    entered: bool

    def cookie(self, secret: bytes) -> str:
        """Return it as a cookie that nobody else can make."""
        text = f"{self.number}.{int(self.entered)}"
        return f"{text}.{_sign(secret, 'session', text)}"

    def sign(self, secret: bytes) -> str:
        """Return what every change of this session carries."""
        return _sign(secret, "change", self.number)


def _sign(secret: bytes, about: str, text: str) -> str:
    return hmac.new(secret, f"{about}:{text}".encode(), hashlib.sha256).hexdigest()


def session_of(cookie: str, secret: bytes) -> Session | None:
    """Return the session of a cookie; None where it is none of ours."""
    number, _, rest = cookie.partition(".")
    entered, _, sign = rest.partition(".")
    if not hmac.compare_digest(sign.encode(), _sign(secret, "session", f"{number}.{entered}").encode()):
        return None
    return Session(number, entered == "1")


class Guard:
    """Lets through what may pass; each request gets its :class:`Session` as ``request.state.session``.

    *token* is asked for once a session, where there is one, and whoever has shown an earlier one shows the new one;
    *host* is the address that is listened at.
    """

    def __init__(self, app: ASGIApp, *, secret: bytes, host: str, token: str | None) -> None:
        self._app = app
        self._secret = secret if token is None else hmac.digest(secret, token.encode(), hashlib.sha256)
        self._cookie = cookie_name(secret)
        self._host = host
        self._token = token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        known = session_of(_cookies(headers.get("cookie", "")).get(self._cookie, ""), self._secret)
        session = known or Session(secrets.token_urlsafe(18), entered=self._token is None)
        scope.setdefault("state", {})["session"] = session

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                out = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    out.setdefault(name, value)
                out.setdefault("cache-control", "no-store")
                now: Session = scope["state"]["session"]
                if now != known:
                    out.append("set-cookie", cookie_header(self._cookie, now.cookie(self._secret)))
            await send(message)

        refused = self._refused(scope, headers, session)
        await (refused or self._app)(scope, _in_time(receive), guarded)

    def _refused(self, scope: Scope, headers: Headers, session: Session) -> ASGIApp | None:
        if not is_ours(headers.get("host", ""), self._host):
            return PlainTextResponse("This desk does not answer under that name; open the address it printed.", 421)
        changing = scope["method"] not in {"GET", "HEAD"}
        origin = headers.get("origin")
        foreign = origin is not None and parts_of(origin).netloc != headers.get("host")
        if changing and (foreign or headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}):
            return PlainTextResponse("This change was asked for by another page, and was not made.", 403)
        if not session.entered and not scope["path"].startswith(_OPEN):
            return RedirectResponse(ENTER, 303)
        return None


def _in_time(receive: Receive) -> Receive:
    """Return what takes a body that stays away for one that is broken off; after its end nothing is hurried."""
    whole = False

    async def received() -> Message:
        nonlocal whole
        if whole:
            return await receive()
        try:
            async with asyncio.timeout(SILENT_S):
                message = await receive()
        except TimeoutError:
            whole = True
            return {"type": "http.disconnect"}
        whole = message["type"] != "http.request" or not message.get("more_body", False)
        return message

    return received


def parts_of(address: str) -> SplitResult:
    """Return the parts of an address; none of one that is malformed."""
    with contextlib.suppress(ValueError):
        return urlsplit(address)
    return SplitResult("", "", "", "", "")


def cookie_name(secret: bytes) -> str:
    """Return the name of a desk's cookie: a browser sends the same ones to every port of a machine."""
    return f"desk-{_sign(secret, 'cookie', '')[:8]}"


def cookie_header(name: str, value: str, seconds: int | None = None) -> str:
    """Return the header that sets a cookie of ours, which no script reads and no other page sends."""
    age = "" if seconds is None else f"; Max-Age={seconds}"
    return f"{name}={value}; HttpOnly; SameSite=Strict; Path=/{age}"


def is_ours(host: str, listening: str) -> bool:
    """Whether a host header names this desk: a loopback, what it listens at, and where others are let in its names."""
    name = parts_of(f"//{host}").hostname or ""
    if name in _LOOPBACK or name == listening.casefold():
        return True
    if listening in _LOOPBACK:
        return False
    return name in _own_names() or _is_address(name)


@functools.cache
def _own_names() -> Iterable[str]:
    """Return the names of this machine; asked once, since a server of names may take its time."""
    return {socket.gethostname().casefold(), socket.getfqdn().casefold()}


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _cookies(header: str) -> dict[str, str]:
    try:
        return {name: morsel.value for name, morsel in SimpleCookie(header).items()}
    except CookieError:
        return {}


def sign_of(request: HTTPConnection, secret: bytes) -> str:
    """Return what a change carries that is offered in this request's session."""
    session: Session = request.state.session
    return session.sign(secret)


def is_signed(request: HTTPConnection, secret: bytes, given: str) -> bool:
    """Whether a change carries the sign of its session, compared in constant time."""
    return hmac.compare_digest(given.encode(), sign_of(request, secret).encode())


def same_token(given: str, token: str) -> bool:
    """Whether a token is the right one, compared in constant time."""
    return hmac.compare_digest(given.strip().encode(), token.encode())
