"""Where edge, line and cards fall in made pictures, against OpenCV's projection and geometry worked out by hand.

The pictures are read without lens blur and noise; a place is found where the light crosses half way between two shades.
"""

from dataclasses import replace
from typing import Any

import cv2
import numpy as np
import pytest

from tests.scenes.arrays import Array
from tests.scenes.cameras import WREN
from tests.scenes.hull import Hull
from tests.scenes.lap import EDGE, PLANK, Lap
from tests.scenes.picture import light_of
from tests.scenes.scene import Scene
from tests.scenes.truth import line_in_sight, truth_of
from tests.scenes.view import view_of

# Bare, evenly lit from in front, straight: only geometry is left.
BARE = Scene(
    camera=WREN, strake_paint="white", bevel_bare=False, plank_wood="mahogany", grain=0.0, reference="none",
    line_drawn=False, line_wander_mm=0.0, past_wander_mm=0.0, past_mm=0.0, chamfer_mm=0.0, line_y_mm=40.0,
    light_slant_deg=0.0, light_share=0.9, penumbra_deg=0.1, board_mm=(-300.0, 300.0),
)  # fmt: skip


def step_rows(light: Array, column: int, low: int, high: int) -> float:
    """The row between `low` and `high` at which the light of a column crosses half way between its ends."""
    shade = cv2.GaussianBlur(light[low:high, column].mean(-1)[:, None], (1, 9), 1.0)[:, 0]
    half = 0.5 * (shade[:4].mean() + shade[-4:].mean())
    above = shade > half
    k = int(np.nonzero(above != above[0])[0][0]) - 1
    return low + k + float((half - shade[k]) / (shade[k + 1] - shade[k]))


def on_face(scene: Scene, pixel: tuple[float, float]) -> Array:
    """Where a pixel's sight line meets the flat face z = 0, by OpenCV's model and a stand worked out by hand."""
    elevation = np.radians(scene.elevation_deg)
    back = np.array([0.0, np.sin(elevation), np.cos(elevation)])
    stand = np.array([*scene.aim_mm, 0.0]) + scene.distance_mm * back
    camera_from_face = np.array([[1.0, 0.0, 0.0], [0.0, -back[2], back[1]], [0.0, -back[1], -back[2]]])
    ray = cv2.undistortPoints(np.array([[pixel]]), WREN.matrix, np.array(WREN.distortion), criteria=(3, 60, 1e-12))
    x, y = np.asarray(ray).ravel()
    direction = camera_from_face.T @ np.array([x, y, 1.0])
    return np.asarray(stand - stand[2] / direction[2] * direction)


@pytest.mark.parametrize(("bevel_deg", "hidden_mm"), [(0.0, 4.62), (6.0, 3.27)])
def test_parallax_of_half_inch_plank_seen_20_deg_from_the_sheer_side(bevel_deg: float, hidden_mm: float) -> None:
    """Plain geometry, recomputed: 12.7 mm at 20° hides 4.62 mm of strake with no bevel and 3.27 mm with 6°."""
    scene = replace(BARE, bevel_deg=bevel_deg, elevation_deg=20.0, aim_mm=(0.0, 40.0 - hidden_mm), distance_mm=500.0)
    light, _ = light_of(scene)
    column, middle = 411, 290
    row = step_rows(light, column, middle - 20, middle + 20)
    seen = on_face(scene, (column, row))
    assert 40.0 - seen[1] == pytest.approx(hidden_mm, abs=0.05)  # a ninth of a pixel is 0.04 mm here


@pytest.mark.parametrize("elevation_deg", [-15.0, 3.0])
@pytest.mark.parametrize("past_mm", [-3.0, 1.5])
def test_truth_is_what_opencv_projects(elevation_deg: float, past_mm: float) -> None:
    """Edge and line in the truth are the design's points (q cos b, −q sin b) through cv2.projectPoints."""
    scene = replace(BARE, elevation_deg=elevation_deg, past_mm=past_mm, roll_deg=0.0, azimuth_deg=0.0)
    lap = Lap(scene)
    truth = truth_of(lap, view_of(scene, lap.hull))
    angle, bevel = np.radians(elevation_deg), np.radians(scene.bevel_deg)
    back = np.array([0.0, np.sin(angle), np.cos(angle)])
    turn = np.array([[1.0, 0.0, 0.0], [0.0, -back[2], back[1]], [0.0, -back[1], -back[2]]])
    stand = np.array([*scene.aim_mm, 0.0]) + scene.distance_mm * back
    for sample in truth["samples"]:
        assert sample["past_line_mm"] == pytest.approx(past_mm)
        line = np.array([sample["along_mm"], 40.0, 0.0])
        edge = line - past_mm * np.array([0.0, np.cos(bevel), -np.sin(bevel)])
        points = np.stack([line, edge])
        seen = cv2.projectPoints(points, cv2.Rodrigues(turn)[0], -turn @ stand, WREN.matrix, np.array(WREN.distortion))[
            0
        ].reshape(2, 2)
        np.testing.assert_allclose(seen, [sample["line_px"], sample["edge_px"]], atol=0.006)  # two decimals are kept


