"""The file of known station places: a table of card numbers and where each lies along the plank."""

from __future__ import annotations

import csv
import os
from itertools import pairwise
from pathlib import Path

from fitcheck.lengths import parse_length
from fitcheck.reference.station_layout import MOST_CARDS
from fitcheck.refusal import WrongCall

COLUMNS = ("number", "place")


def read_stations(path: str | os.PathLike[str]) -> dict[int, float]:
    """Known places in mm by card number, from a CSV file with the columns ``number,place``.

    Places are lengths as a builder writes them, with their unit. Raises :class:`WrongCall`, with the line, for a file
    that cannot be read, a missing column, a number that is none or stands twice, a place without a unit, or places that
    do not rise with the numbers.

    >>> import tempfile
    >>> file = Path(tempfile.mkdtemp()) / "stations.csv"
    >>> _ = file.write_text("number,place\\n0,0mm\\n1,1ft 0-5/8in\\n")
    >>> read_stations(file)[1]
    320.675
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise WrongCall(f"cannot read the stations file {path}: {error}") from error
    reader = csv.DictReader(text.splitlines(), skipinitialspace=True)
    missing = [name for name in COLUMNS if name not in (reader.fieldnames or ())]
    if missing:
        raise WrongCall(f"{path.name} needs the columns number,place; there is no column {' or '.join(missing)}")
    places: dict[int, float] = {}
    for row in reader:
        where = f"{path.name} line {reader.line_num}"
        number = _number(row["number"], where)
        if number in places:
            raise WrongCall(f"{where}: station {number} stands there twice")
        places[number] = _place(row["place"], where)
    if not places:
        raise WrongCall(f"{path.name} names no station")
    _check_rising(places, path.name)
    return places


def _number(text: str | None, where: str) -> int:
    try:
        number = int((text or "").strip())
    except ValueError:
        raise WrongCall(f"{where}: {text!r} is no card number") from None
    if not 0 <= number < MOST_CARDS:
        raise WrongCall(f"{where}: station cards are numbered 0 to {MOST_CARDS - 1}, not {number}")
    return number


def _place(text: str | None, where: str) -> float:
    try:
        return float(parse_length(text or ""))
    except WrongCall as error:
        raise WrongCall(f"{where}: {error}") from error


def _check_rising(places: dict[int, float], name: str) -> None:
    numbers = sorted(places)
    for before, after in pairwise(numbers):
        if places[after] <= places[before]:
            raise WrongCall(f"{name}: station {after} must lie beyond station {before}; places rise with the numbers")
