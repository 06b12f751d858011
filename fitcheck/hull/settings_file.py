"""The hull's settings, ``fitcheck.toml``: found from the working folder upward, checked; every command's defaults.

Keys in the file carry lengths as a builder writes them (``lap = "1in"``); attributes carry mm (``hull.lap_mm``).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PrivateAttr, ValidationError, model_validator

from fitcheck.contract.hints import Hints, Keel
from fitcheck.contract.settings import unusual_lap
from fitcheck.ground.bounds import cards_astray, contradiction, outside
from fitcheck.ground.easing import read_easing
from fitcheck.ground.files import read_toml
from fitcheck.ground.lengths import FRACTIONS, INCH_MM, parse_length
from fitcheck.ground.refusal import Reason, WrongCall
from fitcheck.ground.tape_places import parse_place

FILE_NAME = "fitcheck.toml"
#: In an error no key is named, and no fault told, with more letters.
MOST_NAMED = 60
MOST_SAID = 400


def _length(value: object) -> float:
    return parse_length(_written(value))


def _size(value: object) -> float:
    size = parse_length(_written(value))
    if size <= 0:
        raise ValueError("must be more than nothing")
    return size


def _bounded(name: str) -> Callable[[object], float]:
    """A reader of a length between its bounds, named as in :data:`fitcheck.ground.bounds.BOUNDS_MM`."""

    def read(value: object) -> float:
        size = _size(value)
        astray = outside(name, size)
        if astray:
            raise ValueError(f"{value} is {astray}")
        return size

    return read


def _name(value: object) -> object:
    if isinstance(value, str) and not value.isprintable():
        raise ValueError(f"{value!r} cannot be named on the command line: printable letters are needed")
    return value


def _place(value: object) -> float:
    return parse_place(_written(value))


def _angle(value: object) -> float:
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:deg|°)\s*", value if isinstance(value, str) else "")
    if not match or float(match[1]) > 45:
        raise ValueError(f"{value!r} is not a bevel: write an angle up to 45 degrees as 6deg")
    return float(match[1])


def _eased(value: object) -> float:
    try:
        return read_easing(value if isinstance(value, str) else _written(value))
    except WrongCall as wrong:
        raise ValueError(str(wrong)) from None


def _written(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f'{value!r} has no unit: write a length in quotes, as "12.7mm" or "1/2in"')
    return value


Length = Annotated[float, BeforeValidator(_length)]
Size = Annotated[float, BeforeValidator(_size)]
Place = Annotated[float, BeforeValidator(_place)]
Lap = Annotated[float, BeforeValidator(_bounded("lap"))]
Thickness = Annotated[float, BeforeValidator(_bounded("thickness"))]
Witness = Annotated[float, BeforeValidator(_bounded("witness"))]
Limit = Annotated[float, BeforeValidator(_bounded("limit"))]
GapLimit = Annotated[float, BeforeValidator(_bounded("gap"))]
Unseen = Annotated[float, BeforeValidator(_bounded("unseen"))]
Between = Annotated[float, BeforeValidator(_bounded("feeler_every"))]
Name = Annotated[str, BeforeValidator(_name), Field(min_length=1, max_length=60)]
Eased = Annotated[float, BeforeValidator(_eased)]
Angle = Annotated[float, BeforeValidator(_angle)]
Side = Literal["port", "starboard"]
End = Literal["bow", "stern"]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class Limits(_Table):
    """What is good enough, the builder's to change. The defaults are common practice without a published source."""

    edge_mm: Limit = Field(default=25.4 / 32, alias="edge")
    gap_mm: GapLimit = Field(default=0.10, alias="gap")
    least_lap_mm: Size | None = Field(default=None, alias="least_lap")
    unseen_mm: Unseen = Field(default=100.0, alias="unseen")
    #: One feeler reading at one place speaks for half this length on either side.
    feeler_every_mm: Between = Field(default=300.0, alias="feeler_every")


class Gain(_Table):
    """How the step of the lap tapers to flush at one end of the strakes."""

    length_mm: Size = Field(alias="length")
    start_mm: Length = Field(alias="start")
    finish_mm: Length = Field(default=0.0, alias="finish")
    form: Literal["straight", "eased"] = "straight"


class Gains(_Table):
    """The gains at the bow and at the stern; None where there is none."""

    bow: Gain | None = None
    stern: Gain | None = None


class Stations(_Table):
    """Where the station cards lie, the end they are numbered from, and the file that holds their places."""

    numbered_from: End | dict[Side, End] = "bow"
    places_mm: dict[int, Place] = Field(default_factory=dict, alias="places")
    file: str | None = None

    @model_validator(mode="after")
    def _rises(self) -> Stations:
        astray = cards_astray(self.places_mm)
        if astray:
            raise ValueError(astray)
        return self

    def end_of(self, side: str) -> str:
        """The end, "bow" or "stern", from which the cards on ``side`` are numbered."""
        if isinstance(self.numbered_from, str):
            return self.numbered_from
        return next((end for named, end in self.numbered_from.items() if named == side), "bow")


