"""What is said first of a fit: one headline for its advice, the same on every face of the report and in the record."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

#: Headlines as they are stored, with how they are shown and what they ask of the builder.
HEADLINES = {
    "good": ("GOOD", "The edge is on its line wherever it was judged. Before fastening, see the lap closed as well."),
    "plane": ("PLANE", "Take off what is told below and no more, clamp dry again, and photograph again."),
    "slide first": (
        "SLIDE FIRST",
        "Planing cannot mend how the plank lies, a move can: move it, clamp it dry, photograph it again. Plane nothing "
        "before that.",
    ),
    "short": (
        "SHORT",
        "The edge is surely short, and planing cannot mend it. Settle that before any wood comes off.",
    ),
    "recut": (
        "RECUT",
        "The edge is surely short: planing cannot mend it, and no move that was tried does.",
    ),
    "look again": ("LOOK AGAIN", "Too long a stretch has no sure answer yet: see below, and photograph again."),
}
#: Of several answers for one fit the one that holds the plane back most is the fit's.
FIRST_OF_ALL = ("slide first", "recut", "short", "plane", "look again", "good")


def headline_of(planing: Mapping[str, Any]) -> str | None:
    """Which of :data:`HEADLINES` the advice comes under, by its ``verdict`` and what it puts ``first``; None without.

    Advice from before a slide was looked for unasked has no ``first``: a new plank is not said on its word.

    >>> headline_of({"verdict": "look again", "first": "slide"}), headline_of({"verdict": "plane", "first": None})
    ('slide first', 'plane')
    >>> headline_of({"verdict": "recut", "first": None}), headline_of({"verdict": "recut"})
    ('recut', 'short')
    """
    verdict = planing.get("verdict")
    first = planing.get("first", "short" if verdict == "recut" else None)
    return {"slide": "slide first", "short": "short"}.get(str(first), verdict)
