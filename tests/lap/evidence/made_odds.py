"""Made evidence of one look: odds that rise about the rows where edge and line are drawn, and nothing else."""

from __future__ import annotations

import numpy as np

from fitcheck.lap.evidence.look_odds import COLUMN_MM, LINE, ROW_MM, WIDE, LookOdds
from fitcheck.lap.evidence.network import load_network
from fitcheck.lap.evidence.odds import by_steps

DOWN = np.arange(-14.0, 28.0, ROW_MM)
COLUMNS = np.arange(-150.0, 150.0, COLUMN_MM)
ALONG = by_steps(COLUMNS, WIDE) / WIDE
#: How wide a mark is drawn (standard deviation).
U_MM = 0.25


def ridge(columns: int, at_mm: float, worth: float) -> np.ndarray:
    """A field (R, ``columns``) that is ``worth`` at ``at_mm`` and nothing a little further off."""
    return np.repeat(worth * np.exp(-0.5 * ((DOWN - at_mm) / U_MM) ** 2)[:, None], columns, axis=1)


def made_look(
    *,
    inner_mm: float = 3.0,
    width_mm: float = 3.0,
    told_width_mm: float | None = None,
    hidden: bool = False,
    lines_mm: tuple[float, ...] = (7.0,),
    edge_worth: float = 1.5,
    line_worth: float = 12.0,
    noise: float = 0.0,
    seed: int = 0,
) -> LookOdds:
    """A look whose inner corner lies at ``inner_mm``, its outer one ``width_mm`` above, its line at ``lines_mm``.

    ``told_width_mm`` is the width that is expected, the true one if not given.
    """
    rng = np.random.default_rng(seed)
    steps = len(ALONG)
    shaken = lambda field: field + noise * rng.normal(size=field.shape)  # noqa: E731
    outer = shaken(ridge(steps, inner_mm - width_mm, edge_worth) - 0.05)
    inner = None if hidden else shaken(ridge(steps, inner_mm, edge_worth) - 0.05)
    none = float(load_network("edge_and_line").none[LINE])
    scores = np.full((len(DOWN), len(COLUMNS)), none - 8.0)
    for at in lines_mm:
        scores += ridge(len(COLUMNS), at, line_worth)
    told = np.full(steps, width_mm if told_width_mm is None else told_width_mm)
    seen = np.ones(scores.shape, bool)
    none_of_edge, no_twist = np.full(steps, -1.0), np.zeros(steps)
    return LookOdds(DOWN, ALONG, COLUMNS, outer, inner, none_of_edge, told, no_twist, shaken(scores), seen)