class Stretch(_Table):
    """From where to where along the tape a plank runs, in the plank frame; None where it is not told."""

    from_mm: Place | None = Field(default=None, alias="from")
    to_mm: Place | None = Field(default=None, alias="to")

    @model_validator(mode="after")
    def _runs_upward(self) -> Stretch:
        if self.to_mm is not None and self.to_mm <= (self.from_mm or 0.0):
            raise ValueError("'to' must lie beyond 'from' (which is 0 unless told)")
        return self


class Part(Stretch):
    """One plank of a strake that is scarfed together from several."""

    name: Name


class Strake(Stretch):
    """One strake: its number from the garboard up, and what differs from the hull's own settings."""

    number: int = Field(ge=1, le=99)
    name: Name | None = None
    sides: tuple[Side, ...] = ("port", "starboard")
    parts: tuple[Part, ...] = ()
    thickness_mm: Thickness | None = Field(default=None, alias="thickness")
    lap_mm: Lap | None = Field(default=None, alias="lap")
    witness_mm: Witness | None = Field(default=None, alias="witness")
    bevel_deg: Angle | None = Field(default=None, alias="bevel")
    eased_mm: Eased | None = Field(default=None, alias="eased")
    species: str | None = None
    grain: Literal["flat", "edge"] = "flat"
    width_mm: Size | None = Field(default=None, alias="width")


class Hull(_Table):
    """The settings of one hull, as :func:`load_hull` reads them."""

    name: str = Field(min_length=1, max_length=200)
    units: Literal["in", "mm"] = "in"
    fraction: int = 32
    #: How a foot is said: "feet" (1 ft 6 in) or "inches" (18 in). Where it is not told, as the file writes its places.
    tape: Literal["feet", "inches"] | None = None
    lap_mm: Lap = Field(alias="lap")
    thickness_mm: Thickness = Field(alias="thickness")
    witness_mm: Witness | None = Field(default=None, alias="witness")
    bevel_deg: Angle | None = Field(default=None, alias="bevel")
    #: How far the planks' inner corners are eased; None where it is to be found in each photograph.
    eased_mm: Eased | None = Field(default=None, alias="eased")
    keel: Keel = "auto"
    camera: str | None = None
    reference: str | None = None
    photos: Literal["copy", "leave"] = "copy"
    limits: Limits = Limits()
    stations: Stations = Stations()
    gains: Gains = Gains()
    strakes: tuple[Strake, ...] = ()
    _path: Path = PrivateAttr(default=Path(FILE_NAME))
    _written_style: str = PrivateAttr(default="")

    @model_validator(mode="after")
    def _agrees_with_itself(self) -> Hull:
        if self.fraction not in FRACTIONS:
            raise ValueError(f"fraction {self.fraction} is on no rule: give one of {', '.join(map(str, FRACTIONS))}")
        _once((strake.number for strake in self.strakes), "strake number")
        _once((strake.name.casefold() for strake in self.strakes if strake.name), "strake name")
        for strake in self.strakes:
            if not strake.sides:
                raise ValueError(f"strake {strake.number} is on no side: name one in sides, or leave sides out")
            _once((part.name.casefold() for part in strake.parts), f"part of strake {strake.number}")
        self._makes_sense()
        return self

    def _makes_sense(self) -> None:
        """Raise ValueError where the lengths of the hull, or of one of its strakes, contradict each other."""
        thicknesses = [self.thickness_mm, *(one.thickness_mm for one in self.strakes if one.thickness_mm)]
        gains = [(gain.start_mm, gain.finish_mm) for gain in (self.gains.bow, self.gains.stern) if gain]
        # A gain is told for all strakes: the thickest must hold it.
        astray = contradiction(thickness_mm=max(thicknesses), lap_mm=None, gains_mm=gains)
        if astray:
            raise ValueError(astray)
        for number in (None, *(strake.number for strake in self.strakes)):
            used = self.defaults(number)
            astray = contradiction(
                thickness_mm=used["thickness_mm"],
                lap_mm=used["lap_mm"],
                limit_mm=self.limits.edge_mm,
                least_lap_mm=self.limits.least_lap_mm,
            )
            if astray:
                raise ValueError(astray if number is None else f"strake {number}: {astray}")

    @property
    def path(self) -> Path:
        """The settings file."""
        return self._path

    @property
    def tape_style(self) -> str:
        """How this hull says a foot: "feet", "inches", or "" where neither the settings nor their places show it."""
        return self.tape or self._written_style

    @property
    def db_path(self) -> Path:
        """The record beside the settings file."""
        return self._path.with_name("fitcheck.db")

    @property
    def camera_path(self) -> Path | None:
        """The camera file, whose place in the settings is told from the settings' own folder."""
        return None if self.camera is None else self._path.parent / self.camera

    @property
    def stations_path(self) -> Path | None:
        """The file of station places, whose place is told from the settings' own folder."""
        return None if self.stations.file is None else self._path.parent / self.stations.file

    def strake(self, number: int) -> Strake | None:
        """The strake of that number, or None where the settings do not list it."""
        return next((strake for strake in self.strakes if strake.number == number), None)

    def defaults(self, strake_number: int | None = None) -> dict[str, Any]:
        """What ``measure`` takes from the settings, as keywords of :class:`fitcheck.contract.settings.Settings`.

        What a strake sets for itself goes before what the hull sets.
        """
        own = self.strake(strake_number) if strake_number is not None else None
        found: dict[str, Any] = {}
        for key in ("thickness_mm", "lap_mm", "witness_mm", "bevel_deg", "eased_mm"):
            told = getattr(own, key, None)
            found[key] = getattr(self, key) if told is None else told
        found |= {key: getattr(self, key) for key in ("reference", "units", "fraction")}
        return found | {"hints": Hints(keel=self.keel), "limit_mm": self.limits.edge_mm}

    def warnings(self) -> tuple[Reason, ...]:
        """What is unusual in the settings, though it may be meant."""
        return unusual_lap(self.lap_mm, self.thickness_mm, check=FILE_NAME)


