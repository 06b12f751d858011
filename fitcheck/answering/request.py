"""A request to measure: photographs of one clamped plank with all that is said of them, in mm and degrees."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.contract.settings import Settings

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull


#: Called with the share of the work done, 0 to 1.
Progress = Callable[[float], None]


@dataclass(frozen=True, kw_only=True)
class PlaningTerms:
    """How the plank may still move and how wood is taken off, as :func:`~fitcheck.advice.planing.planing_advice.advise`
    takes it. ``plank_length_mm`` is how long the lap is as a whole, None where the hull's settings do not tell it."""

    may_slide_mm: float | None = None
    may_swing_mm_per_m: float | None = None
    ends: str = "free"
    prefer: str = "least-wood"
    edge_takes_line: str = "split"
    plank_length_mm: float | None = None
    look_again_mm: float = 100.0


@dataclass(frozen=True, kw_only=True)
class ForRecord:
    """What goes on record with the measurement.

    ``wanted`` None means: where a plank is named. ``same_fit`` is True where only clamps and camera moved since the
    latest fit. ``moisture_pct`` is the wood's, ``temperature_c`` the air's; ``clamps`` is "tight" or "eased".
    """

    wanted: bool | None = None
    same_fit: bool = False
    who: str | None = None
    note: str = ""
    moisture_pct: float | None = None
    temperature_c: float | None = None
    clamps: str | None = None


@dataclass(frozen=True, kw_only=True)
class Output:
    """Where the answer is written: ``folder`` for the report, ``json`` a file's name or "-" for standard output.

    ``replace`` allows to write over the report of another plank.
    """

    folder: Path | None = None
    json: str | None = None
    replace: bool = False


@dataclass(frozen=True, kw_only=True)
class MeasurementRequest:
    """What is to be measured, and with what.

    ``settings`` hold the plank, the reference's kind, the hints and the limits; ``camera`` is the camera's file;
    ``hull`` the hull's settings, where there are any; ``known_mm`` known places of station cards in mm by number.
    ``seam`` asks for the width of a seam seen face-on, which only :func:`fitcheck.answering.gap_answers.gap_request`
    answers. :func:`fitcheck.answering.read_request.read_request` makes one from text and the hull's settings.

    >>> from fitcheck.contract.hints import Hints
    >>> settings = Settings(reference="id1", thickness_mm=12.7, hints=Hints(line_at_px=((1020.0, 766.0),)))
    >>> request = MeasurementRequest(photos=(Path("lap.jpg"),), camera=Path("phone.json"), settings=settings)
    >>> request.record.wanted is None, request.planing.ends
    (True, 'free')
    """

    photos: tuple[Path, ...]
    camera: Path
    settings: Settings
    hull: Hull | None = None
    known_mm: Mapping[int, float] = field(default_factory=dict)
    planing: PlaningTerms = field(default_factory=PlaningTerms)
    record: ForRecord = field(default_factory=ForRecord)
    output: Output = field(default_factory=Output)
    seam: bool = False
