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
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.page.guard import TOO_MUCH, TooLarge
from fitcheck.page.plain_words import on_page
from fitcheck.page.render import page
from fitcheck.page.shop import Shop

if TYPE_CHECKING:
    from fitcheck.hull.plank_name import PlankName
    from fitcheck.hull.settings_file import Hull
    from fitcheck.page.job_line import Line

#: Six for each of 99 strakes, and the hull's own.
MOST_FIELDS = 640
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
    line: Line | None = None
    as_json: bool = False

    def page(self, template: str, *, status: int = 200, **values: Any) -> Response:
        """A page with what every page shows."""
        mark = self.shop.keys.form_mark(self.session) if self.session else ""
        return page(template, status=status, who=self.who, mark=mark, lan=self.shop.doors.lan, **values)

    def trouble(self, status: int, text: str, back: str = "/") -> Response:
        """What went wrong, as a page or, for a script of ours, as JSON."""
        if self.as_json:
            return JSONResponse({"trouble": on_page(text)}, status)
        return self.page("trouble.html", status=status, text=text, back=back)

    def plank(self, hull: Hull) -> PlankName:
        """The plank that the request names. Raises :class:`WrongCall` where it names none of this hull."""
        from fitcheck.hull.plank_name import read_plank

        return read_plank(self.told.get("plank", ""), hull)

    def named(self) -> str:
        """Who does it. Raises :class:`WrongCall` where this phone has not told."""
        if not self.who:
            raise WrongCall("give your name first, at the top of the page: what goes on record says who did it")
        return self.who

    def number(self, name: str) -> int | None:
        """A fit's number, None where it is not told. Raises :class:`WrongCall` for what is no number."""
        told = self.told.get(name, "")
        if not told:
            return None
        if not (told.isascii() and told.isdecimal() and len(told) < 10):
            raise WrongCall("a fit is told by its number")
        return int(told)

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
            return ask.trouble(413, TOO_MUCH)
        except (HTTPException, UnicodeDecodeError, ValueError):
            return ask.trouble(400, "that form cannot be read")
        if not ask.session or not ask.shop.keys.is_form_mark(ask.session, told.pop(FORM_MARK, "")):
            return ask.trouble(403, "that form is from another session: open the page again")
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
    return Ask(
        shop,
        request.scope.get("session") or "",
        who,
        dict(told),
        request.path_params,
        request.app.state.line,
        "application/json" in request.headers.get("accept", ""),
    )


async def _answered(view: View, ask: Ask) -> Response:
    """The view's answer, from a thread of its own; what goes wrong is told as the command line tells it."""
    work: Callable[..., Awaitable[Response]] = run_in_threadpool
    back = f"/plank?{urlencode({'plank': ask.told['plank']})}" if ask.told.get("plank") else "/"
    try:
        return await work(view, ask)
    except WrongCall as error:
        return ask.trouble(400, str(error), back)
    except Refused as refused:
        return ask.trouble(409, refused.reason.text, back)
    except FileNotFoundError:
        return ask.trouble(404, "that is not here any more", back)
    except OSError as error:
        return ask.trouble(500, f"the computer would not: {error.strerror or error}", back)
    except Exception as error:
        text = f"an error of this program's own ({type(error).__name__}): please report it, with what you did"
        print(f"fitcheck: {view.__name__}: {text}: {error}", file=sys.stderr)
        return ask.trouble(500, text, back)
