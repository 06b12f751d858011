"""How settings, camera files and station lists that came to harm are taken.

``python -m tests.mutate.inputs --count 300 --seed 1``: each is harmed by a fixed seed and read. One that is no longer
usable must be told as a wrong call; anything else that is raised is a fault, and is counted as such.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from fitcheck.calibration.camera import load_camera
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.hull.settings_file import load_hull
from fitcheck.plank.stations_file import read_stations
from tests.mutate.kinds import Harm, bits, cut, lost, many_bytes, swapped, zeros
from tests.samples import TEAL

SETTINGS = (
    b'name = "Invented"\nlap = "1in"\nthickness = "1/2in"\n[[strakes]]\nnumber = 4\nfrom = "0mm"\nto = "2400mm"\n'
)
STATIONS = b"number,place\n0,0mm\n1,300mm\n2,24 in\n3,3ft\n"
ODD = (
    b"\0",
    b"\xff\xfe",
    b"\xc3\x28",
    b"\x1b[2J",
    b"\r",
    b'"' * 3,
    b"[" * 2000,
    b"9" * 5000,
    b"1e300",
    b"nan",
    b"-0",
    b"=1+1",
)


def odd(data: bytes, draw: random.Random) -> bytes:
    """Something put in that a file like this never holds."""
    at = draw.randrange(len(data))
    return data[:at] + draw.choice(ODD) + data[at + draw.choice((0, 0, 1, 8)) :]


HARMS: tuple[Harm, ...] = (bits, many_bytes, cut, zeros, swapped, lost, odd, odd, odd)


def main() -> None:
    """Harm, read and tell the figures; the status is 1 where anything but a wrong call was raised."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    told = parser.parse_args()
    figures = run(told.count, told.seed)
    for outcome, count in sorted(figures.items()):
        print(f"{count:6d}  {outcome}")
    raise SystemExit(any("FAULT" in outcome for outcome in figures))


def run(count: int, seed: int) -> Counter[str]:
    """What became of ``count`` harmed files of each sort; the same seed gives the same harm."""
    draw, figures = random.Random(seed), Counter[str]()
    with tempfile.TemporaryDirectory() as folder:
        for name, sound, read in _sorts():
            path = Path(folder) / name
            for _ in range(count):
                path.write_bytes(draw.choice(HARMS)(sound, draw))
                figures[f"{name}: {_outcome(read, path)}"] += 1
    return figures


def _sorts() -> tuple[tuple[str, bytes, Callable[[Path], object]], ...]:
    return (
        ("fitcheck.toml", SETTINGS, load_hull),
        ("camera.json", TEAL.read_bytes(), load_camera),
        ("stations.csv", STATIONS, read_stations),
    )


def _outcome(read: Callable[[Path], object], path: Path) -> str:
    try:
        read(path)
    except (WrongCall, Refused):
        return "told what is wrong"
    except Exception as error:
        return f"FAULT: {type(error).__name__}: {str(error)[:80]!r}"
    return "read"


if __name__ == "__main__":
    main()
