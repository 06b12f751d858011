"""A fit beside the fit before, and port beside starboard: what is said of both, and both as pictures."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.page import jobs
from fitcheck.page.asked import Ask

if TYPE_CHECKING:
    from fitcheck.hull.plank_name import PlankName

#: Charts are drawn one at a time: what draws them keeps its manners for the whole process.
_DRAWING = threading.Lock()


def beside(ask: Ask) -> Response:
    """What moved between two fits of a plank, the latest two unless told, with both photographs where they are here."""
    from fitcheck.fitlog.compare import compare
    from fitcheck.fitlog.judged_by import terms_of
    from fitcheck.fitlog.store import reading
    from fitcheck.report.record.between_lines import compare_lines

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    _need_begun(ask, plank)
    old, new = ask.number("old"), ask.number("new")
    with reading(hull.db_path) as connection:
        found = compare(connection, plank, terms_of(plank, hull), old=old, new=new, units=hull.units)
    numbers = (found.old.number, found.new.number)
    return ask.page(
        "beside.html",
        hull=hull.name,
        plank=str(plank),
        heading=f"Fit {numbers[1]} beside fit {numbers[0]}",
        lines=compare_lines(found, hull),
        chart="history",
        pictures=[one for one in (_pictured(ask, plank, number) for number in numbers) if one],
    )


def twin(ask: Ask) -> Response:
    """Port against starboard of one strake."""
    from fitcheck.fitlog.store import reading
    from fitcheck.fitlog.twin import twin as both
    from fitcheck.report.record.between_lines import twin_lines

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    _need_begun(ask, plank)
    with reading(hull.db_path) as connection:
        found = both(connection, plank, hull)
    lines = twin_lines(found, hull)
    heading = f"{plank} beside {plank.twin()}"
    return ask.page(
        "beside.html", hull=hull.name, plank=str(plank), heading=heading, lines=lines, chart="twin", pictures=[]
    )


def chart(ask: Ask) -> Response:
    """A chart of what is on record of a plank: fit after fit, or both sides."""
    from fitcheck.fitlog.history import history
    from fitcheck.fitlog.store import reading
    from fitcheck.fitlog.twin import twin as both
    from fitcheck.report.record.history_chart import history_chart, twin_chart

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    _need_begun(ask, plank)
    with reading(hull.db_path) as connection, _DRAWING:
        if ask.told.get("of") == "twin":
            drawn: bytes | None = twin_chart(both(connection, plank, hull), hull)
        else:
            drawn = history_chart(history(connection, plank, hull), hull)
    if drawn is None:
        raise Refused("places-not-known", "The places along the plank are not known, so nothing can be drawn.")
    policy = {"content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox"}
    return Response(drawn, media_type="image/svg+xml", headers=policy)


def _pictured(ask: Ask, plank: PlankName, number: int) -> dict[str, Any] | None:
    """The photograph of a fit that shows its worst place, with its drawing; None where it is not here any more."""
    for job in jobs.jobs_of(ask.shop.db_path, str(plank), most=100):
        if job.fit != number or job.kind != "edge" or job.state != "measured":
            continue
        for answer in (ask.shop.answer(job.id) or {}).get("answers", ()):
            photos, worst = answer["photos"], answer["worst"]
            best = [one for one in photos if worst and one["name"] == worst["photo"]] or photos[:1]
            if best:
                return {"job": job, "fit": number, "photo": best[0], "worst": worst, "headline": answer["headline"]}
    return None


def _need_begun(ask: Ask, plank: PlankName) -> None:
    from fitcheck.fitlog.store import is_begun

    if not is_begun(ask.shop.db_path):
        raise WrongCall(f"no fit of plank {plank} is recorded")
