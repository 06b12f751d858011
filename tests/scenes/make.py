"""Fill a folder with made photographs.

``python -m tests.scenes.make --count 40 --seed 1 --out FOLDER [--class sheer] [--woods judged]``

``--woods`` draws the surfaces from photographed boards: those left out of training and tuning (judged) or the others
(tuned).
"""

import argparse
import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from tests.scenes.draw import CLASSES, draw_plank, draw_scene
from tests.scenes.photographed import photographed_woods
from tests.scenes.picture import render
from tests.scenes.save import save
from tests.scenes.scene import Scene


def main(arguments: list[str] | None = None) -> None:
    """Draw, render and save; every scene has a random stream of its own, so a longer run begins with a shorter one."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--class", dest="kind", choices=sorted(CLASSES))
    parser.add_argument("--woods", choices=("judged", "tuned"))
    given = parser.parse_args(arguments)
    woods = None if given.woods is None else photographed_woods(left_out=given.woods == "judged")
    for name, scene in drawn(given.count, given.seed, given.kind, woods=woods):
        print(save(render(scene), given.out, name), scene.kind, scene.camera.name, flush=True)
        if scene.stations:
            places = {str(number): place for number, place in scene.stations}
            _keep_stations(given.out / "stations.json", places)


def drawn(count: int, seed: int, kind: str | None, *, woods: Sequence[str] | None = None) -> list[tuple[str, Scene]]:
    """Names and scenes: d001 and on for laps, e001 and on for edge-on views, p01 and on for one plank."""
    if kind == "plank":
        views = draw_plank(np.random.default_rng(seed), photos=count, woods=woods)
        return [(f"p{k:02d}", scene) for k, scene in enumerate(views, 1)]
    letter = "e" if kind == "edge-on" else "d"
    apart = 0 if kind is None else sorted(CLASSES).index(kind) + 1
    return [
        (f"{letter}{k:03d}", draw_scene(np.random.default_rng([seed, apart, k]), kind=kind, woods=woods))
        for k in range(1, count + 1)
    ]


def _keep_stations(path: Path, places: dict[str, float]) -> None:
    known = json.loads(path.read_text())["stations_mm"] if path.exists() else {}
    path.write_text(json.dumps({"stations_mm": {**known, **places}}, indent=1))


if __name__ == "__main__":
    main()
