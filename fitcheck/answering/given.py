"""What a builder gives with photographs, as it is typed: text that the reader turns into mm and degrees."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from fitcheck.contract.hints import Hints


@dataclass(frozen=True, kw_only=True)
class Given:
    """What is said of one lap and its reference; what is None is the hull's, then the program's own.

    Lengths are text as a builder writes them (``1/2in``, ``12.7mm``), a bevel ``6deg``, a gain
    ``14in,1/4in,0in,eased``, the easing of an inner corner ``0.3mm`` or ``sharp``. ``plank`` is a name such as
    ``4 port``; ``at`` the place along it where the reference's middle lies; ``stations`` a CSV file of the places of
    station cards. ``hints`` are the places pointed at, and the keel.
    """

    plank: str | None = None
    reference: str | None = None
    thickness: str | None = None
    lap: str | None = None
    bevel: str | None = None
    witness: str | None = None
    eased: str | None = None
    limit: str | None = None
    gain: str | None = None
    gain_ends: str | None = None
    at: str | None = None
    stations: Path | None = None
    units: str | None = None
    fraction: int | None = None
    hints: Hints = field(default_factory=Hints)


@dataclass(frozen=True, kw_only=True)
class GivenMove:
    """What is said of moving and planing the plank, as text.

    ``may_slide`` and ``may_swing`` are how far it may still move, None where nobody said; ``ends`` "free" or "held";
    ``prefer`` "least-wood" or "shallowest"; ``edge_line`` what the edge should do with the line: "split", "take" or
    "leave" it.
    """

    may_slide: str | None = None
    may_swing: str | None = None
    ends: str = "free"
    prefer: str = "least-wood"
    edge_line: str = "split"
