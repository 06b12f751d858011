"""The first ``fitcheck.toml`` of a hull, with a comment beside every setting."""

from __future__ import annotations

import json
from pathlib import Path

from fitcheck.ground.files import write_text
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.settings_file import FILE_NAME, Hull, load_hull

_TEXT = """\
# Settings of one hull. Every fitcheck command run in this folder, or below it, takes its defaults from here.
# Lengths are written with their unit: "12.7mm", "1/2in", "1-3/8in", "3ft 6-1/2in", or "1-2-3" (feet-inches-eighths).

name = {name}

units = "{units}"            # "in" or "mm": how lengths are printed
fraction = 32           # the fraction of an inch printed: 16, 32 or 64; finer where a reading's doubt is finer
# tape = "feet"         # how a foot is printed: "feet" (1 ft 6 in) or "inches" (18 in); else as you write places here

lap = "{lap}"             # width of the lap
thickness = "{thickness}"     # thickness of the planking
# witness = "{witness}"     # the witness line is struck this far below the lap line
# bevel = "6deg"        # the usual bevel of the lap, from the bevel gauge; not told, a wide doubt is carried
# eased = "sharp"       # the planks' inner corners, or how far they are eased; not told, found in each photograph
keel = "auto"           # how the hull lies in the photographs: "down", "up", or "auto" to find it each time

# camera = "calib/camera.json"   # the camera file made by: fitcheck calibrate
# reference = "station"          # id1, card-us, card-eu, card-jp, "88.6x50.7mm", rule-mm, rule-in or station
photos = "copy"         # "copy" keeps a copy of every recorded photograph; "leave" leaves them where they are

[limits]                # yours to change: common practice, there is no published limit
edge = "{edge}"         # edge to lap line, either way
gap = "{gap}"         # opening of the lap
# least_lap = "{least_lap}"   # the least lap left where the edge is short
unseen = "{unseen}"          # a longer stretch that no photograph shows asks for another look
feeler_every = "{feeler_every}"   # a feeler reading at one place speaks for half this length on either side

[stations]
numbered_from = "bow"   # where the cards are numbered from; for each side: {{ port = "bow", starboard = "stern" }}
# file = "stations.csv" # columns number,place
# places = {{ {places} }}

# [gains.bow]           # how the step tapers to flush at the stem; the same under [gains.stern]
# length = "{gain_length}"
# start = "{gain_start}"
# finish = "0"
# form = "straight"     # or "eased"

# One block a strake, numbered from the garboard up. "from" and "to" are the plank's ends as the tape along the lap
# reads (station card 0 is 0); signing off asks for them. A strake may set its own lap, thickness, witness, bevel
# and eased.
{strakes}"""

_STRAKE = """\
[[strakes]]
number = {number}
# name = "{suggested}"
# from = "0"
# to = "{to}"
# species = "western redcedar"   # with grain and width: what a change of moisture explains
# grain = "flat"                 # or "edge"
# width = "{width}"
# parts = [{{ name = "fore", from = "0", to = "{scarf_to}" }}, {{ name = "aft", from = "{scarf_from}", to = "{to}" }}]
"""

#: The settings and examples in the hull's own units. A leaf of 0.004 in is one of 0.10 mm.
_IN_UNITS = {
    "in": {
        **{"witness": "3/4in", "edge": "1/32in", "gap": "0.004in", "least_lap": "7/8in", "unseen": "4in"},
        **{
            "feeler_every": "12in",
            "places": '0 = "0", 1 = "2ft", 2 = "4ft"',
            "gain_length": "1ft",
            "gain_start": "1/4in",
        },
        **{"to": "12ft", "width": "5in", "scarf_to": "7ft", "scarf_from": "6ft 6in"},
    },
    "mm": {
        **{"witness": "20mm", "edge": "0.8mm", "gap": "0.1mm", "least_lap": "22mm", "unseen": "100mm"},
        **{"feeler_every": "300mm", "places": '0 = "0", 1 = "600mm", 2 = "1.2m"', "gain_length": "300mm"},
        **{"gain_start": "6mm", "to": "3.6m", "width": "125mm", "scarf_to": "2.1m", "scarf_from": "1.95m"},
    },
}


def write_new_hull(
    folder: Path, *, name: str, units: str = "in", lap: str = "1in", thickness: str = "1/2in", strakes: int = 8
) -> Hull:
    """Write ``fitcheck.toml`` into ``folder`` and read it back; lengths as a builder writes them.

    Raises :class:`WrongCall` where there is one already, which is left as it is, or where a value cannot be used: then
    nothing is written.
    """
    path = folder / FILE_NAME
    if path.exists():
        raise WrongCall(f"{path} is there already and is left as it is")
    if not 1 <= strakes <= 99:
        raise WrongCall(f"a hull has 1 to 99 strakes a side, not {strakes}")
    text = new_hull_text(name=name, units=units, lap=lap, thickness=thickness, strakes=strakes)
    _check(text)
    write_text(path, text)
    return load_hull(path)


def new_hull_text(*, name: str, units: str, lap: str, thickness: str, strakes: int) -> str:
    """The settings as text, with comments."""
    written = _IN_UNITS.get(units, _IN_UNITS["in"])
    blocks = [_STRAKE.format(number=n, suggested=_suggested(n, strakes), **written) for n in range(1, strakes + 1)]
    return _TEXT.format(
        name=_quoted(name),
        units=units,
        lap=_quoted(lap)[1:-1],
        thickness=_quoted(thickness)[1:-1],
        strakes="\n".join(blocks),
        **written,
    )


def _check(text: str) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / FILE_NAME
        path.write_text(text, encoding="utf-8")
        try:
            load_hull(path)
        except WrongCall as error:
            raise WrongCall(str(error).replace(f"{path} cannot be used:", "these settings cannot be used:")) from error


def _quoted(text: str) -> str:
    """``text`` as a TOML string; JSON's escapes are TOML's, but for the delete sign."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _suggested(number: int, strakes: int) -> str:
    return {1: "garboard", strakes: "sheer strake"}.get(number, f"strake {number}")
