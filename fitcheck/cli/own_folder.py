"""A report goes into a folder of its own plank: another plank's paper is not written over by a slip."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.answering.folders import folders_of
from fitcheck.ground.files import need_writable, read_bytes
from fitcheck.ground.refusal import WrongCall
from fitcheck.reference.kinds import reference_kind

if TYPE_CHECKING:
    from fitcheck.answering.request import MeasurementRequest

#: The answer of a plank of many photographs is some megabytes of JSON.
MOST_REPORT_BYTES = 200_000_000


def need_outputs(request: MeasurementRequest, answer: str) -> None:
    """Raise :class:`WrongCall` where the answer cannot be written as the request asks, before anything is measured.

    A folder that holds the report of another plank is no place for it, unless it may be replaced; ``answer`` is the
    file name of a report's JSON.
    """
    out, to = request.output.folder, request.output.json
    if to is not None and to != "-":
        need_writable(Path(to))
    if out is None:
        return
    if str(out) == ".":  # an empty name too
        raise WrongCall("--out names no folder: give a folder of its own for the report, as --out report")
    if out.absolute().parent == out.absolute():
        raise WrongCall(f"cannot write a report into {out}: give a folder of its own")
    if out.exists() and not out.is_dir():
        raise WrongCall(f"cannot write a report into {out}: it is a file, and a folder is needed")
    if not request.output.replace:
        _need_own(out, request, answer)


def _need_own(out: Path, request: MeasurementRequest, answer: str) -> None:
    """Planks are told apart by their names; where neither is named, by the photographs: a report that shows none of
    these is of something else. A folder without a report that can be read is free."""
    joined = reference_kind(request.settings.reference, edge_on=True).joins
    for folder in folders_of(out, 1 if joined else len(request.photos)):
        old = _report(folder / answer)
        if old is None:
            continue
        theirs = _plank(old)
        if not _same(theirs, request.settings.plank, old, request.photos):
            whose = f"of plank {theirs}" if theirs else "of another plank"
            raise WrongCall(f"{folder} holds the report {whose}: give another --out, or say --replace to write over it")


def _same(theirs: str | None, plank: str | None, old: dict[str, Any], photos: Sequence[Path]) -> bool:
    if theirs is not None or plank is not None:
        return (theirs or "").casefold().split() == (plank or "").casefold().split()
    names = {photo.name for photo in photos}
    return any(isinstance(photo, dict) and photo.get("name") in names for photo in old.get("photos") or ())


def _plank(report: dict[str, Any]) -> str | None:
    settings = report.get("settings")
    named = settings.get("plank") if isinstance(settings, dict) else None
    return named if isinstance(named, str) else None


def _report(path: Path) -> dict[str, Any] | None:
    if not path.is_file():
        return None
    try:
        report = json.loads(read_bytes(path, "the report", most_bytes=MOST_REPORT_BYTES))
    except (ValueError, RecursionError):  # a wrong call among them: no report that can be read
        return None
    return report if isinstance(report, dict) else None
