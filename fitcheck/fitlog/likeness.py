"""A plank named nearly as another one is: asked about before a record of its own is begun by a slip of the finger."""

from __future__ import annotations

import re
import sqlite3
import unicodedata
from typing import TYPE_CHECKING

from fitcheck.fitlog import queries
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

#: Of shorter names one letter makes another name, not a slip: "a" and "b", "fwd" and "aft".
FEWEST_LETTERS = 4


def need_sure_name(connection: sqlite3.Connection, name: PlankName, hull: Hull | None) -> None:
    """Raise :class:`WrongCall` where ``name`` is not on record and differs from one that is by no more than a slip.

    A plank that the settings list is sure: there the builder has written it down.
    """
    known = queries.planks(connection)
    if name in known or _listed(name, hull):
        return
    for other in known:
        if (other.strake, other.side) == (name.strake, name.side) and alike(name.part, other.part):
            raise WrongCall(
                f'nothing is on record of "{name}", but there is of "{other}": is that the plank? If so, name it so. '
                f"If it is another plank, list both under strake {name.strake} in fitcheck.toml, as parts"
            )


def alike(one: str, other: str) -> bool:
    """Whether two parts' names differ by case, accents, spaces and marks, or by one slip of the finger.

    A slip is one letter more, less or another, or two that changed places; another number is another plank.

    >>> alike("Fore", "fore"), alike("aft", "fore"), alike("midle", "middle"), alike("part 1", "part 2")
    (True, False, True, False)
    """
    first, second = _folded(one), _folded(other)
    if first == second:
        return True
    if min(len(first), len(second)) < FEWEST_LETTERS or re.findall(r"\d+", first) != re.findall(r"\d+", second):
        return False
    return _one_slip(first, second)


def _listed(name: PlankName, hull: Hull | None) -> bool:
    strake = hull.strake(name.strake) if hull else None
    return strake is not None and any(part.name == name.part for part in strake.parts)


def _folded(text: str) -> str:
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return "".join(sign for sign in bare.casefold() if sign.isalnum())


def _one_slip(one: str, other: str) -> bool:
    short, long = sorted((one, other), key=len)
    if len(long) - len(short) > 1:
        return False
    at = next((i for i, (a, b) in enumerate(zip(short, long, strict=False)) if a != b), len(short))
    if len(short) < len(long):
        return short[at:] == long[at + 1 :]
    swapped = short[at : at + 2] == long[at : at + 2][::-1] and short[at + 2 :] == long[at + 2 :]
    return swapped or short[at + 1 :] == long[at + 1 :]
