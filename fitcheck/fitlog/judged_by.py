"""What a fit is judged by: the limits, and from where to where the plank runs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from fitcheck.fitlog.recorded_input import as_text
from fitcheck.hull.plank_name import PlankName, extent_mm

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull


@dataclass(frozen=True, kw_only=True)
class Terms:
    """Limits and extent, all in mm. ``from_mm`` and ``to_mm`` are None where the plank's ends are not told.

    The defaults are common practice without a published source.
    """

    limit_mm: float = 25.4 / 32
    gap_limit_mm: float = 0.10
    unseen_mm: float = 100.0
    feeler_every_mm: float = 300.0
    lap_mm: float | None = None
    least_lap_mm: float | None = None
    from_mm: float | None = None
    to_mm: float | None = None
    #: Counts up when the words a fit is summed up in change, so that no old summary is read by new ones.
    words: int = 2

    def key(self) -> str:
        """The terms as JSON text, the same for the same terms."""
        return as_text(asdict(self))


def terms_of(name: PlankName, hull: Hull | None, settings: Mapping[str, Any] | None = None) -> Terms:
    """The terms for one plank: from the hull's settings, or without any from the measurement's own."""
    if hull is None:
        settings = settings or {}
        return Terms(limit_mm=float(settings.get("limit_mm") or Terms.limit_mm), lap_mm=settings.get("lap_mm"))
    from_mm, to_mm = extent_mm(name, hull)
    limits = hull.limits
    return Terms(
        limit_mm=limits.edge_mm,
        gap_limit_mm=limits.gap_mm,
        unseen_mm=limits.unseen_mm,
        feeler_every_mm=limits.feeler_every_mm,
        lap_mm=hull.defaults(name.strake)["lap_mm"],
        least_lap_mm=limits.least_lap_mm,
        from_mm=from_mm,
        to_mm=to_mm,
    )
