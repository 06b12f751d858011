"""Repeatability taken apart as in the worked example of AIAG, Measurement Systems Analysis, 4th ed. (10 parts x 3 x 3).

The table and its results are published in open-source test suites; the numbers here were copied from such a copy.
"""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.fitlog.judged_by import terms_of
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.repeat import spread, study
from fitcheck.fitlog.store import reading
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
from fitcheck.report.record.between_lines import study_lines
from tests.fitlog.made import made_hull, measured, photographs

#: readings[person][trial][part]
TABLE = [
    [
        [0.29, -0.56, 1.34, 0.47, -0.80, 0.02, 0.59, -0.31, 2.26, -1.36],
        [0.41, -0.68, 1.17, 0.50, -0.92, -0.11, 0.75, -0.20, 1.99, -1.25],
        [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31],
    ],
    [
        [0.08, -0.47, 1.19, 0.01, -0.56, -0.20, 0.47, -0.63, 1.80, -1.68],
        [0.25, -1.22, 0.94, 1.03, -1.20, 0.22, 0.55, 0.08, 2.12, -1.62],
        [0.07, -0.68, 1.34, 0.20, -1.28, 0.06, 0.83, -0.34, 2.19, -1.50],
    ],
    [
        [0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
        [-0.11, -1.13, 1.09, 0.20, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
        [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16],
    ],
]


def test_the_table_of_variance():
    found = spread(TABLE)
    assert (found.parts_source.dof, found.people_source.dof) == (9, 2)
    assert (found.interaction_source.dof, found.repeat_source.dof) == (18, 60)
    assert found.parts_source.squares == pytest.approx(88.3619, abs=5e-5)
    assert found.people_source.squares == pytest.approx(3.1673, abs=5e-5)
    assert found.interaction_source.squares == pytest.approx(0.3590, abs=5e-5)
    assert found.repeat_source.squares == pytest.approx(2.7589, abs=5e-5)


def test_the_spreads():
    found = spread(TABLE)
    assert found.pooled
    assert found.repeat == pytest.approx(0.199933, abs=5e-7)
    assert found.people == pytest.approx(0.226838, abs=5e-7)
    assert found.system == pytest.approx(0.302372, abs=1e-6)
    assert found.parts == pytest.approx(1.042327, abs=1e-6)
    assert found.total == pytest.approx(1.085300, abs=1e-6)
    assert 100 * found.system_share == pytest.approx(27.86, abs=0.005)
    assert found.categories == 4


def test_an_interaction_that_is_there_is_not_pooled():
    """One person reads every second part high: the interaction stays in the system, against numpy's own sums."""
    table = np.array(TABLE)
    table[2, :, ::2] += 1.0
    found = spread(table.tolist())
    assert not found.pooled
    cells = table.mean(axis=1)
    rest = cells - cells.mean(axis=0) - cells.mean(axis=1)[:, None] + cells.mean()
    assert found.interaction_source.squares == pytest.approx(3 * float((rest**2).sum()))
    # Variance of the interaction: its mean square less the repeat's (published: 2.7589 over 60), over three trials.
    expected = np.sqrt((3 * float((rest**2).sum()) / 18 - 2.7589 / 60) / 3)
    assert found.interaction == pytest.approx(expected, abs=1e-5)
    assert found.system == pytest.approx(np.sqrt(found.repeat**2 + found.people**2 + found.interaction**2))


def test_readings_alike_have_no_spread():
    found = spread([[[1.0, 2.0]] * 2] * 2)
    assert found.system == 0
    assert found.parts == pytest.approx(np.sqrt(0.5))


@pytest.mark.parametrize("table", [[], [TABLE[0]], [[TABLE[0][0]], [TABLE[1][0]]], [TABLE[0], TABLE[1][:2]]])
def test_a_layout_with_holes_is_refused(table):
    with pytest.raises(WrongCall):
        spread(table)


def test_the_table_comes_back_from_the_record(tmp_path):
    """The same readings as photographs of one plank: ten places 50 mm apart, three people, three sets each."""
    hull = made_hull(tmp_path)
    for trial in range(3):
        for person in range(3):
            values = TABLE[person][trial]
            measurement = measured(
                lambda x, v=values: v[min(9, int((x + 25) // 50))], places_mm=range(0, 451, 5), u95_mm=0.7
            )
            photos = photographs(tmp_path, f"{person}-{trial}.jpg", seed=10 * person + trial)
            who, same = f"Builder {'ABC'[person]}", person + trial > 0
            record(measurement, db_path=hull.db_path, plank="4 port", hull=hull, photos=photos, who=who, same_fit=same)
    name = PlankName(4, "port")
    with reading(hull.db_path) as connection:
        found = study(connection, name, terms_of(name, hull))
    assert (len(found.places_mm), found.trials, len(found.people)) == (10, 3, 3)
    assert found.spread.system == pytest.approx(0.302372, abs=1e-6)
    assert found.stated_u_mm == pytest.approx(0.7 / 1.96, abs=1e-4)
    assert found.word == "the stated uncertainty covers how the readings differ"
    # The hull is in inches: 0.302372 mm is 0.0119 in.
    assert f"{0.302372 / 25.4:.4f}" in "\n".join(study_lines(found, hull))


def test_a_study_of_one_person_is_refused(tmp_path):
    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, who="A")
    name = PlankName(4, "port")
    with reading(hull.db_path) as connection, pytest.raises(WrongCall, match="two people"):
        study(connection, name, terms_of(name, hull))
