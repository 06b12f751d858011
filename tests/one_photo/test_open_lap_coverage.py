"""The stated doubt of gap and step proved on made pictures, under the conditions the photo guide asks for.

The scenes are independent draws: 58 to 72 degrees off square from the keel side, light from the keel side that sets the
edge off from the faces, a bank card, ordinary wood. Places of one photograph share their errors: the band is wider than
the binomial's (about 4.6 % on 95 for five photographs, 2.3 % for twenty).

The thickness told is off by its stated standard uncertainty at random, as a calliper and an uneven plank leave it.

The draws were first looked at when the thresholds were fixed (2026-11-25): of 40, 29 were measured, 5 refused for the
card's aspect and 6 for a faint edge; of 2746 places 96.6 % of the gaps (92.7 % where the lap stood open) and 95.8 % of
the steps lay within the stated doubt, and none of 1460 closed places was called open. Where the slit was over 0.2 mm
95 % of the gaps were right within 0.32 mm; 3 places had a step more than 1 mm wrong beyond its doubt. Two earlier draws
of 40 (seeds 66190254 and 71530428), after which the doubt of dark edge faces and of the easing were changed, had
97.1 and 96.1 % of the gaps and 96.7 and 98.2 % of the steps inside.

Those draws had sharp inner corners. Since 2026-11-29 about half have them eased as the outer one, which the program is
not told. Of the first 12 draws, counted while easing and sharpening were worked on, ten were measured: of 961 places
94.8 % of the gaps and 92.1 % of the steps lay inside, none of 456 closed places was called open, and over slits of
0.2 mm 95 % of the gaps were right within 0.30 mm. The worst, sharpened by the camera, had half of its gaps inside.
"""

import json
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from fitcheck.contract.settings import Settings
from tests.in_processes import in_processes
from tests.scenes import draw_scene, render
from tests.scenes.cameras import CAMERAS

#: First looked at when the thresholds were fixed. So many of so many are asked to be measured.
SEED, SCENES, FEWEST_MEASURED = 53091177, 40, 20
#: So large a share of the places is to lie within the doubt: 95 % and the band of this few photographs.
LEAST_INSIDE, MOST_INSIDE = 0.91, 0.98
#: From this number on a pencil line lies at the edge of a closed lap.
PENCILLED, LINES = 100, range(100, 103)
#: Three photographs have a wider band: as asked of the photographs with known geometry.
LEAST_INSIDE_LINES = 0.85


def scene(number):
    """A draw under the guide's conditions; two in three stand open in places."""
    rng = np.random.default_rng([SEED, number])
    opened = number % 3 > 0
    return draw_scene(
        rng,
        kind="edge-on",
        camera=CAMERAS["dunlin" if number % 2 else "sedge"],
        distance_mm=float(rng.uniform(300, 400)),
        elevation_deg=-float(rng.uniform(58, 72)),
        light_share=float(rng.uniform(0.35, 0.6)),
        penumbra_deg=float(rng.uniform(3, 9)),
        light_from_deg=float(rng.uniform(120, 240)),
        gap_mm=float(rng.uniform(0.0, 0.5)) if opened else 0.0,
        gap_wander_mm=float(rng.uniform(0.3, 0.7)) if opened else 0.0,
        gap_wave_mm=float(rng.uniform(150, 400)),
        gain_mm=None,
        grain=float(rng.uniform(0.4, 0.7)),
        line_drawn=False,
        saw_marks=0.0,
        rivets_mm=(),
        past_mm=float(rng.uniform(-0.8, 0.0)),
        bevel_deg=float(round(rng.uniform(3, 8), 1)),
        reference="id1",
        reference_style="white",
        strake_paint=None,
        noise_dn=float(rng.uniform(1.2, 3.0)),
        blur_px=float(rng.uniform(0.5, 0.9)),
        clamps_mm=(),
        keel_up=bool(rng.random() < 0.3),
    )


def pencilled(number):
    """A closed lap with a dark pencil line at the edge, or just below it, all along."""
    rng = np.random.default_rng([SEED, number])
    return replace(
        scene(3 * number),
        line_drawn=True,
        line_contrast=float(rng.uniform(0.4, 0.7)),
        line_width_mm=float(rng.uniform(0.4, 0.9)),
        line_skips=0.05,
        line_wander_mm=0.5,
        past_mm=float(rng.uniform(-1.0, -0.1)),
    )


def told_thickness_mm(made, number):
    """The thickness as measured, right to its stated standard uncertainty."""
    return made.thickness_mm + float(np.random.default_rng([SEED, number, 1]).normal(0.0, Settings.u_thickness_mm))


def errors(number):
    """Rows (place) of: gap error, its u95, true gap, step error, its u95, called open; None where refused."""
    from fitcheck.one_photo.open_lap import measure_gap
    from tests.scenes.save import save

    made = scene(number) if number < PENCILLED else pencilled(number)
    with TemporaryDirectory() as folder:
        picture = render(made)
        save(picture, Path(folder), "made")
        camera = Path(folder) / "cameras" / f"{made.camera.name}.json"
        thickness_mm = told_thickness_mm(made, number)
        told = Settings(reference="id1", thickness_mm=thickness_mm, bevel_deg=float(round(made.bevel_deg)))
        answer = measure_gap(next(Path(folder).glob("made.*p*g")), camera, told)
        truth = json.loads((Path(folder) / "made.json").read_text())["samples"]
    if not answer:
        return None
    true = {sample["along_mm"]: sample for sample in truth}
    rows = []
    for one in answer.samples:
        at = true.get(one.along_mm)
        if at is not None and one.gap_mm is not None:
            rows.append(
                (
                    one.gap_mm - at["gap_mm"],
                    one.gap_u95_mm,
                    at["gap_mm"],
                    one.proud_mm - at["proud_mm"],
                    one.proud_u95_mm,
                    one.state == "open",
                )
            )
    return np.array(rows, float)


def test_errors_lie_within_the_stated_doubt_and_nothing_closed_is_called_open():
    found = [rows for rows in in_processes(errors, range(SCENES)) if rows is not None]
    assert len(found) >= FEWEST_MEASURED
    every = np.concatenate(found)
    gap_inside = float((np.abs(every[:, 0]) <= every[:, 1]).mean())
    step_inside = float((np.abs(every[:, 3]) <= every[:, 4]).mean())
    assert LEAST_INSIDE <= gap_inside <= MOST_INSIDE, gap_inside
    assert LEAST_INSIDE <= step_inside <= MOST_INSIDE, step_inside
    assert not every[every[:, 2] < 0.02, 5].any()


def test_a_pencil_line_at_the_edge_of_a_closed_lap_is_not_called_open():
    found = [rows for rows in in_processes(errors, LINES) if rows is not None]
    assert found
    every = np.concatenate(found)
    assert not every[:, 5].any()
    assert (np.abs(every[:, 0]) <= every[:, 1]).mean() >= LEAST_INSIDE_LINES
