"""The places a ticket names: every station card, and between them as many places as a page holds."""

from __future__ import annotations

import numpy as np

from fitcheck.advice.states import UNSEEN_STEPS, usual_step_mm
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.report.edge.answer import ROW_STEPS, Row, rows
from fitcheck.report.edge.wording import Wording


def ticket_rows(measurement: Measurement, wording: Wording, *, most: int) -> list[tuple[str, Row]]:
    """Names and rows for a ticket, at most ``most`` of them, in the order of the table.

    A station card's own place carries its number; the rows between are as close as fits.
    """
    cards = _card_places(measurement)
    for step_mm in ROW_STEPS[wording.units]:
        found = rows(measurement, wording, step_mm=step_mm, also_mm=tuple(cards))
        if len(found) <= most:
            break
    return [(_name(row, cards), row) for row in found[:most]]


def _card_places(measurement: Measurement) -> dict[float, int]:
    """Places of the station cards that lie on the measured part of the plank, with their numbers."""
    places = np.array([sample.place_mm() for sample in sorted(measurement.samples, key=Sample.place_mm)])
    if not len(places):
        return {}
    near = UNSEEN_STEPS * usual_step_mm(places)
    stations = {float(s["plank_mm"]): int(s["number"]) for s in measurement.stations}
    return {at: number for at, number in stations.items() if np.abs(places - at).min() <= near}


def _name(row: Row, cards: dict[float, int]) -> str:
    number = next((number for at, number in cards.items() if abs(at - row.at_mm) <= 5.0), None)
    return row.place if number is None else f"card {number}: {row.place}"
