"""What one made photograph shows: every length in mm, every angle in degrees."""

import math
from dataclasses import dataclass

from tests.scenes.cameras import SEDGE, Camera


@dataclass(frozen=True, kw_only=True)
class Scene:
    """All that a made photograph depends on; equal scenes give equal pixels.

    `seed` rules what is random but not named here: grain, the wander of line and edge, breaks in the pencil, noise.
    Scenes of one plank share `seed` and differ in `plank_at_mm`, the place along the plank of this view's origin.
    """

    seed: int = 1
    kind: str = "plain"

    # The camera and where it stands: looking at `aim_mm` (x, y on the face), + elevation on the sheer side of square.
    camera: Camera = SEDGE
    distance_mm: float = 500.0
    elevation_deg: float = -10.0
    azimuth_deg: float = 0.0
    roll_deg: float = 0.0
    aim_mm: tuple[float, float] = (0.0, 15.0)
    keel_up: bool = False

    # Lens, sensor and file.
    blur_px: float = 0.8
    defocus_px_per_100mm: float = 0.0
    noise_dn: float = 3.5
    sharpen: float = 0.0
    vignette: float = 0.15
    exposure: float = 0.3  # mean linear level of the middle of the picture
    jpeg_quality: int = 92

    # The hull: + radius bulges toward the camera.
    radius_mm: float = math.inf
    twist_deg_per_m: float = 0.0

    # The lap. Line and edge wander smoothly with wavelengths about `*_wave_mm`; `*_wander_mm` is the half range.
    thickness_mm: float = 12.7
    lap_mm: float = 25.4
    bevel_deg: float = 6.0
    line_y_mm: float = 42.0
    line_slope_deg: float = 0.0
    line_wander_mm: float = 1.5
    line_wave_mm: float = 400.0
    past_mm: float = -2.5
    past_wander_mm: float = 1.0
    past_wave_mm: float = 300.0
    gap_mm: float = 0.0
    gap_wander_mm: float = 0.0
    gap_wave_mm: float = 250.0
    chamfer_mm: float = 0.35
    eased_mm: float = 0.0
    gain_mm: tuple[float, float, float] | None = None  # begins at, ends at (plank_mm), proud height at its end
    strake_width_mm: float = 165.0
    plank_width_mm: float = 175.0

    # Marks on the strake.
    line_drawn: bool = True
    line_width_mm: float = 0.5
    line_contrast: float = 0.4
    line_skips: float = 0.1
    line_tooth: float = 0.4
    line_colour: str = "graphite"  # one of LEADS in tests/scenes/marks.py
    line_hard: float = 0.0  # share of the lead that hard, dark grain does not take
    line_double: float = 0.0  # share of the length struck twice, a little beside
    line_smear: float = 0.0  # share of lead rubbed over a hand's width of a millimetre or two
    witness_mm: float = 0.0
    witness_wander_mm: float = 0.15
    old_line_mm: float | None = None  # below the lap line
    old_line_slope_deg: float = 0.4
    ticks_mm: tuple[float, ...] = ()
    rivets_mm: tuple[float, ...] = ()
    saw_marks: float = 0.0

    # Wood: a species of tests/scenes/wood.py, or a photographed board of tests/scenes/woods.
    strake_wood: str = "cedar"
    plank_wood: str = "larch"
    strake_paint: str | None = None
    bevel_bare: bool = True
    grain: float = 1.0
    strake_drift_deg: float = 0.5
    plank_drift_deg: float = -0.4

    # Light: `slant` off the face's normal, coming from `from_deg` round it (0 the sheer, 90 the right, 180 the keel).
    light_slant_deg: float = 35.0
    light_from_deg: float = 180.0
    light_share: float = 0.5
    penumbra_deg: float = 2.0
    warmth: float = 0.0

    # Things lying there.
    reference: str = "id1"
    reference_style: str = "white"
    reference_turn_deg: float = 3.0
    reference_off_mm: tuple[float, float] = (0.0, 0.0)  # how far the true card is off its nominal size
    plank_card_mm: tuple[float, float] | None = None  # a second card on the plank: along, height over the edge
    strake_card_mm: tuple[float, float] | None = None  # a second card on the strake: along, height on the face
    clamps_mm: tuple[float, ...] = ()  # along, in this view
    stations: tuple[tuple[int, float], ...] = ()  # number, plank_mm
    plank_at_mm: float = 0.0
    board_mm: tuple[float, float] = (-750.0, 750.0)  # how much of the plank is made, in plank_mm
