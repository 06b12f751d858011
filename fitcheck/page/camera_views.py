"""Cameras: those of the hull, a new one calibrated from photographs of the board, and the one that is measured with."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.responses import JSONResponse, Response

from fitcheck.ground.refusal import WrongCall
from fitcheck.page import jobs
from fitcheck.page.asked import Ask, then
from fitcheck.page.camera_work import CAMERAS, camera_file
from fitcheck.page.carried import carry
from fitcheck.page.receiving import MOST_PHOTOS

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

CORNERS, SQUARE = "9x6", "25mm"
#: A camera's name is a file's name on every system.
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,39}", re.ASCII)


def cameras(ask: Ask) -> Response:
    """The hull's cameras, and where photographs of the board are chosen."""
    hull = ask.shop.hull()
    folder = ask.shop.hull_path.parent / CAMERAS
    return ask.page(
        "camera.html",
        hull=hull.name,
        cameras=[_listed(path, hull, folder) for path in _files(folder, hull)],
        corners=CORNERS,
        square=SQUARE,
        most=MOST_PHOTOS,
        done="The hull is measured with that camera from now on." if ask.told.get("done") == "use" else "",
    )


def open_(ask: Ask) -> Response:
    """Open a job for photographs of the board; ``more_of`` begins it with those of an earlier one."""
    from fitcheck.calibration.target import parse_board
    from fitcheck.ground.files import need_writable

    before = _before(ask)
    name, corners, square = (ask.text(key) for key in ("name", "corners", "square"))
    told = dict(before.told) if before is not None else {"name": name, "corners": corners, "square": square}
    if not _NAME.fullmatch(told["name"]):
        raise WrongCall("a camera is named by letters and digits, as phone or my camera, in 40 at most")
    parse_board(told["corners"], told["square"])
    out = camera_file(ask.shop.hull_path, told)
    if before is None and out.exists() and ask.told.get("replace") != "yes":
        raise WrongCall(
            f"there is a camera of the name {told['name']} already: choose another name, or say that the new one "
            "comes in its place"
        )
    need_writable(out)
    job_id = jobs.open_job(
        ask.shop.db_path,
        plank="",
        kind="camera",
        who=ask.who,
        told=told,
        again_of=None if before is None else before.id,
    )
    if before is not None:
        carry(ask.shop, before, job_id, before.photos)
    return JSONResponse({"job": job_id})


def use(ask: Ask) -> Response:
    """Measure this hull with a camera from now on: it goes into the settings."""
    from fitcheck.calibration.camera import load_camera
    from fitcheck.hull.change_settings import change_settings

    ask.named()
    name = ask.text("name")
    path = ask.shop.hull_path.parent / CAMERAS / f"{name}.json"
    if not _NAME.fullmatch(name) or not path.is_file():
        raise WrongCall("there is no camera of that name")
    load_camera(path)
    change_settings(ask.shop.hull_path, {("", "camera"): f"{CAMERAS}/{name}.json"})
    return then("/camera", done="use")


def board(ask: Ask) -> Response:
    """The board to print."""
    from fitcheck.calibration.board import board_pdf
    from fitcheck.calibration.target import parse_board

    paper = "letter" if ask.told.get("paper") == "letter" else "a4"
    told = {"content-disposition": 'inline; filename="board.pdf"'}
    return Response(board_pdf(parse_board(CORNERS, SQUARE), paper=paper), media_type="application/pdf", headers=told)


def calibrated(ask: Ask, job: jobs.Job) -> Response:
    """The page of a job whose calibration has ended, good or refused."""
    hull = ask.shop.hull()
    path = camera_file(ask.shop.hull_path, job.told)
    return ask.page(
        "calibrated.html",
        hull=hull.name,
        job=job,
        found=(ask.shop.answer(job.id) or {}).get("camera"),
        most=MOST_PHOTOS - len(job.photos),
        file=f"{CAMERAS}/{path.name}",
        in_use=_same(path, hull.camera_path),
        there=path.is_file(),
    )


def _before(ask: Ask) -> jobs.Job | None:
    """The job whose photographs come first, None for a calibration anew."""
    told = ask.number("more_of")
    if told is None:
        return None
    found = jobs.job(ask.shop.db_path, told)
    if found.kind != "camera" or found.state not in jobs.ENDED:
        raise WrongCall("those are no photographs of the board, or they are not done yet")
    return found


def _files(folder: Path, hull: Hull) -> list[Path]:
    """The camera files beside the settings, and the one that is measured with."""
    found = sorted(folder.glob("*.json"))
    own = hull.camera_path
    others = [] if own is None or any(_same(path, own) for path in found) else [own]
    return [*found, *others]


def _listed(path: Path, hull: Hull, folder: Path) -> dict[str, Any]:
    """One camera file as the list shows it; ``own`` where it lies in the page's ``folder``."""
    from fitcheck.calibration.camera import load_camera

    shown: dict[str, Any] = {"name": path.stem, "in_use": _same(path, hull.camera_path), "own": False}
    try:
        camera = load_camera(path)
    except WrongCall as error:
        return {**shown, "words": str(error)}
    wide, high = camera.size_px
    quality = camera.quality or {}
    told = [camera.identity.described(), f"{wide} x {high} pixels", str(quality.get("verdict", ""))]
    if quality.get("views"):
        told.append(f"{quality['views']} views")
    own = path.parent == folder and _NAME.fullmatch(path.stem) is not None
    return {**shown, "own": own, "words": ", ".join(part for part in told if part)}


def _same(one: Path, other: Path | None) -> bool:
    return other is not None and one.resolve() == other.resolve()
