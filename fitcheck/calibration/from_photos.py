"""From photographs of the printed board to a camera, with a verdict and what to photograph next."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fitcheck.calibration.adjust import View, lens_matrix
from fitcheck.calibration.camera import Camera
from fitcheck.calibration.next_photo import NextPhoto, next_photo
from fitcheck.calibration.quality import Quality, judge
from fitcheck.calibration.solve import Solution, solve
from fitcheck.calibration.target import Board
from fitcheck.calibration.verdict import FEWEST_VIEWS
from fitcheck.calibration.views import BoardPhoto, check_alike, look_at
from fitcheck.ground.refusal import Reason, Refused


@dataclass(frozen=True, eq=False)
class Calibration:
    """The answer to a calibration; false where it is refused, and then ``reasons`` say why.

    ``camera`` is None where nothing could be solved; a refused calibration may carry one, to be looked at and not used.
    """

    state: str
    board: Board
    photos: tuple[BoardPhoto, ...]
    reasons: tuple[Reason, ...] = ()
    camera: Camera | None = None
    quality: Quality | None = None
    solution: Solution | None = None
    advice: NextPhoto | None = None

    def __bool__(self) -> bool:
        return self.state != "refused"

    @property
    def used(self) -> tuple[BoardPhoto, ...]:
        """The photographs the camera was made from."""
        return tuple(photo for photo in self.photos if photo.corners is not None)

    @property
    def left_out(self) -> tuple[BoardPhoto, ...]:
        """The photographs left out; each carries its reason."""
        return tuple(photo for photo in self.photos if photo.corners is None)

    def as_json(self) -> dict[str, Any]:
        """The answer for programs; the camera itself is in its file."""
        return {
            "schema": 1,
            "state": self.state,
            "reasons": [reason.as_json() for reason in self.reasons],
            "warnings": [] if self.quality is None else [one.as_json() for one in self.quality.warnings],
            "board": board_json(self.board),
            "quality": None if self.quality is None else self.quality.as_json(),
            "photos": [photo.as_json() for photo in self.photos],
            "next_photo": None if self.advice is None else self.advice.text,
        }


def board_json(board: Board) -> dict[str, Any]:
    """The board as the files name it."""
    return {
        "corners": list(board.size),
        "pitch_across_mm": board.pitch_across_mm,
        "pitch_down_mm": board.pitch_down_mm,
    }


def calibrate(
    paths: Sequence[str | os.PathLike[str]],
    *,
    board: Board,
    progress: Callable[[int, int], None] | None = None,
    seen_one: Callable[[BoardPhoto], None] | None = None,
) -> Calibration:
    """Calibrate a camera from photographs of ``board``.

    ``progress`` is told (done, of how many) as photographs are looked at, ``seen_one`` each of them. A calibration that
    cannot be trusted comes back false, with its reasons: ``too-few-views``, ``board-none``, ``board-count``,
    ``mixed-sizes`` (``-cameras``, ``-lenses``, ``-zooms``), ``calibration-failed``, ``head-on``, ``not-covered``,
    ``poor-fit``, ``halves-differ``.
    Raises :class:`fitcheck.ground.refusal.WrongCall` for a missing file.
    """
    return calibrate_photos(look_at(paths, board, progress, seen_one), board)


def calibrate_photos(photos: tuple[BoardPhoto, ...], board: Board) -> Calibration:
    """As :func:`calibrate`, from photographs already looked at."""
    try:
        identity = check_alike(photos)
        check_enough(photos, board)
        used = [at for at, photo in enumerate(photos) if photo.corners is not None]
        size_px = photos[used[0]].size_px
        assert size_px is not None
        solution = solve([_view(photos[at]) for at in used], board, size_px)
        photos = _without_odd(photos, [used[place] for place in solution.odd])
        check_enough(photos, board)
    except Refused as refused:
        return Calibration("refused", board, photos, (refused.reason,))
    second = [_view(photo, second=True) for photo in photos if photo.corners is not None]
    quality, covariance = judge(solution, second, size_px)
    lens = solution.adjustment.lens
    camera = Camera(
        matrix=lens_matrix(lens),
        distortion=lens[4:].copy(),
        size_px=size_px,
        covariance=covariance,
        identity=identity,
        quality=quality.as_json(),
        inputs=tuple(photo.as_json() for photo in photos),
    )
    orientation = Counter(photo.orientation for photo in photos).most_common(1)[0][0]
    # More views lower the corners' noise, and not what two finders disagree on.
    noise_only = replace(camera, covariance=solution.adjustment.covariance)
    advice = next_photo(noise_only, solution.adjustment.nominal_mm, solution.adjustment.scale_px, orientation)
    state = "refused" if quality.verdict == "refuse" else quality.verdict
    return Calibration(
        state=state,
        board=board,
        photos=photos,
        reasons=quality.reasons,
        camera=camera,
        quality=quality,
        solution=solution,
        advice=advice,
    )


def check_enough(photos: Sequence[BoardPhoto], board: Board) -> None:
    """Raise :class:`Refused` where the board was found in too few photographs, with the likeliest reason."""
    found = sum(photo.corners is not None for photo in photos)
    codes = Counter(photo.reason.code for photo in photos if photo.reason is not None)
    if codes["board-count"] > found:
        text = next(photo.reason.text for photo in photos if photo.reason and photo.reason.code == "board-count")
        raise Refused("board-count", f"In {codes['board-count']} of {len(photos)} photographs {text}")
    if found >= FEWEST_VIEWS:
        return
    if found == 0 and codes["board-none"]:
        what = "Check --corners (inner corners, where four squares meet); show the whole board, flat and evenly lit."
        raise Refused("board-none", f"No {board.columns} x {board.rows} board was found in any photograph. {what}")
    text = f"The whole board was found in {found} of {len(photos)} photographs, and {FEWEST_VIEWS} are needed at least."
    what = "Take 15 to 25, the board leaned every way and moved to all parts of the frame."
    raise Refused("too-few-views", f"{text} {what}")


def _view(photo: BoardPhoto, *, second: bool = False) -> View:
    corners = photo.corners
    assert corners is not None
    return View(corners.second_px if second else corners.points_px, corners.used)


def _without_odd(photos: tuple[BoardPhoto, ...], odd: Sequence[int]) -> tuple[BoardPhoto, ...]:
    text = "its corners do not agree with the other views: the board was bent, or it or the camera moved."
    return tuple(photo.left_out("board-odd", text) if at in odd else photo for at, photo in enumerate(photos))
