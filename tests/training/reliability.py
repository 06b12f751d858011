"""Are the stated chances true? ``python -m tests.training.reliability places.json --out docs/reliability``.

From what tests.training.places kept of photographs on boards that nothing was trained on: the chance that was stated
for edge, line and state at each place, by tenths, beside the share in which it was so. Writes OUT.md and OUT.png.
"""

from __future__ import annotations

import argparse
import json
import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.contract.settings import THIRTY_SECOND_MM
from fitcheck.ground.uncertainty import COVERAGE
from fitcheck.lap.evidence.path import SAME_MARK_MM

TENTHS = np.linspace(0.0, 1.0, 11)
#: A tenth with fewer places is shown hollow, and its share is not held to anything.
ENOUGH = 500
#: Further off than this, and by more than the stated doubt, a place is sure and wrong.
WRONG_MM = 1.0


@dataclass(frozen=True)
class Tenth:
    """Places whose stated chance lies in one tenth: how many, the mean chance stated, the share in which it was so."""

    places: int
    stated: float
    observed: float


def by_tenths(stated: np.ndarray, so: np.ndarray) -> list[Tenth | None]:
    """Stated chances (N,) against what was so (N,), in ten equal steps; None for a step with no place."""
    tenth = np.clip(np.searchsorted(TENTHS, stated, side="right") - 1, 0, 9)
    groups = [tenth == number for number in range(10)]
    return [
        Tenth(int(one.sum()), float(stated[one].mean()), float(so[one].mean())) if one.any() else None for one in groups
    ]


def curves(photos: Sequence[Mapping[str, Any]]) -> dict[str, list[Tenth | None]]:
    """The tenths for edge, line and state."""
    every = all_places(photos)
    edge = np.abs(every["edge_off_mm"]) <= SAME_MARK_MM
    line = (np.abs(every["line_off_mm"]) <= SAME_MARK_MM) & every["line_there"]
    chance, so = states(every)
    return {
        "edge": by_tenths(every["edge_chance"], edge),
        "line": by_tenths(every["line_chance"], line),
        "state": by_tenths(chance, so),
    }


def all_places(photos: Sequence[Mapping[str, Any]]) -> dict[str, np.ndarray]:
    """The lists of all photographs' places, joined."""
    shown = [one["places"] for one in photos if one["places"]]
    if not shown:
        raise SystemExit("No photograph shows a lap that was looked along.")
    return {name: np.array([value for one in shown for value in one[name]]) for name in shown[0]}


