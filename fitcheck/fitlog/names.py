"""Which plank: a strake, a side, and a part where the strake is scarfed together from several planks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitcheck.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.hull import Hull, Stretch

MOST_LETTERS = 60
_SIDES = {"port": "port", "starboard": "starboard", "stbd": "starboard"}


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

    def twin(self) -> PlankName:
        """The same plank on the other side."""
        return PlankName(self.strake, "port" if self.side == "starboard" else "starboard", self.part)


def read_plank(text: str, hull: Hull | None = None) -> PlankName:
    """The plank that ``text`` names: "4 port", "port 4", "4 port fore", or by a strake's name, "garboard port".

    With a ``hull`` whose strakes are listed, the plank must be one of them. Raises :class:`WrongCall`, which says how
    a plank is named.

    >>> read_plank("4 stbd fore")
    PlankName(strake=4, side='starboard', part='fore')
    """
    words = text.split()
    where = next((i for i, word in enumerate(words) if word.lower() in _SIDES), None)
    if where is None or len(words) < 2:
        raise _unread(text)
    side = _SIDES[words[where].lower()]
    before, after = words[:where], words[where + 1 :]
    if not before:
        before, after = after[:1], after[1:]
    part = " ".join(after)
    if len(part) > MOST_LETTERS or not part.isprintable():
        raise WrongCall(f"the part of a plank is named in at most {MOST_LETTERS} printable letters")
    name = PlankName(_strake(" ".join(before), text, hull), side, part)
    return name if hull is None else _listed(name, hull)


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


def _strake(words: str, text: str, hull: Hull | None) -> int:
    if words.isascii() and words.isdigit() and 1 <= int(words) <= 99:
        return int(words)
    for strake in hull.strakes if hull else ():
        if strake.name and strake.name.casefold() == words.casefold():
            return strake.number
    if words.casefold() == "garboard":
        return 1
    raise _unread(text)


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


def _unread(text: str) -> WrongCall:
    return WrongCall(
        f'{text!r} names no plank: write the strake and the side, as "4 port", and a part if there are several'
    )
