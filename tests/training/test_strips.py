"""Strips to train on: the true marks lie where the picture shows them, and a part keeps them there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.lap.evidence import look_odds
from tests.scenes import Scene, render, save
from tests.training.augment import turned_light
from tests.training.boards import USES, boards_for
from tests.training.crops import course_crop, lap_crop
from tests.training.fit_belief import Believed, worth
from tests.training.make_strips import strips_of
from tests.training.scene_facts import save_facts
from tests.training.strips import Strips, load_strips

#: A black line on pale wood, and an edge face in its own shade: what is where cannot be mistaken.
BLACK = Scene(
    seed=5, elevation_deg=-18.0, line_width_mm=0.7, line_contrast=0.9, line_skips=0.0, line_tooth=0.0, past_mm=-4.0,
    strake_wood="spruce_board_10", plank_wood="wood026_mahogany_brown", noise_dn=1.0, clamps_mm=(130.0,),
)  # fmt: skip


@pytest.fixture(scope="module")
def strips(tmp_path_factory: pytest.TempPathFactory) -> Strips:
    """The strips of :data:`BLACK`, as kept in a file."""
    folder = tmp_path_factory.mktemp("scenes")
    photo = save(render(BLACK), folder, "d0001")
    save_facts(BLACK, folder, "d0001")
    strips_of(photo).save(folder / "d0001.npz")
    return load_strips(folder / "d0001.npz")


def test_the_line_is_darkest_where_its_label_says(strips):
    lap = strips.lap
    clear = lap.line_seen & (lap.clamp_mm > 40.0) & np.isfinite(lap.line_mm)
    tone = lap.light.mean(axis=2)
    off = []
    for column in np.flatnonzero(clear):
        near = np.abs(lap.down_mm - lap.line_mm[column]) < 1.5
        off.append(lap.down_mm[near][tone[near, column].argmin()] - lap.line_mm[column])
    assert clear.sum() > 60
    assert abs(np.median(off)) < 0.1
    assert np.quantile(np.abs(off), 0.9) < 0.35


def test_the_plank_ends_where_the_edges_label_says(strips):
    """Dark plank above the inner corner, pale strake below it; the course strip has the outer corner in its row."""
    lap = strips.lap
    tone = np.log(lap.light.mean(axis=2) + 0.01)
    clear = np.flatnonzero((lap.clamp_mm > 40.0) & np.isfinite(lap.inner_mm))
    steps = []
    for column in clear:
        above = (lap.down_mm > lap.inner_mm[column] - 1.2) & (lap.down_mm < lap.inner_mm[column] - 0.3)
        below = (lap.down_mm < lap.inner_mm[column] + 1.2) & (lap.down_mm > lap.inner_mm[column] + 0.3)
        steps.append(tone[below, column].mean() - tone[above, column].mean())
    assert np.median(steps) > 0.3
    course = strips.course
    rows = np.round(course.edge_row[course.clear & np.isfinite(course.edge_row)]).astype(int)
    assert course.sheer_up
    assert (rows > 20).all()
    assert (rows < len(course.seen) - 20).all()


def test_what_is_kept_is_read_again(strips):
    assert strips.woods == ("spruce_board_10", "wood026_mahogany_brown")
    assert strips.lap.light.dtype == np.float32
    assert 0.0 < np.median(strips.lap.light) < 1.0
    assert strips.lap.width_mm > 1.0


@pytest.mark.parametrize("seed", range(6))
def test_a_part_of_a_lap_keeps_the_line_on_its_dark_row(strips, seed):
    """The first channel is detail in tone: strong in the target's row, however the part was cut or turned."""
    crop = lap_crop(replace(strips.lap, line_seen=np.zeros_like(strips.lap.line_seen)), np.random.default_rng(seed))
    assert not crop.targets[-1].present.any()
    crop = lap_crop(strips.lap, np.random.default_rng([seed, 1]))
    line = crop.targets[-1]
    assert line.name == "line"
    asked = np.flatnonzero(line.present & line.told)
    shown = [crop.channels[0, round(line.row[one]), one] for one in asked]
    beside = [crop.channels[0, min(round(line.row[one]) + 8, len(crop.channels[0]) - 1), one] for one in asked]
    if len(asked) > 10:
        assert abs(np.median(shown)) > abs(np.median(beside)) + 0.5


def test_with_the_sheer_below_there_is_no_lap(strips):
    crops = [course_crop(strips.course, np.random.default_rng(seed)) for seed in range(30)]
    names = {crop.targets[0].name for crop in crops}
    assert names == {"edge", "none"}
    for crop in crops:
        assert crop.targets[0].present.any() <= (crop.targets[0].name == "edge")


def test_a_line_made_light_is_lighter_than_the_wood():
    rng = np.random.default_rng(1)
    light = np.full((40, 30, 3), 0.4)
    light[19:22] = 0.1
    turned = turned_light(light, np.full(30, 20.0), rng)
    assert (turned[20] > 2.0 * turned[10]).all()
    assert turned[10].max() < 0.4


def test_a_belief_on_trial_is_used_and_then_forgotten(strips):
    """Who believes nothing of the score gives the true edge and line no more chance than any other row."""
    usual = Believed(look_odds.EDGE, look_odds.PENCIL)
    nothing = Believed(replace(usual.edge, weight=0.0), replace(usual.line, weight=0.0))
    assert (worth(usual, [strips.lap]) > worth(nothing, [strips.lap]) + 1.0).all()
    assert (usual.edge, usual.line) == (look_odds.EDGE, look_odds.PENCIL)


def test_no_board_has_two_uses():
    every = [set(boards_for(use)) for use in USES]
    assert all(every)
    assert sum(map(len, every)) == len(set.union(*every))
