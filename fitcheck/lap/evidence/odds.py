"""From a network's scores to odds: how many times likelier a mark in a row makes the picture than one anywhere."""

from __future__ import annotations

import numpy as np

#: Score of a cell in which nothing is seen.
UNSEEN = -30.0


def row_odds(
    scores: np.ndarray, none: float, allowed: np.ndarray, *, absent_share: float, floor: float
) -> tuple[np.ndarray, np.ndarray]:
    """Logarithmic odds (R, C) of each row against an even chance, and (C,) of the mark's absence.

    ``scores`` (R, C) and ``none`` are the network's; ``allowed`` (R, C) the rows where the mark may lie and wood is
    seen. ``absent_share`` is in how many columns of the training the mark was absent. The network may be wrong
    anywhere: with chance ``floor`` it tells nothing, so a column never speaks more strongly than that against a row.
    """
    score = np.where(allowed, scores, UNSEEN)
    top = np.maximum(score.max(axis=0), none)
    each, absent = np.exp(score - top), np.exp(none - top)
    whole = each.sum(axis=0) + absent
    rows = np.maximum(allowed.sum(axis=0), 1)
    likely = each / whole * rows / (1.0 - absent_share)
    odds = np.log((1.0 - floor) * likely + floor)
    odds_absent = np.log((1.0 - floor) * absent / whole / absent_share + floor)
    blind = allowed.sum(axis=0) == 0
    return np.where(blind, 0.0, odds), np.where(blind, 0.0, odds_absent)


def by_steps(columns: np.ndarray, wide: int) -> np.ndarray:
    """Sums (..., T) over each ``wide`` columns of an array (..., C); what is left over at the end is dropped."""
    steps = columns.shape[-1] // wide
    return np.asarray(columns[..., : steps * wide].reshape(*columns.shape[:-1], steps, wide).sum(axis=-1))
