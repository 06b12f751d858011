"""The sheet of the hull: every strake on both sides by where it stands, as a picture and as one HTML page."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck import __version__
from fitcheck.fitlog.listing import STATES, Standing, standings_at
from fitcheck.ground.files import write_text
from fitcheck.report.drawing.cautions import CAUTIONS
from fitcheck.report.drawing.palette import BLUE, GREEN, GREY, SKY, VERMILION, WHITE, YELLOW, Look, hex_of
from fitcheck.report.record import record_lines
from fitcheck.report.record.history_page import data_uri, rendered

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

#: Letters of 12 px where a phone shows the sheet as wide as its page.
LETTERS_PT = 12.2
#: How a plank's standing is shown: colour, hatch (the second cue) and the word itself.
STANDING_LOOKS = {
    "not begun": Look(WHITE, "", "not begun"),
    "look again": Look(GREY, "|", "look again"),
    "recut": Look(BLUE, "x", "recut"),
    "plane": Look(VERMILION, "/", "plane"),
    "slide first": Look(SKY, "\\", "slide first"),
    "short": Look(SKY, "o", "short"),
    "planed": Look(VERMILION, ".", "clamp again"),
    "close the lap": Look(YELLOW, "\\", "close the lap"),
    "ready to sign": Look(GREEN, "-", "ready to sign"),
    "signed": Look(GREEN, "", "signed"),
}


def write_hull_sheet(hull: Hull, path: Path) -> Path:
    """Write the hull's sheet as one HTML file.

    Raises :class:`WrongCall` where the record cannot be read or the file cannot be written.
    """
    return write_text(path, hull_html(hull, standings_at(hull)))


def hull_html(hull: Hull, found: Sequence[Standing]) -> str:
    """The page: the picture, what needs doing next, and the cautions."""
    counts = [(STANDING_LOOKS[s].words, sum(f.state == s for f in found)) for s in STATES]
    signed = sum(standing.state == "signed" for standing in found)
    sheet = hull_sheet(hull, found)
    return rendered(
        "history_hull.html",
        title=hull.name,
        headline=f"{signed} of {len(found)} planks signed off",
        date=f"{datetime.now():%Y-%m-%d %H:%M}",
        sheet=data_uri(sheet, "image/svg+xml") if sheet else None,
        counts=[f"{count} {words}" for words, count in counts if count],
        rows=[_row(standing, hull) for standing in found],
        cautions=CAUTIONS,
        version=__version__,
    )


def hull_sheet(hull: Hull, found: Sequence[Standing], *, kind: str = "svg") -> bytes | None:
    """All strakes by state as "svg" or "png" bytes, as seen from the bow: starboard on the left, the garboard lowest.

    None where no strake is listed and nothing is on record.
    """
    if not found:
        return None
    from matplotlib import rc_context
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    strakes = sorted({standing.plank.strake for standing in found})
    figure = Figure(figsize=(5.2, 1.1 + 0.55 * len(strakes)), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    for row, strake in enumerate(strakes):
        named = hull.strake(strake)
        label = f"{strake}" + (f" {named.name}" if named and named.name else "")
        axes.text(0.0, row + 0.5, label, ha="center", va="center", fontsize=LETTERS_PT, fontweight="bold")
        for side in ("starboard", "port"):
            planks = [standing for standing in found if (standing.plank.strake, standing.plank.side) == (strake, side)]
            _cells(axes, planks, row, side)
    for side, at in (("starboard", -2.75), ("port", 2.75)):
        axes.text(at, len(strakes) + 0.12, side, ha="center", va="bottom", fontsize=LETTERS_PT, fontweight="bold")
    axes.text(0.0, -0.12, "keel", ha="center", va="top", fontsize=LETTERS_PT)
    axes.set_xlim(-4.8, 4.8)
    axes.set_ylim(-0.4, len(strakes) + 0.6)
    axes.axis("off")
    held = io.BytesIO()
    with rc_context({"svg.hashsalt": "fitcheck", "svg.fonttype": "none", "hatch.linewidth": 0.8}):
        figure.savefig(held, format=kind, dpi=150, metadata={"Date": None} if kind == "svg" else {"Software": None})
    return held.getvalue()


def _cells(axes: Any, planks: Sequence[Standing], row: int, side: str) -> None:
    """The planks of one strake's side, the fore end next to the middle, where the bow is."""
    from matplotlib.patches import Rectangle

    width = 4.0 / max(1, len(planks))
    for i, standing in enumerate(planks):
        left = 0.75 + i * width if side == "port" else -0.75 - (i + 1) * width
        look = STANDING_LOOKS[standing.state]
        corner, extent = (left, row + 0.06), (width, 0.88)
        axes.add_patch(Rectangle(corner, *extent, facecolor=hex_of(look.colour), alpha=0.75, linewidth=0))
        axes.add_patch(Rectangle(corner, *extent, fill=False, edgecolor="black", hatch=look.hatch * 2, linewidth=1.2))
        words = f"{standing.plank.part}:\n{look.words}" if standing.plank.part else look.words
        box = {"facecolor": "white", "edgecolor": "none", "pad": 2.0, "alpha": 0.92}
        axes.text(left + width / 2, row + 0.5, words, ha="center", va="center", fontsize=LETTERS_PT, bbox=box)


def _row(standing: Standing, hull: Hull) -> dict[str, Any]:
    past, short, seen = record_lines.worst_words(standing.summary, hull)
    return {
        "plank": str(standing.plank),
        "state": standing.state,
        "fits": standing.fits or "none",
        "last": record_lines.day(standing.made_at) if standing.made_at else "",
        "past": past,
        "short": short,
        "seen": seen,
        "todo": standing.todo,
    }
