"""The network's layers against correlation as SciPy does it, and the weights that are shipped."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import correlate

from fitcheck.lap.evidence.network import WEIGHTS, Layer, Network, load_network

#: The channels that each network is given, and the marks that it scores.
SHIPPED = {"edge_and_line": (8, 3), "course": (7, 1)}


def reference(layer: Layer, field: np.ndarray) -> np.ndarray:
    """The layer by :func:`scipy.ndimage.correlate`, its kernel spread out with zeros between the taps."""
    kinds, channels, tall, wide = layer.weights.shape
    down, across = layer.apart
    out = np.zeros((kinds, *field.shape[1:]))
    for kind in range(kinds):
        for channel in range(channels):
            spread = np.zeros(((tall - 1) * down + 1, (wide - 1) * across + 1))
            spread[::down, ::across] = layer.weights[kind, channel]
            out[kind] += correlate(field[channel].astype(float), spread, mode="constant")
        out[kind] += layer.bias[kind]
    return out


@pytest.mark.parametrize("apart", [(1, 1), (2, 1), (4, 3)])
@pytest.mark.parametrize("rows", [3, 4, 18])
def test_a_layer_is_a_correlation_with_taps_apart(apart, rows):
    rng = np.random.default_rng(0)
    layer = Layer(rng.normal(size=(5, 3, 3, 5)).astype(np.float32), rng.normal(size=5).astype(np.float32), apart)
    field = rng.normal(size=(3, rows, 21)).astype(np.float32)
    np.testing.assert_allclose(layer.of(field), reference(layer, field), atol=2e-4)


def test_layers_add_to_what_came_before_and_heads_weigh_the_last():
    rng = np.random.default_rng(1)
    first = Layer(rng.normal(size=(4, 2, 3, 3)), rng.normal(size=4), (1, 1))
    second = Layer(rng.normal(size=(4, 4, 3, 3)), rng.normal(size=4), (2, 2))
    heads, bias = rng.normal(size=(3, 4)), rng.normal(size=3)
    field = rng.normal(size=(2, 10, 12))
    held = np.maximum(reference(first, field), 0.0)
    held = held + np.maximum(reference(second, held), 0.0)
    found = Network((first, second), heads, bias, np.zeros(3)).scores(field)
    np.testing.assert_allclose(found, np.einsum("mk,krc->mrc", heads, held) + bias[:, None, None], atol=1e-3)


@pytest.mark.parametrize("name", SHIPPED)
def test_the_shipped_weights_are_whole_and_small(name):
    channels, marks = SHIPPED[name]
    network = load_network(name)
    assert network.layers[0].weights.shape[1] == channels
    assert network.heads.shape[0] == len(network.none) == len(network.heads_bias) == marks
    every = [part for layer in network.layers for part in (layer.weights, layer.bias)]
    assert all(np.isfinite(part).all() for part in (*every, network.heads, network.heads_bias, network.none))
    assert (WEIGHTS / f"{name}.npz").stat().st_size < 200_000


@pytest.mark.parametrize("name", SHIPPED)
def test_even_wood_gives_finite_scores_far_from_any_rim_alike(name):
    channels, marks = SHIPPED[name]
    scores = load_network(name).scores(np.zeros((channels, 160, 160), np.float32))
    assert scores.shape == (marks, 160, 160)
    middle = scores[:, 78:82, 78:82]
    np.testing.assert_allclose(middle, np.broadcast_to(middle[:, :1, :1], middle.shape), atol=1e-4)
