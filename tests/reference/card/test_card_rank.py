"""Which outline is the card: size, strain and grain, added up."""

from __future__ import annotations

import numpy as np

from fitcheck.reference.card.card_kind import CARDS
from fitcheck.reference.card.card_rank import grain_through
from fitcheck.reference.card.card_shape import best_turn
from tests.reference.card.test_card import PER_MM, lay, seen_from, wood
from tests.reference.flat_scene import CAMERA, Drawing, photograph

HALF = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * (42.8, 26.99)


def test_grain_goes_on_through_a_patch_of_wood_and_stops_at_a_card():
    seen = seen_from()
    corners = seen.px_of(HALF, CAMERA)
    bare = photograph(Drawing(wood(depth=0.25), PER_MM), seen)
    laid = photograph(Drawing(lay(wood(depth=0.25), CARDS["id1"], "kraft", turn_deg=0.0), PER_MM), seen)
    assert grain_through(bare, corners) > grain_through(laid, corners) + 3.0
    assert grain_through(laid, corners) < 1.5


def test_a_card_told_its_own_size_strains_less_than_one_told_another():
    corners = seen_from(tilt_deg=20.0).px_of(HALF, CAMERA)
    fitted = (corners, np.full(4, 0.1))
    right, wrong = (best_turn(fitted, CAMERA, CARDS[name])[0] for name in ("id1", "card-us"))
    assert right < 0.001 < 0.01 < wrong
