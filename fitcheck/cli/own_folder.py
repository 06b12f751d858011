"""A report goes into a folder of its own plank: another plank's paper is not written over by a slip."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from fitcheck.ground.files import need_writable, read_bytes
from fitcheck.ground.refusal import WrongCall

#: The answer of a plank of many photographs is some megabytes of JSON.
MOST_REPORT_BYTES = 200_000_000


def need_outputs(json_to: str | None, out: Path | None) -> None:
    """Raise :class:`WrongCall` where these cannot be a file and a folder to write to, before anything is done."""
    if json_to not in (None, "-"):
        need_writable(Path(json_to or ""))
    if out is None:
        return
    if str(out) == ".":  # an empty name too
        raise WrongCall("--out names no folder: give a folder of its own for the report, as --out report")
    if out.absolute().parent == out.absolute():
        raise WrongCall(f"cannot write a report into {out}: give a folder of its own")
    if out.exists() and not out.is_dir():
        raise WrongCall(f"cannot write a report into {out}: it is a file, and a folder is needed")


def need_own_folder(out: Path | None, answer: str, plank: str | None, photos: Sequence[Path], *, apart: bool) -> None:
    """Raise :class:`WrongCall` where ``out`` holds the report of another plank; ``answer`` is its JSON's file name.

    Photographs that are answered ``apart`` have numbered folders in it, where they are several.
    Planks are told apart by their names; where neither is named, by the photographs: a report that shows none of these
    is of something else. A folder without a report that can be read is free.
    """
    if out is None:
        return
    several = apart and len(photos) > 1
    for folder in [out / f"{number + 1:02d}" for number in range(len(photos))] if several else [out]:
        old = _report(folder / answer)
        if old is None:
            continue
        theirs = _plank(old)
        if not _same(theirs, plank, old, photos):
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
