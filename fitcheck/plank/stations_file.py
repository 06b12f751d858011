"""The file of known station places: a table of card numbers and where each lies along the plank."""

from __future__ import annotations

import csv
import os
import re
from pathlib import Path

from fitcheck.ground.bounds import cards_astray
from fitcheck.ground.files import read_text
from fitcheck.ground.lengths import parse_length
from fitcheck.ground.refusal import WrongCall

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
    text = read_text(path, "the stations file")
    reader = csv.DictReader(text.splitlines(), skipinitialspace=True)
    try:
        places = _places(reader, path.name)
    except csv.Error as error:  # a field of more letters than any place has
        raise WrongCall(f"{path.name} line {reader.line_num} is no table: {error}") from error
    if not places:
        raise WrongCall(f"{path.name} names no station")
    astray = cards_astray(places)
    if astray:
        raise WrongCall(f"{path.name}: {astray}")
    return places


def _places(reader: csv.DictReader[str], name: str) -> dict[int, float]:
    missing = [column for column in COLUMNS if column not in (reader.fieldnames or ())]
    if missing:
        raise WrongCall(f"{name} needs the columns number,place; there is no column {' or '.join(missing)}")
    places: dict[int, float] = {}
    for row in reader:
        where = f"{name} line {reader.line_num}"
        number = _number(row["number"], where)
        if number in places:
            raise WrongCall(f"{where}: station {number} stands there twice")
        places[number] = _place(row["place"], where)
    return places


def _number(text: str | None, where: str) -> int:
    written = (text or "").strip()
    if not re.fullmatch(r"[+-]?[0-9]{1,9}", written):
        raise WrongCall(f"{where}: {_shown(text)} is no card number")
    return int(written)


def _shown(text: str | None) -> str:
    return "nothing" if not text else repr(text if len(text) <= 40 else f"{text[:40]}…")


def _place(text: str | None, where: str) -> float:
    try:
        return float(parse_length(text or ""))
    except WrongCall as error:
        raise WrongCall(f"{where}: {error}") from error
