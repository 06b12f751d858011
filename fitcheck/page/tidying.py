"""What the page kept of jobs long done is cleared: their pictures and papers, never anything that is on record."""

from __future__ import annotations

import re
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

from fitcheck.fitlog.store import is_begun, reading
from fitcheck.page import jobs

#: Photographs that were begun and never sent are kept so long, what was measured so much longer.
OPEN_STAYS = timedelta(days=2)
ENDED_STAYS = timedelta(days=60)
_FOLDER = re.compile(r"\d{6,9}", re.ASCII)


def tidy(db_path: Path, folder: Path, *, at: datetime | None = None) -> list[int]:
    """Clear the folders of jobs that are long done, or of none; the numbers of those that were cleared.

    A job's row stays, and says that its pictures are gone. What cannot be cleared is left for the next time.
    """
    at = at or datetime.now(UTC)
    there = (
        sorted(int(path.name) for path in folder.iterdir() if _FOLDER.fullmatch(path.name)) if folder.is_dir() else []
    )
    kept = _kept(db_path, at)
    gone = [number for number in there if number not in kept]
    for number in gone:
        shutil.rmtree(folder / f"{number:06d}", ignore_errors=True)
    return gone


def _kept(db_path: Path, at: datetime) -> set[int]:
    """The jobs whose folders are still wanted."""
    if not is_begun(db_path):
        return set()
    with reading(db_path) as connection:
        rows = connection.execute("SELECT id, state, changed_at FROM jobs").fetchall()
    kept = set()
    for row in rows:
        age = at - datetime.fromisoformat(row["changed_at"])
        stays = OPEN_STAYS if row["state"] in ("open", "cancelled") else ENDED_STAYS
        if row["state"] in jobs.IN_HAND or age < stays:
            kept.add(int(row["id"]))
    return kept
