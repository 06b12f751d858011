"""Whether the lap is closed: edge-on photographs and feeler readings laid on the places of the plank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitcheck.fitlog.fit_profile import UNSEEN, Sample, grid_mm, nearest, trimmed
from fitcheck.fitlog.judged_by import Terms

if TYPE_CHECKING:
    from fitcheck.fitlog.withdrawn import Withdrawn

#: Leaves stamped 0.004 in and 0.10 mm are one leaf: a difference this small is none.
BLADE_MM = 0.0025


@dataclass(frozen=True)
class GapSample:
    """One recorded place of an edge-on view: the opening of the lap with its 95 % half-width, or none where covered.

    ``eased`` says that the plank's inner corner is, or may be, eased there.
    """

    place_mm: float
    gap_mm: float | None
    gap_u95_mm: float | None
    state: str
    eased: bool = False


@dataclass(frozen=True)
class Feeler:
    """One reading by hand: a blade of ``blade_mm`` tried from ``from_mm`` to ``to_mm``, and whether it went in.

    On record it also has a number among those of its plank, a time, who took it, a note, and why it was withdrawn.
    """

    from_mm: float
    to_mm: float
    blade_mm: float
    goes_in: bool
    number: int = 0
    made_at: str = ""
    who: str | None = None
    note: str = ""
    withdrawn: Withdrawn | None = None


def lap_profile(
    takes: Sequence[Sequence[GapSample]], feelers: Sequence[Feeler], terms: Terms, edge: Sequence[Sample]
) -> list[Sample]:
    """The lap at every place of the plank: "closed" within the limit, "open" beyond it, "unsure" or "unseen".

    ``takes`` are sorted by place; ``feelers`` in the order of entry, the later going before the earlier; the places
    are those of the edge's profile, or of the plank where its ends are told. A gap is closed where gap + u95 is
    within the limit and open where gap - u95 is beyond it. A blade no thicker than the limit that stays out says
    closed, unless a photograph surely shows it open; a blade as thick as the limit, or thicker, that goes in says
    open. A reading speaks for its stretch, and half of ``terms.feeler_every_mm`` beyond a single place.
    """
    keys = [[sample.place_mm for sample in take] for take in takes]
    seen = [sample.place_mm for take in takes for sample in take] + [place.place_mm for place in edge]
    seen += [end for feeler in feelers for end in (feeler.from_mm, feeler.to_mm)]
    if not seen:
        return []
    first = terms.from_mm if terms.from_mm is not None else min(seen)
    last = terms.to_mm if terms.to_mm is not None else max(seen)
    found = []
    for place_mm in grid_mm(first, last):
        near = [nearest(take, key, place_mm) for take, key in zip(takes, keys, strict=True)]
        found.append(_at(place_mm, [sample for sample in near if sample is not None], feelers, terms))
    return trimmed(found)


def _at(place_mm: float, near: Sequence[GapSample], feelers: Sequence[Feeler], terms: Terms) -> Sample:
    words = [_seen(sample, terms.gap_limit_mm) for sample in near]
    widest = max((s for s in near if s.gap_mm is not None), key=lambda s: s.gap_mm or 0.0, default=None)
    gap_mm, u95_mm = (widest.gap_mm, widest.gap_u95_mm) if widest else (None, None)
    felt = _felt(place_mm, feelers, terms)
    if "open" in words or felt == "open":
        return Sample(place_mm, gap_mm, u95_mm, "open")
    word = felt or next((word for word in ("closed", "unsure") if word in words), UNSEEN)
    return Sample(place_mm, gap_mm, u95_mm, word, eased=any(sample.eased for sample in near))


def _seen(sample: GapSample, limit_mm: float) -> str:
    if sample.gap_mm is None or sample.gap_u95_mm is None:
        return UNSEEN
    if sample.gap_mm - sample.gap_u95_mm > limit_mm:
        return "open"
    return "closed" if sample.gap_mm + sample.gap_u95_mm <= limit_mm else "unsure"


def _felt(place_mm: float, feelers: Sequence[Feeler], terms: Terms) -> str | None:
    for feeler in reversed(feelers):
        reach_mm = terms.feeler_every_mm / 2 if feeler.from_mm == feeler.to_mm else 0.0
        if not feeler.from_mm - reach_mm - 1e-6 <= place_mm <= feeler.to_mm + reach_mm + 1e-6:
            continue
        if feeler.goes_in and feeler.blade_mm >= terms.gap_limit_mm - BLADE_MM:
            return "open"
        if not feeler.goes_in and feeler.blade_mm <= terms.gap_limit_mm + BLADE_MM:
            return "closed"
    return None
