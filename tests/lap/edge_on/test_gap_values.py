"""Gap, step and their uncertainties from a look that was made up, part by part."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.lap.edge_on.edge_on_look import possible_easings
from fitcheck.lap.edge_on.gap_samples import placed, sample_of
from fitcheck.lap.edge_on.gap_values import EASING_VARIES, LIT_INTO, gap_state, gap_values
from tests.lap.edge_on.made_look import COUNT, PX_PER_MM, SECTION, THICKNESS_MM, made_look

U_THICKNESS_MM = 0.2


def values(look):
    """With an easing that was given, so that nothing is taken off what is seen."""
    return gap_values(look, SECTION, U_THICKNESS_MM)


def states(look):
    one = placed("a", look, values(look), look.scale.along_mm, [0.0])
    return {sample_of(one, row, on_plank=False).state for row in range(len(one.place_mm))}


def flags(look):
    one = placed("a", look, values(look), look.scale.along_mm, [0.0])
    return {flag for row in range(len(one.place_mm)) for flag in sample_of(one, row, on_plank=False).flags}


@pytest.mark.parametrize(("gap_mm", "state"), [(0.0, "closed"), (0.8, "open")])
def test_a_clear_slit_is_as_wide_as_it_is_seen_and_the_step_is_the_thickness(gap_mm, state):
    found = values(made_look(gap_mm))
    assert found.gap_mm == pytest.approx(np.full(COUNT, gap_mm), abs=1e-6)
    assert found.proud_mm == pytest.approx(np.full(COUNT, THICKNESS_MM), abs=0.05)
    assert states(made_look(gap_mm)) == {state}


def test_the_parts_add_up_as_squares():
    found = values(made_look(0.5))
    total = np.sqrt(sum(part**2 for part in found.parts.values()))
    assert found.u_gap_mm == pytest.approx(total, rel=1e-6)


def test_an_easing_is_carried_by_the_gap_and_named_by_its_flag():
    """Eased by 0.2 mm ± 0.1: what varies along the plank, and what is not known of it, are one part together."""
    each = np.full(COUNT, 0.1 * PX_PER_MM)
    eased = made_look(0.2, eased_px=0.2 * PX_PER_MM, u_eased_px=0.1 * PX_PER_MM, by_easing_px=each)
    found = values(eased)
    assert found.parts["easing"] == pytest.approx(np.full(COUNT, np.hypot(0.1, EASING_VARIES * 0.2)))
    assert found.most_eased_mm == pytest.approx(0.2 + 1.96 * 0.1)
    assert states(eased) == {"unsure"}
    assert "corner-eased" in flags(eased)
    assert "corner-eased" not in flags(made_look(0.2))


def test_a_dark_band_that_nowhere_ends_may_be_a_rounder_corner_or_an_open_lap_and_both_lie_within():
    """Half a millimetre all along, the corner seen sharp: 0.4 of it may be easing. Given as sharp, none is."""
    look = made_look(0.5)
    found = gap_values(look, replace(SECTION, eased_mm=None), U_THICKNESS_MM)
    assert (found.gap_mm - 1.96 * found.u_gap_mm <= 0.1).all()
    assert (found.gap_mm + 1.96 * found.u_gap_mm >= 0.5).all()
    assert found.most_eased_mm == pytest.approx(0.4)
    told = gap_values(look, replace(SECTION, eased_mm=0.0), U_THICKNESS_MM)
    assert told.gap_mm == pytest.approx(np.full(COUNT, 0.5))
    assert {gap_state(gap, u) for gap, u in zip(told.gap_mm, told.u_gap_mm, strict=True)} == {"open"}


def test_a_lap_that_bears_in_a_fifth_of_what_is_seen_tells_the_easing_and_nothing_is_taken_off():
    gap_mm = np.where(np.arange(COUNT) < COUNT // 5, 0.0, 0.5)
    found = gap_values(made_look(gap_mm), replace(SECTION, eased_mm=None), U_THICKNESS_MM)
    assert found.gap_mm[-10:] == pytest.approx(np.full(10, 0.5), abs=0.02)


def test_light_from_the_keel_side_may_reach_into_a_slit_and_widens_its_doubt():
    lit, shaded = values(made_look(0.8)), values(made_look(0.8, shadow=0.7))
    assert lit.parts["light reaching in"] == pytest.approx(np.full(COUNT, LIT_INTO * 0.8))
    assert not shaded.parts["light reaching in"].any()


def test_a_sharp_corner_taken_for_eased_leaves_the_true_step_within():
    each = np.full(COUNT, 0.3 * PX_PER_MM)
    wrong = made_look(0.0, corner_px=each, shut_px=each, eased_px=0.3 * PX_PER_MM)
    found = values(wrong)
    assert (np.abs(found.proud_mm - THICKNESS_MM) <= 1.96 * found.u_proud_mm).all()
    sure = values(replace(wrong, slits=replace(wrong.slits, eased_px=0.0)))
    assert (sure.u_proud_mm < found.u_proud_mm).all()


def test_a_lap_is_not_proved_closed_to_a_tenth_over_an_eased_corner_and_is_over_a_sharp_one():
    sharp = made_look(0.0, u_px=np.full(COUNT, 0.05))
    eased = replace(sharp, slits=replace(sharp.slits, eased_px=0.3 * PX_PER_MM))
    most = {}
    for name, look in (("sharp", sharp), ("eased", eased)):
        one = placed("a", look, values(look), look.scale.along_mm, [0.0])
        samples = [sample_of(one, row, on_plank=False) for row in range(len(one.place_mm))]
        assert {sample.state for sample in samples} == {"closed"}
        most[name] = max(sample.gap_u95_mm for sample in samples)
    assert most["sharp"] <= 0.10 < most["eased"]
    assert "corner-eased" in flags(eased)
    assert "corner-eased" not in flags(sharp)


def test_a_step_higher_than_the_plank_is_thick_makes_the_lap_neither_open_nor_closed():
    look = made_look(0.5)
    taller = replace(look, outer=replace(look.outer, height_px=look.outer.height_px + 3.0 * PX_PER_MM))
    assert states(taller) == {"unsure"}
    assert (values(taller).u_proud_mm > 2.0).all()


def test_under_an_edge_face_as_dark_as_a_slit_nothing_is_said():
    assert states(made_look(0.6, edge=np.full(COUNT, 0.1))) == {"unsure"}
    assert states(made_look(0.0, edge=np.full(COUNT, 0.1))) == {"unsure"}


def test_a_dark_lighter_than_any_slit_may_be_a_line_and_half_of_it_is_uncertainty():
    found = values(made_look(0.6, depth=np.full(COUNT, 0.6), floor=np.full(COUNT, 0.5)))
    assert found.another.all()
    assert (found.u_gap_mm > 0.3).all()


def test_without_a_reference_the_step_is_the_thickness_as_it_was_given():
    found = values(made_look(0.3, scaled=False))
    assert (found.proud_mm == THICKNESS_MM).all()
    assert (found.u_proud_mm >= U_THICKNESS_MM).all()


def test_open_is_beyond_three_uncertainties_and_closed_is_under_a_quarter_of_a_millimetre():
    assert [gap_state(gap, 0.1) for gap in (0.31, 0.29, 0.0)] == ["open", "unsure", "closed"]
    assert gap_state(0.0, 0.16) == "unsure"


def test_what_may_be_eased_and_by_how_much():
    assert possible_easings(None).tolist() == pytest.approx([0.0, 0.1, 0.2, 0.3, 0.4])
    assert possible_easings(0.02).min() == 0.0
