"""The hull's settings in a form, in the trade's words; what is written goes into the settings file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.responses import Response

from fitcheck.page.asked import Ask, then

if TYPE_CHECKING:
    from fitcheck.hull.change_settings import Key


@dataclass(frozen=True)
class Field:
    """One field: its place in the settings, its words, an example, and what may be chosen (anything where nothing)."""

    table: str
    key: str
    words: str
    example: str = ""
    choices: tuple[str, ...] = ()
    needed: bool = False

    @property
    def name(self) -> str:
        """The field's name in the form."""
        return f"{self.table} {self.key}".strip().replace(" ", "-")


FIELDS = (
    Field("", "name", "Name of the hull", needed=True),
    Field("", "units", "Lengths are said in", choices=("in", "mm"), needed=True),
    Field("", "lap", "Width of the lap", "1in", needed=True),
    Field("", "thickness", "Thickness of the planking", "1/2in", needed=True),
    Field("", "witness", "The witness line is struck so far below the lap line", "3/4in"),
    Field("", "bevel", "Usual bevel of the lap, from the bevel gauge", "6deg"),
    Field("", "keel", "How the hull lies in the photographs", choices=("auto", "down", "up"), needed=True),
    Field("", "reference", "What usually lies on the strake below", "id1"),
    Field("", "camera", "Camera file", "calib/phone.json"),
    Field("limits", "edge", "Limit, edge to line", "1/32in"),
    Field("limits", "gap", "Limit, opening of the lap", "0.004in"),
    Field("limits", "least_lap", "Least lap left where the edge is short", "7/8in"),
    Field("limits", "feeler_every", "A feeler reading speaks for this length in all", "12in"),
)
#: What a strake may tell for itself.
OF_A_STRAKE = (
    ("from", "Begins at, along the tape", "0"),
    ("to", "Ends at", "12ft"),
    ("thickness", "Thickness, if it differs", "3/8in"),
    ("lap", "Lap, if it differs", "7/8in"),
    ("witness", "Witness line, if it differs", "1in"),
    ("bevel", "Bevel, if it differs", "4deg"),
)


def settings(ask: Ask) -> Response:
    """The form, filled in as the file tells."""
    from fitcheck.ground.files import read_toml

    hull = ask.shop.hull()
    told = read_toml(ask.shop.hull_path, "a settings file")
    values = {one.name: str((told if not one.table else told.get(one.table, {})).get(one.key, "")) for one in FIELDS}
    values |= {name: value or _usual(name) for name, value in values.items() if name in ("units", "keel")}
    strakes = sorted(told.get("strakes", ()), key=lambda one: one["number"])
    return ask.page(
        "settings.html",
        hull=hull.name,
        fields=FIELDS,
        values=values,
        own=OF_A_STRAKE,
        strakes=[
            {key: str(one.get(key, "")) for key in ("number", "name", *(key for key, _, _ in OF_A_STRAKE))}
            for one in strakes
        ],
    )


def change(ask: Ask) -> Response:
    """Write what the form tells; a field left empty takes its setting out."""
    from fitcheck.hull.change_settings import change_settings

    ask.named()
    values: dict[Key, str | int | None] = {
        (one.table, one.key): ask.text(one.name) or None for one in FIELDS if one.name in ask.told
    }
    for strake in ask.shop.hull().strakes:
        for key, _, _ in OF_A_STRAKE:
            name = f"strake-{strake.number}-{key}"
            if name in ask.told:
                values[f"strakes {strake.number}", key] = ask.text(name) or None
    change_settings(ask.shop.hull_path, values)
    return then("/", done="settings")


def _usual(name: str) -> str:
    return {"units": "in", "keel": "auto"}[name]
