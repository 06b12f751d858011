"""The printed board as a thing of known shape: how many inner corners it has, and how far apart they are."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from fitcheck.ground.lengths import decimal_point, parse_length
from fitcheck.ground.refusal import WrongCall

_COUNT = re.compile(r"\s*(\d{1,2})\s*[xX×]\s*(\d{1,2})\s*")
FEWEST_CORNERS, MOST_CORNERS = 4, 40
MOST_PITCH_RATIO = 1.05


@dataclass(frozen=True)
class Board:
    """A board of squares: ``columns`` x ``rows`` inner corners, columns never fewer; the pitches, in mm, each way.

    >>> Board(9, 6, 25.0, 25.1).points_mm()[[0, 1, 9]].tolist()
    [[0.0, 0.0, 0.0], [25.0, 0.0, 0.0], [0.0, 25.1, 0.0]]
    """

    columns: int
    rows: int
    pitch_across_mm: float
    pitch_down_mm: float

    @property
    def size(self) -> tuple[int, int]:
        """Inner corners as (columns, rows)."""
        return self.columns, self.rows

    @property
    def told_apart(self) -> bool:
        """Whether the board's two ends differ (an odd sum of columns and rows), so that a half turn of it shows."""
        return (self.columns + self.rows) % 2 == 1

    def points_mm(self) -> np.ndarray:
        """The corners (columns * rows, 3), row by row, x along the columns, z zero."""
        x, y = np.meshgrid(np.arange(self.columns) * self.pitch_across_mm, np.arange(self.rows) * self.pitch_down_mm)
        return np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)])


def parse_board(corners: str, square: str) -> Board:
    """The board that ``--corners 9x6`` and ``--square 25mm`` or ``--square 25mm,25.1mm`` (across, down) tell of.

    A board named the other way round, 6x9, is the same board turned, and its two pitches turn with it. Raises
    :class:`WrongCall` where either cannot be read or no board is like that.

    >>> parse_board("6x9", "25.1mm, 25mm")
    Board(columns=9, rows=6, pitch_across_mm=25.0, pitch_down_mm=25.1)
    """
    count = _COUNT.fullmatch(corners)
    if count is None:
        raise WrongCall(f"cannot read --corners {corners!r}; count the inner corners, as 9x6")
    columns, rows = int(count[1]), int(count[2])
    if not FEWEST_CORNERS <= min(columns, rows) <= max(columns, rows) <= MOST_CORNERS:
        raise WrongCall(f"--corners {corners}: each way from {FEWEST_CORNERS} to {MOST_CORNERS} inner corners")
    pitches = [parse_length(part) for part in decimal_point(square).split(",")]
    if len(pitches) > 2 or min(pitches) <= 0:
        how = "give one square's side as 25mm, or across and down as 25mm,25.1mm"
        raise WrongCall(f"cannot read --square {square!r}; {how}")
    across, down = pitches[0], pitches[-1]
    if max(across, down) > MOST_PITCH_RATIO * min(across, down):
        raise WrongCall(f"--square {square}: the two sides differ by more than a print does; measure them again")
    return Board(columns, rows, across, down) if columns >= rows else Board(rows, columns, down, across)
