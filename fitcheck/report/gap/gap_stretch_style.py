"""How the stretches of an edge-on view are shown: colour, hatch and words, in pictures and charts alike."""

from __future__ import annotations

from fitcheck.report.drawing.palette import BLACK, GREEN, GREY, VERMILION, Look

GAP_LOOKS = {
    "open": Look(VERMILION, "/", "open"),
    "closed": Look(GREEN, "", "closed"),
    "unsure": Look(GREY, "x", "unsure"),
    "covered": Look(BLACK, "|", "covered"),
}
