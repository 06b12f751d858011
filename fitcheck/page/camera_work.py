"""A camera calibrated from photographs that came to the page, by the calls that the command line makes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.page.jobs import Job
from fitcheck.page.shop import ANSWER, ANSWER_SCHEMA, FOLDER, GROWN

if TYPE_CHECKING:
    from fitcheck.calibration.views import BoardPhoto

#: Beside the hull's settings, where the page keeps camera files.
CAMERAS = "calib"
#: The share of the work that is done once the board is found in every photograph.
FOUND = 0.9


def camera_file(hull_path: Path, told: Mapping[str, Any]) -> Path:
    """The camera file that a job is to write."""
    return hull_path.parent / CAMERAS / f"{told['name']}.json"


def calibrate_job(
    hull_path: Path, job: Job, *, progress: Callable[[float], None], may_record: Callable[[], None]
) -> str:
    """Calibrate a camera from a job's photographs; write its file and what the job's page shows; tell the job's state.

    A calibration that is refused leaves the camera file as it was. Raises :class:`fitcheck.ground.refusal.WrongCall`
    where the file cannot be written.
    """
    from fitcheck.calibration.from_photos import calibrate
    from fitcheck.calibration.target import parse_board
    from fitcheck.calibration.write_camera import write_camera
    from fitcheck.ground.files import need_writable, write_json
    from fitcheck.page.camera_shown import camera_shown, coverage_shown

    folder = hull_path.with_name(FOLDER) / f"{job.id:06d}"
    out = camera_file(hull_path, job.told)
    need_writable(out)
    looked_at: list[BoardPhoto] = []

    def seen_one(photo: BoardPhoto) -> None:
        looked_at.append(photo)
        write_json(folder / GROWN, coverage_shown(looked_at))

    found = calibrate(
        [folder / name for name in job.photos],
        board=parse_board(str(job.told["corners"]), str(job.told["square"])),
        progress=lambda done, of: progress(FOUND * done / of),
        seen_one=seen_one,
    )
    if found:
        may_record()
        out.parent.mkdir(exist_ok=True)
        write_camera(found, out)
    shown = camera_shown(found, folder)
    write_json(folder / ANSWER, {"schema": ANSWER_SCHEMA, "answers": [], "notes": [], "not_recorded": "", **shown})
    return "measured" if found else "refused"
