"""What stands before every page: who is let in, from where, how much may be sent, and what a browser is told."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

from fitcheck.page.shop import Shop

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

#: A form is short; a photograph has a bound of its own.
MOST_FORM_BYTES = 200_000
#: What may be asked for before one is let in: the way in, and what it is drawn with.
OPEN = ("/enter", "/static/")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-frame-options", b"DENY"),
    (b"x-content-type-options", b"nosniff"),
    # With no referrer at all a browser tells no origin with a form either.
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
    (b"cache-control", b"no-store"),
)


TOO_MUCH = "more was sent than may be"


class TooLarge(Exception):
    """Raised where more comes than may be sent, though less or nothing was announced."""


class Guard:
    """An application behind the guard: see the module's own words."""

    def __init__(self, app: App, shop: Shop) -> None:
        self.app, self.shop = app, shop

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or pass it on."""
        if scope["type"] == "lifespan":
            return await self.app(scope, receive, send)
        if scope["type"] != "http":
            return None
        headers = {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}
        told = _with_headers(send)
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            return await self._say(refusal, scope, receive, told)
        return await self.app(scope, _bounded(receive, self._most_bytes(scope["path"])), told)

    def _refusal(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        if (
            sum(name == b"host" for name, _ in scope["headers"]) != 1
            or headers["host"].lower() not in self.shop.doors.hosts
        ):
            return 421, "this page is not served under that name"
        scope["session"] = self._session(headers)
        path = scope["path"]
        if scope["session"] is None and not path.startswith(OPEN):
            return 403, ""
        if scope["method"] in ("GET", "HEAD"):
            return None
        if scope["method"] != "POST":
            return 405, "pages are read and forms are sent; nothing else is done"
        if not _same_origin(headers, self.shop):
            return 403, "that form was not sent from this page"
        told = headers.get("content-length")
        if told is not None and (not told.isdecimal() or int(told) > self._most_bytes(path)):
            return 413, TOO_MUCH
        return None

    def _most_bytes(self, path: str) -> int:
        return self.shop.most_photo_bytes if path.endswith("/photo") else MOST_FORM_BYTES

    def _session(self, headers: dict[str, str]) -> str | None:
        for part in headers.get("cookie", "").split(";"):
            name, _, value = part.strip().partition("=")
            if name == self.shop.cookie:
                return self.shop.keys.session_of(value)
        return None

    async def _say(self, refusal: tuple[int, str], scope: Scope, receive: Receive, send: Send) -> None:
        from starlette.responses import PlainTextResponse

        from fitcheck.page.render import page

        status, text = refusal
        if text:
            await PlainTextResponse(f"{text}\n", status)(scope, receive, send)
        else:
            await page("no_key.html", status=status)(scope, receive, send)


def _same_origin(headers: dict[str, str], shop: Shop) -> bool:
    """Whether a form was sent from a page of ours: every browser of these years tells the origin with a form."""
    origin = urlsplit(headers.get("origin", ""))
    if headers.get("sec-fetch-site", "same-origin") != "same-origin":
        return False
    return (
        origin.scheme == ("https" if shop.doors.secure else "http") and origin.netloc.lower() == headers["host"].lower()
    )


def _bounded(receive: Receive, most_bytes: int) -> Receive:
    """``receive``, which raises :class:`TooLarge` once more came than may."""
    came = 0

    async def bounded() -> Message:
        nonlocal came
        message = await receive()
        came += len(message.get("body", b""))
        if came > most_bytes:
            raise TooLarge
        return message

    return bounded


def _with_headers(send: Send) -> Send:
    """``send``, which adds what a browser is told; an answer that says so itself is left to it."""

    async def told(message: Message) -> None:
        if message["type"] == "http.response.start":
            had = {name for name, _ in message["headers"]}
            message["headers"] = [*message["headers"], *(one for one in HEADERS if one[0] not in had)]
        await send(message)

    return told
