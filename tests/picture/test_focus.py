"""Blur and exposure, against pictures blurred by a known amount."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from scipy.special import ndtr

from fitcheck.picture.focus import blur_px, exposure_and_focus


def slanted_step(sigma_px: float, contrast: float, noise: float) -> np.ndarray:
    """A straight step through the picture, blurred by the integral of a Gaussian: exact, made without a filter."""
    v, u = np.mgrid[:600, :800].astype(float)
    across = (u - 400) * np.cos(0.35) + (v - 300) * np.sin(0.35)
    level = 120 + contrast * (ndtr(across / sigma_px) - 0.5)
    return np.clip(level + np.random.default_rng(7).normal(0, noise, level.shape), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("sigma_px", [0.8, 1.5, 3.0, 4.5])
@pytest.mark.parametrize("contrast", [80, 200])
def test_the_blur_of_a_step_is_read(sigma_px: float, contrast: float) -> None:
    assert blur_px(slanted_step(sigma_px, contrast, 1.0)) == pytest.approx(np.hypot(sigma_px, 0.6), rel=0.12)


def test_noise_alone_has_no_edge() -> None:
    noise = np.random.default_rng(3).normal(120, 8, (500, 600)).astype(np.uint8)
    assert blur_px(noise) is None
    assert "photo-soft" in [one.code for one in exposure_and_focus(noise)]


def test_a_sound_picture_has_no_warning_and_a_spoilt_one_says_how() -> None:
    sound = cv2.cvtColor(slanted_step(1.0, 150, 1.0), cv2.COLOR_GRAY2BGR)
    assert exposure_and_focus(sound) == []
    burnt = sound.copy()
    burnt[:, :200] = 255
    dark = sound // 40
    blurred = cv2.GaussianBlur(sound, None, 5.0)
    assert [one.code for one in exposure_and_focus(burnt)] == ["photo-burnt"]
    assert "photo-dark" in [one.code for one in exposure_and_focus(dark)]
    assert [one.code for one in exposure_and_focus(blurred)] == ["photo-soft"]


def test_a_red_board_under_a_red_lamp_is_not_burnt() -> None:
    """One full channel still leaves two to measure by."""
    picture = cv2.cvtColor(slanted_step(1.0, 150, 1.0), cv2.COLOR_GRAY2BGR)
    picture[:, :, 2] = 255
    assert "photo-burnt" not in [one.code for one in exposure_and_focus(picture)]
