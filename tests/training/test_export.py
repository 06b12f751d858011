"""Weights go out as they were trained, and with them what they were trained on."""

from __future__ import annotations

import json

import numpy as np
import pytest

from fitcheck.lap.evidence import network
from tests.training.export import arrays_of, put

APART = [(1, 1), (2, 1)]


def state() -> dict[str, np.ndarray]:
    """A made state of two layers: 3 channels, 4 kinds, 2 marks."""
    rng = np.random.default_rng(4)
    return {
        "layers.0.weight": rng.normal(size=(4, 3, 5, 3)), "layers.0.bias": rng.normal(size=4),
        "layers.1.weight": rng.normal(size=(4, 4, 5, 3)), "layers.1.bias": rng.normal(size=4),
        "heads.weight": rng.normal(size=(2, 4, 1, 1)), "heads.bias": rng.normal(size=2), "none": rng.normal(size=2),
    }  # fmt: skip


def plainly(made: dict[str, np.ndarray], channels: np.ndarray) -> np.ndarray:
    """The network's sum as its definition says it, cell by cell."""

    def layer(field, weights, bias, down, across):
        out = np.zeros((len(weights), *field.shape[1:]))
        for row in range(field.shape[1]):
            for column in range(field.shape[2]):
                for i in range(5):
                    for j in range(3):
                        r, c = row + (i - 2) * down, column + (j - 1) * across
                        if 0 <= r < field.shape[1] and 0 <= c < field.shape[2]:
                            out[:, row, column] += weights[:, :, i, j] @ field[:, r, c]
        return np.maximum(out + bias[:, None, None], 0.0)

    held = layer(channels, made["layers.0.weight"], made["layers.0.bias"], 1, 1)
    held = held + layer(held, made["layers.1.weight"], made["layers.1.bias"], 2, 1)
    return np.einsum("mk,krc->mrc", made["heads.weight"][:, :, 0, 0], held) + made["heads.bias"][:, None, None]


def test_exported_weights_give_the_scores_of_the_trained_state(tmp_path, monkeypatch):
    made = state()
    put("tried", arrays_of(made, APART), {"steps": 7, "woods_trained_on": ["spruce_a"]}, tmp_path)
    monkeypatch.setattr(network, "WEIGHTS", tmp_path)
    loaded = network.load_network.__wrapped__("tried")
    channels = np.random.default_rng(5).normal(size=(3, 13, 9))
    scores = loaded.scores(channels.astype(np.float32))
    np.testing.assert_allclose(scores, plainly(made, channels), rtol=1e-3, atol=1e-3)
    np.testing.assert_allclose(loaded.none, made["none"], rtol=1e-6)


def test_what_it_was_trained_on_stands_beside_it(tmp_path):
    for name, steps in (("one", 7), ("two", 9), ("one", 8)):
        put(name, arrays_of(state(), APART), {"steps": steps}, tmp_path)
    told = json.loads((tmp_path / "trained_on.json").read_text())
    assert {name: one["steps"] for name, one in told["networks"].items()} == {"one": 8, "two": 9}
    assert len(told["woods_left_out"]) >= 6
    assert not set(told["woods_left_out"]) & set(told["woods_kept_for_fitting"])


@pytest.mark.parametrize("board", ["spruce_board_02", "spruce_board_03"])
def test_a_board_that_is_kept_out_may_not_have_been_trained_on(tmp_path, board):
    with pytest.raises(SystemExit, match=board):
        put("tried", arrays_of(state(), APART), {"woods_trained_on": [board]}, tmp_path)
    assert list(tmp_path.iterdir()) == []
