"""The station cards of many photographs: which can be used, and which photographs cannot, with the reason."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera, check_measurable
from fitcheck.ground.candidates import Candidate
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.picture.focus import exposure_and_focus
from fitcheck.picture.photo import Photo, load_photo
from fitcheck.reference.pose import FacePose, solve_pose
from fitcheck.reference.sighting import Sighting
from fitcheck.reference.station.station import read_station_cards

A = TypeVar("A")
B = TypeVar("B")

THREADS = 2


@dataclass(frozen=True, eq=False)
class View:
    """One photograph: the station cards in it with the pose of each, or the reason why it cannot be used.

    ``camera`` is the camera turned as the picture was, ``found`` what was found in it before it was refused.
    """

    name: str
    photo: Photo | None = None
    camera: Camera | None = None
    cards: tuple[Sighting, ...] = ()
    poses: tuple[FacePose, ...] = ()
    warnings: tuple[Reason, ...] = ()
    reason: Reason | None = None
    found: tuple[Candidate, ...] = ()

    @property
    def lens(self) -> Camera:
        """The camera, of a view that has cards."""
        if self.camera is None:
            raise ValueError(f"{self.name} has no camera: it was not read")
        return self.camera

    @property
    def numbers(self) -> tuple[int, ...]:
        """The numbers of its cards."""
        return tuple(int(card.number or 0) for card in self.cards)

    def refused(self, reason: Reason, found: tuple[Candidate, ...] = ()) -> View:
        """The view, not to be used, with what was ``found`` in it."""
        return replace(self, reason=reason, found=found)


def read_views(
    given: Sequence[str | Path | Photo], camera: Camera, progress: Callable[[], None] = lambda: None
) -> list[View]:
    """The photographs with their cards, in the order given, worked through side by side.

    A photograph given twice, by its content, is used once. Raises :class:`fitcheck.ground.refusal.WrongCall` for a
    missing file.
    """

    def read(one: str | Path | Photo) -> View:
        view = _read(one, camera)
        progress()
        return view

    return _named_apart(_each_once(side_by_side(read, given)))


def side_by_side(work: Callable[[A], B], items: Iterable[A]) -> list[B]:
    """The work done for every item, in their order, on two threads: the heavy parts leave the interpreter free."""
    with ThreadPoolExecutor(THREADS) as threads:
        return list(threads.map(work, items))


def _read(one: str | Path | Photo, camera: Camera) -> View:
    name = one.name if isinstance(one, Photo) else Path(one).name
    photo: Photo | None = None
    try:
        photo = one if isinstance(one, Photo) else load_photo(one, size_px=camera.size_px)
        warnings = check_measurable(camera, photo)
        turned = camera.turned(photo.orientation)
        seen = read_station_cards(cv2.cvtColor(photo.pixels, cv2.COLOR_BGR2GRAY), turned)
        view = View(name, photo, turned, warnings=warnings + tuple(seen.warnings))
        cards = _usable(seen.cards)
        if not isinstance(one, Photo):
            # Its pixels are let go: a long plank's photographs do not fit in memory together.
            photo = replace(photo, pixels=np.empty((0, 0, 3), np.uint8))
        return replace(view, photo=photo, cards=cards, poses=tuple(solve_pose(card, turned) for card in cards))
    except Refused as refused:
        return View(name, photo, reason=_why_unread(refused.reason, photo), found=refused.candidates)


def _why_unread(reason: Reason, photo: Photo | None) -> Reason:
    """The reason why a photograph cannot be used; where no card can be read, what is wrong with the picture itself."""
    wrong = exposure_and_focus(photo.pixels) if photo is not None and reason.code == "no-card" else []
    if not wrong or photo is None:
        return reason
    text = f"No station card can be read in {photo.name}. {wrong[0].text} Then take this photograph again."
    return Reason(wrong[0].code, text)


def _usable(cards: Sequence[Sighting]) -> tuple[Sighting, ...]:
    if not cards:
        raise Refused(
            "no-card",
            "No station card is in sight. Lay the cards on the strake below, so that two are in each photograph.",
        )
    usable = tuple(card for card in cards if not {"number-twice", "card-bent"} & set(card.flags))
    if not usable:
        raise Refused(
            "cards-unusable",
            "Every station card in sight is bent or has the number of another card here. Lay each number once, flat.",
        )
    return usable


def _each_once(views: list[View]) -> list[View]:
    first: dict[str, str] = {}
    result = []
    for view in views:
        if view.photo is not None and view.photo.digest in first:
            text = f"{view.name} is the same picture as {first[view.photo.digest]} and is used once."
            view = View(view.name, view.photo, reason=Reason("photo-repeated", text))
        elif view.photo is not None:
            first[view.photo.digest] = view.name
        result.append(view)
    return result


def _named_apart(views: Sequence[View]) -> list[View]:
    """The views with names that tell them apart: a number is added where two files of several folders share one."""
    count: dict[str, int] = {}
    result = []
    for view in views:
        count[view.name] = count.get(view.name, 0) + 1
        name = view.name if count[view.name] == 1 else f"{view.name} ({count[view.name]})"
        result.append(replace(view, name=name))
    return result
