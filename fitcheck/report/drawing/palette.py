"""Colours that stay apart for colour-blind eyes, and the second cue that goes with each, for pictures and charts alike.

The colours are those of Okabe and Ito (Color Universal Design, 2008), as (red, green, blue).
"""

from __future__ import annotations

from dataclasses import dataclass

BLACK, WHITE, GREY = (0, 0, 0), (255, 255, 255), (110, 110, 110)
BLUE, SKY, GREEN = (0, 114, 178), (86, 180, 233), (0, 158, 115)
YELLOW, VERMILION = (240, 228, 66), (213, 94, 0)

#: The edge is drawn solid, the line dashed.
EDGE, LINE, REFERENCE = BLUE, YELLOW, WHITE


@dataclass(frozen=True)
class Look:
    """How one kind of stretch is shown: colour, hatch and words.

    Hatches are "/" strokes, "o" dots, "x" crosses, "|" bars, "-" lines along, "v" chevrons, "." few dots and "" plain.
    """

    colour: tuple[int, int, int]
    hatch: str
    words: str


LOOKS = {
    "plane": Look(VERMILION, "/", "plane here"),
    "past": Look(VERMILION, "x", "past"),
    "short": Look(SKY, "o", "short"),
    "on": Look(GREEN, "", "on"),
    "unsure": Look(GREY, "x", "unsure"),
    "hidden": Look(BLACK, "-", "hidden"),
    "covered": Look(BLACK, "|", "covered"),
    "ambiguous": Look(BLACK, "v", "ambiguous"),
    "unseen": Look(BLACK, ".", "unseen"),
}


def hex_of(colour: tuple[int, int, int]) -> str:
    """The colour as charts and pages write it.

    >>> hex_of(VERMILION)
    '#d55e00'
    """
    return "#{:02x}{:02x}{:02x}".format(*colour)
