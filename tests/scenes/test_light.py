"""Shadows and shading of made pictures, against plain geometry."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.scenes.picture import light_of
from tests.scenes.test_geometry import BARE, on_face, step_rows


def test_plank_shadow_reaches_as_far_as_the_step_is_high() -> None:
    """Lit 40° off square from the sheer side, a sharp step of 12.7 mm throws a shadow 12.7·tan 40° = 10.66 mm long."""
    scene = replace(
        BARE, bevel_deg=0.0, light_slant_deg=40.0, light_from_deg=0.0, elevation_deg=0.0, aim_mm=(0.0, 40.0 - 10.66)
    )
    light, _ = light_of(scene)
    row = step_rows(light, 411, 290 - 20, 290 + 20)
    assert 40.0 - on_face(scene, (411, row))[1] == pytest.approx(10.66, abs=0.06)


def test_penumbra_widens_with_the_lamp() -> None:
    """From full dark to full light the shadow's rim is 2·t·tan(half angle)/cos² wide: t/cos² for small angles."""
    widths = []
    for half_deg in (0.5, 4.0):
        scene = replace(
            BARE, bevel_deg=0.0, light_slant_deg=40.0, light_from_deg=0.0, elevation_deg=0.0,
            aim_mm=(0.0, 29.3), penumbra_deg=half_deg, light_share=1.0,
        )  # fmt: skip
        lit, free = (light_of(s)[0][265:315, 411].mean(-1) for s in (scene, replace(scene, light_from_deg=180.0)))
        share = lit / free
        widths.append(float(np.sum((share > 0.05) & (share < 0.95))) * scene.distance_mm / 1490.0)
    expected = 2 * 12.7 * np.tan(np.radians(4.0)) / np.cos(np.radians(40.0)) ** 2
    assert widths[0] < 1.0
    assert widths[1] == pytest.approx(0.73 * expected, abs=0.7)  # a smooth step's share from 5 to 95 %; two pixels


def test_card_throws_a_thin_shadow() -> None:
    """A card 0.76 mm proud lit from the left at 45° shades 0.76 mm of the strake to its right, and none to its left."""
    scene = replace(
        BARE, reference="id1", reference_turn_deg=0.0, strake_paint="grey", light_slant_deg=45.0, light_from_deg=-90.0,
        elevation_deg=0.0, aim_mm=(42.8, 0.0), line_y_mm=60.0, distance_mm=350.0, light_share=1.0,
    )  # fmt: skip
    light, _ = light_of(scene)
    px_per_mm = 1500.0 / scene.distance_mm
    row = light[290].mean(-1)
    begins = 411 + 2  # past the card's own pixels
    bright = np.median(row[begins + 20 : begins + 60])
    foot = light_of(replace(scene, light_slant_deg=0.0))[0][290].mean(-1)  # the dark at its foot, without a shadow
    bright_foot = np.median(foot[begins + 20 : begins + 60])
    lost = 1.0 - (row / foot)[411 : begins + 20] / (bright / bright_foot)
    assert lost[lost > 0.02].sum() / px_per_mm == pytest.approx(0.76, abs=0.12)


def test_a_slit_is_dark_and_a_closed_lap_is_not() -> None:
    """Seen edge-on an open lap shows a dark band of its own, as wide as the gap; a closed one shows none."""
    stand: dict[str, Any] = {
        "elevation_deg": -62.0,
        "aim_mm": (0.0, 40.0),
        "distance_mm": 400.0,
        "light_slant_deg": 30.0,
    }
    scene = replace(BARE, **stand, light_from_deg=180.0, gap_mm=0.6, plank_wood="spruce", light_share=0.6)
    darkest = []
    for gap_mm in (0.6, 0.0):
        light, _ = light_of(replace(scene, gap_mm=gap_mm))
        column = light[200:400, 411].mean(-1)
        darkest.append(column.min() / np.median(column))
    assert darkest[0] < 0.25
    assert darkest[1] > 0.3
