"""A photograph that comes from a phone: streamed to disk within bounds, its kind told by its content, its name let go.

What the file tells of people and places is taken out before it is kept, so that nothing of it is ever at rest here.
"""

from __future__ import annotations

import asyncio
import hashlib
import os
import shutil
import threading
import time
from collections import defaultdict, deque
from collections.abc import AsyncIterator
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response

from fitcheck.ground.part_files import part_of
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.page import jobs
from fitcheck.page.asked import FORM_HEADER
from fitcheck.page.guard import TOO_MUCH, TooLarge
from fitcheck.page.plain_words import on_page
from fitcheck.page.shop import Shop

MOST_PHOTOS = 40
#: Photographs one phone may send in a minute; a roll of forty comes in less.
MOST_A_MINUTE = 120
#: A phone that sends nothing for so long is gone.
SILENT_S = 30.0
LEAST_FREE_BYTES = 500_000_000
ENDINGS = {"jpeg": ".jpg", "png": ".png", "heic": ".heic"}
#: Reading one through takes a few times its size in memory.
_AT_ONCE = threading.BoundedSemaphore(2)


class Rates:
    """How many photographs each session sent in the last minute."""

    def __init__(self) -> None:
        self._sent_s: dict[str, deque[float]] = defaultdict(deque)

    def allows(self, session: str, now_s: float) -> bool:
        """Whether one more may come now; it counts if it may.

        >>> rates = Rates()
        >>> sum(rates.allows("a", 0.1 * i) for i in range(200)), rates.allows("b", 20.0), rates.allows("a", 61.0)
        (120, True, True)
        """
        sent_s = self._sent_s[session]
        while sent_s and sent_s[0] <= now_s - 60.0:
            sent_s.popleft()
        if len(sent_s) >= MOST_A_MINUTE:
            return False
        sent_s.append(now_s)
        return True


async def photo(request: Request) -> Response:
    """Take one photograph, the whole body of the request, into an open job."""
    shop: Shop = request.app.state.shop
    session = request.scope.get("session") or ""
    if not session or not shop.keys.is_form_mark(session, request.headers.get(FORM_HEADER, "")):
        return _told(403, "that form is from another session: open the page again")
    if not request.app.state.rates.allows(session, time.monotonic()):
        return _told(429, "more photographs came in a minute than are taken: wait a little and send the rest")
    try:
        return await _taken(request, shop, request.path_params["job"])
    except (WrongCall, Refused) as error:
        return _told(400, on_page(str(error)))
    except TooLarge:
        return _told(413, f"{TOO_MUCH}: a photograph has at most {shop.most_photo_bytes // 1_000_000} MB")
    except (ClientDisconnect, TimeoutError):
        return _told(408, "the photograph did not come whole: send it again")
    except OSError as error:
        return _told(507, f"the photograph could not be kept: {error.strerror or error}")


async def _taken(request: Request, shop: Shop, job_id: int) -> Response:
    job = await run_in_threadpool(jobs.job, shop.db_path, job_id)
    folder = shop.job_folder(job.id)
    await run_in_threadpool(_need_room, folder)
    with part_of(folder / "photo") as part:
        with open(part, "wb") as file:
            async for piece in _pieces(request):
                file.write(piece)
        name = await run_in_threadpool(_kept, shop, job, part)
    return JSONResponse({"name": name})


async def _pieces(request: Request) -> AsyncIterator[bytes]:
    """The body, piece by piece. Raises TimeoutError where the phone falls silent."""
    stream = request.stream()
    while True:
        try:
            piece = await asyncio.wait_for(anext(stream), SILENT_S)
        except StopAsyncIteration:
            return
        yield piece


def _kept(shop: Shop, job: jobs.Job, part: Path) -> str:
    with _AT_ONCE:
        digest, ending = _looked_at(part, f"photo {len(job.photos) + 1}")
    return jobs.add_photo(shop.db_path, job.id, digest=digest, ending=ending, part=part, most=MOST_PHOTOS)


def _looked_at(part: Path, called: str) -> tuple[str, str]:
    """The digest of a photograph and the ending for its kind, once what it tells of people and places is out of it.

    Raises :class:`Refused` for what is no photograph, in words that name it as it is ``called``.
    """
    from fitcheck.fitlog.stripped import stripped
    from fitcheck.picture.photo import load_photo
    from fitcheck.picture.picture_file import kind_of

    try:
        # No camera has this size: the file is read through and judged, and not decoded.
        data = load_photo(part, size_px=(0, 0)).data
    except Refused as refused:
        raise Refused(refused.reason.code, refused.reason.text.replace(part.name, called)) from refused
    try:
        plain = stripped(data)
    except ValueError as error:
        text = f"{called} is damaged ({error}); copy it from the camera again."
        raise Refused("photo-damaged", text) from error
    with open(part, "wb") as file:
        file.write(plain)
        file.flush()
        os.fsync(file.fileno())
    return hashlib.sha256(plain).hexdigest(), ENDINGS[str(kind_of(plain))]


def _need_room(folder: Path) -> None:
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if shutil.disk_usage(folder).free < LEAST_FREE_BYTES:
        raise WrongCall("the laptop's disk is nearly full: free some space, then send the photographs again")


def _told(status: int, text: str) -> Response:
    return JSONResponse({"trouble": text}, status)
