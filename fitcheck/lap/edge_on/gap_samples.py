"""What an edge-on look says at whole steps along the lap, ready to be told or to be joined with others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.contract.gap_measurement import GapSample
from fitcheck.ground.uncertainty import COVERAGE, ONE_SIDED
from fitcheck.lap.edge_on.edge_on_look import Look
from fitcheck.lap.edge_on.gap_values import GapValues, gap_state

SAMPLE_MM = 5.0
#: An inner corner eased by less than this is as good as sharp. Over a rounder one a photograph cannot show a lap closed
#: to this.
SHARP_MM, PROVED_MM = 0.06, 0.10
FAR_MM = 120.0


@dataclass(frozen=True, eq=False)
class Placed:
    """One photograph's gap and step, with their standard uncertainties, at ``place_mm`` (N,), whole steps, rising.

    ``edge_px`` (N, 2) is the inner corner in the picture, ``slit_px`` (N, 2) the slit's other side; ``covered`` (N,)
    where a thing lies over it, ``far`` (N,) where the place lies far from the references, ``flush`` (N,) where no step
    is told from none, ``feigned`` (N,) where the dark may in part be something else than a slit. ``scaled`` says that a
    reference gave the scale. ``eased_mm`` is how far the inner corner may be eased.
    """

    name: str
    place_mm: np.ndarray
    gap_mm: np.ndarray
    u_gap_mm: np.ndarray
    proud_mm: np.ndarray
    u_proud_mm: np.ndarray
    edge_px: np.ndarray
    slit_px: np.ndarray
    covered: np.ndarray
    far: np.ndarray
    flush: np.ndarray
    feigned: np.ndarray
    scaled: bool
    eased_mm: float = 0.0

    @property
    def step(self) -> np.ndarray:
        """The places as whole numbers (N,) of steps."""
        return np.asarray(np.round(self.place_mm / SAMPLE_MM).astype(int))


def placed(name: str, look: Look, values: GapValues, block_mm: np.ndarray, references_mm: Sequence[float]) -> Placed:
    """A look at whole steps along the lap; ``block_mm`` (B,) are the places of its blocks, ``references_mm`` those of
    the references in the picture."""
    order = np.argsort(block_mm)
    along = block_mm[order]
    places = np.arange(np.ceil(along[0] / SAMPLE_MM), np.floor(along[-1] / SAMPLE_MM) + 1) * SAMPLE_MM
    nearest = order[np.clip(np.searchsorted(along, places - SAMPLE_MM / 4), 0, len(order) - 1)]
    at = lambda part: np.interp(places, along, part[order])  # noqa: E731
    scaled = look.rough.pose is not None
    beyond = np.maximum(min(references_mm) - places, places - max(references_mm)) if references_mm else -places
    return Placed(
        name=name,
        place_mm=places,
        gap_mm=at(values.gap_mm),
        u_gap_mm=at(values.u_gap_mm),
        proud_mm=at(values.proud_mm),
        u_proud_mm=at(values.u_proud_mm),
        edge_px=np.column_stack([at(look.inner_px[:, 0]), at(look.inner_px[:, 1])]),
        slit_px=np.column_stack([at(look.slit_foot_px[:, 0]), at(look.slit_foot_px[:, 1])]),
        covered=look.covered[nearest],
        far=(beyond > FAR_MM) & scaled,
        flush=look.outer.flush[nearest],
        feigned=values.another[nearest] | values.feigned,
        scaled=scaled,
        eased_mm=values.most_eased_mm,
    )


def sample_of(one: Placed, row: int, *, on_plank: bool, photos: tuple[str, ...] = ()) -> GapSample:
    """The sample at one step: open, closed (0, and surely under what it says), unsure, or covered."""
    place = float(one.place_mm[row])
    where = (None, place) if on_plank else (place, None)
    pixel = (float(one.edge_px[row, 0]), float(one.edge_px[row, 1]))
    foot = (float(one.slit_px[row, 0]), float(one.slit_px[row, 1]))
    gap, u_gap = float(one.gap_mm[row]), float(one.u_gap_mm[row])
    state = "covered" if one.covered[row] else gap_state(gap, u_gap)
    flags = _flags(one, row, state)
    if state == "covered":
        return GapSample(
            along_mm=where[0],
            gap_mm=None,
            gap_u95_mm=None,
            proud_mm=None,
            proud_u95_mm=None,
            edge_px=pixel,
            state=state,
            flags=flags,
            plank_mm=where[1],
            photos=photos,
        )
    value, doubt = (0.0, gap + ONE_SIDED * u_gap) if state == "closed" else (gap, COVERAGE * u_gap)
    step, u_step = float(one.proud_mm[row]), COVERAGE * float(one.u_proud_mm[row])
    return GapSample(
        along_mm=where[0],
        gap_mm=value,
        gap_u95_mm=doubt,
        proud_mm=step,
        proud_u95_mm=u_step,
        edge_px=pixel,
        state=state,
        flags=flags,
        plank_mm=where[1],
        photos=photos,
        slit_px=foot,
    )


def _flags(one: Placed, row: int, state: str) -> tuple[str, ...]:
    told = {
        "scale-from-thickness": not one.scaled,
        "far-from-reference": bool(one.far[row]),
        "slit-or-line": bool(one.feigned[row]) and state not in ("closed", "covered"),
        "corner-eased": _eased(one, row, state),
        "flush": bool(one.flush[row]) and state != "covered",
    }
    return tuple(flag for flag, holds in told.items() if holds)


def _eased(one: Placed, row: int, state: str) -> bool:
    """Whether an eased corner may be all that is seen of a gap here, or hides whether the lap is closed."""
    if one.eased_mm < SHARP_MM or state not in ("closed", "unsure"):
        return False
    gap, u_gap = float(one.gap_mm[row]), float(one.u_gap_mm[row])
    if state == "closed":
        return gap + ONE_SIDED * u_gap > PROVED_MM
    return gap - COVERAGE * u_gap < one.eased_mm
