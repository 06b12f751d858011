"""Cards and rules in made pictures: found again by OpenCV, graduations where a rule has them."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from tests.scenes.lap import Lap
from tests.scenes.picture import light_of, render
from tests.scenes.test_geometry import BARE
from tests.scenes.things import reference_size
from tests.scenes.view import view_of


def test_station_card_is_read_by_opencv() -> None:
    """Card 3 carries markers 12, 13, 14, 15 of DICT_5X5_250, 20 mm wide, clockwise from the top left, inset 4 mm."""
    scene = replace(BARE, stations=((3, 0.0),), aim_mm=(0.0, -10.0), witness_mm=20.0, elevation_deg=-5.0)
    pixels = render(scene).pixels
    words = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
    corners, ids, _ = cv2.aruco.ArucoDetector(words).detectMarkers(pixels)
    assert sorted(np.ravel(ids)) == [12, 13, 14, 15]
    middle = {int(k): np.reshape(c, (4, 2)).mean(0) for k, c in zip(np.ravel(ids), corners, strict=True)}
    assert middle[12][0] < middle[13][0]
    assert middle[12][1] < middle[15][1]
    assert middle[14][0] > middle[15][0]
    across = np.hypot(*(middle[13] - middle[12]))
    down = np.hypot(*(middle[15] - middle[12]))
    assert across / down == pytest.approx(62.0 / 32.0, rel=0.02)  # centres 90 − 28 and 60 − 28 mm apart


@pytest.mark.parametrize(("kind", "pitch_mm"), [("rule-mm", 1.0), ("rule-in", 25.4 / 16)])
def test_rule_has_a_graduation_at_each_step(kind: str, pitch_mm: float) -> None:
    """A steel rule's top, 1 mm off the face, is darker at every graduation than half way to the next."""
    scene = replace(BARE, reference=kind, reference_turn_deg=0.0, aim_mm=(0.0, 0.0), distance_mm=350.0, line_y_mm=45.0)
    light = cv2.GaussianBlur(light_of(scene)[0].mean(-1), (0, 0), 0.5)
    width, height = reference_size(kind)
    steps = np.arange(1, round(width / pitch_mm) - 1) * pitch_mm - 0.5 * width
    lap = Lap(scene)
    view = view_of(scene, lap.hull)

    def shade(x: np.ndarray) -> np.ndarray:
        seen = view.project(lap.hull.face(x, np.full_like(x, 0.5 * height - 1.5), np.ones_like(x)))
        inside = np.all((seen > 2) & (seen < [797, 597]), axis=1) & (np.abs(x) < 60.0)
        at = seen[inside].astype(np.float32)
        return np.asarray(cv2.remap(light, at[None, :, 0], at[None, :, 1], cv2.INTER_LINEAR)[0])

    on, between = shade(steps), shade(steps + 0.5 * pitch_mm)
    n = min(len(on), len(between))
    assert n > 50
    assert np.all(on[:n] < 0.9 * between[:n])


def test_cards_lie_on_the_face_they_are_laid_on() -> None:
    """A card on the plank is nearer by its thickness, so larger in the picture than the same card on the strake."""
    scene = replace(
        BARE, bevel_deg=0.0, plank_card_mm=(0.0, 35.0), strake_card_mm=(0.0, 0.0), aim_mm=(0.0, 40.0),
        distance_mm=700.0, elevation_deg=0.0, plank_wood="ash",
    )  # fmt: skip
    light = light_of(scene)[0]
    bare = light_of(replace(scene, plank_card_mm=None, strake_card_mm=None))[0]
    changed = np.abs(light - bare).max(-1) > 0.15
    view = view_of(scene, Lap(scene).hull)
    for y, z in ((0.0, 0.76), (75.0, 13.46)):
        row = round(float(view.project(np.array([[0.0, y, z]]))[0, 1]))
        wide = int(changed[row - 10 : row + 11].sum(1).max())
        assert wide == pytest.approx(85.6 * 1500.0 / (700.0 - z), abs=3.5)
