"""What every page must be: sound for a screen reader and a finger, and its pictures readable."""

from __future__ import annotations

from typing import Any

from tests.page.browser import serious, too_small, too_wide


def sound(page: Any, path: str = "") -> None:
    """No serious finding of the checker, nothing too small to touch, nothing to be moved sideways."""
    assert serious(page) == [], path
    fits(page, path)


def fits(page: Any, path: str = "") -> None:
    """Nothing too small to touch, nothing to be moved sideways."""
    assert too_small(page) == [], path
    assert not too_wide(page), path


def clash(page: Any) -> list[str]:
    """Words in a picture that lie over the traced edge, or run out of the picture."""
    script = """() => [...document.querySelectorAll("figure.viewer svg[viewBox]:not(.swatch)")].flatMap((svg) => {
      const whole = svg.getBoundingClientRect();
      return [...svg.querySelectorAll(".label:not(.hidden)[data-u]")].flatMap((label) => {
        const box = label.getBoundingClientRect(), on = [label.dataset.u, label.dataset.v].map(Number);
        const at = new DOMPoint(...on).matrixTransform(svg.getScreenCTM());
        const out = box.left < whole.left - 1 || box.right > whole.right + 1 || box.top < whole.top - 1;
        const over = box.left < at.x && at.x < box.right && box.top < at.y && at.y < box.bottom;
        const seen = at.x > whole.left && at.x < whole.right && at.y > whole.top && at.y < whole.bottom;
        return seen && (out || over) ? [`${label.textContent}: ${out ? "runs out" : "lies over its place"}`] : [];
      });
    })"""
    assert page.locator("figure.viewer .label[data-u]").count()
    found: list[str] = page.evaluate(script)
    return found