def find_hull(start: Path | None = None) -> Path | None:
    """The settings file of the folder ``start`` (the working folder unless given) or of the nearest folder above it."""
    start = (start or _working_folder()).absolute()
    return next((folder / FILE_NAME for folder in (start, *start.parents) if (folder / FILE_NAME).is_file()), None)


def _working_folder() -> Path:
    try:
        return Path.cwd()
    except OSError as error:
        raise WrongCall("the folder you work in is gone: go to one that is there") from error


def hull_here(start: Path | None = None) -> Hull:
    """The hull whose settings file is found from ``start`` upward. Raises :class:`WrongCall` where there is none."""
    path = find_hull(start)
    if path is None:
        raise WrongCall(
            f"no {FILE_NAME} here or in a folder above: go to the hull's folder, or write one: fitcheck new"
        )
    return load_hull(path)


def load_hull(path: Path) -> Hull:
    """The hull in the settings file ``path``.

    Raises :class:`WrongCall`, naming the file and every setting that cannot be used and why.
    """
    data = read_toml(path, "a settings file")
    try:
        hull = Hull.model_validate(data)
    except ValidationError as error:
        lines = [f"  {line}" for line in _told(error)]
        raise WrongCall("\n".join([f"{path} cannot be used:", *lines])) from error
    hull._path = path.absolute()
    hull._written_style = _style_of(data)
    return hull


def _style_of(data: dict[str, Any]) -> str:
    """How the file writes places of a foot and more: with feet, in inches alone, or neither."""
    tables = [strake for strake in data.get("strakes", ())]
    tables += [part for strake in tables for part in strake.get("parts", ())]
    places = [table[end] for table in tables for end in ("from", "to") if end in table]
    places += data.get("stations", {}).get("places", {}).values()
    long = [text for text in places if abs(parse_place(text)) >= 12 * INCH_MM]
    if any(re.search(r"f|['′’]|\d-\d+-\d", text) for text in long):
        return "feet"
    return "inches" if any(re.search(r"in|[\"″”]", text) for text in long) else ""


def _told(error: ValidationError) -> list[str]:
    lines = []
    for fault in error.errors(include_url=False):
        steps = [f"{step + 1 if isinstance(step, int) else step}" for step in fault["loc"]]
        where = ".".join(_short(step) for step in steps if not step.startswith(("literal[", "dict[", "[key]")))
        if fault["type"] == "missing":
            lines.append(f"{where}: is missing")
        elif fault["type"] == "extra_forbidden":
            lines.append(f"{where}: is not a setting{_nearest(fault['loc'])}")
        else:
            said = fault["msg"].removeprefix("Value error, ")
            lines.append(_short(f"{where}: {said}" if where else said, most=MOST_SAID))
    return list(dict.fromkeys(lines))


def _short(text: str, most: int = MOST_NAMED) -> str:
    """The text, cut short where it is no name that anyone means."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


def _nearest(loc: tuple[int | str, ...]) -> str:
    import difflib

    tables: dict[str, type[BaseModel]] = {
        "limits": Limits,
        "stations": Stations,
        "gains": Gains,
        "strakes": Strake,
        "parts": Part,
        "bow": Gain,
    }
    tables |= {"stern": Gain}
    table = next((tables[str(step)] for step in reversed(loc[:-1]) if str(step) in tables), Hull)
    known = [field.alias or name for name, field in table.model_fields.items()]
    close = difflib.get_close_matches(str(loc[-1]), known, n=1)
    return f"; did you mean {close[0]}?" if close else f"; known here: {', '.join(known)}"


def _once(values: Iterable[object], what: str) -> None:
    seen: set[object] = set()
    for value in values:
        if value in seen:
            raise ValueError(f"{what} {value} is there twice")
        seen.add(value)
