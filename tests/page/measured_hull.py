"""A hull whose photographs are measured for the tests, once for all of them: an edge, a refusal, an open lap."""

from __future__ import annotations

import json
import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitcheck.page import jobs
from fitcheck.page.job_line import Line
from fitcheck.page.shop import Shop
from tests.fitlog.made import made_hull
from tests.page.phone import Phone, made_shop
from tests.page.test_receiving import opened, sent
from tests.samples import HIDDEN, PLAIN, ROOT, TEAL

HULL = f"""
name = "Invented dinghy"
lap = "25.4mm"
thickness = "12.7mm"
bevel = "6deg"
camera = "{TEAL}"
reference = "id1"

[[strakes]]
number = 4
from = "0"
to = "8ft"

[[strakes]]
number = 6

[[strakes]]
number = 7
thickness = "9.5mm"
"""
#: Photographs of the printed board, of the same camera; in the sixth it runs out of the frame.
BOARD = sorted((ROOT / "sample_images" / "board").glob("board_*.jpg"))[:8]
NOTE = "clamps tight\nall along"
#: The lap of known geometry seen edge-on, where FITCHECK_PHOTOS names the folder; no card lies in it.
EDGE_ON = Path(os.environ.get("FITCHECK_PHOTOS", "no-such-folder")) / "laps" / "g01.jpg"


@dataclass(frozen=True)
class Measured:
    """The page, its line at work, a phone let in, and a copy of the folder as it was when all was measured.

    Jobs: 4 port's edge measured, 6 port refused, a camera calibrated, 7 port's lap edge-on (None where that photograph
    is not here).
    """

    shop: Shop
    line: Line
    phone: Phone
    as_measured: Path
    edge: int
    refused: int
    camera: int
    edge_on: int | None

    def answer(self, job_id: int) -> dict[str, Any]:
        """What the page shows of a job."""
        found: dict[str, Any] = json.loads((self.shop.job_folder(job_id) / "answer.json").read_bytes())["answers"][0]
        return found


@contextmanager
def measured_hull(folder: Path) -> Iterator[Measured]:
    """The hull in ``folder``/hull, measured by one process of the real kind."""
    hull = folder / "hull"
    hull.mkdir()
    shop = made_shop(hull)
    made_hull(hull, HULL)
    line = Line(shop.hull_path)
    line.start()
    try:
        phone = Phone(shop, line=line)
        edge = _sent(phone, PLAIN, at="3ft", note=NOTE)
        refused = _sent(phone, HIDDEN, plank="6 port", reference="card-us")
        edge_on = (
            _sent(phone, EDGE_ON, plank="7 port", kind="gap", reference="thickness") if EDGE_ON.is_file() else None
        )
        camera = _calibrated(phone)
        for job_id in (edge, refused, camera):
            done(phone, job_id)
        if edge_on is not None:
            done(phone, edge_on)
        _papers(shop, edge)
        shutil.copytree(hull, folder / "as-measured")
        yield Measured(shop, line, phone, folder / "as-measured", edge, refused, camera, edge_on)
    finally:
        line.stop()


def done(phone: Phone, job_id: int, seconds: float = 300.0) -> Any:
    """The job's page once there is an answer."""
    deadline = time.monotonic() + seconds
    while phone.get(f"/job/{job_id}/state").json()["state"] in jobs.IN_HAND:
        assert time.monotonic() < deadline
        time.sleep(0.2)
    return phone.get(f"/job/{job_id}")


def _sent(phone: Phone, photo: Path, **told: str) -> int:
    job_id: int = opened(phone, **{"plank": "4 port", "kind": "edge", **told})
    assert sent(phone, job_id, photo.read_bytes()).status_code == 200
    assert phone.post(f"/job/{job_id}/send").status_code == 303
    return job_id


def _calibrated(phone: Phone) -> int:
    answer = phone.post("/camera/open", name="phone", corners="9x6", square="25mm")
    job_id: int = answer.json()["job"]
    for photo in BOARD:
        assert sent(phone, job_id, photo.read_bytes()).status_code == 200
    assert phone.post(f"/job/{job_id}/send").status_code == 303
    return job_id


def _papers(shop: Shop, job_id: int, seconds: float = 300.0) -> None:
    """Wait for the papers to print, which come after the answer."""
    deadline = time.monotonic() + seconds
    while not (shop.job_folder(job_id) / "report" / "report_ticket.pdf").is_file():
        assert time.monotonic() < deadline
        time.sleep(0.2)
