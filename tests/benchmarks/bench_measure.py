"""How long a measurement takes, as a ratio to decoding the file: ``python -m tests.benchmarks.bench_measure [PHOTO
CAMERA]``.

Without arguments it measures the first sample photograph, brought to 12 megapixels.
"""

import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import cv2

ROOT = Path(__file__).parents[2]
RUNS = 5
SIZE_PX = (4032, 3024)


def main() -> None:
    """Print the medians and the ratios."""
    with tempfile.TemporaryDirectory() as folder:
        photo, camera = map(Path, sys.argv[1:3]) if len(sys.argv) > 2 else _sample(Path(folder))
        decode = _median(lambda: cv2.imread(str(photo)))
        inside = _median(lambda: _measure(photo, camera))
        whole = _median(lambda: _command(photo, camera, Path(folder)))
    peak_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"decode            {decode:6.3f} s")
    print(f"measure, inside   {inside:6.3f} s   {inside / decode:5.1f} times decoding")
    print(f"measure, command  {whole:6.3f} s   {whole / decode:5.1f} times decoding   peak {peak_mb:.0f} MB")


def _median(work) -> float:
    work()
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def _measure(photo: Path, camera: Path) -> None:
    from fitcheck.contract.settings import Settings
    from fitcheck.one_photo.edge import measure_photo

    assert measure_photo(photo, camera, Settings(reference="id1", thickness_mm=12.7, bevel_deg=6.0))


def _command(photo: Path, camera: Path, folder: Path) -> None:
    told = ["--reference", "id1", "--thickness", "12.7mm", "--bevel", "6deg", "--json", str(folder / "answer.json")]
    code = "from fitcheck.cli.main import main; main()"
    command = [sys.executable, "-c", code, "measure", str(photo), "--camera", str(camera), *told]
    subprocess.run(command, check=True, capture_output=True, cwd=ROOT)


def _sample(folder: Path) -> tuple[Path, Path]:
    """The sample photograph at 12 megapixels, and its camera to match; the EXIF is left out."""
    pixels = cv2.imread(str(ROOT / "sample_images/laps/strake4-port-fit1.jpg"))
    scale = SIZE_PX[0] / pixels.shape[1]
    photo = folder / "large.jpg"
    cv2.imwrite(str(photo), cv2.resize(pixels, SIZE_PX, interpolation=cv2.INTER_CUBIC))
    camera = json.loads((ROOT / "calib/teal.json").read_text())
    (fx, _, cx), (_, fy, cy), last = camera["camera_matrix"]
    half = (scale - 1.0) / 2.0
    matrix = [[fx * scale, 0.0, cx * scale + half], [0.0, fy * scale, cy * scale + half], last]
    small = {
        "schema": camera["schema"],
        "camera_matrix": matrix,
        "distortion": camera["distortion"],
        "size_px": SIZE_PX,
    }
    path = folder / "large.json"
    path.write_text(json.dumps(small))
    return photo, path


if __name__ == "__main__":
    main()