@pytest.mark.parametrize("hull", [{}, {"radius_mm": 2500.0, "twist_deg_per_m": 6.0}])
@pytest.mark.parametrize(("elevation_deg", "name"), [(12.0, PLANK), (-16.0, PLANK), (-16.0, EDGE)])
def test_picture_shows_the_corners_where_the_truth_has_them(
    hull: dict[str, Any], elevation_deg: float, name: int
) -> None:
    """The boundary found in the light lies on the projected corner: the outer one, or from the keel side the inner."""
    scene = replace(
        BARE, **hull, elevation_deg=elevation_deg, roll_deg=3.0, past_mm=-3.0, past_wander_mm=1.0,
        line_wander_mm=2.0, aim_mm=(60.0, 40.0),
    )  # fmt: skip
    if name == EDGE:  # only the edge and the strake's own shade differ: a bright strake with no shadow on it
        scene = replace(scene, light_slant_deg=20.0, light_from_deg=180.0)
    lap = Lap(scene)
    view = view_of(scene, lap.hull)
    light, _ = light_of(scene)
    x = np.linspace(-40.0, 160.0, 30)
    section = lap.outer(x) if name == PLANK else lap.inner(x)
    corner = view.project(lap.hull.face(x, section[:, 0], section[:, 1]))
    off = []
    for u, v in corner:
        column = round(u)
        expected = v + (column - u) * np.gradient(corner[:, 1], corner[:, 0]).mean()
        off.append(step_rows(light, column, round(v) - 7, round(v) + 8) - expected)
    assert abs(np.mean(off)) < 0.05
    assert np.max(np.abs(off)) < 0.2  # an edge lying along the rows is cut in ninths of a pixel


def test_the_pencil_line_lies_on_the_knuckle() -> None:
    """The middle of the dark of the line is the projected lap line."""
    scene = replace(
        BARE, line_drawn=True, line_contrast=0.5, line_skips=0.0, line_tooth=0.0, line_width_mm=0.8, past_mm=-8.0,
        bevel_deg=0.0, light_share=1.0, elevation_deg=-12.0, line_wander_mm=2.0,
    )  # fmt: skip
    lap = Lap(scene)
    dark_of_line = light_of(replace(scene, line_drawn=False))[0] - light_of(scene)[0]
    x = np.linspace(-60.0, 60.0, 25)
    seen = view_of(scene, lap.hull).project(lap.hull.face(x, lap.line_y(x), np.zeros_like(x)))
    off = []
    for u, v in seen:
        rows = np.arange(round(v) - 5, round(v) + 6)
        dark = dark_of_line[rows, round(u)].mean(-1)
        off.append(float((rows * dark).sum() / dark.sum()) - v)
    assert abs(np.mean(off)) < 0.05
    assert np.max(np.abs(off)) < 0.25


def test_bent_hull_sags_as_a_chord() -> None:
    """Sag c²/8R: a 300 mm chord on a 3 m radius sags 3.75 mm (plain geometry)."""
    hull = Hull(radius_mm=3000.0)
    ends = hull.face(np.array([-150.0, 150.0]), np.zeros(2), np.zeros(2))
    assert ends[0, 2] == pytest.approx(-3.75, abs=0.005)
    assert ends[1, 0] - ends[0, 0] == pytest.approx(2 * 3000.0 * np.sin(0.05), abs=1e-9)


def test_twist_turns_the_section_about_the_lap() -> None:
    hull = Hull(twist_deg_per_m=5.0, pivot_mm=40.0)
    pivot, below = hull.face(np.array([500.0, 500.0]), np.array([40.0, 0.0]), np.zeros(2))
    np.testing.assert_allclose(pivot, [500.0, 40.0, 0.0], atol=1e-9)
    assert below[2] == pytest.approx(-40.0 * np.sin(np.radians(2.5)))


def test_line_goes_out_of_sight_behind_the_outer_corner() -> None:
    """20° from the sheer side with no bevel, half-inch planking hides 4.62 mm: short by less, the line is hidden."""
    for past_mm, seen in ((-5.0, True), (-4.2, False), (1.0, False)):
        scene = replace(BARE, bevel_deg=0.0, past_mm=past_mm, elevation_deg=20.0, aim_mm=(0.0, 40.0))
        lap = Lap(scene)
        assert line_in_sight(lap, view_of(scene, lap.hull), np.array([0.0]))[0] == seen


def test_keel_up_is_the_same_picture_turned() -> None:
    """A camera turned by 180° sees x run to the left and the sheer below."""
    scene = replace(BARE, keel_up=True)
    lap = Lap(scene)
    truth = truth_of(lap, view_of(scene, lap.hull))
    first, last = truth["samples"][0], truth["samples"][-1]
    assert truth["keel"] == "up"
    assert first["along_mm"] < last["along_mm"]
    assert first["edge_px"][0] > last["edge_px"][0]
    view = view_of(scene, lap.hull)
    sheer = view.project(lap.hull.face(np.zeros(2), np.array([40.0, 90.0]), np.zeros(2)))
    assert sheer[1, 1] > sheer[0, 1]
