"""When is a found line the right one? On a folder of made photographs: python docs/study_line.py FOLDER.

Make the folder with ``python -m tests.scenes.make --count 90 --seed 1 --out FOLDER``. Prints, for the path that was
found in each photograph, its lead over the wood's own ridges, its speckle and its chance, and whether it was the line;
then the tables of docs/decisions.md, 4. Photographs with a rule are passed over: their places
count from elsewhere. A path is called right where its middle distance from the true line is under 0.6 mm.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.calibration.camera import load_camera
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import Refused
from fitcheck.lap.square_on.with_cards import look_with_cards
from fitcheck.one_photo.edge import COVERAGE, LEAST_CHANCE, values_of
from fitcheck.picture.photo import load_photo
from fitcheck.reference.find import find_references

RIGHT_MM = 0.6


@dataclass(frozen=True)
class Found:
    """One photograph's path: whether it is the line, its lead, speckle and middle chance, and its places (N,)."""

    name: str
    right: bool
    lead: float
    speckle: float
    chance: np.ndarray
    error_mm: np.ndarray
    u95_mm: np.ndarray


def found_in(photo: Path) -> Found:
    """What was found in one made photograph. Raises Refused where nothing was."""
    truth = json.loads(photo.with_suffix(".json").read_text())
    settings = Settings(
        reference=truth["reference"],
        thickness_mm=truth["thickness_mm"],
        lap_mm=truth["lap_mm"],
        bevel_deg=round(truth["bevel_deg"]),
        witness_mm=truth["witness_mm"] or None,
    )
    loaded = load_photo(photo)
    camera = load_camera(photo.parent / "cameras" / f"{truth['camera']}.json").turned(loaded.orientation)
    seen = find_references(loaded.pixels, camera, settings.reference)
    look, _, settings, _ = look_with_cards(loaded.pixels, list(seen.references), settings)
    values = values_of(look, settings)
    true = [one for one in truth["samples"] if one["line_seen"]]
    error = values.past_mm - _between(true, lambda one: (one["along_mm"], one["past_line_mm"]), values.along_mm)
    chance = np.interp(values.along_mm, look.line.along_mm, look.line.chance)
    ends = sorted(one["along_mm"] for one in true)
    use = (values.along_mm >= ends[0]) & (values.along_mm <= ends[-1])
    use &= np.interp(values.along_mm, look.aligned.along_mm, look.covered.astype(float)) == 0.0
    along = values.along_mm[use]
    line_y = look.strip.y_mm(along, np.interp(along, look.line.along_mm, look.line.down_mm)) + truth["witness_mm"]
    line_px = look.pose.px_from_face(np.column_stack([along, line_y, np.zeros(len(along))]))
    off_px = line_px[:, 1] - _between(true, lambda one: tuple(one["line_px"]), line_px[:, 0])
    right = bool(np.median(np.abs(off_px)) * look.px_mm < RIGHT_MM)
    lead = look.line.score - look.line.rival
    return Found(photo.stem, right, lead, look.line.speckle, chance[use], error[use], COVERAGE * values.u_mm[use])


def _between(
    samples: list[dict[str, Any]], pair: Callable[[dict[str, Any]], tuple[float, float]], at: np.ndarray
) -> np.ndarray:
    return np.interp(at, *np.array(sorted(pair(one) for one in samples)).T)


def tables(every: list[Found]) -> str:
    """The tables, as text."""
    lines = [
        "| path found | photographs | lead, middle (least to most) | speckle, middle (least to most) |",
        "|---|---|---|---|",
    ]
    for name, of in (("the line", True), ("something else", False)):
        some = [one for one in every if one.right == of]
        if some:
            lead, flicker = ([getattr(one, part) for one in some] for part in ("lead", "speckle"))
            lines.append(f"| {name} | {len(some)} | {_spread(lead)} | {_spread(flicker)} |")
    lines += ["", "| middle chance of the path | photographs | of them the line |", "|---|---|---|"]
    for low, high in ((0.0, 0.1), (0.1, 0.5), (0.5, LEAST_CHANCE), (LEAST_CHANCE, 1.01)):
        some = [one for one in every if low <= np.median(one.chance) < high]
        lines.append(f"| {low:g} to {min(high, 1):g} | {len(some)} | {sum(one.right for one in some)} |")
    chance, error, u95 = (
        np.concatenate([getattr(one, part) for one in every]) for part in ("chance", "error_mm", "u95_mm")
    )
    sure = chance >= LEAST_CHANCE
    size, u95 = np.abs(error[sure]), u95[sure]
    wrong = float(np.mean(size > np.maximum(u95, 1.0)))
    lines += [
        "",
        f"{len(sure)} places, {sure.mean():.0%} believed; of these {wrong:.1%} wrong by more than a millimetre",
    ]
    lines += [f"and their doubt, {np.mean(size <= u95):.0%} inside it, 95 % within {np.percentile(size, 95):.2f} mm"]
    return "\n".join(lines)


def _spread(values: list[float]) -> str:
    return f"{np.median(values):.2f} ({min(values):.2f} to {max(values):.2f})"


def main(folder: Path) -> None:
    """Look at every photograph of the folder."""
    every, refused = [], 0
    for photo in sorted(folder.glob("d*.jpg")):
        if json.loads(photo.with_suffix(".json").read_text())["reference"].startswith("rule"):
            continue
        try:
            one = found_in(photo)
        except Refused as why:
            refused += 1
            print(f"{photo.stem}: {why.reason.code}", flush=True)
            continue
        every.append(one)
        print(f"{one.name}: {'line' if one.right else 'else'} lead {one.lead:.2f} speckle {one.speckle:.2f}", end=" ")
        print(f"chance {np.median(one.chance):.2f} error {np.median(one.error_mm):+.2f} mm", flush=True)
    print(f"\n{len(every)} looked at, {refused} refused before\n\n{tables(every)}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
