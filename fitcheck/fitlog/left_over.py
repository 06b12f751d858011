"""What killed runs left beside the record: parts of files, and photographs of fits that were never recorded."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from fitcheck.fitlog.connection import connect, version_of
from fitcheck.fitlog.copies import backup_folder
from fitcheck.fitlog.lock import alone
from fitcheck.fitlog.photos import LAID_BY, photo_store, settle
from fitcheck.fitlog.store import is_begun
from fitcheck.ground.part_files import clear_parts
from fitcheck.ground.refusal import WrongCall


def clear_left_over(db_path: Path) -> None:
    """Clear what killed runs left, where nobody is at work on the record just now; else it waits for another time.

    Photographs laid by for a fit that is on record get their place. What cannot be cleared is left, without a word:
    nothing depends on it.
    """
    if not db_path.parent.is_dir():
        return
    with alone(db_path, wait_s=0) as gained:
        if not gained:
            return
        for folder in (db_path.parent, backup_folder(db_path), photo_store(db_path) / LAID_BY):
            clear_parts(folder)
        try:
            for digest in backup_folder(db_path).glob("fitcheck-*.db.sha256"):
                if not digest.with_suffix("").exists():
                    digest.unlink(missing_ok=True)
            if next((photo_store(db_path) / LAID_BY).glob("*"), None) is not None:
                _settle(db_path)
        except (sqlite3.Error, WrongCall, OSError):
            return


def _settle(db_path: Path) -> None:
    """As :func:`settle`; where there is no record, nothing is cleared that one may know of once it is restored."""
    if not is_begun(db_path):
        for laid_by in (photo_store(db_path) / LAID_BY).glob("[0-9a-f]*"):
            laid_by.unlink()
    elif db_path.exists():
        with closing(connect(db_path)) as connection:
            if version_of(connection):
                settle(connection, db_path)
