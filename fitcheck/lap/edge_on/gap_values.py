"""Gap and step in millimetres, each with its uncertainty, and the state, from what an edge-on photograph shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.ground.uncertainty import COVERAGE, ONE_SIDED
from fitcheck.lap.edge_on.edge_on_look import Look, possible_easings
from fitcheck.lap.section import Section
from fitcheck.lap.slit.shared_unknowns import LEAST_SHADOW

#: A gap is open beyond this many standard uncertainties.
OPEN = 3.0
#: One-sided, 95 of 100, a closed lap is said to be open by less than the gap plus so many standard uncertainties
#: (ONE_SIDED). It is called closed only if that sum is no more than this.
CLOSED_UNDER_MM = 0.25
#: A slit wider than this is plain: it is read from its two sides, and the picture's own part of the uncertainty already
#: holds the grain there.
PLAIN_PX = 0.5
#: A dark band that never ends along the photograph may be in part a line, a stain or a shadow, unless it is darker than
#: they can be. Then this share of its least width is uncertainty.
NEVER_ENDING = 0.4
#: The light comes from the sheer side if the plank's shadow leaves less than the first share of it; or less than the
#: second, and the shadow is seen to reach further than the third beyond the slit's mouth.
SHEER_LIT, MAY_BE_SHEER_LIT, SHADOW_PX = 0.6, 0.7, 0.25
#: If the edge face has less than the first share of the strake's light, a dark under it that keeps more than the second
#: share of the face's light may be the foot of the face itself.
DARK_EDGE, AS_DARK_AS_EDGE = 0.5, 0.5
#: If the edge face has less than this share, a slit under it cannot be seen: the lap is called neither open nor closed.
BLACK_EDGE = 0.25
#: A dark that keeps more than the first share of the light in the plank's shadow may be that shadow. One that has less
#: than the second share of the darkness of the lightest slit of its width is a line or a stain. Then the third share of
#: the gap is its standard uncertainty.
AS_DARK, AS_DEEP, MAY_BE = 0.8, 0.95, 0.5
#: If the outer corner's uncertainty is over this share of the thickness, the edge itself is in doubt.
DOUBTFUL = 0.15
#: A line runs on, so how dark it is gets averaged over about this many blocks, weighed by width; the second value keeps
#: the weight of a block without a slit above zero.
LINE_BLOCKS, LEAST_WIDTH_PX = 8.0, 0.05
#: Where another thing may have been taken for the edge the gap is not known: so much uncertainty makes the lap there
#: neither open nor closed.
U_AMISS_MM = 0.3
#: Graphite leaves at least about this share of the wood's light (from memory; no source). A dark narrower than a pixel
#: is blurred to about as much, whatever it is.
PENCIL, NARROW_PX = 0.32, 1.0
LEAST_U_GAP_MM = 0.02
#: Along one plank the easing is much the same: it varies by about this share.
EASING_VARIES = 0.3
#: A lap clamped dry bears somewhere. A dark band that nowhere ends is a rounder corner than was found, up to the
#: roundest there is, or a lap that nowhere bears: so much of it is taken off, and the second share is standard
#: uncertainty, so that both ends lie within.
ROUNDER, U_ROUNDER = 0.75, 0.65
FAIR_BLOCKS = 3.0
#: Light from the keel side that casts shadows reaches under the edge a little, so that a slit looks narrower by up to a
#: third: so much of the gap is standard uncertainty.
LIT_INTO = 0.15
#: The outer corner is eased by 0 to 0.4 mm, and the step is seen only up to where the easing begins. So the first is
#: added, and the second is its standard uncertainty. Where the thickness helps to find the easing, the third is used
#: for it, because a long easing is the usual one. Steps under the fourth have less of it.
EASED_MM, U_EASED_MM, WEIGHED_EASED_MM, EASED_FROM_MM = 0.33, 0.175, 0.2, 3.0
#: The step counts from where the inner corner would be if it were sharp; a sharp one has been taken for eased. So this
#: share of its easing is uncertainty of the step.
EASED_FOOT = 0.7
#: Places with a step so near the thickness are in no gain; the easing is found from them if they are this share of the
#: photograph.
NEARLY_FULL_MM, FULL_SHARE = 0.7, 0.2


@dataclass(frozen=True)
class GapValues:
    """Block by block (B,): place, gap and step with their standard uncertainties, all in mm.

    ``feigned`` is True if a dark along the whole photograph may be something else than a slit, ``another`` (B,) where
    the dark of a block may be. ``most_eased_mm`` is how far the inner corner may be eased. ``parts`` are the parts of
    the gap's uncertainty.
    """

    along_mm: np.ndarray
    gap_mm: np.ndarray
    u_gap_mm: np.ndarray
    proud_mm: np.ndarray
    u_proud_mm: np.ndarray
    feigned: bool
    another: np.ndarray
    most_eased_mm: float
    parts: dict[str, np.ndarray]


def gap_state(gap_mm: float, u_gap_mm: float) -> str:
    """ "open" (surely), "closed" or "unsure".

    >>> gap_state(0.5, 0.1), gap_state(0.02, 0.05), gap_state(0.2, 0.1)
    ('open', 'closed', 'unsure')
    """
    if gap_mm > OPEN * u_gap_mm:
        return "open"
    closed = gap_mm < ONE_SIDED * u_gap_mm and gap_mm + ONE_SIDED * u_gap_mm <= CLOSED_UNDER_MM
    return "closed" if closed else "unsure"


def gap_values(look: Look, section: Section, u_thickness_mm: float) -> GapValues:
    """Gap and step of one photograph. Without a reference the step is the plank's thickness as given."""
    per_mm = look.scale.px_per_mm
    gap = _smoothed(look.slits.width_px / per_mm)
    least_mm = float(np.quantile(gap[~look.covered], 0.1)) if (~look.covered).any() else 0.0
    common = NEVER_ENDING * least_mm if _shaded(look) or _no_darker_than_pencil(look, 0.5) else 0.0
    another = _may_be_another(look, section)
    eased_mm = look.slits.eased_px / float(np.median(per_mm))
    rounder_mm = min(least_mm, max(float(possible_easings(section.eased_mm).max()) - eased_mm, 0.0))
    gap = np.maximum(gap - ROUNDER * rounder_mm, 0.0)
    u_easing = np.hypot(U_ROUNDER * rounder_mm, EASING_VARIES * (eased_mm + ROUNDER * rounder_mm))
    parts = {
        "picture": look.slits.u_px / per_mm,
        "easing": np.hypot(look.slits.by_easing_px / per_mm, u_easing),
        "grain": _feigned_px(look) / per_mm,
        "scale": look.scale.u_relative * gap,
        "light reaching in": LIT_INTO * gap if look.shadow >= LEAST_SHADOW else np.zeros(len(gap)),
        "line, stain or shadow": np.where(another, np.maximum(common, MAY_BE * gap), common),
        "least": np.full(len(gap), LEAST_U_GAP_MM),
    }
    u_gap = _together(parts)
    proud, u_proud = _proud(look, section, u_thickness_mm, np.exp(-0.5 * (gap / u_gap) ** 2))
    # No step is higher than the plank is thick. If one is, the plank's shadow was taken for its edge, or the given
    # thickness is wrong.
    over = proud - section.thickness_mm
    amiss = over > COVERAGE * np.hypot(u_proud, u_thickness_mm)
    u_proud = np.where(amiss, np.hypot(u_proud, over), u_proud)
    parts["edge in doubt"] = np.where(amiss | _black_edge(look), U_AMISS_MM, 0.0)
    u_gap = _together(parts)
    return GapValues(
        along_mm=look.scale.along_mm,
        gap_mm=gap,
        u_gap_mm=u_gap,
        proud_mm=proud,
        u_proud_mm=u_proud,
        feigned=common > 0.05,
        another=another,
        most_eased_mm=eased_mm + max(rounder_mm, COVERAGE * look.slits.u_eased_px / float(np.median(per_mm))),
        parts=parts,
    )


