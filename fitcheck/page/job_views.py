"""Photographs on their way to an answer: chosen, sent, measured, and what came of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from starlette.responses import FileResponse, JSONResponse, Response

from fitcheck.ground.refusal import WrongCall
from fitcheck.page import jobs
from fitcheck.page.asked import Ask, then
from fitcheck.page.carried import carry
from fitcheck.page.receiving import MOST_PHOTOS

if TYPE_CHECKING:
    from fitcheck.hull.plank_name import PlankName
    from fitcheck.hull.settings_file import Hull

KINDS = {"edge": "Photograph the edge", "gap": "Photograph the lap edge-on"}
#: References as the page offers them; what else may lie there is typed.
REFERENCES = {
    "": "as in the settings",
    "id1": "bank card",
    "card-us": "business card, 88.9 x 50.8 mm",
    "card-eu": "business card, 85 x 55 mm",
    "card-jp": "business card, 91 x 55 mm",
    "rule-mm": "steel rule in mm",
    "rule-in": "steel rule in inches",
    "station": "station cards",
}
#: Edge-on the scale may come from the plank itself.
BARE = {"thickness": "nothing: the plank's thickness tells the scale"}
#: The pictures and papers that a job's folder may give out; nothing else in it is.
_PICTURE = re.compile(r"(?:small|full)-\d{1,3}-(?:\d{1,3}|whole)\.jpg", re.ASCII)
_PAPER = re.compile(r"(?:report|gap)_[a-z0-9_]{1,40}\.(?:pdf|dxf|svg|jpg)", re.ASCII)


def photograph(ask: Ask) -> Response:
    """Where photographs of a plank are chosen, with what is to be said of them."""
    hull = ask.shop.hull()
    plank = ask.plank(hull)
    kind = _kind(ask.told.get("kind", "edge"))
    before = _together_with(ask, plank, kind)
    return ask.page(
        "photograph.html",
        hull=hull.name,
        plank=str(plank),
        kind=kind,
        heading=KINDS[kind],
        references=REFERENCES | (BARE if kind == "gap" else {}),
        usual=hull.reference or "",
        latest=_latest_fit(hull, str(plank)),
        most=MOST_PHOTOS - (0 if before is None else len(before.photos)),
        before=before,
        lower="8 in" if hull.units == "in" else "20 cm",
        keel_up=hull.keel == "up",
    )


def open_(ask: Ask) -> Response:
    """Open a job for photographs of one plank; what is said of them is read as the command line reads it.

    With ``more_of`` it begins with the photographs of an earlier job, and what was said of those holds for all.
    """
    hull = ask.shop.hull()
    plank, kind = ask.plank(hull), _kind(ask.told.get("kind", ""))
    before = _together_with(ask, plank, kind)
    if before is None:
        told = _told(ask.told, note=ask.text("note"), edge_on=kind == "gap")
        job_id = jobs.open_job(hull.db_path, plank=str(plank), kind=kind, who=ask.who, told=told)
    else:
        told = {key: value for key, value in before.told.items() if key not in ("pointed", "edge_at", "line_at")}
        told |= {"note": "", "same_fit": bool(before.fit) or before.told.get("same_fit", False)}
        job_id = jobs.open_job(hull.db_path, plank=str(plank), kind=kind, who=ask.who, told=told, again_of=before.id)
        carry(ask.shop, before, job_id, before.photos)
    return JSONResponse({"job": job_id})


def send(ask: Ask) -> Response:
    """Let the photographs of an open job be measured."""
    job = _job(ask)
    jobs.send(ask.shop.db_path, job.id)
    if ask.line is not None:
        ask.line.wake()
    return JSONResponse({"job": job.id}) if ask.as_json else then(f"/job/{job.id}")


def cancel(ask: Ask) -> Response:
    """Stop a job that has not been recorded yet."""
    job = _job(ask)
    if ask.line is None or not ask.line.cancel(job.id):
        raise WrongCall("it is too late to stop that: it is measured, or going on record just now")
    if ask.as_json:
        return JSONResponse({"plank": job.plank})
    return then("/plank", plank=job.plank) if job.plank else then("/camera")


def state(ask: Ask) -> Response:
    """How far a job is, for the script that waits for it."""
    job = _job(ask)
    share = ask.line.share(job.id) if ask.line is not None else 0.0
    told = {"state": job.state, "share": round(share, 3), "words": words_of(job, share)}
    return JSONResponse(told if job.kind != "camera" else {**told, "grown": ask.shop.grown(job.id)})


def job(ask: Ask) -> Response:
    """The page of a job: how far it is, or its answer."""
    found = _job(ask)
    if found.state in ("measured", "refused") and found.kind == "camera":
        from fitcheck.page.camera_views import calibrated

        return calibrated(ask, found)
    if found.state in ("measured", "refused"):
        from fitcheck.page.answer_views import answer

        return answer(ask, found)
    share = ask.line.share(found.id) if ask.line is not None else 0.0
    return ask.page(
        "job.html",
        hull=ask.shop.hull().name,
        job=found,
        words=words_of(found, share),
        in_hand=found.state in jobs.IN_HAND,
    )


def picture(ask: Ask) -> Response:
    """A picture of a job's answer."""
    return _file(ask, _PICTURE, "", "image/jpeg")


