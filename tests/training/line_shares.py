"""Which lines are found? ``python -m tests.training.line_shares places.json``.

From what tests.training.places kept: of the places where a line is in sight and the edge is sure, the share that got
a number, and that got one to something else than the line, by the line's width, how black it was struck, its colour and
the wood's lightness. Prints a Markdown table.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.lap.evidence.path import SAME_MARK_MM
from tests.scenes.photographed import lightness, photographed_woods

#: An edge with less chance is unsure for reasons of its own.
SURE_EDGE = 0.9
WIDTHS = ("width", ((0.0, 0.45, "under 0.45 mm"), (0.45, 0.65, "0.45 to 0.65 mm"), (0.65, 9.0, "0.65 mm and over")))
STRUCK = ("struck", ((0.0, 0.45, "lightly"), (0.45, 0.6, "firmly"), (0.6, 1.0, "hard")))
WOOD = ("wood", ((0.0, 0.12, "dark"), (0.12, 0.3, "middling"), (0.3, 1.0, "light")))
COLOURS = ("graphite", "blue", "red", "light")


def shares(photos: Sequence[Mapping[str, Any]]) -> list[tuple[str, str, int, int, float, float]]:
    """Rows of what was asked, which of its kinds, photographs, places, and the shares measured rightly and wrongly."""
    found = []
    for name, key, steps in (
        (WIDTHS[0], lambda one: one["line_width_mm"], WIDTHS[1]),
        (STRUCK[0], lambda one: one["line_contrast"], STRUCK[1]),
        (WOOD[0], lambda one: wood_lightness(one["strake_wood"]), WOOD[1]),
    ):
        for low, high, words in steps:
            found.append((name, words, *_share([one for one in photos if low <= key(one) < high])))
    for colour in COLOURS:
        found.append(("colour", colour, *_share([one for one in photos if one["line_colour"] == colour])))
    return [row for row in found if row[3]]


def wood_lightness(name: str) -> float:
    """The board's lightness, 0 to 1; that of made grain is not told (NaN, in no step)."""
    return lightness(name) if name in photographed_woods() else float("nan")


def _share(photos: Sequence[Mapping[str, Any]]) -> tuple[int, int, float, float]:
    """Photographs that show a line, their places, and the shares measured to the line and to something else."""
    each = [asked for one in photos if len(asked := _asked(one))]
    if not each:
        return 0, 0, 0.0, 0.0
    places = np.concatenate(each)
    return len(each), len(places), float(places[:, 0].mean()), float(places[:, 1].mean())


def _asked(photo: Mapping[str, Any]) -> np.ndarray:
    """A photograph's places with a line and a sure edge (N, 2): measured to the line, measured to something else."""
    places = photo["places"]
    if not places:
        return np.zeros((0, 2))
    there = np.array(places["line_there"]) & (np.array(places["edge_chance"]) > SURE_EDGE)
    measured = np.array(places["measured"], bool)
    right = np.abs(places["line_off_mm"]) <= SAME_MARK_MM
    return np.column_stack([measured & right, measured & ~right])[there]


def table(photos: Sequence[Mapping[str, Any]]) -> str:
    """The shares as Markdown."""
    lines = ["| line | | photographs | places | measured to it | to something else |", "|---|---|---|---|---|---|"]
    for name, kind, count, places, good, bad in shares(photos):
        lines.append(f"| {name} | {kind} | {count} | {places} | {good:.0%} | {bad:.0%} |")
    return "\n".join(lines) + "\n"


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("places", type=Path)
    given = parser.parse_args(arguments)
    print(table(list(json.loads(given.places.read_text()).values())), end="")


if __name__ == "__main__":
    main()
