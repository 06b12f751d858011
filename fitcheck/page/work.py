"""One job done: the one place where the page calls what the command line calls."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.page.jobs import Job
from fitcheck.page.shop import ANSWER, ANSWER_SCHEMA, FOLDER

if TYPE_CHECKING:
    from fitcheck.answering.edge_answers import EdgeAnswer
    from fitcheck.answering.gap_answers import GapAnswer
    from fitcheck.answering.request import MeasurementRequest
    from fitcheck.fitlog.recording import Recorded
    from fitcheck.hull.settings_file import Hull


@dataclass(frozen=True)
class Outcome:
    """What became of a job: ``state`` is "measured" or "refused", ``fit`` the number it went on record as.

    ``request`` is None where a camera was calibrated.
    """

    state: str
    said: str
    fit: int | None
    answers: tuple[EdgeAnswer | GapAnswer, ...] = ()
    request: MeasurementRequest | None = None


def warm() -> None:
    """Load what measuring needs, before the first photograph comes."""
    import fitcheck.answering.edge_answers
    import fitcheck.answering.on_record
    import fitcheck.answering.read_request
    import fitcheck.one_photo.edge
    import fitcheck.page.edge_shown
    import fitcheck.plank.plank_edge  # noqa: F401


def work(hull_path: Path, job: Job, *, progress: Callable[[float], None], may_record: Callable[[], None]) -> Outcome:
    """Measure a job's photographs, put the answer on record, and write what its page shows into the job's folder.

    ``may_record`` is called before anything goes on record. Raises :class:`fitcheck.ground.refusal.WrongCall` for what
    cannot be measured so or not be recorded; what was measured is written all the same.
    """
    if job.kind == "camera":
        from fitcheck.page.camera_work import calibrate_job

        return Outcome(calibrate_job(hull_path, job, progress=progress, may_record=may_record), "", None)
    from fitcheck.answering.edge_answers import measure_request
    from fitcheck.answering.gap_answers import gap_request
    from fitcheck.answering.on_record import record_answers
    from fitcheck.ground.files import write_json

    folder = hull_path.with_name(FOLDER) / f"{job.id:06d}"
    request = request_of(_hull(hull_path), job, folder)
    found = (measure_request if job.kind == "edge" else gap_request)(request, progress)
    answers: tuple[EdgeAnswer | GapAnswer, ...] = tuple(found)
    measurements = [one.measurement for one in answers]
    numbers: list[int] = []
    notes: tuple[str, ...] = ()
    trouble = None
    if any(measurements):
        may_record()

        def recorded(what: Recorded) -> None:
            numbers.append(what.number)

        kept = record_answers(measurements, [photo for one in answers for photo in one.read], request, recorded)
        notes, trouble = (*kept.recorded, *kept.notes), kept.trouble
    shown = [_shown(one, folder, number) for number, one in enumerate(answers)]
    said = "" if trouble is None else str(trouble)
    write_json(folder / ANSWER, {"schema": ANSWER_SCHEMA, "answers": shown, "notes": list(notes), "not_recorded": said})
    state = "measured" if any(measurements) else "refused"
    return Outcome(state, said, numbers[-1] if numbers else None, answers, request)


def after(hull_path: Path, job: Job, outcome: Outcome) -> None:
    """Write the report of a job, with the papers to print, into its folder; the answer does not wait for it."""
    from fitcheck.answering.edge_answers import write_answers
    from fitcheck.answering.gap_answers import write_gap_answers

    if outcome.state == "measured" and outcome.request is not None:
        write: Callable[..., Any] = write_answers if job.kind == "edge" else write_gap_answers
        write(outcome.answers, outcome.request)


def request_of(hull: Hull, job: Job, folder: Path) -> MeasurementRequest:
    """What a job asks for, as the command line would read it."""
    from fitcheck.answering.given import Given
    from fitcheck.answering.read_request import read_gap_request, read_request
    from fitcheck.answering.request import ForRecord, Output

    told = job.told
    given = Given(
        plank=job.plank, reference=told.get("reference") or None, at=told.get("at") or None, hints=hints_of(told)
    )
    record = ForRecord(same_fit=bool(told.get("same_fit")), who=job.who, note=str(told.get("note") or ""))
    read = read_request if job.kind == "edge" else read_gap_request
    photos = [folder / name for name in job.photos]
    return read(photos, given, hull=hull, record=record, output=Output(folder=folder / "report", replace=True))


def hints_of(told: Mapping[str, Any]) -> Any:
    """The places that a finger pointed at, and how the hull lies where that was told."""
    from fitcheck.contract.hints import Hints, keel_named

    return Hints(
        edge_at_px=_places(told.get("edge_at", ())),
        line_at_px=_places(told.get("line_at", ())),
        keel=keel_named(told.get("keel") or None),
    )


def _places(told: Sequence[Sequence[float]]) -> tuple[tuple[float, float], ...]:
    return tuple((float(u), float(v)) for u, v in told)


def _hull(hull_path: Path) -> Hull:
    """The hull's settings; photographs that came to the page are kept in the store, since they lie nowhere else."""
    from fitcheck.hull.settings_file import load_hull

    hull = load_hull(hull_path)
    kept = hull.model_copy(update={"photos": "copy"})
    kept._path, kept._written_style = hull._path, hull._written_style
    return kept


def _shown(answer: EdgeAnswer | GapAnswer, folder: Path, number: int) -> dict[str, Any]:
    from fitcheck.answering.edge_answers import EdgeAnswer

    if isinstance(answer, EdgeAnswer):
        from fitcheck.page.edge_shown import edge_shown

        return edge_shown(answer, folder, number)
    from fitcheck.page.gap_shown import gap_shown

    return gap_shown(answer, folder, number)
