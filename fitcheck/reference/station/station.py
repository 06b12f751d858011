"""Station cards: the numbered cards along a plank, found by their markers.

OpenCV finds the markers; its corners stand up to half a pixel out of place, so they serve only as a start for our own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from fitcheck.ground.bounds import MOST_CARDS
from fitcheck.ground.refusal import Reason
from fitcheck.reference.kinds import STATION
from fitcheck.reference.sighting import Sighting
from fitcheck.reference.station.station_fit import distort, fit_flat, fit_marker, through
from fitcheck.reference.station.station_layout import (
    DICTIONARY,
    MARKERS_ON_CARD,
    card_corners_mm,
    marker_corners_mm,
)

if TYPE_CHECKING:
    from fitcheck.calibration.camera import Camera

# Thin card, or paper pasted on card, lying on the strake. 0.15 mm of doubt on it is 0.03 % of scale at half a metre.
THICKNESS_MM = 0.3
# Printed at home: the check bar read to 0.3 mm in 100 mm (rectangular), and that doubt of thickness.
U_SCALE = 0.0018
# Above this many pixels the picture is halved for finding; the corners are always fitted at full size.
HALVE_ABOVE_PX = 5_000_000
# Beyond this a card's markers do not lie on one flat card: a bent card, a torn one, markers of two cards.
MOST_LEFT_MM, MOST_LEFT_PX = 0.25, 0.3
# How far a home printer may set a marker out of its place within one card.
PRINT_U_MM = 0.03


@dataclass(frozen=True)
class CardsSeen:
    """The station cards of one photograph, and what was odd about them."""

    cards: list[Sighting]
    warnings: list[Reason]


@dataclass(frozen=True)
class _Marker:
    """One marker: its id and its corners (4, 2) in pixels, clockwise from its own top left."""

    number: int
    corners_px: np.ndarray

    @property
    def card(self) -> int:
        return self.number // MARKERS_ON_CARD

    def card_centre_px(self) -> np.ndarray:
        """Where this marker says its card's centre is, (2,)."""
        px_from_mm = cv2.getPerspectiveTransform(
            marker_corners_mm(self.number % MARKERS_ON_CARD).astype(np.float32), self.corners_px.astype(np.float32)
        )
        return np.asarray(px_from_mm[:2, 2] / px_from_mm[2, 2])


def find_station_cards(gray: np.ndarray, camera: Camera) -> list[Sighting]:
    """The station cards in one photograph, by number; see :func:`read_station_cards` for what was odd.

    ``gray`` is (H, W) at full size, the picture as a person sees it, and ``camera`` the one it was taken with.
    """
    return read_station_cards(gray, camera).cards


def read_station_cards(gray: np.ndarray, camera: Camera) -> CardsSeen:
    """The station cards in one photograph and warnings on cards seen twice, in part, bent, and on stray markers.

    Every card with two markers or more in sight is given, with up to 16 points in its own frame, z its thickness.
    Flags: ``card-in-part`` (not all four markers), ``number-twice`` (another card here has this number), ``card-bent``.
    """
    gray = np.ascontiguousarray(gray)
    groups: dict[int, list[list[_Marker]]] = {}
    strays: list[int] = []
    for marker in _find_markers(gray):
        if marker.card < MOST_CARDS:
            _gather(groups.setdefault(marker.card, []), marker)
        else:
            strays.append(marker.number)
    cards, warnings = [], []
    for number, sets in sorted(groups.items()):
        whole = [markers for markers in sets if len(markers) > 1]
        strays += [markers[0].number for markers in sets if len(markers) == 1]
        seen = [card for markers in whole if (card := _sighting(gray, camera, number, markers, len(whole) > 1))]
        cards += seen
        if len(seen) < len(whole):
            warnings.append(_unclear(number))
        if len(whole) > 1:
            warnings.append(_twice(number, len(whole)))
    if strays:
        warnings.append(_stray(sorted(strays)))
    return CardsSeen(cards, warnings)


def _find_markers(gray: np.ndarray) -> list[_Marker]:
    scale = 0.5 if gray.size > HALVE_ABOVE_PX else 1.0
    small = cv2.resize(gray, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1.0 else gray
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(DICTIONARY), cv2.aruco.DetectorParameters())
    corners, numbers, _ = detector.detectMarkers(small)
    if numbers is None or not len(corners):
        return []
    return [
        _Marker(int(number), (np.asarray(quad, float).reshape(4, 2) + 0.5) / scale - 0.5)
        for number, quad in zip(np.ravel(numbers), corners, strict=True)
    ]


def _gather(sets: list[list[_Marker]], marker: _Marker) -> None:
    """Put a marker to the card whose centre it points at, if that card lacks it, else to a new one."""
    side = float(np.linalg.norm(marker.corners_px[0] - marker.corners_px[1]))
    for markers in sets:
        apart = np.linalg.norm(markers[0].card_centre_px() - marker.card_centre_px())
        if apart < 1.5 * side and all(other.number != marker.number for other in markers):
            markers.append(marker)
            return
    sets.append([marker])


def _sighting(gray: np.ndarray, camera: Camera, number: int, markers: list[_Marker], twice: bool) -> Sighting | None:
    refined = [(marker, fit) for marker in markers if (fit := fit_marker(gray, camera, marker.corners_px)) is not None]
    if len(refined) < 2:
        return None
    points = np.concatenate([marker_corners_mm(marker.number % MARKERS_ON_CARD) for marker, _ in refined])
    flat = fit_flat(points, camera.undistort(np.concatenate([fit[0] for _, fit in refined])))
    pixels = distort(camera, flat.seen)
    px_of_mm = float(np.linalg.norm(np.ptp(pixels, axis=0)) / np.linalg.norm(np.ptp(points, axis=0)))
    flags = ["card-in-part"] * (len(refined) < MARKERS_ON_CARD) + ["number-twice"] * twice
    if flat.left_mm > MOST_LEFT_MM + MOST_LEFT_PX / px_of_mm:
        flags.append("card-bent")
    return Sighting(
        kind=STATION.name,
        points_mm=np.column_stack([points, np.full(len(points), THICKNESS_MM)]),
        points_px=pixels,
        u_px=np.hypot(np.concatenate([fit[1] for _, fit in refined]), PRINT_U_MM * px_of_mm),
        u_scale=U_SCALE,
        outline_px=distort(camera, through(flat.seen_from_mm, card_corners_mm())),
        number=number,
        flags=tuple(flags),
    )


def _twice(number: int, count: int) -> Reason:
    return Reason(
        "number-twice",
        f"Station card {number} is seen {count} times in one photograph. Each number may be used once: "
        "take one card away, print another number, and photograph again.",
    )


def _unclear(number: int) -> Reason:
    return Reason(
        "card-unclear",
        f"Station card {number} is seen, but the sides of its markers cannot be fitted, and it is not used. "
        "Keep it flat, clear of clamps and the picture's edge, in focus and out of glare.",
    )


def _stray(numbers: list[int]) -> Reason:
    listed = ", ".join(map(str, numbers))
    return Reason(
        "stray-marker",
        f"Marker {listed} is seen without the rest of its station card and is not used. "
        "Keep at least two markers of each card in sight and clear of clamps.",
    )
