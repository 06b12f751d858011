"""The picture beside a camera file: where the board was seen, how the corners fit, and each view's part."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from fitcheck.calibration.from_photos import Calibration
from fitcheck.calibration.quality import CELLS
from fitcheck.calibration.solve import rms
from fitcheck.calibration.verdict import GOOD_PX

SIZE_IN = (11.0, 5.2)
#: Residuals are drawn so that a usual one spans this share of the frame's width.
_ARROW = 0.012
_BLUE, _ORANGE, _GREY = "#0072b2", "#d55e00", "#6e6e6e"


def calibration_png(calibration: Calibration) -> bytes:
    """The picture as PNG bytes. Raises ValueError for a calibration that solved nothing."""
    if calibration.solution is None or calibration.quality is None or calibration.camera is None:
        raise ValueError("nothing was solved, so there is no picture")
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=SIZE_IN, layout="constrained")
    FigureCanvasAgg(figure)
    frame, views = figure.subplots(1, 2, width_ratios=(3, 2))
    _draw_frame(frame, calibration)
    _draw_views(views, calibration)
    verdict = "refused" if not calibration else calibration.state
    name = calibration.camera.identity.described()
    held_out = f"held-out views miss by {calibration.quality.held_out_px:.3f} px"
    figure.suptitle(f"{name}: {verdict}; {held_out}", fontsize=13, fontweight="bold")
    held = io.BytesIO()
    figure.savefig(held, format="png", dpi=130, metadata={"Software": None})
    return held.getvalue()


def _draw_frame(axes: Any, calibration: Calibration) -> None:
    assert calibration.solution is not None
    assert calibration.quality is not None
    assert calibration.camera is not None
    width, height = calibration.camera.size_px
    _draw_cells(axes, calibration.quality.covered, (width, height))
    found = calibration.solution.adjustment
    residuals = np.concatenate(found.residuals_px)
    places = np.concatenate([view.points_px for view in calibration.solution.views])
    seen = ~np.isnan(residuals[:, 0])
    longer = _rounded(_ARROW * width / rms(residuals))
    ends = places[seen] + longer * residuals[seen]
    axes.plot(*places[seen].T, ".", color=_BLUE, markersize=3, label="corner seen")
    for start, end in zip(places[seen], ends, strict=True):
        axes.plot(*zip(start, end, strict=True), color=_ORANGE, linewidth=0.9)
    axes.plot([], [], color=_ORANGE, label=f"its misfit, drawn {longer:,.0f} times longer")
    axes.set(xlim=(0, width), ylim=(height, 0), aspect="equal", xlabel="u (pixels)", ylabel="v (pixels)")
    share = calibration.quality.covered_share
    axes.set_title(f"The board was seen in {share:.0%} of the frame", fontsize=11)
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.12), ncols=2, fontsize=9, frameon=False)


def _draw_cells(axes: Any, covered: np.ndarray, size_px: tuple[int, int]) -> None:
    from matplotlib.patches import Rectangle

    wide, high = size_px[0] / CELLS[0], size_px[1] / CELLS[1]
    for row, column in np.argwhere(covered == 0):
        cell = Rectangle((column * wide, row * high), wide, high, facecolor="#f2f2f2", edgecolor=_GREY, hatch="//")
        axes.add_patch(cell)
        middle = (column + 0.5) * wide, (row + 0.5) * high
        axes.text(*middle, "no board\nhere", ha="center", va="center", fontsize=9, backgroundcolor="white")


def _draw_views(axes: Any, calibration: Calibration) -> None:
    assert calibration.solution is not None
    assert calibration.quality is not None
    misses = [rms(one) for one in calibration.solution.adjustment.residuals_px]
    names = [photo.name for photo in calibration.used]
    tilts = calibration.quality.tilts_deg
    rows = np.arange(len(names))
    axes.barh(rows, misses, color=_BLUE)
    for row, (miss, tilt) in enumerate(zip(misses, tilts, strict=True)):
        axes.text(miss, row, f" leans {tilt:.0f}°", va="center", fontsize=9)
    axes.set_yticks(rows, names, fontsize=9)
    axes.invert_yaxis()
    axes.set_xlim(0, 1.3 * max(misses))
    axes.set_xlabel("misfit of its corners, pixels (root mean square)")
    left_out = len(calibration.left_out)
    axes.set_title(f"{len(names)} views used, {left_out} left out; under {GOOD_PX:g} px is good", fontsize=11)


def _rounded(factor: float) -> float:
    """A factor of 1, 2 or 5 times a power of ten, not above ``factor``.

    >>> _rounded(730.0), _rounded(35.0)
    (500.0, 20.0)
    """
    power = 10.0 ** np.floor(np.log10(factor))
    return float(max(step * power for step in (1, 2, 5) if step * power <= factor))
