"""What is known of a made scene besides its truth: its boards, its pencil, whether the line was drawn at all."""

from __future__ import annotations

import json
import math
from dataclasses import fields
from pathlib import Path
from typing import Any

from tests.scenes.scene import Scene


def facts_of(scene: Scene) -> dict[str, Any]:
    """The scene's plain values: names, numbers, yes and no."""
    values = {one.name: getattr(scene, one.name) for one in fields(scene)}
    return {
        name: value
        for name, value in values.items()
        if isinstance(value, str | int) or (isinstance(value, float) and math.isfinite(value))
    }


def save_facts(scene: Scene, folder: Path, name: str) -> None:
    """Write scenes/NAME.json in the scenes' folder."""
    (folder / "scenes").mkdir(parents=True, exist_ok=True)
    (folder / "scenes" / f"{name}.json").write_text(json.dumps(facts_of(scene), indent=1))


def load_facts(photo: Path) -> dict[str, Any]:
    """The facts of a made photograph FOLDER/NAME.jpg."""
    facts: dict[str, Any] = json.loads((photo.parent / "scenes" / f"{photo.stem}.json").read_text())
    return facts
