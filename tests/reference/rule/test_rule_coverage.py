"""The rule judged alone on made photographs, on draws it was not tuned on: lengths by the lap and their stated doubt.

What a rule's own class of accuracy and thickness add is not in these pictures, so more lie inside than 95 in 100.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from tests.in_processes import in_processes
from tests.reference.rule.rule_made import judge

SEED, SCENES, FEWEST_FOUND = 20261203, 12, 9
#: A rule's part of an error of 0.35 mm over 20 mm, which edge and line share.
MOST_ACROSS_MM = 0.15


def scene(number: int):
    """Whole, cut off, under a clamp and in glare, by turns; near enough for a millimetre to be three pixels."""
    return judge(SEED, number, case=("whole", "cut", "clamp", "glare")[number % 4], near=True)


def test_lengths_by_a_rule_and_their_doubt():
    found = [one for one in in_processes(scene, range(SCENES)) if not one.code]
    assert len(found) >= FEWEST_FOUND
    across, along = (np.concatenate([getattr(one, name) for one in found]) for name in ("across", "along"))
    for pairs in (across, along):
        assert np.mean(np.abs(pairs[:, 0]) <= 1.96 * pairs[:, 1]) >= 0.91
        assert (np.abs(pairs[:, 0]) <= 3.3 * pairs[:, 1]).all()
    assert np.percentile(np.abs(across[:, 0]), 95) <= MOST_ACROSS_MM


def test_the_wrong_unit_told_is_never_measured():
    codes = [one.code for one in in_processes(partial(judge, SEED, case="unit", near=True), range(SCENES, SCENES + 3))]
    assert codes == ["reference-unit"] * 3
