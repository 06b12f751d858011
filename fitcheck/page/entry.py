"""The way in: the key of the QR code is changed for a cookie, and whoever works with the phone gives a name."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from fitcheck.ground.refusal import WrongCall
from fitcheck.page.asked import Ask, kept_name, name_of, then
from fitcheck.page.render import page
from fitcheck.page.shop import Shop

MOST_LETTERS = 60


async def enter(request: Request) -> Response:
    """The page that asks for a name; with the right key, it brings the cookie that lets the phone in."""
    shop: Shop = request.app.state.shop
    session, cookie = request.scope.get("session"), None
    if session is None:
        if not shop.keys.opens(request.query_params.get("key", "")):
            return page("no_key.html", status=403)
        cookie = shop.keys.new_session()
        session = shop.keys.session_of(cookie)
    who = name_of(request.cookies.get(shop.name_cookie, ""))
    ask = Ask(shop, session or "", who, {}, {}, request.app.state.line)
    answer = await run_in_threadpool(_asked, ask)
    if cookie is not None:
        _keep(answer, shop, shop.cookie, cookie)
    return answer


def _asked(ask: Ask) -> Response:
    """The page that asks for a name, whatever state the settings are in."""
    try:
        hull = ask.shop.hull().name
    except WrongCall:  # told by the page that comes after this one
        hull = "fitcheck"
    return ask.page("enter.html", hull=hull, letters=MOST_LETTERS, secure=ask.shop.doors.secure)


def who(ask: Ask) -> Response:
    """Keep the name of the one who works with this phone."""
    name = " ".join(ask.text("name").split())
    if not name or len(name) > MOST_LETTERS or not name.isprintable():
        raise WrongCall(f"give your name for the record, in at most {MOST_LETTERS} letters")
    answer = then("/")
    _keep(answer, ask.shop, ask.shop.name_cookie, kept_name(name))
    return answer


def phone(ask: Ask) -> Response:
    """The QR code that lets a phone in, to be shown on the laptop's screen."""
    from fitcheck.page.qr import qr_svg

    doors = ask.shop.doors
    address = None if doors.lan is None else f"{doors.lan}/enter?key={ask.shop.keys.key}"
    drawn = None if address is None else qr_svg(address)
    return ask.page("phone.html", address=address, qr=drawn, secure=doors.secure)


def _keep(answer: Response, shop: Shop, name: str, value: str) -> None:
    from fitcheck.page.keys import STAYS_S

    answer.set_cookie(
        name, value, max_age=STAYS_S, path="/", httponly=True, samesite="strict", secure=shop.doors.secure
    )
