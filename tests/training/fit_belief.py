"""How far is the trained score to be believed? ``python -m tests.training.fit_belief --strips FOLDER``.

Neighbouring columns show the same streak of grain, and a network is surest where it is wrong in a new way, so its
scores count by a weight only, and by a floor under each. Both, and the fairness of a mark's path, are fitted here on
boards that were not trained on: one value is changed at a time, the one that gives the true marks the highest mean log
chance is kept, twice round. Prints what each trial gave and, last, the lines for fitcheck/lap/evidence/look_odds.py.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from fitcheck.lap.evidence import look_odds as odds
from fitcheck.lap.evidence import marks
from fitcheck.lap.evidence.look_odds import Belief, look_odds
from fitcheck.lap.evidence.marks import find_marks
from fitcheck.lap.evidence.path import Path as MarkPath
from fitcheck.lap.square_on.scored_look import U_STRAIGHT_MM
from tests.training.boards import boards_for
from tests.training.crops import CLEAR_MM, U_WIDTH_MM
from tests.training.strips import LapStrip, load_strips

#: What is tried of each value.
WEIGHTS, FLOORS, BENDS, STOPS = (0.03, 0.06, 0.1, 0.16, 0.25), (0.02, 0.05, 0.1), (0.1, 0.2, 0.3), (0.002, 0.005, 0.02)
#: A mark that runs within this of the truth is rightly placed; a chance of nothing would weigh without end.
NEAR_MM, LEAST = 0.3, 1e-3
HIDDEN_MM = 0.1


@dataclass(frozen=True)
class Believed:
    """The two marks' beliefs on trial."""

    edge: Belief
    line: Belief


@contextmanager
def on_trial(belief: Believed) -> Iterator[None]:
    """Let the measure believe so for the time being."""
    was = odds.EDGE, odds.PENCIL
    try:
        odds.EDGE = marks.EDGE = belief.edge
        odds.PENCIL = marks.PENCIL = belief.line
        yield
    finally:
        odds.EDGE = marks.EDGE = was[0]
        odds.PENCIL = marks.PENCIL = was[1]


def worth(belief: Believed, laps: Sequence[LapStrip]) -> np.ndarray:
    """Mean log chance (2,) of the true edge and the true line, or of its absence, over all clear places."""
    each: tuple[list[np.ndarray], list[np.ndarray]] = ([], [])
    with on_trial(belief):
        for number, lap in enumerate(laps):
            edge, line = _chances(lap, np.random.default_rng(number))
            each[0].append(edge)
            each[1].append(line)
    return np.array([np.log(np.concatenate(one) + LEAST).mean() for one in each])


def _chances(lap: LapStrip, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """The chance given to what is true, at each clear place, of edge and of line."""
    width = lap.width_mm + rng.normal(0.0, U_WIDTH_MM)
    found = look_odds(
        lap.light,
        lap.seen,
        lap.along_mm,
        lap.down_mm,
        width_mm=np.full(len(lap.along_mm), width),
        u_twist_mm=np.full(len(lap.along_mm), U_STRAIGHT_MM),
        hidden=width < HIDDEN_MM,
        px_per_mm=lap.px_per_mm,
    )
    both = find_marks([found], u_width_mm=U_WIDTH_MM, witness_mm=lap.witness_mm)
    true = (lap.inner_mm, lap.line_mm, lap.clamp_mm)
    inner, line, clamp = (np.interp(both.along_mm, lap.along_mm, one) for one in true)
    there = np.interp(both.along_mm, lap.along_mm, lap.line_seen) > 0.5
    clear = (clamp > CLEAR_MM) & np.isfinite(inner) & np.isfinite(line)
    on_line = np.where(there, _near(both.line, lap.down_mm, line), both.line.absent)
    return _near(both.edge, lap.down_mm, inner)[clear], on_line[clear]


def _near(path: MarkPath, down_mm: np.ndarray, true_mm: np.ndarray) -> np.ndarray:
    return np.asarray((path.in_row * (np.abs(down_mm[:, None] - true_mm[None]) <= NEAR_MM)).sum(axis=0))


def trials(belief: Belief) -> Iterator[list[Belief]]:
    """The belief with one of its values changed, value by value."""
    yield [replace(belief, weight=one) for one in {*WEIGHTS, belief.weight}]
    yield [replace(belief, floor=one) for one in {*FLOORS, belief.floor}]
    yield [replace(belief, fairness=replace(belief.fairness, bends=one)) for one in {*BENDS, belief.fairness.bends}]
    if belief.fairness.stops:
        stops = {*STOPS, belief.fairness.stops}
        yield [replace(belief, fairness=replace(belief.fairness, stops=one)) for one in stops]


def fitted(laps: Sequence[LapStrip], start: Believed, rounds: int = 2) -> Believed:
    """The beliefs that give the truth the most; edge first, since the line is looked for below it."""
    best = start
    for _ in range(rounds):
        for at, mark in enumerate(("edge", "line")):
            # What comes next starts from what is best so far.
            for number in range(sum(1 for _ in trials(getattr(best, mark)))):
                tried = list(trials(getattr(best, mark)))[number]
                told = [(float(worth(replace(best, **{mark: one}), laps)[at]), one) for one in tried]
                for value, one in told:
                    print(f"{mark} {value:.3f} {one}", flush=True)
                best = replace(best, **{mark: max(told, key=lambda pair: pair[0])[1]})
    return best


def main(arguments: Sequence[str] | None = None) -> None:
    """Fit on the strips whose boards are all kept for fitting."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--strips", type=Path, required=True)
    parser.add_argument("--rounds", type=int, default=2)
    given = parser.parse_args(arguments)
    every = [load_strips(path) for path in sorted(given.strips.glob("*.npz"))]
    laps = [one.lap for one in every if one.lap is not None and set(one.woods) <= set(boards_for("fitted"))]
    if not laps:
        raise SystemExit(f"{given.strips} holds no strips of the boards kept for fitting.")
    best = fitted(laps, Believed(odds.EDGE, odds.PENCIL), given.rounds)
    print(f"EDGE = {best.edge}\nPENCIL = {best.line}")


if __name__ == "__main__":
    main()
