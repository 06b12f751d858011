"""Train one of the two networks: ``python -m tests.training.train --net edge_and_line --strips FOLDER --out net.pt``.

Needs PyTorch: ``pip install -e '.[training]'``. Scenes that show a board kept for fitting or judging are passed over.
The file holds the weights and, for the record, what they were trained on.
"""

from __future__ import annotations

import argparse
import math
import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import torch

from tests.training.boards import boards_for
from tests.training.crops import Crop, course_crop, lap_crop
from tests.training.net import SHAPES, Net, losses
from tests.training.strips import Strips, load_strips

#: Losses are told as running means over about so many steps.
LATELY = 50
WARM_UP, LAST_RATE, MOST_GRADIENT = 50, 0.02, 2.0
#: The weights kept are a running mean over about so many steps, and fewer at the start.
MEAN_OVER = 500
TOLD_EACH = 100


@dataclass
class Learned:
    """How far a run has come: ``steps``, running mean losses, the names of scenes and boards it has seen."""

    steps: int = 0
    losses: dict[str, float] = field(default_factory=dict)
    scenes: set[str] = field(default_factory=set)
    woods: set[str] = field(default_factory=set)

    def add(self, found: dict[str, torch.Tensor]) -> None:
        """Take one crop's losses in."""
        for name, loss in found.items():
            value = float(loss.detach())
            self.losses[name] = self.losses.get(name, value) + (value - self.losses.get(name, value)) / LATELY


def usable(folder: Path) -> list[Strips]:
    """The strips that may be trained on."""
    kept_out = {*boards_for("fitted"), *boards_for("judged")}
    every = [load_strips(path) for path in sorted(folder.glob("*.npz"))]
    found = [one for one in every if not kept_out & set(one.woods)]
    if not found:
        raise SystemExit(f"{folder} holds no strips to train on. Cut some with tests.training.make_strips.")
    return found


def a_crop(name: str, strips: list[Strips], rng: np.random.Generator, learned: Learned) -> Crop:
    """A part of a scene drawn at random."""
    while True:
        one = strips[int(rng.integers(len(strips)))]
        crop = course_crop(one.course, rng) if name == "course" else one.lap and lap_crop(one.lap, rng)
        if crop is not None:
            learned.scenes.add(one.name)
            learned.woods.update(one.woods)
            return crop


def rate(step: int, steps: int, most: float) -> float:
    """The step's learning rate: up at the start, then down by half a cosine."""
    falling = 0.5 * (1.0 + math.cos(math.pi * step / steps)) * (1.0 - LAST_RATE) + LAST_RATE
    return most * min(1.0, (step + 1) / WARM_UP) * falling


def main(arguments: Sequence[str] | None = None) -> None:
    """Train, tell the losses now and then, keep the weights as often."""
    given = _given(arguments)
    torch.set_num_threads(1)
    torch.manual_seed(given.seed)
    rng = np.random.default_rng(given.seed)
    net, shape, strips, learned = Net(SHAPES[given.net]), SHAPES[given.net], usable(given.strips), Learned()
    if given.start is not None:
        net.load_state_dict(torch.load(given.start)["state"])
    mean = {name: value.clone() for name, value in net.state_dict().items()}
    optimiser = torch.optim.Adam(net.parameters(), given.rate)
    for step in range(given.steps):
        for group in optimiser.param_groups:
            group["lr"] = rate(step, given.steps, given.rate)
        total: list[torch.Tensor] = []
        for _ in range(given.batch):
            found = losses(net, a_crop(given.net, strips, rng, learned), shape.spread_rows)
            learned.add(found)
            total += found.values()
        if total:
            optimiser.zero_grad()
            torch.stack(total).mean().backward()
            torch.nn.utils.clip_grad_norm_(net.parameters(), MOST_GRADIENT)
            optimiser.step()
            _average(mean, net, step)
        learned.steps = step + 1
        if learned.steps % TOLD_EACH == 0 or learned.steps == given.steps:
            print(learned.steps, {name: round(value, 2) for name, value in learned.losses.items()}, flush=True)
            _keep(mean, learned, given)


def _average(mean: dict[str, torch.Tensor], net: Net, step: int) -> None:
    """Take the step's weights into their running mean (Polyak and Juditsky, SIAM J. Control Optim. 30, 1992)."""
    share = max(1.0 / MEAN_OVER, 3.0 / (step + 3.0))
    with torch.no_grad():
        for name, value in net.state_dict().items():
            mean[name].lerp_(value, share)


def _keep(mean: dict[str, torch.Tensor], learned: Learned, given: argparse.Namespace) -> None:
    told = {
        "scenes": len(learned.scenes),
        "woods_trained_on": sorted(learned.woods),
        "seed": given.seed,
        "steps": learned.steps,
        "batch": given.batch,
        "losses": {name: round(value, 3) for name, value in learned.losses.items()},
        "started_from": None if given.start is None else given.start.name,
        "versions": {"torch": str(torch.__version__), "numpy": np.__version__},
    }
    part = given.out.with_suffix(".part")
    torch.save({"net": given.net, "state": mean, "told": told}, part)
    os.replace(part, given.out)


def _given(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--net", choices=sorted(SHAPES), required=True)
    parser.add_argument("--strips", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--start", type=Path, help="weights of an earlier run to go on from")
    parser.add_argument("--steps", type=int, default=4000)
    parser.add_argument("--batch", type=int, default=4, help="parts of strips a step")
    parser.add_argument("--rate", type=float, default=3e-3)
    parser.add_argument("--seed", type=int, default=0)
    return parser.parse_args(arguments)


if __name__ == "__main__":
    main()
