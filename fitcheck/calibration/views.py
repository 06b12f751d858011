"""The photographs of a calibration: loaded, matched to each other, the board found in each, or the reason why not."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from fitcheck.calibration.board_corners import Corners, find_corners
from fitcheck.calibration.glance import blurred
from fitcheck.calibration.match import identity_difference
from fitcheck.calibration.target import Board
from fitcheck.ground.files import need_file
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.picture.identity import UNKNOWN_CAMERA, CameraIdentity
from fitcheck.picture.orientation import turned_pixels
from fitcheck.picture.photo import load_photo

WORKERS = 2
#: A view is left out as blurred when its edges are this many times as wide as the middle view's, and this wide.
BLURRED_TIMES, BLURRED_RISE_PX = 2.5, 5.0
#: What undoes each orientation: a quarter turn is undone by the other one.
_UNDONE_BY = {6: 8, 8: 6}


@dataclass(frozen=True, eq=False)
class BoardPhoto:
    """One photograph: ``corners`` in its stored pixels, or None and the ``reason`` why it is left out."""

    name: str
    digest: str = ""
    size_px: tuple[int, int] | None = None
    orientation: int = 1
    identity: CameraIdentity = UNKNOWN_CAMERA
    corners: Corners | None = None
    reason: Reason | None = None

    def as_json(self) -> dict[str, Any]:
        """The photograph as the camera file names it among its inputs."""
        return {
            "name": self.name,
            "sha256": self.digest,
            "orientation": self.orientation,
            "used": self.corners is not None,
            "reason": None if self.reason is None else self.reason.as_json(),
        }

    def left_out(self, code: str, text: str) -> BoardPhoto:
        """This photograph, left out for a reason."""
        return BoardPhoto(
            name=self.name,
            digest=self.digest,
            size_px=self.size_px,
            orientation=self.orientation,
            identity=self.identity,
            corners=None,
            reason=Reason(code, text),
        )


def look_at(
    paths: Sequence[str | os.PathLike[str]],
    board: Board,
    progress: Callable[[int, int], None] | None = None,
    seen_one: Callable[[BoardPhoto], None] | None = None,
) -> tuple[BoardPhoto, ...]:
    """Every photograph in the order given, the board found in it or the reason why not.

    ``progress`` is told (done, of how many), ``seen_one`` each photograph as it was looked at. Raises
    :class:`WrongCall` for a missing file.
    """
    for path in paths:
        need_file(path)
    seen: list[BoardPhoto] = []
    with ThreadPoolExecutor(WORKERS) as pool:
        for photo in pool.map(lambda path: _look_at_one(Path(path), board), paths):
            seen.append(photo)
            if seen_one is not None:
                seen_one(photo)
            if progress is not None:
                progress(len(seen), len(paths))
    return tuple(_without_blurred(_without_repeats(seen)))


def check_alike(photos: Sequence[BoardPhoto]) -> CameraIdentity:
    """The camera that took them all; what one photograph does not say another may.

    Raises :class:`Refused`: ``mixed-sizes``, ``mixed-cameras``, ``mixed-lenses``, ``mixed-zooms``.
    """
    read = [photo for photo in photos if photo.size_px is not None]
    if not read:
        return UNKNOWN_CAMERA
    size_px = Counter(photo.size_px for photo in read).most_common(1)[0][0]
    others = [photo.name for photo in read if photo.size_px != size_px]
    if others:
        raise Refused("mixed-sizes", f"{_named(others)} not {_size(size_px)} pixels as stored like the rest. {_SORT}")
    usual = Counter(photo.identity for photo in read).most_common(1)[0][0]
    for code, mixed in _MIXED:
        different = {photo.name: identity_difference(usual, photo.identity) for photo in read}
        others = [name for name, found in different.items() if found is not None and found[0] == code]
        if others:
            found = different[others[0]]
            assert found is not None
            told = f"with {found[1]} {found[3]}; the rest with {found[2]}"
            raise Refused(mixed, f"{_named(others)} taken {told}. {_SORT}")
    return max((photo.identity for photo in read), key=lambda one: sum(v is not None for v in one.as_json().values()))


#: What two photographs of a board may differ in, and the refusal where they do.
_MIXED = (("camera-other", "mixed-cameras"), ("camera-lens", "mixed-lenses"), ("camera-zoom", "mixed-zooms"))
_SORT = "Calibrate from photographs of one camera, lens, zoom and size; leave the others out."


def _named(names: Sequence[str]) -> str:
    shown = ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")
    return f"{shown} {'is' if len(names) == 1 else 'are'}"


def _size(size_px: tuple[int, int] | None) -> str:
    return "unknown" if size_px is None else f"{size_px[0]} x {size_px[1]}"


def _look_at_one(path: Path, board: Board) -> BoardPhoto:
    try:
        photo = load_photo(path)
    except Refused as refused:
        return BoardPhoto(path.name, reason=refused.reason)
    gray = cv2.cvtColor(photo.pixels, cv2.COLOR_BGR2GRAY)
    stored = turned_pixels(gray, _UNDONE_BY.get(photo.orientation, photo.orientation))
    seen = BoardPhoto(photo.name, photo.digest, photo.size_stored_px, photo.orientation, photo.identity)
    try:
        corners = find_corners(np.ascontiguousarray(stored), board)
    except Refused as refused:
        return seen.left_out(refused.reason.code, refused.reason.text)
    return BoardPhoto(seen.name, seen.digest, seen.size_px, seen.orientation, seen.identity, corners)


def _without_repeats(photos: Sequence[BoardPhoto]) -> list[BoardPhoto]:
    first: dict[str, str] = {}
    kept: list[BoardPhoto] = []
    for photo in photos:
        if photo.digest in first:
            photo = photo.left_out("board-repeated", f"it is the same photograph as {first[photo.digest]}.")
        elif photo.digest:
            first[photo.digest] = photo.name
        kept.append(photo)
    return kept


def _without_blurred(photos: Sequence[BoardPhoto]) -> list[BoardPhoto]:
    rises = [photo.corners.rise_px for photo in photos if photo.corners is not None]
    if not rises:
        return list(photos)
    limit_px = max(BLURRED_TIMES * float(np.median(rises)), BLURRED_RISE_PX)
    kept = []
    for photo in photos:
        if photo.corners is not None and photo.corners.rise_px > limit_px:
            reason = blurred(photo.corners.rise_px).reason
            photo = photo.left_out(reason.code, reason.text)
        kept.append(photo)
    return kept
