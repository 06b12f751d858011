"""The page's application: every address and what answers it, behind the guard."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from fitcheck.page import (
    beside_views,
    by_hand_views,
    camera_views,
    entry,
    finger,
    hull_views,
    job_views,
    paper_views,
    plank_views,
    receiving,
    settings_views,
    sign_views,
)
from fitcheck.page.asked import acts, reads
from fitcheck.page.guard import TOO_MUCH, Guard, TooLarge
from fitcheck.page.render import STATIC, page, static
from fitcheck.page.shop import Shop

if TYPE_CHECKING:
    from fitcheck.page.guard import App
    from fitcheck.page.job_line import Line

#: What a path or a method that is not served is told.
SAID = {404: "there is no such page", 405: "that page is not asked for so"}


def site(shop: Shop, line: Line | None = None) -> App:
    """The application of one hull's page; ``line`` works off what is sent to be measured, while the page is served."""

    @asynccontextmanager
    async def served(_: Starlette) -> AsyncIterator[None]:
        if line is not None:
            await run_in_threadpool(line.start)
        yield
        if line is not None:
            await run_in_threadpool(line.stop)

    inner = Starlette(
        lifespan=served,
        routes=routes(),
        exception_handlers={HTTPException: _no_page, TooLarge: _too_large},
    )
    inner.state.shop, inner.state.line, inner.state.rates = shop, line, receiving.Rates()
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
        reads("/by-hand", by_hand_views.by_hand),
        acts("/planed", by_hand_views.planed),
        acts("/cut", by_hand_views.cut),
        acts("/feeler", by_hand_views.feeler),
        acts("/rule", by_hand_views.rule),
        acts("/note", by_hand_views.note),
        acts("/take-back", by_hand_views.take_back),
        reads("/sign", sign_views.signing),
        acts("/sign", sign_views.sign),
        reads("/beside", beside_views.beside),
        reads("/twin", beside_views.twin),
        reads("/chart", beside_views.chart),
        reads("/history", paper_views.history),
        reads("/sheet", paper_views.sheet),
        reads("/settings", settings_views.settings),
        acts("/settings", settings_views.change),
        acts("/backup", paper_views.backup),
        reads("/camera", camera_views.cameras),
        reads("/camera/board", camera_views.board),
        acts("/camera/open", camera_views.open_),
        acts("/camera/use", camera_views.use),
        reads("/photograph", job_views.photograph),
        acts("/open", job_views.open_),
        Route("/job/{job:int}/photo", receiving.photo, methods=["POST"]),
        acts("/job/{job:int}/send", job_views.send),
        acts("/job/{job:int}/cancel", job_views.cancel),
        acts("/job/{job:int}/again", finger.again),
        acts("/job/{job:int}/undo", finger.undo),
        reads("/job/{job:int}", job_views.job),
        reads("/job/{job:int}/state", job_views.state),
        reads("/job/{job:int}/picture/{name}", job_views.picture),
        reads("/job/{job:int}/paper/{name}", job_views.paper),
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
