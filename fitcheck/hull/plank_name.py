"""Which plank: a strake, a side, and a part where the strake is scarfed together from several planks."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull, Stretch

MOST_LETTERS = 60
_WRITTEN_OUT = {"port": "port", "starboard": "starboard", "stbd": "starboard"}
_SIDES = {**_WRITTEN_OUT, "p": "port", "s": "starboard", "stb": "starboard", "sb": "starboard"}
_EITHER = "|".join(sorted(_SIDES, key=len, reverse=True))
_JOINED = re.compile(rf"(?:(\d{{1,2}})-?({_EITHER})|({_EITHER})-?(\d{{1,2}}))", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True, order=True)
class PlankName:
    """One plank of a hull. ``part`` is empty where the strake is one plank; it is data, whatever it is spelled with.

    >>> str(PlankName(4, "port", "fore"))
    '4 port fore'
    """

    strake: int
    side: str
    part: str = ""

    def __str__(self) -> str:
        return " ".join(word for word in (str(self.strake), self.side, self.part) if word)

    def in_a_file_name(self) -> str:
        """The plank as part of a file's name: no two planks have the same, and a part's own letters make no path.

        >>> PlankName(4, "port", "fore").in_a_file_name(), PlankName(4, "port", "../Aft").in_a_file_name()
        ('4-port-fore', '4-port-aft-1d874b')
        """
        plank = f"{self.strake}-{self.side}"
        if not self.part:
            return plank
        letters = re.sub(r"[^a-z0-9]+", "-", self.part.lower()).strip("-")[:30]
        if letters == self.part:
            return f"{plank}-{letters}"
        # Letters were left out: a few digits of the whole name tell it from others that are left the same.
        return "-".join([plank, *([letters] if letters else []), hashlib.sha256(self.part.encode()).hexdigest()[:6]])

    def twin(self) -> PlankName:
        """The same plank on the other side."""
        return PlankName(self.strake, "port" if self.side == "starboard" else "starboard", self.part)


def read_plank(text: str, hull: Hull | None = None) -> PlankName:
    """The plank that ``text`` names: "4 port", "port 4", "4 port fore", or by a strake's name, "garboard port".

    Short and joined forms are read too: "4p", "4port", "p4 fore". With a ``hull`` whose strakes are listed, the plank
    must be one of them. Raises :class:`WrongCall`, which says how a plank is named.

    >>> read_plank("4 stbd fore"), str(read_plank("4p"))
    (PlankName(strake=4, side='starboard', part='fore'), '4 port')
    """
    for words, where in _sides_in(text):
        before, after = words[:where], words[where + 1 :]
        if not before:
            before, after = after[:1], after[1:]
        strake = _strake(" ".join(before), hull)
        if strake is not None:
            name = PlankName(strake, _SIDES[words[where].lower()], _part(after))
            return name if hull is None else _listed(name, hull)
    raise WrongCall(
        f'{text!r} names no plank: write the strake and the side, as "4 port", and a part if there are several'
    )


def _sides_in(text: str) -> Iterator[tuple[list[str], int]]:
    """The words of ``text`` with where the side may stand among them; short and joined only if none is written out."""
    words = text.split()
    sides = _WRITTEN_OUT
    if words and not any(word.lower() in sides for word in words):
        words, sides = [*_parted(words[0]), *words[1:]], _SIDES
    yield from ((words, i) for i, word in enumerate(words) if word.lower() in sides)


def _parted(word: str) -> list[str]:
    """A number and a side written as one word, as two."""
    match = _JOINED.fullmatch(word)
    return [part for part in match.groups() if part] if match else [word]


def _part(words: list[str]) -> str:
    part = " ".join(words)
    if len(part) > MOST_LETTERS or not part.isprintable():
        raise WrongCall(f"the part of a plank is named in at most {MOST_LETTERS} printable letters")
    return part


def extent_mm(name: PlankName, hull: Hull | None) -> tuple[float | None, float | None]:
    """From where to where the plank runs along the tape (None where not told): its part's ends, else its strake's."""
    strake = hull.strake(name.strake) if hull else None
    if strake is None:
        return None, None
    told: Stretch = next((part for part in strake.parts if part.name.casefold() == name.part.casefold()), strake)
    start = told.from_mm if told.from_mm is not None or told.to_mm is None else 0.0
    return start, told.to_mm


def planks_of(hull: Hull) -> list[PlankName]:
    """Every plank the settings list, in the order of building: from the garboard up, port before starboard."""
    return [
        PlankName(strake.number, side, part)
        for strake in sorted(hull.strakes, key=lambda strake: strake.number)
        for side in sorted(strake.sides)
        for part in ([part.name for part in strake.parts] or [""])
    ]


def _strake(words: str, hull: Hull | None) -> int | None:
    if words.isascii() and words.isdigit() and 1 <= int(words) <= 99:
        return int(words)
    for strake in hull.strakes if hull else ():
        if strake.name and strake.name.casefold() == words.casefold():
            return strake.number
    return 1 if words.casefold() == "garboard" else None


def _listed(name: PlankName, hull: Hull) -> PlankName:
    strake = hull.strake(name.strake)
    if strake is None:
        if hull.strakes:
            numbers = ", ".join(str(strake.number) for strake in hull.strakes)
            raise WrongCall(f"strake {name.strake} is not in {hull.path.name}: it lists {numbers}")
        return name
    if name.side not in strake.sides:
        raise WrongCall(f"strake {name.strake} has no {name.side} side in {hull.path.name}")
    if not strake.parts:
        return name
    for part in strake.parts:
        if part.name.casefold() == name.part.casefold():
            return PlankName(name.strake, name.side, part.name)
    parts = ", ".join(part.name for part in strake.parts)
    raise WrongCall(f"strake {name.strake} is of several planks: name the part too: {parts}")
