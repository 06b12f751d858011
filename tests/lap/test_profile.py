"""Past-the-line values from made corners and lines, and their stated doubt proved by trials.

The trials share nothing with the propagation: each draws pose, thickness, bevel and the places seen, and meets sight
lines with planes by its own few lines (JCGM 101:2008). 2000 draws know a standard deviation to 1.6 %; propagation
leaves out curvature, so the accepted band is 6 % either way (12 % where the bevel is not told: it may show the corner).
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from fitcheck.lap.past_values import (
    CHAMFER_RUN_MM,
    SILHOUETTE_LOSS_MM,
    U_CHAMFER_MM,
    Seen,
    edge_width,
    past_values,
    u_edge_width,
)
from tests.lap.made_pose import corner_mm, seen_px, standing

DRAWS = 2000
THICKNESS_MM, U_THICKNESS_MM = 12.7, 0.2
ALONG = np.arange(-150.0, 151.0, 10.0)
U_EDGE_MM, U_LINE_MM, U_CORNER_MM = 0.07, 0.09, 0.05
KEEL_SIDE, SHEER_SIDE = (50.0, -120.0, 480.0), (50.0, 240.0, 450.0)


def line_y(along: np.ndarray) -> np.ndarray:
    return 42.0 + 0.02 * along + 1.2 * np.sin(along / 90.0)


def past_mm(along: np.ndarray) -> np.ndarray:
    return -2.0 + 1.5 * np.sin(along / 60.0)


def seen_of(pose, bevel_deg: float, *, hidden: bool, drop_mm: float = 0.0) -> Seen:
    """What a perfect look would find: the corner in sight (an outer one eased as usual), and the line."""
    inner, outer = corner_mm(ALONG, line_y(ALONG), past_mm(ALONG), bevel_deg, THICKNESS_MM - SILHOUETTE_LOSS_MM)
    edge = pose.face_from_px(seen_px(pose, outer if hidden else inner))
    line = np.column_stack([ALONG, line_y(ALONG) - drop_mm])
    every = np.ones(len(ALONG))
    return Seen(edge, line, U_EDGE_MM * every, U_LINE_MM * every, U_CORNER_MM, hidden, drop_mm)


def values(pose, seen: Seen, *, bevel_deg: float = 6.0, u_bevel_deg: float = 1.0, u_witness_mm: float = 0.0):
    return past_values(
        pose,
        seen,
        thickness_mm=THICKNESS_MM,
        u_thickness_mm=U_THICKNESS_MM,
        bevel_deg=bevel_deg,
        u_bevel_deg=u_bevel_deg,
        u_witness_mm=u_witness_mm,
    )


@pytest.mark.parametrize("bevel_deg", [0.0, 6.0, 11.0])
@pytest.mark.parametrize("drop_mm", [0.0, 20.0])
@pytest.mark.parametrize(("stand_mm", "hidden"), [(KEEL_SIDE, False), (SHEER_SIDE, True)])
def test_perfect_sight_gives_the_true_value_and_place(stand_mm, hidden, drop_mm, bevel_deg):
    pose = standing(stand_mm)
    found = values(pose, seen_of(pose, bevel_deg, hidden=hidden, drop_mm=drop_mm), bevel_deg=bevel_deg)
    assert found.along_mm == pytest.approx(ALONG, abs=0.05)
    inner = slice(1, -1)  # the line is not extended beyond where it was seen
    assert found.past_mm[inner] == pytest.approx(past_mm(found.along_mm)[inner], abs=0.01)


def met(stand: np.ndarray, toward: np.ndarray, normal: np.ndarray, level: np.ndarray) -> np.ndarray:
    """Where sight lines (N, 3) meet the planes {p: normal · p = level} (N,)."""
    reach = (level - normal @ stand) / (toward @ normal)
    return stand + toward * reach[:, None]


def one_draw(pose, seen, rng, bevel_deg, u_bevel_deg):
    """The value at every window from one set of inputs drawn out of their doubt."""
    change = rng.normal(size=9) * np.sqrt(np.diag(pose.covariance))
    thickness = THICKNESS_MM + U_THICKNESS_MM * rng.normal()
    b = np.radians(bevel_deg + u_bevel_deg * rng.normal())
    rotation = pose.rotation @ cv2.Rodrigues(change[:3])[0]
    stand = -rotation.T @ (pose.translation_mm + change[3:6])

    def toward(face_mm):
        points = np.column_stack([face_mm, np.zeros(len(face_mm))]) @ pose.rotation.T + pose.translation_mm
        flat = (points[:, :2] / points[:, 2:] - change[7:9]) / (1.0 + change[6])
        return np.column_stack([flat, np.ones(len(flat))]) @ rotation

    line = seen.line_mm + np.column_stack([np.zeros(len(ALONG)), U_LINE_MM * rng.normal(size=len(ALONG))])
    off = U_EDGE_MM * rng.normal(size=len(ALONG)) + U_CORNER_MM * rng.normal()
    edge = seen.edge_mm + np.column_stack([np.zeros(len(ALONG)), off])
    on_face = met(stand, toward(line), np.array([0.0, 0.0, 1.0]), np.zeros(len(ALONG)))
    normal, outward = np.array([0.0, np.sin(b), np.cos(b)]), np.array([0.0, -np.cos(b), np.sin(b)])
    rise = 0.0
    if seen.hidden and np.median((stand[1] - on_face[:, 1]) / stand[2]) > np.tan(b):
        rise = thickness - SILHOUETTE_LOSS_MM
    # The lap's plane holds the lap line: as that wanders, a small bit of a plane a place, found in two turns.
    level_y = on_face[:, 1] + seen.drop_mm
    for _ in range(3):
        corner = met(stand, toward(edge), normal, np.sin(b) * level_y + rise)
        level_y = np.interp(corner[:, 0], on_face[:, 0], on_face[:, 1]) + seen.drop_mm
    past = (corner - np.column_stack([corner[:, 0], level_y, np.zeros(len(corner))])) @ outward
    return np.interp(ALONG, corner[:, 0], past)


@pytest.mark.parametrize(
    ("stand_mm", "hidden", "drop_mm", "u_bevel_deg", "band"),
    [
        (KEEL_SIDE, False, 0.0, 1.0, 0.06),
        (KEEL_SIDE, False, 20.0, 1.0, 0.06),
        (SHEER_SIDE, True, 0.0, 1.0, 0.06),
        (SHEER_SIDE, True, 20.0, 1.0, 0.06),
        (SHEER_SIDE, True, 0.0, 4.0, 0.12),
    ],
)
def test_the_stated_doubt_is_the_spread_of_trials(stand_mm, hidden, drop_mm, u_bevel_deg, band):
    pose = standing(stand_mm)
    seen = seen_of(pose, 6.0, hidden=hidden, drop_mm=drop_mm)
    found = values(pose, seen, u_bevel_deg=u_bevel_deg)
    stated = np.sqrt(found.u_mm**2 - found.parts["flatness"] ** 2)
    rng = np.random.default_rng(20261125)
    trials = np.array([one_draw(pose, seen, rng, 6.0, u_bevel_deg) for _ in range(DRAWS)])
    spread = trials.std(axis=0)[1:-1]
    ratio = spread / np.interp(ALONG, found.along_mm, stated)[1:-1]
    assert ratio.mean() == pytest.approx(1.0, abs=band)
    assert np.abs(ratio - 1.0).max() < band + 0.05


def test_every_doubt_told_widens_the_answer():
    """Parts add as squares; the sheer side feels thickness and bevel, the keel side (inner corner in sight) hardly."""
    keel = values(standing(KEEL_SIDE), seen_of(standing(KEEL_SIDE), 6.0, hidden=False), u_witness_mm=0.15)
    sheer = values(standing(SHEER_SIDE), seen_of(standing(SHEER_SIDE), 6.0, hidden=True))
    for found in (keel, sheer):
        assert found.u_mm**2 == pytest.approx(sum(part**2 for part in found.parts.values()))
    assert keel.parts["witness"] == pytest.approx(np.full(len(ALONG), 0.15))
    assert "witness" not in sheer.parts
    assert keel.parts["thickness"].max() == 0.0
    # Seen 24° off square over a bevel of 6°: du = u_t (cos b tan θ - sin b), about 0.07 mm; t·u_b for the bevel.
    b, seen = np.radians(6.0), np.radians(24.0)
    by_thickness = 0.2 * (np.cos(b) * np.tan(seen) - np.sin(b))
    assert np.median(sheer.parts["thickness"]) == pytest.approx(by_thickness, abs=0.015)
    assert np.median(sheer.parts["bevel"]) == pytest.approx(12.5 * np.radians(1.0) / np.cos(b) ** 2, rel=0.15)


def test_the_doubt_grows_away_from_the_reference():
    found = values(standing(SHEER_SIDE), seen_of(standing(SHEER_SIDE), 6.0, hidden=True))
    flatness = np.interp([0.0, 75.0, 150.0], found.along_mm, found.parts["flatness"])
    assert flatness[0] < 0.02 < flatness[1] < flatness[2]


@pytest.mark.parametrize("bevel_deg", [0.0, 6.0])
def test_the_edge_face_shows_as_wide_as_trigonometry_says(bevel_deg):
    """From the keel side the edge face is seen t(sin b + cos b tan θ) wide, and by the chamfer's run more."""
    at, b = np.zeros(1), np.radians(bevel_deg)
    _, outer = corner_mm(at, at + 40.0, at, bevel_deg, 12.7)
    pose = standing((0.0, outer[0, 1] - 500.0 * np.tan(np.radians(15.0)), outer[0, 2] + 500.0))
    width = edge_width(pose, 12.7, b, at, at + 40.0)
    assert width == pytest.approx(12.7 * (np.sin(b) + np.cos(b) * np.tan(np.radians(15.0))) + CHAMFER_RUN_MM, abs=0.01)


def test_the_doubt_of_that_width_is_the_spread_of_trials():
    """Thickness and bevel alone, drawn 2000 times; the tilt and the easing of the corner are known parts on top."""
    pose = standing(KEEL_SIDE, deviations=np.zeros(9))
    at, rng = np.zeros(1), np.random.default_rng(5)
    widths = [
        edge_width(pose, 12.7 + 0.2 * rng.normal(), np.radians(6.0 + rng.normal()), at, at + 42.0) for _ in range(DRAWS)
    ]
    told = u_edge_width(pose, 12.7, 0.2, 6.0, 1.0, 42.0)
    assert np.sqrt(np.var(widths) + U_CHAMFER_MM**2) == pytest.approx(told, rel=0.06)
