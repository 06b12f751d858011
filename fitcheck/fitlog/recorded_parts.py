"""The parts of a plank on record: which places are whose, where the cards lay, and photographs that were not used."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName

if TYPE_CHECKING:
    from pathlib import Path

    from fitcheck.plank.connected_parts import Earlier

#: Older sets than these are not asked where the cards lay.
MOST_SETS = 8


def from_card(measurement: Mapping[str, Any]) -> int:
    """The card that the places of one part count from; 0 where they are the plank's own.

    Raises :class:`WrongCall` for a plank in several parts: each is recorded by itself.
    """
    if len(measurement.get("parts") or []) > 1:
        raise WrongCall("a plank in parts is recorded part by part: their places count from different cards")
    card = (measurement.get("reference") or {}).get("from_card") or 0
    if isinstance(card, bool) or not isinstance(card, int):
        raise WrongCall(f"the measurement counts from card {card!r}, which is no card's number")
    return card


def part_lines(connection: sqlite3.Connection, fit_id: int) -> list[str]:
    """Which places of a fit are whose, where it is in parts or not counted from card 0, and what was not used."""
    documents = _documents(connection, fit_id)
    apart = any(len(documents) > 1 or part["from_card"] for one in documents for part in one.get("parts") or [])
    lines = []
    for one in documents if apart else ():
        for part in one.get("parts") or []:
            cards = f"cards {part['cards'][0]} to {part['cards'][-1]}" if len(part["cards"]) > 1 else "one card"
            lines.append(f"{cards}, counted from card {part['from_card']}: {', '.join(part['photos'])}")
    return [*lines, *dict.fromkeys(line for one in documents for line in _unused(one))]


def untied_cards(connection: sqlite3.Connection, fit_id: int) -> list[int]:
    """The cards that places of a fit count from which nothing ties to card 0, in order."""
    return sorted({card for one in _documents(connection, fit_id) if (card := from_card(one))})


def earlier_sets(db_path: Path, plank: PlankName) -> list[Earlier]:
    """Where the sets of photographs of a plank on record put its cards, counted from card 0, the latest first."""
    from fitcheck.fitlog.store import reading
    from fitcheck.plank.connected_parts import Earlier

    if not db_path.exists():
        return []
    with reading(db_path) as connection:
        rows = connection.execute(
            "SELECT f.number, t.document FROM standing_takes t JOIN standing_fits f ON f.id = t.fit_id"
            " JOIN planks p ON p.id = f.plank_id WHERE p.strake = ? AND p.side = ? AND p.part = ?"
            " AND t.frame = 'plank' ORDER BY t.id DESC LIMIT ?",
            (plank.strake, plank.side, plank.part, MOST_SETS),
        ).fetchall()
    found = []
    for row in rows:
        document = json.loads(row["document"])
        stations = document.get("stations") or []
        if from_card(document) == 0 and stations:
            places = {int(s["number"]): (float(s["plank_mm"]), float(s["u95_mm"])) for s in stations}
            found.append(Earlier(f"Fit {row['number']} of {plank}", places))
    return found


def _documents(connection: sqlite3.Connection, fit_id: int) -> list[dict[str, Any]]:
    rows = connection.execute("SELECT document FROM standing_takes WHERE fit_id = ? ORDER BY id", (fit_id,))
    return [json.loads(row["document"]) for row in rows.fetchall()]


def _unused(document: Mapping[str, Any]) -> list[str]:
    found = []
    for photo in document.get("photos") or []:
        texts = [str(reason["text"]) for reason in photo.get("reasons") or []]
        if len(document["photos"]) > 1 and photo.get("state") == "refused" and texts:
            name = str(photo.get("name", ""))
            found.append(f"not used: {texts[0] if name in texts[0] else f'{name}. {texts[0]}'}")
    return found