def _feigned_px(look: Look) -> np.ndarray:
    """How wide a slit (B,) the grain alone could show: in full where there is hardly one, less where one is plain."""
    return look.wood_px / (1.0 + (look.slits.width_px / PLAIN_PX) ** 2)


def _together(parts: dict[str, np.ndarray]) -> np.ndarray:
    """The gap's standard uncertainty (B,), smoothed as the gap is, so that it does not flicker from block to block."""
    return np.asarray(np.sqrt(_smoothed(np.sum([part**2 for part in parts.values()], axis=0))))


def _may_be_another(look: Look, section: Section) -> np.ndarray:
    """Where (B,) the dark under the edge may be another thing than a slit.

    One of these is enough:

    - the edge itself is in doubt: no step is seen, or the outer corner may lie far from where it was found;
    - it is hardly darker than the edge face, so that nobody can see where the face ends and the slit begins;
    - it is too narrow, and not dark enough, to be told from a pencil line;
    - it is lighter than any slit of its width, or nowhere much darker than a pencil line can be;
    - it is no darker than the plank's own shadow would be, or lies in that shadow.
    """
    doubtful = look.outer.flush | (look.outer.u_px > DOUBTFUL * look.scale.height_px(section.thickness_mm))
    edge = look.slits.edge
    doubtful |= (edge < DARK_EDGE) & (look.slits.floor > AS_DARK_AS_EDGE * edge)
    doubtful |= (look.slits.width_px < NARROW_PX) & (look.slits.floor > PENCIL)
    doubtful |= (_depth(look) < AS_DEEP) | _no_darker_than_pencil(look, 0.1) | _shaded(look)
    if look.shadow >= LEAST_SHADOW:
        return np.asarray(doubtful)
    return np.asarray(doubtful | (look.slits.floor > AS_DARK * look.shadow))


