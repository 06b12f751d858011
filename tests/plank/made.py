"""Views of a made plank: station cards on a bent, twisting hull, seen through a made camera, with exact truth."""

from __future__ import annotations

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.plank.joint.card_views import View
from fitcheck.reference.pose import solve_pose
from fitcheck.reference.sighting import Sighting
from fitcheck.reference.station.station_layout import card_corners_mm, marker_corners_mm
from tests.scenes.hull import Hull

#: Non-square pixels and an off-centre axis, so that a swap of axes fails.
CAMERA = Camera(
    matrix=np.array([[1570.0, 0, 1030.0], [0, 1590.0, 750.0], [0, 0, 1]]),
    distortion=np.array([-0.1, 0.08, 5e-4, -3e-4, 0.0]),
    size_px=(2048, 1536),
)
U_PX = 0.08
#: Cards by number: place along, off the middle line, turn in degrees.
CARDS = {n: (305.0 * n + 12.0 * np.sin(3.0 * n), 6.0 * np.cos(2.0 * n), 4.0 * np.sin(5.0 * n)) for n in range(7)}


def card_px(number, points, hull, middle_mm, rotation, shift, cards=CARDS, bent=False):
    """Pixels (N, 2) of points (N, 2) of a card: stiff, touching the hull at its centre, or ``bent`` to it as paper."""
    at, off, turn = cards[number]
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    along, across = c * points[:, 0] - s * points[:, 1], s * points[:, 0] + c * points[:, 1]
    if bent:
        laid = np.column_stack([at + along, off + across, np.full(len(points), 0.3)])
        return px_of(laid, hull, middle_mm, rotation, shift)
    here = np.array([at - middle_mm])
    _, x, y, _ = (axis[0] for axis in hull.axes(here))
    centre = hull.face(here, np.array([off]), np.array([0.3]))[0]
    return CAMERA.project((centre + along[:, None] * x + across[:, None] * y) @ rotation.T + shift)


def stand(elevation_deg, distance_mm=520.0, azimuth_deg=3.0, roll_deg=2.0):
    """How a camera stands before the face: rotation (3, 3) and translation (3,), camera from face."""
    e, a, r = np.radians([elevation_deg, azimuth_deg, roll_deg])
    toward = np.array([np.sin(a) * np.cos(e), np.sin(e), np.cos(a) * np.cos(e)])
    right = np.cross([0.0, 1.0, 0.0], toward)
    right /= np.linalg.norm(right)
    up = np.cross(toward, right)
    right, up = np.cos(r) * right + np.sin(r) * up, np.cos(r) * up - np.sin(r) * right
    rotation = np.stack([right, -up, -toward])
    return rotation, -rotation @ (np.array([0.0, 20.0, 0.0]) + distance_mm * toward)


def px_of(laid, hull, middle_mm, rotation, shift):
    """Pixels (N, 2) of points (N, 2 or 3) on the laid-out face, the hull told about ``middle_mm``."""
    z = laid[:, 2] if laid.shape[1] > 2 else np.zeros(len(laid))
    return CAMERA.project(hull.face(laid[:, 0] - middle_mm, laid[:, 1], z) @ rotation.T + shift)


def view_of(name, numbers, *, hull, elevation_deg=-8.0, noise_px=0.0, rng=None, cards=CARDS, called=None, bent=False):
    """One view of some cards and how its camera stands: view, middle, rotation, shift. ``called`` renumbers cards."""
    middle = float(np.mean([cards[n][0] for n in numbers]))
    rotation, shift = stand(elevation_deg)
    points, seen = np.concatenate([marker_corners_mm(k) for k in range(4)]), []
    for n in numbers:
        px = card_px(n, points, hull, middle, rotation, shift, cards, bent)
        if rng is not None:
            px = px + rng.normal(0.0, noise_px, px.shape)
        outline_px = card_px(n, card_corners_mm(), hull, middle, rotation, shift, cards, bent)
        raised = np.column_stack([points, np.full(16, 0.3)])
        number = (called or {}).get(n, n)
        seen.append(Sighting("station", raised, px, np.full(16, U_PX), 0.0018, outline_px, number))
    seen.sort(key=lambda one: one.number)
    poses = tuple(solve_pose(one, CAMERA) for one in seen)
    return View(name, None, CAMERA, tuple(seen), poses), middle, rotation, shift


def row_of_views(hull, *, noise_px=0.0, seed=1, bent=False):
    """Views of neighbouring pairs of cards all along the plank, each with how its camera stands."""
    rng = np.random.default_rng(seed)
    return [
        view_of(f"v{k}.jpg", (k, k + 1), hull=hull, elevation_deg=tilt, noise_px=noise_px, rng=rng, bent=bent)
        for k, tilt in enumerate((-5.0, -7.0, -9.0, -5.0, -7.0, -9.0))
    ]


HULL = Hull(radius_mm=3600.0, twist_deg_per_m=3.5)
