"""How a page or a form is answered: what was asked, by whom, and what becomes of a wrong call."""

from __future__ import annotations

import base64
import sys
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.page.guard import TOO_MUCH, TooLarge
from fitcheck.page.render import page
from fitcheck.page.shop import Shop

if TYPE_CHECKING:
    from fitcheck.hull.plank_name import PlankName
    from fitcheck.hull.settings_file import Hull

MOST_FIELDS = 80
FORM_MARK = "mark"
FORM_HEADER = "x-fitcheck-form"


@dataclass(frozen=True)
class Ask:
    """One request: the shop it is asked of, the session, who works with this phone ("" unless told), what was told.

    ``told`` are the fields of the query or of the form, ``at`` the parts of the path.
    """

    shop: Shop
    session: str
    who: str
    told: Mapping[str, str]
    at: Mapping[str, Any]

    def page(self, template: str, *, status: int = 200, **values: Any) -> Response:
        """A page with what every page shows."""
        mark = self.shop.keys.form_mark(self.session) if self.session else ""
        return page(template, status=status, who=self.who, mark=mark, lan=self.shop.doors.lan, **values)

    def plank(self, hull: Hull) -> PlankName:
        """The plank that the request names. Raises :class:`WrongCall` where it names none of this hull."""
        from fitcheck.hull.plank_name import read_plank

        return read_plank(self.told.get("plank", ""), hull)

    def text(self, name: str) -> str:
        """What was typed into a field, without blanks around it. Raises :class:`WrongCall` for more than a page."""
        from fitcheck.fitlog.told import as_text

        return (as_text(self.told.get(name, "")) or "").replace("\r\n", "\n").replace("\0", "").strip()


View = Callable[[Ask], Response]


def reads(path: str, view: View) -> Route:
    """A page that is read."""

    async def answer(request: Request) -> Response:
        return await _answered(view, _ask(request, request.query_params))

    return Route(path, answer, methods=["GET"], name=view.__name__)


def acts(path: str, view: View) -> Route:
    """A form that is sent: without this session's mark in it nothing is done."""

    async def answer(request: Request) -> Response:
        ask = _ask(request, {})
        try:
            async with request.form(max_files=0, max_fields=MOST_FIELDS) as form:
                told = {name: value for name, value in form.items() if isinstance(value, str)}
        except TooLarge:
            return ask.page("trouble.html", status=413, text=TOO_MUCH, back="/")
        except (HTTPException, UnicodeDecodeError, ValueError):
            return ask.page("trouble.html", status=400, text="that form cannot be read", back="/")
        if not ask.session or not ask.shop.keys.is_form_mark(ask.session, told.pop(FORM_MARK, "")):
            return ask.page(
                "trouble.html", status=403, text="that form is from another session: open the page again", back="/"
            )
        return await _answered(view, _ask(request, told))

    return Route(path, answer, methods=["POST"], name=view.__name__)


def then(path: str, **told: str) -> Response:
    """Go on to another page of ours."""
    return RedirectResponse(f"{path}?{urlencode(told)}" if told else path, 303)


def name_of(value: str) -> str:
    """The name that a cookie keeps, "" for one that keeps none."""
    try:
        name = base64.urlsafe_b64decode(value.encode("ascii", "replace")).decode("utf-8")
    except ValueError:
        return ""
    return name if name.isprintable() and len(name) <= 80 else ""


def kept_name(name: str) -> str:
    """A name as a cookie keeps it.

    >>> name_of(kept_name("Øyvind"))
    'Øyvind'
    """
    return base64.urlsafe_b64encode(name.encode("utf-8")).decode("ascii")


def _ask(request: Request, told: Mapping[str, str]) -> Ask:
    shop: Shop = request.app.state.shop
    who = name_of(request.cookies.get(shop.name_cookie, ""))
    return Ask(shop, request.scope.get("session") or "", who, dict(told), request.path_params)


async def _answered(view: View, ask: Ask) -> Response:
    """The view's answer, from a thread of its own; what goes wrong is told as the command line tells it."""
    work: Callable[..., Awaitable[Response]] = run_in_threadpool
    back = f"/plank?{urlencode({'plank': ask.told['plank']})}" if ask.told.get("plank") else "/"
    try:
        return await work(view, ask)
    except WrongCall as error:
        return ask.page("trouble.html", status=400, text=str(error), back=back)
    except Refused as refused:
        return ask.page("trouble.html", status=409, text=refused.reason.text, back=back)
    except FileNotFoundError:
        return ask.page("trouble.html", status=404, text="that is not here any more", back=back)
    except OSError as error:
        return ask.page(
            "trouble.html", status=500, text=f"the computer would not: {error.strerror or error}", back=back
        )
    except Exception as error:
        text = f"an error of this program's own ({type(error).__name__}): please report it, with what you did"
        print(f"fitcheck: {view.__name__}: {text}: {error}", file=sys.stderr)
        return ask.page("trouble.html", status=500, text=text, back=back)
