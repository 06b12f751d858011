"""The joint solution on made cards with known bend and twist; the geometry of the made hull is the tests' own."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.plank.joint.hull_shape import Shape, place_on
from fitcheck.plank.joint.joint_solution import solve
from fitcheck.plank.joint.layout import lay_out
from fitcheck.reference.pose import solve_pose
from tests.plank.made import CAMERA, CARDS, HULL, U_PX, px_of, row_of_views, view_of
from tests.scenes.hull import Hull

TRUE_MM = np.array([CARDS[n][0] - CARDS[0][0] for n in sorted(CARDS)])


def solved(views):
    return solve(views, lay_out(views))


def test_the_shape_is_the_hull_over_a_photograph():
    knots = np.array([0.0, 300.0, 600.0])
    shape = Shape(knots, np.full(3, 1 / 3600.0), np.full(3, np.radians(3.5) / 1000.0))
    points = np.array([(x, y, z) for x in (10.0, 250.0, 590.0) for y in (-60.0, 45.0) for z in (0.0, 12.0)])
    middle = 300.0
    # Both told from the frame at the middle.
    centre, axes = shape.frames(np.array([middle]))
    ours = (place_on(shape, points) - centre[0]) @ axes[0]
    theirs = HULL.face(points[:, 0] - middle, points[:, 1], points[:, 2])
    # A strake's middle line, straight in its face, leaves the made hull's plane by k t s^3 / 6 = 0.08 mm at 300 mm.
    assert np.abs(ours - theirs).max() < 0.1


def test_cards_are_placed_along_a_bent_and_twisting_hull():
    joint = solved([view for view, *_ in row_of_views(HULL)])
    assert joint.numbers == tuple(range(7))
    np.testing.assert_allclose(joint.cards[:, 0], TRUE_MM, atol=0.3)
    assert np.degrees(np.median(joint.shape.twist[1:-1])) * 1000.0 == pytest.approx(3.5, abs=0.3)
    assert np.median(joint.shape.bend[1:-1]) == pytest.approx(1 / 3600.0, rel=0.05)


def test_cards_of_paper_that_follow_the_hull_are_still_placed_as_a_tape_would():
    joint = solved([view for view, *_ in row_of_views(HULL, bent=True)])
    # 3 mm over 2.4 m, and this row is 1.8 m long.
    np.testing.assert_allclose(joint.cards[:, 0], TRUE_MM, atol=3.0 * 1.8 / 2.4)


def test_a_flat_hull_is_found_flat():
    joint = solved([view for view, *_ in row_of_views(Hull())])
    np.testing.assert_allclose(joint.cards[:, 0], TRUE_MM, atol=0.05)
    assert np.abs(joint.shape.bend).max() < 1 / 100_000.0


def test_the_strake_between_and_beyond_the_cards_is_where_it_is():
    """Points of the face 45 mm above the cards: where the curved pose sees them, and one card's flat pose does not."""
    made = row_of_views(HULL)
    joint = solved([view for view, *_ in made])
    for (view, middle, rotation, shift), pose in zip(made, joint.poses, strict=True):
        laid = np.column_stack([middle + np.arange(-300.0, 301.0, 50.0), np.full(13, 45.0)])
        px = px_of(laid, HULL, middle, rotation, shift)
        found = pose.plank_from_face(pose.face_from_px(px))
        across = found[:, 1] - found[6, 1]
        # Straight on the laid-out face, as it is; 0.3 mm of turn is the frame's own direction.
        slope = np.polyfit(found[:, 0], across, 1)[0]
        np.testing.assert_allclose(across - slope * (found[:, 0] - found[6, 0]), 0.0, atol=0.25)
        np.testing.assert_allclose(np.diff(found[:, 0]), 50.0, atol=0.25)
        flat = solve_pose(view.cards[0], CAMERA).face_from_px(px)
        assert np.abs(np.hypot(*np.diff(flat, axis=0).T) - 50.0).max() > 1.0


def test_px_and_face_are_each_others_inverse_after_a_turn():
    pose = solved([view for view, *_ in row_of_views(HULL)]).poses[2].turned(0.03, flip=True)
    places = np.array([(x, y) for x in (-280.0, 0.0, 300.0) for y in (-50.0, 60.0)])
    px = pose.px_from_face(np.column_stack([places, np.zeros(len(places))]))
    np.testing.assert_allclose(pose.face_from_px(px), places, atol=1e-3)


def test_stated_uncertainty_of_places_holds_over_draws():
    """The spread of repeated solutions against what each states: within the band of 30 draws (chi-square, 99 %)."""
    last, stated = [], []
    for seed in range(30):
        joint = solved([view for view, *_ in row_of_views(Hull(), noise_px=U_PX, seed=seed)])
        last.append(joint.cards[-1, 0] - TRUE_MM[-1])
        stated.append(np.sqrt(joint.covariance[6, 6]))
    ratio = np.std(last) / np.mean(stated)
    # The priors on focal length and centre are wider than the made camera's none, so less spread than stated is right.
    assert 0.2 < ratio < 1.3


def test_order_of_views_changes_nothing():
    views = [view for view, *_ in row_of_views(HULL)]
    one, other = solved(views), solved(views[::-1])
    np.testing.assert_allclose(one.cards[:, 0], other.cards[:, 0], atol=0.01)


def test_one_view_of_one_card_is_solved_with_the_doubt_of_an_unknown_hull():
    view, *_ = view_of("lone.jpg", (2,), hull=HULL)
    joint = solved([view])
    knots = joint.shape.knots_mm
    assert joint.cards[0, 0] == pytest.approx(0.0, abs=1e-3)
    # Nothing tells of the bend beyond one card but what hulls do.
    u_bend = np.sqrt(np.diag(joint.poses[0].covariance)[9 : 9 + len(knots)])
    assert (u_bend > 1 / 10_000.0).all()
