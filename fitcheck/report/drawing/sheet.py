"""A PDF drawn in millimetres from the top left of each page, printed at true size."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from fitcheck.ground.refusal import WrongCall

PAPERS_MM = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
MM_PT = 72.0 / 25.4
#: A PDF page ends at 200 inches.
LONGEST_PAGE_MM = 5080.0
BLACK, WHITE = (0, 0, 0), (255, 255, 255)

Colour = tuple[int, int, int]
Point = tuple[float, float]


def paper_mm(paper: str) -> tuple[float, float]:
    """Width and height of a sheet, upright. Raises :class:`WrongCall` for a paper not in :data:`PAPERS_MM`."""
    if paper not in PAPERS_MM:
        raise WrongCall(f"paper {paper!r} is not known: give {' or '.join(PAPERS_MM)}")
    return PAPERS_MM[paper]


@lru_cache(maxsize=1)
def _fonts() -> tuple[str, str]:
    """The plain and the bold face, embedded so that every printer has them."""
    import matplotlib
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name in ("DejaVuSans", "DejaVuSans-Bold"):
        pdfmetrics.registerFont(TTFont(name, str(folder / f"{name}.ttf")))
    return "DejaVuSans", "DejaVuSans-Bold"


class Sheet:
    """Pages of one PDF. All places and sizes are mm from the top left, letters pt.

    >>> sheet = Sheet((210, 297), "A card")
    >>> sheet.text((10, 10), "true size", 12)
    >>> sheet.data()[:5]
    b'%PDF-'
    """

    def __init__(self, size_mm: tuple[float, float], title: str) -> None:
        from reportlab.pdfgen.canvas import Canvas

        self._held = io.BytesIO()
        self._size_mm = size_mm
        # Invariant: the same measurement gives the same file.
        self._pen: Any = Canvas(
            self._held, pagesize=(size_mm[0] * MM_PT, size_mm[1] * MM_PT), invariant=1, pageCompression=1
        )
        self._pen.setTitle(title)
        self._pen.setAuthor("fitcheck")
        self._pen.setViewerPreference("PrintScaling", "None")
        self.plain, self.bold = _fonts()

    def _at(self, point: Point) -> Point:
        return point[0] * MM_PT, (self._size_mm[1] - point[1]) * MM_PT

    def line(
        self, points: Sequence[Point], colour: Colour = BLACK, width_mm: float = 0.25, dash_mm: Sequence[float] = ()
    ) -> None:
        """A line through points."""
        self._stroke(colour, width_mm, dash_mm)
        self._pen.drawPath(self._path(points))

    def area(
        self, points: Sequence[Point], fill: Colour, *, outline: Colour | None = None, width_mm: float = 0.25
    ) -> None:
        """A filled area."""
        self._stroke(outline or fill, width_mm, ())
        self._pen.setFillColorRGB(*(part / 255 for part in fill))
        self._pen.drawPath(self._path(points, close=True), fill=1, stroke=outline is not None)

    def hatched(
        self,
        points: Sequence[Point],
        colour: Colour,
        *,
        pitch_mm: float = 1.6,
        width_mm: float = 0.35,
        slant: float = 1.0,
    ) -> None:
        """An area hatched with strokes that lean ``slant`` mm sideways for each mm down; 0 gives bars."""
        self._pen.saveState()
        self._pen.clipPath(self._path(points, close=True), stroke=0, fill=0)
        left, right = min(x for x, _ in points), max(x for x, _ in points)
        top, bottom = min(y for _, y in points), max(y for _, y in points)
        lean = (bottom - top) * slant
        self._stroke(colour, width_mm, ())
        at = left - max(0.0, lean)
        while at < right + max(0.0, -lean):
            self._pen.drawPath(self._path([(at + lean, top), (at, bottom)]))
            at += pitch_mm
        self._pen.restoreState()

    def text(
        self,
        at: Point,
        words: str,
        size_pt: float,
        *,
        bold: bool = False,
        colour: Colour = BLACK,
        align: str = "left",
        most_mm: float | None = None,
    ) -> None:
        """One line of words, its baseline at ``at``; made smaller where it would be wider than ``most_mm``."""
        face = self.bold if bold else self.plain
        wide = self.text_mm(words, size_pt, bold=bold)
        if most_mm is not None and wide > most_mm:
            size_pt, wide = size_pt * most_mm / wide, most_mm
        shift = {"left": 0.0, "centre": -wide / 2, "right": -wide}[align]
        self._pen.setFont(face, size_pt)
        self._pen.setFillColorRGB(*(part / 255 for part in colour))
        self._pen.drawString(*self._at((at[0] + shift, at[1])), words)

    def block(self, at: Point, words: str, size_pt: float, width_mm: float, *, bold: bool = False) -> float:
        """Words folded to a width, the first baseline at ``at``; gives the next free baseline in mm."""
        from reportlab.lib.utils import simpleSplit

        lead = size_pt / MM_PT * 1.3
        left, top = at
        for line in simpleSplit(words, self.bold if bold else self.plain, size_pt, width_mm * MM_PT):
            self.text((left, top), line, size_pt, bold=bold)
            top += lead
        return top

    def text_mm(self, words: str, size_pt: float, *, bold: bool = False) -> float:
        """How wide a line of words is."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        return float(stringWidth(words, self.bold if bold else self.plain, size_pt)) / MM_PT

    def check_bar(self, at: Point, length_mm: float = 100.0) -> None:
        """A bar of a stated length to check the printer by, its left end at ``at``."""
        left, top = at
        self.line([(left, top), (left + length_mm, top)], width_mm=0.3)
        for end in (left, left + length_mm):
            self.line([(end, top - 2), (end, top + 2)], width_mm=0.15)
        words = f"{length_mm:g} mm: lay a rule on it. If it differs, print again at 100 %, no scaling."
        self.text((left + 2, top - 1.0), words, 6.5, most_mm=length_mm - 4)

    def new_page(self) -> None:
        """Begin the next page."""
        self._pen.showPage()

    def data(self) -> bytes:
        """The finished PDF."""
        self._pen.save()
        return self._held.getvalue()

    def _stroke(self, colour: Colour, width_mm: float, dash_mm: Sequence[float]) -> None:
        self._pen.setStrokeColorRGB(*(part / 255 for part in colour))
        self._pen.setLineWidth(width_mm * MM_PT)
        self._pen.setDash([part * MM_PT for part in dash_mm])

    def _path(self, points: Sequence[Point], *, close: bool = False) -> Any:
        path = self._pen.beginPath()
        path.moveTo(*self._at(points[0]))
        for point in points[1:]:
            path.lineTo(*self._at(point))
        if close:
            path.close()
        return path
