"""The checked copies beside a record: their names, and which is the last. They are numbered, and go by their number.

A clock can stand wrong; the number only grows.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

_STAMP = "%Y%m%dT%H%M%S%fZ"
#: Copies from before they were numbered have only their time.
_NAME = re.compile(r"fitcheck-(?:(?P<number>\d{4,9})-)?(?P<stamp>\d{8}T\d{12}Z)-(?P<kind>.+)\.db")


@dataclass(frozen=True, order=True)
class Copy:
    """One checked copy. Copies sort by their number; ``made_at`` is what the clock said."""

    number: int
    stamp: str
    kind: str
    path: Path

    @property
    def made_at(self) -> datetime | None:
        """When it was made, None where its name tells no time."""
        try:
            return datetime.strptime(self.stamp, _STAMP).replace(tzinfo=UTC)
        except ValueError:
            return None


def backup_folder(db_path: Path) -> Path:
    """Where the checked copies lie."""
    return db_path.with_name("fitcheck-backups")


def copies(db_path: Path, kind: str | None = None) -> list[Copy]:
    """Every checked copy beside the record, in the order they were made; only those of one ``kind`` where told."""
    found = []
    for path in backup_folder(db_path).glob("fitcheck-*.db"):
        name = _NAME.fullmatch(path.name)
        if name and kind in (None, name["kind"]):
            found.append(Copy(int(name["number"] or 0), name["stamp"], name["kind"], path))
    return sorted(found)


def last_backup(db_path: Path) -> Path | None:
    """The newest checked copy beside the record, or None."""
    found = copies(db_path)
    return found[-1].path if found else None


def new_name(db_path: Path, kind: str) -> Path:
    """The path of the copy that is made next."""
    found = copies(db_path)
    number = found[-1].number + 1 if found else 1
    return backup_folder(db_path) / f"fitcheck-{number:04d}-{datetime.now(UTC):{_STAMP}}-{kind}.db"


def digest_file(path: Path) -> Path:
    """The file beside a copy that holds its SHA-256."""
    return path.with_name(f"{path.name}.sha256")
