"""What one photograph says of the plank: its values at places each 5 mm along it, on the tape's scale."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.contract.measurement import Sample
from fitcheck.contract.settings import Settings
from fitcheck.lap.square_on.square_look import Look
from fitcheck.one_photo.edge import traced_of
from fitcheck.one_photo.edge_samples import FAR_MM, SAMPLE_MM, samples_at, values_of
from fitcheck.plank.joint.curved_pose import CurvedPose
from fitcheck.plank.joint.lap_curve import LapCurve

#: Parts of the budget that all photographs of a plank share: told once, and wrong in all alike.
SHARED = ("thickness", "bevel", "witness")
#: The part that is one number a photograph: where the inner corner lies in the common profile of its edge.
OF_PHOTO = "corner"
#: A card's place is read this well against the wood beside it.
U_BESIDE_MM = 0.3


@dataclass(frozen=True, eq=False)
class Strand:
    """One photograph's values at ``place_mm`` (N,), whole steps of 5 mm in the plank frame, rising.

    ``past_mm`` (N,) has NaN where there is no value, whose reason is the state in ``samples`` (N). ``u_own_mm`` (N,)
    varies along the photograph, ``u_photo_mm`` (N,) is common to it, ``u_shared_mm`` (N,) to all photographs.
    """

    name: str
    place_mm: np.ndarray
    past_mm: np.ndarray
    u_own_mm: np.ndarray
    u_photo_mm: np.ndarray
    u_shared_mm: np.ndarray
    samples: tuple[Sample, ...]
    parts: Mapping[str, np.ndarray]

    @property
    def step(self) -> np.ndarray:
        """The places as whole numbers (N,) of steps."""
        return np.asarray(np.round(self.place_mm / SAMPLE_MM).astype(int))

    def without(self, wrong: np.ndarray) -> Strand:
        """The strand with the values at ``wrong`` (N,) taken back as ambiguous."""
        samples = tuple(
            replace(sample, past_line_mm=None, u95_mm=None, state="ambiguous") if bad else sample
            for sample, bad in zip(self.samples, wrong, strict=True)
        )
        return replace(self, past_mm=np.where(wrong, np.nan, self.past_mm), samples=samples)


@dataclass(frozen=True)
class Tape:
    """Places in the plank frame from places along the lap curve: what the cards' known places make of them.

    ``along_mm`` and ``plank_mm`` (K,) are the cards' places on either scale, in order. What is between two cards
    shares out their difference; beyond the outermost both scales run alike.
    """

    along_mm: np.ndarray
    plank_mm: np.ndarray

    def plank(self, along_mm: np.ndarray) -> np.ndarray:
        """Places in the plank frame (N,)."""
        more = np.interp(along_mm, self.along_mm, self.plank_mm - self.along_mm)
        return np.asarray(along_mm + more)


def strand_of(name: str, look: Look, settings: Settings, place_of: PlaceOf, cards_mm: np.ndarray) -> Strand:
    """The values of one look at whole steps of 5 mm of plank; ``cards_mm`` are the places of the cards in sight."""
    traced = traced_of(look)
    values = values_of(traced, settings)
    plank = place_of(look, values.along_mm)
    order = np.argsort(plank)
    along, plank = values.along_mm[order], plank[order]
    places = np.arange(np.ceil(plank[0] / SAMPLE_MM), np.floor(plank[-1] / SAMPLE_MM) + 1) * SAMPLE_MM
    at = np.interp(places, plank, along)
    off = np.maximum(cards_mm.min() - places, places - cards_mm.max())
    samples = tuple(
        replace(sample, along_mm=None, plank_mm=float(place), flags=_flags(sample.flags, beyond))
        for sample, place, beyond in zip(samples_at(traced, values, settings, at), places, off, strict=True)
    )
    parts = {key: np.interp(places, plank, part[order]) for key, part in values.parts.items()}
    past = np.array([np.nan if one.past_line_mm is None else one.past_line_mm for one in samples])
    parts["place"] = U_BESIDE_MM * np.abs(np.gradient(np.interp(places, plank, values.past_mm[order]), places))
    shared = [part for key, part in parts.items() if key in SHARED]
    own = [part for key, part in parts.items() if key not in (*SHARED, OF_PHOTO)]
    return Strand(
        name=name,
        place_mm=places,
        past_mm=past,
        u_own_mm=_together(own),
        u_photo_mm=parts[OF_PHOTO],
        u_shared_mm=_together(shared),
        samples=samples,
        parts=parts,
    )


def _flags(flags: tuple[str, ...], beyond_mm: float) -> tuple[str, ...]:
    kept = tuple(flag for flag in flags if flag != "far-from-reference")
    return (*kept, "far-from-reference") if beyond_mm > FAR_MM else kept


def _together(parts: list[np.ndarray]) -> np.ndarray:
    return np.asarray(np.sqrt(np.sum([part**2 for part in parts], axis=0)))


@dataclass(frozen=True)
class PlaceOf:
    """Places in the plank frame of places along the lap in one photograph's own frame."""

    curve: LapCurve
    tape: Tape
    drop_mm: float

    def __call__(self, look: Look, along_mm: np.ndarray) -> np.ndarray:
        return self.tape.plank(self.curve.place(line_on_plank(look, along_mm, self.drop_mm)[:, 0]))


def edge_on_plank(look: Look) -> np.ndarray:
    """The plank's edge as s and w (N, 2) on the laid-out face, window by window of a look."""
    assert isinstance(look.pose, CurvedPose)
    along = look.aligned.along_mm
    return look.pose.plank_from_face(np.column_stack([along, look.strip.y_mm(along, look.edge_down_mm)]))


def line_on_plank(look: Look, along_mm: np.ndarray, drop_mm: float) -> np.ndarray:
    """The lap line as s and w (N, 2) on the laid-out face, at places along (N,) in a look's own frame."""
    assert isinstance(look.pose, CurvedPose)
    y = look.strip.y_mm(along_mm, np.interp(along_mm, look.line.along_mm, look.line.down_mm)) + drop_mm
    return look.pose.plank_from_face(np.column_stack([along_mm, y]))
