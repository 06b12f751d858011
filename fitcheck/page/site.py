"""The page's application: every address and what answers it, behind the guard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from fitcheck.page import entry, hull_views, plank_views
from fitcheck.page.asked import acts, reads
from fitcheck.page.guard import TOO_MUCH, Guard, TooLarge
from fitcheck.page.render import STATIC, page, static
from fitcheck.page.shop import Shop

if TYPE_CHECKING:
    from fitcheck.page.guard import App

#: What a path or a method that is not served is told.
SAID = {404: "there is no such page", 405: "that page is not asked for so"}


def site(shop: Shop) -> App:
    """The application of one hull's page."""
    inner = Starlette(
        routes=routes(),
        exception_handlers={HTTPException: _no_page, TooLarge: _too_large},
    )
    inner.state.shop = shop
    return Guard(inner, shop)


def routes() -> list[Route]:
    """Every address of the page."""
    return [
        Route("/enter", entry.enter, methods=["GET"]),
        acts("/who", entry.who),
        reads("/phone", entry.phone),
        Route("/static/{name}", _static, methods=["GET"]),
        reads("/", hull_views.hull),
        acts("/add", hull_views.add),
        reads("/plank", plank_views.plank),
        reads("/fit", plank_views.fit),
    ]


async def _static(request: Request) -> Response:
    name = request.path_params["name"]
    if name not in STATIC:
        raise HTTPException(404)
    told = {"cache-control": "private, max-age=86400"} if request.url.query else {}
    return Response(static(name), media_type=STATIC[name], headers=told)


async def _no_page(request: Request, error: Exception) -> Response:
    status = getattr(error, "status_code", 404)
    return page(
        "trouble.html", status=status, text=SAID.get(status, "that cannot be answered"), back="/", who="", lan=None
    )


async def _too_large(request: Request, error: Exception) -> Response:
    return page("trouble.html", status=413, text=TOO_MUCH, back="/", who="", lan=None)