def _black_edge(look: Look) -> np.ndarray:
    """Where (B,) the edge face is nearly as dark as a slit, along a hand's breadth."""
    from scipy.ndimage import gaussian_filter1d

    return np.asarray(gaussian_filter1d(look.slits.edge, LINE_BLOCKS, mode="nearest") < BLACK_EDGE)


def _no_darker_than_pencil(look: Look, share: float) -> bool:
    """Whether less than this ``share`` of the plain slit is darker than a pencil line can be."""
    plain = look.slits.width_px > PLAIN_PX
    return bool(plain.any()) and float(np.quantile(look.slits.floor[plain], share)) > PENCIL


def _shaded(look: Look) -> bool:
    """Whether the plank's own shadow lies, or may lie, on the strake, because the light comes from the sheer side."""
    seen = look.slits.shadow_px > SHADOW_PX
    return look.shadow < (MAY_BE_SHEER_LIT if seen else SHEER_LIT)


def _depth(look: Look) -> np.ndarray:
    """How dark the dark is (B,), as a share of the darkness of the lightest slit of its width.

    Averaged over a hand's breadth, wide slits counting more. If the photograph's middle value is that of a line, no
    place counts as darker than that, because a line runs on.
    """
    from scipy.ndimage import gaussian_filter1d

    width = look.slits.width_px + LEAST_WIDTH_PX
    around, whole = (gaussian_filter1d(part, LINE_BLOCKS, mode="nearest") for part in (look.slits.depth * width, width))
    plain = look.slits.width_px > PLAIN_PX
    usual = float(np.median(look.slits.depth[plain])) if plain.any() else AS_DEEP
    return np.asarray(around / whole) if usual >= AS_DEEP else np.minimum(around / whole, usual)


def _smoothed(gap: np.ndarray) -> np.ndarray:
    """Smoothed over about a finger's breadth: planks are stiff, and no lap opens within less."""
    from scipy.ndimage import gaussian_filter1d

    return np.asarray(gaussian_filter1d(gap, FAIR_BLOCKS, mode="nearest"))


def _proud(look: Look, section: Section, u_thickness_mm: float, shut: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Step and its standard uncertainty (B,); ``shut`` (B,) is how likely the lap is closed at each place."""
    if look.rough.pose is None:
        count = len(look.inner_px)
        return np.full(count, section.thickness_mm), np.full(count, u_thickness_mm)
    # Where the lap is shut the strake begins at the corner, whatever faint dark lies there.
    slits = look.slits
    corner_px = shut * slits.shut_px + (1.0 - shut) * slits.corner_px
    variance = shut * slits.u_shut_px**2 + (1.0 - shut) * slits.u_corner_px**2
    u_corner_px = np.sqrt(variance + shut * (1.0 - shut) * (slits.shut_px - slits.corner_px) ** 2)
    outer = look.outer
    height = look.scale.height_mm(outer.height_px + np.where(outer.flush, 0.0, corner_px))
    # A step that runs out to nothing has no corner left to ease.
    eased = np.clip(height / EASED_FROM_MM, 0.0, 1.0)
    height = height + EASED_MM * eased
    easing, u_easing = _easing_mm(height, section.thickness_mm, u_thickness_mm)
    height = height - eased * easing
    u_px = np.sqrt(outer.u_px**2 + u_corner_px**2 + (EASED_FOOT * slits.eased_px) ** 2) / look.scale.px_per_mm
    return height, np.sqrt(u_px**2 + u_easing**2 + (look.scale.u_relative * height) ** 2)


def _easing_mm(height_mm: np.ndarray, thickness_mm: float, u_thickness_mm: float) -> tuple[float, float]:
    """How much the eased corner shifts the step, in mm, and the standard uncertainty of that.

    It is found where the plank stands its full thickness proud. There the step differs from the given thickness for two
    reasons, the easing and an error of the thickness; the difference is shared between them by their uncertainties.
    """
    full = np.abs(height_mm - thickness_mm) < NEARLY_FULL_MM
    if full.mean() < FULL_SHARE:
        return 0.0, U_EASED_MM
    share = WEIGHED_EASED_MM**2 / (WEIGHED_EASED_MM**2 + u_thickness_mm**2)
    u_left = float(np.hypot((1.0 - share) * U_EASED_MM, share * u_thickness_mm))
    return share * float(np.median(height_mm[full] - thickness_mm)), u_left
