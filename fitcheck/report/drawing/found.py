"""What was found and not chosen: cards, edges and lines drawn lettered on a picture, and what each letter says."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from fitcheck.ground.candidates import Candidate
from fitcheck.report.drawing.canvas import Letters, draw_line, text_size
from fitcheck.report.drawing.palette import BLACK, EDGE, LINE, REFERENCE, WHITE

#: Dashes by rank, in letter sizes: the likeliest has the longest.
DASHES = (1.0, 0.5, 0.25)
#: How far a letter stands from its path, in letter sizes.
AWAY = 1.5
NAMES = {"card": "the card", "edge": "the plank's edge"}


def draw_found(
    pixels: np.ndarray,
    candidates: Sequence[Candidate],
    shown: Callable[[np.ndarray], np.ndarray],
    letters: Letters,
    *,
    size: int,
    toward_sheer: int = -1,
) -> None:
    """Draw the candidates into ``pixels`` (H, W, 3) RGB; ``shown`` takes their points (N, 2) to it.

    Edges are drawn blue and lettered on the plank's side, lines yellow and lettered on the other; each letter stands
    at a place of its own along the lap, with a stroke to its path.
    """
    wide = max(2, size // 16)
    for one in candidates:
        points = shown(np.array(one.points_px, float))
        if one.kind == "card":
            draw_line(pixels, np.vstack([points, points[:1]]), REFERENCE, wide)
            continue
        dash = size * DASHES[min(one.rank, len(DASHES)) - 1]
        colour, casing = (EDGE, WHITE) if one.kind == "edge" else (LINE, BLACK)
        draw_line(pixels, points, colour, wide, dash_px=dash, casing=casing)
    named = _longest_of_each(candidates)
    for number, one in enumerate(named):
        _letter(pixels, one, shown, letters, size, (number + 1) / (len(named) + 1), toward_sheer)


def _longest_of_each(candidates: Sequence[Candidate]) -> list[Candidate]:
    """The longest part of each lettered candidate, in the letters' order."""
    longest: dict[str, Candidate] = {}
    for one in candidates:
        if one.letter and len(one.points_px) > len(longest.get(one.letter, Candidate("", ())).points_px):
            longest[one.letter] = one
    return [longest[letter] for letter in sorted(longest)]


def _letter(
    pixels: np.ndarray,
    one: Candidate,
    shown: Callable[[np.ndarray], np.ndarray],
    letters: Letters,
    size: int,
    share: float,
    toward_sheer: int,
) -> None:
    points = shown(np.array(one.points_px, float))
    high, across = pixels.shape[:2]
    # A share of its own length: paths that end alike are not lettered at one place.
    foot = points[np.argsort(points[:, 0])][round(share * (len(points) - 1))]
    side = toward_sheer if one.kind == "edge" else -toward_sheer
    wide, tall = text_size(one.letter, size)
    middle = foot + np.array([0.0, side * (AWAY * size + tall / 2)])
    middle = np.clip(middle, (wide, tall / 2 + size / 4), (across - wide, high - tall / 2 - size / 4))
    draw_line(pixels, np.array([foot, middle]), BLACK, max(1, size // 24), casing=WHITE)
    letters.write((float(middle[0] - wide / 2), float(middle[1] - tall / 2)), one.letter, size)


def found_words(candidates: Sequence[Candidate], line_words: str = "lap line") -> dict[str, str]:
    """What each letter stands for, in the letters' order; with the chance of a line where there is one.

    >>> found_words([Candidate("edge", (), 1, None, "A"), Candidate("line", (), 1, 0.306, "B")])
    {'A': "taken for the plank's edge", 'B': 'could be the lap line, 31 in 100'}
    """
    kinds = {one.kind: {other.letter for other in candidates if other.kind == one.kind} for one in candidates}
    said: dict[str, str] = {}
    for one in sorted(candidates, key=lambda one: one.letter):
        if one.letter:
            alone = one.kind != "line" and len(kinds[one.kind]) == 1
            name = NAMES.get(one.kind, f"the {line_words}")
            said[one.letter] = f"{'taken for' if alone else 'could be'} {name}{_chance(one)}"
    return said


def _chance(one: Candidate) -> str:
    if one.odds is None:
        return ", less likely" if one.rank > 1 else ""
    return f", {round(100 * one.odds)} in 100" if one.odds >= 0.01 else ", under 1 in 100"


def pointing_words(candidates: Sequence[Candidate], line_words: str = "lap line") -> list[tuple[str, str]]:
    """Each edge and line that was found, and the option that points at it.

    >>> pointing_words([Candidate("line", ((10.2, 20.0), (30.0, 22.4), (50.0, 25.0)), 1, None, "B")])
    [('B: could be the lap line', '--line-at 30,22')]
    """
    words = found_words(candidates, line_words)
    told = []
    for one in _longest_of_each(candidates):
        if one.kind in ("edge", "line"):
            u, v = one.points_px[len(one.points_px) // 2]
            told.append((f"{one.letter}: {words[one.letter]}", f"--{one.kind}-at {u:.0f},{v:.0f}"))
    return told
