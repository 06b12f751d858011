"""What the trained score says of every place of made photographs, beside the truth: kept once, asked by several tables.

``python -m tests.training.places --scenes FOLDER --out places.json``; runs that were stopped go on where they ended.
"""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.calibration.camera import load_camera
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import Refused
from fitcheck.ground.uncertainty import COVERAGE
from fitcheck.lap.square_on.scored_look import ScoredLook, look_by_score
from fitcheck.lap.square_on.scored_strake import scored_strake
from fitcheck.one_photo.edge_samples import SAMPLE_MM, samples_at, values_of
from fitcheck.one_photo.scored_answer import refuse_if_too_little, traced_by_score
from fitcheck.picture.photo import load_photo
from fitcheck.reference.find import find_references
from tests.training.scene_facts import load_facts
from tests.training.true_lap import at, true_lap

#: Within this of a clamp's middle the truth does not tell what is hidden.
CLAMP_MM = 40.0
#: A place that is less in sight is not asked.
LEAST_SIGHT = 0.5
#: A line that stands out along so much of the lap is fair to ask for (tests/scenes/stands_out.py).
FAIR = 0.5
KEPT = ("kind", "strake_wood", "plank_wood", "line_drawn", "line_colour", "line_width_mm", "line_contrast")


def places_of(photo: Path) -> dict[str, Any]:
    """One photograph: its scene's facts, why it was refused if it was, and lists over its places in ``places``."""
    truth, facts = json.loads(photo.with_suffix(".json").read_text()), load_facts(photo)
    about = {"name": photo.stem, **{name: facts[name] for name in KEPT}, "witness_mm": truth["witness_mm"]}
    about["fair"] = truth.get("line_stands_out", 0.0) >= FAIR
    settings = Settings(
        reference=truth["reference"],
        thickness_mm=truth["thickness_mm"],
        lap_mm=truth["lap_mm"],
        bevel_deg=float(round(truth["bevel_deg"])),
        witness_mm=truth["witness_mm"] or None,
    )
    try:
        loaded = load_photo(photo)
        camera = load_camera(photo.parent / "cameras" / f"{truth['camera']}.json").turned(loaded.orientation)
        seen = find_references(loaded.pixels, camera, settings.reference)
        strake = scored_strake(loaded.pixels, list(seen.references), settings)
        outlines = tuple(one.outline_px for one in seen.sightings)
        look = look_by_score(loaded.pixels, strake.course, outlines, strake.settings)
    except Refused as refused:
        return {**about, "refused": refused.reason.code, "places": {}}
    settings = strake.settings
    places = _beside_truth(look, settings, truth, drawn=facts["line_drawn"] or bool(truth["witness_mm"]))
    return {**about, "refused": _refused(look, settings), "places": places}


def _refused(look: ScoredLook, settings: Settings) -> str:
    """The code of the refusal of an answer that would hold too few places, or none."""
    places = np.arange(look.along_mm[0], look.along_mm[-1], SAMPLE_MM)
    traced = traced_by_score(look)
    samples = tuple(samples_at(traced, values_of(traced, settings), settings, places))
    try:
        refuse_if_too_little(samples, look, settings)
    except Refused as refused:
        return refused.reason.code
    return ""


def _beside_truth(look: ScoredLook, settings: Settings, truth: dict[str, Any], *, drawn: bool) -> dict[str, list[Any]]:
    """Lists over the places in sight: what is stated of edge, line and past the line, and how far off each is."""
    lap, x = true_lap(truth, look.pose), look.along_mm
    base = look.strip.y_mm(x, np.zeros(len(x)))
    corner = lap.outer if look.hidden else lap.inner
    edge_off = look.edge_down_mm - (base - at(corner, x))
    line_off = look.marks.line.down_mm - (base - at(lap.line, x))
    there = np.interp(x, lap.inner[:, 0], lap.line_seen) > 0.5
    past = _true_past(truth, look, x)
    values = values_of(traced_by_score(look), settings)
    order = np.argsort(values.along_mm)
    said, u95 = (np.interp(x, values.along_mm[order], one[order]) for one in (values.past_mm, COVERAGE * values.u_mm))
    clear = np.abs(x[:, None] - lap.clamps_x[None, :]).min(axis=1, initial=np.inf) > CLAMP_MM
    asked = clear & (look.sight > LEAST_SIGHT) & np.isfinite(edge_off) & np.isfinite(line_off)
    columns = {
        "edge_chance": look.marks.edge.chance,
        "edge_off_mm": edge_off,
        "line_chance": look.marks.line.chance,
        "line_off_mm": line_off,
        "line_there": there & drawn,
        "measured": look.measured,
        "past_mm": said,
        "u95_mm": u95,
        "true_past_mm": past,
    }
    return {name: _plain(one[asked]) for name, one in columns.items()}


def _true_past(truth: dict[str, Any], look: ScoredLook, x: np.ndarray) -> np.ndarray:
    """How far the edge truly is past the line at places x."""
    samples = truth["samples"]
    along = look.pose.face_from_px(np.array([one["edge_px"] for one in samples]))[:, 0]
    order = np.argsort(along)
    return np.interp(x, along[order], np.array([one["past_line_mm"] for one in samples])[order])


def _plain(values: np.ndarray) -> list[Any]:
    return [value if isinstance(value, bool) else round(value, 4) for value in values.tolist()]


def main(arguments: Sequence[str] | None = None) -> None:
    """Look at every photograph that is not yet in the file, and keep the file after each."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--scenes", type=Path, nargs="+", required=True)
    parser.add_argument("--out", type=Path, required=True)
    given = parser.parse_args(arguments)
    found = json.loads(given.out.read_text()) if given.out.exists() else {}
    for photo in (photo for folder in given.scenes for photo in sorted(folder.glob("*.jpg"))):
        key = f"{photo.parent.name}/{photo.stem}"
        truth = json.loads(photo.with_suffix(".json").read_text())
        if key in found or truth["reference"].startswith("rule"):
            continue  # places beside a rule count from elsewhere
        found[key] = places_of(photo)
        print(key, found[key]["refused"] or "measured", flush=True)
        part = given.out.with_suffix(".part")
        part.write_text(json.dumps(found))
        os.replace(part, given.out)


if __name__ == "__main__":
    main()
