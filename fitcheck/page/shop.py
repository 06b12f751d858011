"""What every page shares: the hull, the keys, the addresses, and where work in hand lies."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.page.doors import Doors
from fitcheck.page.keys import Keys

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

FOLDER = "fitcheck-page"
#: In a job's folder, what its page shows.
ANSWER = "answer.json"
#: Of what is written there; what an earlier fitcheck wrote is shown no more.
ANSWER_SCHEMA = 2
#: In a job's folder, how far the frame is covered while a camera is calibrated.
GROWN = "grown.json"
MOST_PHOTO_BYTES = 60_000_000


@dataclass(frozen=True)
class Shop:
    """One hull's page. ``hull_path`` is its settings file, read anew for every page: it may be edited meanwhile."""

    hull_path: Path
    keys: Keys
    doors: Doors
    most_photo_bytes: int = MOST_PHOTO_BYTES

    @property
    def folder(self) -> Path:
        """The folder beside the settings that holds the page's own work."""
        return folder_of(self.hull_path)

    @property
    def db_path(self) -> Path:
        """The record beside the settings."""
        return self.hull_path.with_name("fitcheck.db")

    def job_folder(self, job_id: int) -> Path:
        """The folder of one job's photographs and answer."""
        return self.folder / f"{job_id:06d}"

    def answer(self, job_id: int) -> dict[str, Any] | None:
        """What a job's page shows, as the measuring process wrote it; None where it is cleared or of another form."""
        try:
            found = json.loads((self.job_folder(job_id) / ANSWER).read_bytes())
        except (OSError, ValueError):
            return None
        return found if isinstance(found, dict) and found.get("schema") == ANSWER_SCHEMA else None

    def grown(self, job_id: int) -> dict[str, Any] | None:
        """How far the frame is covered while a camera is calibrated; None where nothing was looked at yet."""
        try:
            found = json.loads((self.job_folder(job_id) / GROWN).read_bytes())
        except (OSError, ValueError):
            return None
        return found if isinstance(found, dict) else None

    @property
    def cookie(self) -> str:
        """The cookie that lets a phone in; cookies know no ports, and each hull's page has its own."""
        return f"fitcheck-{self.doors.port}"

    @property
    def name_cookie(self) -> str:
        """The cookie that keeps the name of the one who works with the phone."""
        return f"{self.cookie}-who"

    def hull(self) -> Hull:
        """The hull's settings as they stand. Raises :class:`fitcheck.ground.refusal.WrongCall` for unusable ones."""
        from fitcheck.hull.settings_file import load_hull

        return load_hull(self.hull_path)


def folder_of(hull_path: Path) -> Path:
    """The folder beside the settings file ``hull_path`` that holds the page's own work."""
    return hull_path.with_name(FOLDER)
