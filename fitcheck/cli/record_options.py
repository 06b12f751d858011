"""Options that `measure` and `gap` share: how a measurement goes on record, and how its lengths are printed."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fitcheck.fitlog.told import as_text
from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.contract.settings import Settings
    from fitcheck.hull.plank_name import PlankName
    from fitcheck.hull.settings_file import Hull

Fraction = Annotated[
    int | None, typer.Option(help="Fractions of an inch: 8, 16, 32 or 64.  [default: 32]", show_default=False)
]
Every = Annotated[bool, typer.Option("--all", help="Every place, every note and the limit, not the answer alone.")]
SameFit = Annotated[
    bool, typer.Option("--same-fit", help="Only clamps and camera moved since the latest fit: add to it.")
]
At = Annotated[
    str | None,
    typer.Option(help="Where along the plank the reference's middle lies, without station cards.", show_default=False),
]
Record = Annotated[
    bool | None,
    typer.Option("--record/--no-record", help="Record the named plank.  [default: record]", show_default=False),
]
Replace = Annotated[bool, typer.Option("--replace", help="Write over another plank's report in the --out folder.")]
Who = Annotated[str | None, typer.Option(help="Who clamped and photographed.", show_default=False, callback=as_text)]
Note = Annotated[str, typer.Option(help="A note for the record.", show_default=False, callback=as_text)]


def place_at(at: str | None, plank: str | None, hull: Hull | None) -> float | None:
    """The place that ``--at`` tells, in mm along the plank; None where it is not told.

    Raises WrongCall for what is no place, or one beyond the ends of the plank.
    """
    from fitcheck.fitlog.ends import need_on_plank
    from fitcheck.ground.tape_places import parse_place
    from fitcheck.hull.plank_name import read_plank

    if at is None:
        return None
    at_mm = parse_place(at)
    if plank is not None and hull is not None:
        need_on_plank(read_plank(plank, hull), hull, at_mm, at_mm, "--at")
    return at_mm


def with_tape(settings: Settings, plank: str | None, at_mm: float | None, hull: Hull | None) -> Settings:
    """The settings with what turns places into the tape's: where the reference lay, the tape's sense, the plank's ends.

    Which way the tape runs goes by the plank's side; where that is not told, places stay left and right of the
    reference.
    """
    from dataclasses import replace

    from fitcheck.fitlog.recording import along_sign
    from fitcheck.hull.plank_name import extent_mm, read_plank

    settings = replace(settings, tape=hull.tape_style if hull else "")
    try:
        name = None if plank is None else read_plank(plank, hull)
    except WrongCall:
        # Without a hull's settings a plank may be called anything.
        name = None
    if name is None:
        return settings
    low_mm, high_mm = extent_mm(name, hull)
    ends_mm = None if low_mm is None or high_mm is None else (low_mm, high_mm)
    return replace(settings, at_mm=at_mm, along_sign=along_sign(name.side, hull), ends_mm=ends_mm)


def need_record(told: Mapping[str, Any], hull: Hull | None, *, seam: bool = False) -> None:
    """Raise :class:`WrongCall` where what is told for the record could not go there, before anything is measured.

    ``told["record"]`` is None where it is not told: then a named plank is recorded.
    """
    plank = told["plank"]
    if told["record"] is False:
        return
    if seam and (plank is not None or told["record"]):
        raise WrongCall("a seam seen face-on does not go on record: leave out --plank, or say --no-record")
    if plank is None:
        _need_plank(told)
        return
    if hull is None:
        raise WrongCall(
            "--plank names a plank of a hull, and there is no fitcheck.toml here or in a folder above to record it in: "
            "go to the hull's folder, write one with fitcheck new, or say --no-record"
        )
    from fitcheck.fitlog.recording import check_told
    from fitcheck.hull.plank_name import read_plank

    check_told(told.get("moisture"), told.get("temperature"), told.get("clamps"))
    _need_sure_name(read_plank(plank, hull), hull)


def _need_plank(told: Mapping[str, Any]) -> None:
    if told["record"]:
        raise WrongCall('--record needs the plank: name it, as --plank "4 port"')
    for option in ("same_fit", "who", "note", "moisture", "temperature", "clamps"):
        if told.get(option) not in (None, False, ""):
            raise WrongCall(f'--{option.replace("_", "-")} is for the record: name the plank too, as --plank "4 port"')


def _need_sure_name(name: PlankName, hull: Hull) -> None:
    from fitcheck.fitlog.connection import Damaged
    from fitcheck.fitlog.likeness import need_sure_name
    from fitcheck.fitlog.store import reading

    if not hull.db_path.exists():
        return
    # A record that cannot be read is told when recording fails: the answer is shown all the same.
    with suppress(Damaged), reading(hull.db_path) as connection:
        need_sure_name(connection, name, hull)
