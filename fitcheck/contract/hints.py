"""What the builder says of the picture itself: places pointed at, and how the hull lies in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.picture.photo import Photo

Keel = Literal["auto", "down", "up"]
KEELS: tuple[Keel, ...] = ("auto", "down", "up")
Places = tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True)
class Hints:
    """Where the builder pointed in one photograph, and which way its keel lies.

    ``line_at_px`` are places (u, v) on the lap line or witness line, ``edge_at_px`` on the plank's lower edge (of a
    seam: along it), in pixels of the picture as a person sees it, from the centre of its top left pixel.
    ``reference_at_px`` is one place on the card, or its four corners, roughly and in any order. ``keel`` is
    "down" or "up", how the hull lies in the photograph, or "auto", to be found; None where nothing is said of it: then
    it goes by the hull's settings, and without them it is found.

    Raises :class:`WrongCall` for another keel, a place that is no pair of finite numbers, or another number of places
    on a card. Whether a place lies in
    the photograph is asked by :func:`need_inside`.

    >>> Hints(edge_at_px=((410.0, 20.0),)).pointed
    True
    """

    line_at_px: Places = ()
    edge_at_px: Places = ()
    reference_at_px: Places = ()
    keel: Keel | None = None

    def __post_init__(self) -> None:
        if self.keel not in (None, *KEELS):
            raise WrongCall(f"--keel {self.keel!r}: give down, up or auto")
        for option, places in self.by_option().items():
            for place in places:
                if len(place) != 2 or not all(math.isfinite(part) for part in place):
                    raise WrongCall(f"{option} {place!r}: give a place in pixels, as (1020.0, 766.0)")
        if len(self.reference_at_px) not in (0, 1, 4):
            raise WrongCall(
                f"--reference-at is given {len(self.reference_at_px)} times: give it once, on the card, or four times, "
                "near its corners"
            )

    @property
    def pointed(self) -> bool:
        """Whether any place was pointed at."""
        return any(self.by_option().values())

    def by_option(self) -> dict[str, Places]:
        """The places pointed at, by the option that gives them."""
        return {
            "--line-at": self.line_at_px,
            "--edge-at": self.edge_at_px,
            "--reference-at": self.reference_at_px,
        }


def keel_named(word: str | None) -> Keel | None:
    """How the hull lies, from its word. Raises :class:`WrongCall` for another word than down, up and auto."""
    if word is None:
        return None
    for keel in KEELS:
        if word == keel:
            return keel
    raise WrongCall(f"--keel {word!r}: give down, up or auto")


def need_inside(photo: Photo, hints: Hints) -> None:
    """Raise :class:`WrongCall` where a place pointed at lies outside the photograph.

    >>> import numpy as np
    >>> from pathlib import Path
    >>> from fitcheck.picture.photo import Photo
    >>> photo = Photo(np.zeros((300, 400, 3), np.uint8), Path("lap.jpg"), "0", 1, (400, 300))
    >>> need_inside(photo, Hints(edge_at_px=((410.0, 20.0),)))
    Traceback (most recent call last):
    fitcheck.ground.refusal.WrongCall: --edge-at 410,20 lies outside lap.jpg, which is 400 x 300 pixels: give u,v from its top left corner
    """  # noqa: E501
    width, height = photo.size_px
    for option, places in hints.by_option().items():
        for u, v in places:
            if not (0.0 <= u <= width - 1.0 and 0.0 <= v <= height - 1.0):
                raise WrongCall(
                    f"{option} {u:g},{v:g} lies outside {photo.name}, which is {width} x {height} pixels: give u,v "
                    "from its top left corner"
                )
