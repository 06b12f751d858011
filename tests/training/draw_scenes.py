"""Fill a folder with made photographs to train on, to fit by or to judge by.

``python -m tests.training.draw_scenes --for trained --count 500 --seed 1 --out FOLDER [--hard]``

Half of what is drawn is seen as photographs mostly are, the rest in all the ways that hide or feign a line. ``--hard``
draws what a score takes for a line most easily: a shadow's rim, a view from the sheer side, and in more than half no
line at all. For training every fifth scene (with ``--hard`` every fourth) is of made grain, painted strakes among them.
Scene k depends on seed and k alone, so a run that was stopped goes on where it ended.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from tests.scenes import Scene, draw_scene, render, save
from tests.scenes.cameras import DUNLIN, SEDGE
from tests.training.boards import USES, boards_for
from tests.training.scene_facts import save_facts

KINDS = ("plain", "keel", "sheer", "witness", "plain", "shadow", "faint", "keelup", "clamp", "witness")
HARD_KINDS = ("shadow", "sheer", "shadow", "keel", "plain")
#: From nearer the lap fills the picture, from further off a pencil line is hardly a pixel wide.
NEAREST_MM, FURTHEST_MM = 380.0, 620.0
#: So many are seen from the keel's side, so that the edge face shows.
FROM_KEEL, KEEL_DEG = 0.35, (-42.0, -15.0)
HARD_DRAWN = 0.45


def drawn(use: str, number: int, seed: int, *, hard: bool) -> Scene:
    """Scene ``number`` of a set."""
    rng = np.random.default_rng([seed, number])
    kinds = HARD_KINDS if hard else KINDS
    every = 4 if hard else 5
    made_grain = use == "trained" and number % every == every - 1
    distance = float(np.exp(rng.uniform(np.log(NEAREST_MM), np.log(FURTHEST_MM))))
    # Made grain falls on the same numbers each time: its kinds are drawn, lest it always be the same one.
    kind = kinds[int(rng.integers(len(kinds))) if made_grain else number % len(kinds)]
    fixed: dict[str, Any] = {
        "camera": (SEDGE, DUNLIN)[number % 2],
        "distance_mm": distance,
        "jpeg_quality": int(rng.integers(88, 96)),
    }
    if hard:
        fixed["line_drawn"] = bool(rng.random() < HARD_DRAWN)
    if rng.random() < FROM_KEEL:
        fixed["elevation_deg"] = float(rng.uniform(*KEEL_DEG))
    return draw_scene(rng, kind=kind, woods=None if made_grain else boards_for(use), **fixed)


def main(arguments: Sequence[str] | None = None) -> None:
    """Draw, render and save what is not there yet."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--for", dest="use", choices=USES, required=True)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--hard", action="store_true")
    given = parser.parse_args(arguments)
    for number in range(given.count):
        name = f"{'dh' if given.hard else 'd'}{number:04d}"
        if (given.out / "scenes" / f"{name}.json").exists():
            continue
        scene = drawn(given.use, number, given.seed, hard=given.hard)
        save(render(scene), given.out, name)
        save_facts(scene, given.out, name)
        print(name, scene.kind, scene.strake_wood, scene.plank_wood, flush=True)


if __name__ == "__main__":
    main()