def paper(ask: Ask) -> Response:
    """A paper of a job's report: ticket, cut strip, drawing."""
    kinds = {"pdf": "application/pdf", "dxf": "image/vnd.dxf", "svg": "image/svg+xml", "jpg": "image/jpeg"}
    return _file(ask, _PAPER, "report", kinds.get(str(ask.at["name"]).rpartition(".")[2], "text/plain"))


def words_of(job: jobs.Job, share: float) -> str:
    """How far a job is, in words."""
    count = f"{len(job.photos)} photograph{'' if len(job.photos) == 1 else 's'}"
    if job.state == "measuring" and job.kind == "camera":
        return f"looking for the board in {count}" + (f", {round(100 * share)} % done" if share else "")
    if job.state == "measuring":
        return f"measuring {count}" + (f", {round(100 * share)} % done" if share else "")
    return {
        "open": f"{count} came, not sent yet",
        "waiting": f"{count} waiting for others to be measured",
        "recording": "measured, going on record",
        "measured": "measured",
        "refused": "not measured",
        "failed": "not measured",
        "cancelled": "stopped: nothing was recorded",
    }[job.state]


def _kind(told: str) -> str:
    if told not in KINDS:
        raise WrongCall("photographs show the edge, or the lap edge-on")
    return told


def _told(fields: Mapping[str, str], *, note: str, edge_on: bool) -> dict[str, Any]:
    """What is said of photographs, checked as far as it can be before they come."""
    from fitcheck.ground.tape_places import parse_place
    from fitcheck.reference.kinds import reference_kind

    at, reference, keel = (fields.get(name, "").strip() for name in ("at", "reference", "keel"))
    reference = fields.get("size", "").strip() if reference == "other" else reference
    if at:
        parse_place(at)
    if reference:
        reference_kind(reference, edge_on=edge_on)
    if keel not in ("", "auto", "down", "up"):
        raise WrongCall("the keel lies down, up, or is found")
    told: dict[str, Any] = {"at": at, "reference": reference, "keel": keel, "note": note}
    return {**told, "same_fit": fields.get("fit") == "same"}


def _together_with(ask: Ask, plank: PlankName, kind: str) -> jobs.Job | None:
    """The job whose photographs are to be measured together with those that come, None where none is told."""
    told = ask.number("more_of")
    if told is None:
        return None
    found = jobs.job(ask.shop.db_path, told)
    if (found.plank, found.kind) != (str(plank), kind) or found.state not in jobs.ENDED:
        raise WrongCall("those are no photographs of this lap, or they are not measured yet")
    return found


def _latest_fit(hull: Hull, plank: str) -> int | None:
    """The number of the latest fit that photographs could join, None without one."""
    from fitcheck.fitlog.listing import standings_at

    return next(
        (one.number for one in standings_at(hull) if str(one.plank) == plank and one.state not in ("planed", "signed")),
        None,
    )


def _job(ask: Ask) -> jobs.Job:
    return jobs.job(ask.shop.db_path, int(ask.at["job"]))


def _file(ask: Ask, allowed: re.Pattern[str], inside: str, kind: str) -> Response:
    name = str(ask.at["name"])
    path = ask.shop.job_folder(int(ask.at["job"])) / inside / name
    if not allowed.fullmatch(name) or not path.is_file():
        raise FileNotFoundError(name)
    told = {"cache-control": "private, max-age=3600", "content-security-policy": "default-src 'none'; sandbox"}
    return FileResponse(path, media_type=kind, headers=told)
