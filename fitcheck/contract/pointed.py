"""Places that the builder pointed at in a photograph."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.contract.settings import Settings
    from fitcheck.picture.photo import Photo


def need_inside(photo: Photo, settings: Settings) -> None:
    """Raise :class:`WrongCall` where a place of ``--line-at`` or ``--edge-at`` lies outside the photograph.

    Places are pixels of the picture as a person sees it.

    >>> import numpy as np
    >>> from pathlib import Path
    >>> from fitcheck.picture.photo import Photo
    >>> from fitcheck.contract.settings import Settings
    >>> photo = Photo(np.zeros((300, 400, 3), np.uint8), Path("lap.jpg"), "0", 1, (400, 300))
    >>> need_inside(photo, Settings(reference="id1", thickness_mm=9.5, edge_at_px=((410.0, 20.0),)))
    Traceback (most recent call last):
    fitcheck.ground.refusal.WrongCall: --edge-at 410,20 lies outside lap.jpg, which is 400 x 300 pixels: give u,v from its top left corner
    """  # noqa: E501
    width, height = photo.size_px
    for option, places in (("--line-at", settings.line_at_px), ("--edge-at", settings.edge_at_px)):
        for u, v in places:
            if not (0.0 <= u <= width - 1.0 and 0.0 <= v <= height - 1.0):
                raise WrongCall(
                    f"{option} {u:g},{v:g} lies outside {photo.name}, which is {width} x {height} pixels: give u,v "
                    "from its top left corner"
                )
