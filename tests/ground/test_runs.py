"""Runs of neighbouring places, against a count place by place and against scipy's labelling of connected features."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from fitcheck.ground.runs import runs


@pytest.mark.parametrize("seed", range(20))
def test_they_are_the_connected_features(seed):
    true = np.random.default_rng(seed).random(60) < 0.6
    assert runs(true) == [found[0] for found in ndimage.find_objects(ndimage.label(true)[0])]


@pytest.mark.parametrize("seed", range(20))
def test_none_reaches_over_places_that_do_not_hang_together(seed):
    """A place that belongs to no run put between two that do not hang together parts them just so."""
    random = np.random.default_rng(seed)
    true, joined = random.random(60) < 0.8, random.random(59) < 0.7
    spread = np.insert(true, np.flatnonzero(~joined) + 1, False)
    at = np.insert(np.arange(60), np.flatnonzero(~joined) + 1, -1)
    parts = [at[found[0]] for found in ndimage.find_objects(ndimage.label(spread)[0])]
    assert runs(true, joined) == [slice(part[0], part[-1] + 1) for part in parts]


@pytest.mark.parametrize(("true", "whole"), [([], []), ([False], []), ([True] * 3, [slice(0, 3)])])
def test_none_and_all(true, whole):
    assert runs(np.array(true, bool)) == whole
