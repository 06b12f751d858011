"""Put trained weights where the package reads them: ``python -m tests.training.export net.pt … [--told facts.json]``.

Writes fitcheck/lap/evidence/weights/NET.npz and, beside them, trained_on.json: the boards trained on, those kept for
fitting and those left out, and for each network how many scenes, steps, losses, seed and versions. ``--told`` gives
facts that a file does not hold, by the network's name.
"""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.lap.evidence.network import WEIGHTS
from tests.training.boards import boards_for

TRAINED_ON = "trained_on.json"


def arrays_of(state: Mapping[str, np.ndarray], apart: Sequence[tuple[int, int]]) -> dict[str, np.ndarray]:
    """The arrays that :func:`fitcheck.lap.evidence.network.load_network` reads, from a trained state.

    ``apart`` tells for each layer how many rows and columns its taps lie apart.
    """
    layers = {}
    for number in range(len(apart)):
        layers[f"weights{number}"] = np.asarray(state[f"layers.{number}.weight"], np.float32)
        layers[f"bias{number}"] = np.asarray(state[f"layers.{number}.bias"], np.float32)
    heads = np.asarray(state["heads.weight"], np.float32)[:, :, 0, 0]
    return {
        **layers,
        "apart": np.array(apart),
        "heads": heads,
        "heads_bias": np.asarray(state["heads.bias"], np.float32),
        "none": np.asarray(state["none"], np.float32),
    }


def put(name: str, arrays: Mapping[str, np.ndarray], told: Mapping[str, Any], folder: Path = WEIGHTS) -> None:
    """Write one network's weights, and what is told of it among the others' facts. Refuses a board that is kept out."""
    trained_on = set(told.get("woods_trained_on", ()))
    wrong = trained_on & {*boards_for("fitted"), *boards_for("judged")}
    if wrong:
        raise SystemExit(f"Trained on {', '.join(sorted(wrong))}, which is kept for fitting or judging.")
    facts = folder / TRAINED_ON
    known = json.loads(facts.read_text()) if facts.exists() else {"networks": {}}
    known["woods_kept_for_fitting"] = boards_for("fitted")
    known["woods_left_out"] = boards_for("judged")
    known["networks"][name] = dict(told)
    part = folder / f"{name}.part"
    with part.open("wb") as file:
        np.savez(file, **arrays)
    os.replace(part, folder / f"{name}.npz")
    part.write_text(json.dumps(known, indent=1) + "\n")
    os.replace(part, facts)


def main(arguments: Sequence[str] | None = None) -> None:
    """Export each file given."""
    import torch

    from tests.training.net import SHAPES

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("nets", type=Path, nargs="+")
    parser.add_argument("--told", type=Path)
    parser.add_argument("--out", type=Path, default=WEIGHTS)
    given = parser.parse_args(arguments)
    more = json.loads(given.told.read_text()) if given.told else {}
    for path in given.nets:
        trained = torch.load(path)
        name = trained["net"]
        apart = [(down, across) for _, _, down, across in SHAPES[name].layers]
        state = {key: value.contiguous().numpy() for key, value in trained["state"].items()}
        put(name, arrays_of(state, apart), {**trained["told"], **more.get(name, {})}, given.out)
        print(given.out / f"{name}.npz")


if __name__ == "__main__":
    main()