def states(places: Mapping[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """At each measured place the chance of its likeliest state, past, on or short, and whether it is truly so."""
    measured = places["measured"].astype(bool)
    value, u = places["past_mm"][measured], places["u95_mm"][measured] / COVERAGE
    below = [_below((limit - value) / u) for limit in (-THIRTY_SECOND_MM, THIRTY_SECOND_MM)]
    each = np.array([below[0], below[1] - below[0], 1.0 - below[1]])
    truly = np.digitize(places["true_past_mm"][measured], (-THIRTY_SECOND_MM, THIRTY_SECOND_MM))
    return each.max(axis=0), each.argmax(axis=0) == truly


def _below(z: np.ndarray) -> np.ndarray:
    return np.array([0.5 * math.erfc(-one / math.sqrt(2.0)) for one in z])


def figures(photos: Sequence[Mapping[str, Any]]) -> dict[str, float]:
    """Accuracy over all: photographs measured, errors, doubt, and places that are sure and wrong."""
    every = all_places(photos)
    fair = [one for one in photos if one["fair"]]
    told = every["measured"].astype(bool)
    error, u95 = np.abs(every["past_mm"] - every["true_past_mm"])[told], every["u95_mm"][told]
    there = every["line_there"].astype(bool)
    return {
        "photographs": len(photos),
        "photographs measured": sum(not one["refused"] for one in photos),
        "photographs fair to ask": len(fair),
        "fair ones measured": sum(not one["refused"] for one in fair),
        "places measured": int(told.sum()),
        "share of places with the line in sight": float(told[there].mean()),
        "95 % of errors within, mm": float(np.quantile(error, 0.95)),
        "share of errors inside the stated doubt": float(np.mean(error <= u95)),
        "middle stated doubt, mm": float(np.median(u95)),
        "share of places sure and wrong": float(np.mean((error > WRONG_MM) & (error > u95))),
    }


def table(photos: Sequence[Mapping[str, Any]]) -> str:
    """All as Markdown."""
    lines = ["| stated chance | " + " | ".join(f"{name}: stated, was so (places)" for name in curves(photos)) + " |"]
    lines.append("|---|" + "---|" * 3)
    for number, row in enumerate(zip(*curves(photos).values(), strict=True)):
        lines.append(f"| {number * 10} to {number * 10 + 10} % | " + " | ".join(_cell(one) for one in row) + " |")
    lines += ["", "| | |", "|---|---|"]
    told = figures(photos).items()
    lines += [f"| {name} | {value if isinstance(value, int) else f'{value:.3f}'} |" for name, value in told]
    return "\n".join(lines) + "\n"


def _cell(tenth: Tenth | None) -> str:
    return "–" if tenth is None else f"{tenth.stated:.3f}, {tenth.observed:.3f} ({tenth.places})"


TEXT = """# Stated chances against what was so

Made by `python -m tests.training.reliability`, from {photographs} photographs of laps on the boards that tests/scenes
keeps back: none of them was trained on or fitted by. Edge and line are so where they truly run within {same} mm of
where they were said to; a line that is not in sight is never so. The state is past, on or short against a limit of
1/32 in, at measured places alone, by the stated doubt as a normal distribution. Places within 40 mm of a clamp's
middle are left out. Neighbouring places share their wood and their light, so a tenth with few photographs in it
scatters more than its number of places tells.

![Stated chance against observed share for edge, line and state]({picture})

"""


def picture(photos: Sequence[Mapping[str, Any]], path: Path) -> None:
    """The three curves, each with its own mark; hollow where few places stand behind a mark."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.2, 2.7), layout="constrained")
    panels = figure.subplots(1, 3, sharex=True, sharey=True)
    for panel, (name, tenths) in zip(panels, curves(photos).items(), strict=True):
        panel.plot([0, 1], [0, 1], color="0.6", linewidth=1)
        panel.fill_between([0, 1], [-0.03, 0.97], [0.03, 1.03], color="0.9")
        for tenth in (one for one in tenths if one is not None):
            many = tenth.places >= ENOUGH
            panel.plot(tenth.stated, tenth.observed, "o", color="#0072b2", fillstyle="full" if many else "none")
            panel.annotate(f"{tenth.places}", (tenth.stated, tenth.observed), (0, 5), textcoords="offset points",
                           fontsize=6, ha="center")  # fmt: skip
        panel.set(title=name, xlim=(-0.05, 1.08), ylim=(-0.05, 1.12), xlabel="chance stated", xticks=(0, 0.5, 1))
    panels[0].set_ylabel("share that was so")
    part = path.with_name(path.stem + ".part.png")
    figure.savefig(part, dpi=110)
    os.replace(part, path)


def main(arguments: Sequence[str] | None = None) -> None:
    """Write the table and the picture."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("places", type=Path)
    parser.add_argument("--out", type=Path, required=True, help="without an ending")
    given = parser.parse_args(arguments)
    photos = list(json.loads(given.places.read_text()).values())
    drawn = given.out.with_suffix(".png")
    picture(photos, drawn)
    text = TEXT.format(photographs=len(photos), same=SAME_MARK_MM, picture=drawn.name)
    given.out.with_suffix(".md").write_text(text + table(photos), encoding="utf-8")


if __name__ == "__main__":
    main()
