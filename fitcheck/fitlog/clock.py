"""The time as the record writes it."""

from __future__ import annotations

from datetime import UTC, datetime


def now() -> str:
    """The time in UTC, as the record writes it."""
    return datetime.now(UTC).isoformat(timespec="seconds")
