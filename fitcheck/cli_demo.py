"""The command ``fitcheck demo``: the main job on the sample photographs."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fitcheck.files import read_toml
from fitcheck.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.calibration.camera import Camera
    from fitcheck.cli_measure import Answer

SAMPLES = Path(__file__).resolve().parent.parent / "sample_images"


def demo(
    out: Annotated[Path, typer.Option(help="Folder for the demo's report.")] = Path("fitcheck-demo"),
    samples: Annotated[Path, typer.Option(help="Folder of the sample photographs.", show_default=False)] = SAMPLES,
) -> None:
    """Calibrate and measure the sample photographs of an invented hull, and write the report."""
    scenario = _scenario(samples)
    camera = _calibrated(samples, scenario["board"], out)
    for number, lap in enumerate(scenario["lap"], start=1):
        print(f"\n--- {number} of {len(scenario['lap'])}: {lap['photo']} (invented) ---")
        _measure_lap(samples, lap, camera, out)
    for plank in scenario.get("whole", ()):
        print(f"\n--- the whole plank {plank['plank']}, from the photographs in {plank['photos']} (invented) ---")
        _measure_plank(samples, plank, camera, out)
    print(f"\nThe report is in {out.resolve()}; open the report.html of each plank.")


def _scenario(samples: Path) -> dict[str, Any]:
    path = samples / "demo.toml"
    if not path.is_file():
        raise WrongCall(
            f"the sample photographs are not here: there is no {path}; run the demo from a checkout, or give --samples"
        )
    return read_toml(path, "the demo's settings")


def _calibrated(samples: Path, board: dict[str, str], out: Path) -> Camera:
    from fitcheck.calibration.camera import load_camera
    from fitcheck.cli_camera import calibrate

    target = out / "camera.json"
    calibrate(sorted((samples / "board").glob("*.jpg")), corners=board["corners"], square=board["square"], out=target)
    return load_camera(target)


def _measure_lap(samples: Path, lap: dict[str, str], camera: Camera, out: Path) -> None:
    from fitcheck.cli_measure import answer_photo

    _tell(answer_photo(samples / lap["photo"], camera, lap), lap, out)


def _measure_plank(samples: Path, plank: dict[str, str], camera: Camera, out: Path) -> None:
    from fitcheck.cli_measure import answer_plank

    photos = sorted((samples / plank["photos"]).glob("*.jpg"))
    _tell(answer_plank(photos, camera, plank), plank, out)


def _tell(answer: Answer, told: dict[str, str], out: Path) -> None:
    from fitcheck.cli_measure import write_answer
    from fitcheck.report.table import print_table

    print_table(answer.measurement, sys.stdout)
    write_answer(answer, out / told["plank"].replace(" ", "-"))
