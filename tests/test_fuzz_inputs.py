"""Files a builder gives: whatever is in them, they are read or refused in words, with no error of another kind."""

from __future__ import annotations

import contextlib
import copy
import functools
import json
import operator
import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitcheck.calibration.camera import load_camera
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.first_file import new_hull_text
from fitcheck.hull.settings_file import load_hull
from fitcheck.plank.stations_file import read_stations
from tests.samples import TEAL

NEW = new_hull_text(name="Invented", units="in", lap="1in", thickness="1/2in", strakes=2)
#: With every setting that is commented out switched on.
TOML = re.sub(r"^# (?=[a-z_]+ = |\[)", "", NEW, flags=re.MULTILINE).replace("parts = [", "# parts = [")
TABLE = "number,place\n0,0mm\n1,1ft 0-5/8in\n2,2ft\n"
KEPT = json.loads(TEAL.read_text(encoding="utf-8"))
#: Bits of text that readers stumble over, put anywhere.
SHARDS = [
    *["\ufeff", "\0", "\x1b[2J", "\u202e", "'", '"', '"""', "[[", "{", "}", "=", ",", ";", "\n", "\r", "\\", "#", "-"],
    *["1e300", "-1", "9" * 30, "9" * 5000, "nan", "inf", "true", "1979-05-27", "[" * 3000, "4 port", "0in", "1km"],
]  # fmt: skip
#: Values that are no use to a camera.
ODD = [
    None,
    True,
    -1,
    0,
    10**30,
    1e300,
    -1e300,
    float("nan"),
    float("inf"),
    "",
    "x" * 1000,
    "\ud800",
    [],
    {},
    [[]],
    [1e300] * 9,
]
MANY = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@st.composite
def spoilt(draw, text: str) -> bytes:
    """A text with pieces cut out, doubled, or other bits put in; now and then bytes that are no text."""
    for _ in range(draw(st.integers(1, 3))):
        # Half of the time a whole value gives way, so that the rest is still read.
        values = [match.span() for match in re.finditer(r"(?<== )[^#\n]+|(?<=[,:\[] )?-?\d[^\s,\]]*", text)]
        start = draw(st.integers(0, len(text)))
        start, end = draw(st.sampled_from([*values, *[(start, start + length) for length in (0, 1, 5, 30)] * 5]))
        middle = draw(st.sampled_from(["", text[start:end] * 2, *SHARDS]) | st.text(max_size=8))
        text = text[:start] + middle + text[end:]
    data = text.encode("utf-8", "surrogatepass")
    return data + draw(st.sampled_from([b"", b"", b"", b"\xff", b"\x00"]))


def is_read_or_refused(reader, path: Path) -> None:
    with contextlib.suppress(WrongCall):
        reader(path)


@MANY
@given(data=spoilt(TOML))
def test_settings(tmp_path, data):
    path = tmp_path / "fitcheck.toml"
    path.write_bytes(data)
    is_read_or_refused(load_hull, path)


@MANY
@given(data=spoilt(TABLE))
def test_stations(tmp_path, data):
    path = tmp_path / "stations.csv"
    path.write_bytes(data)
    is_read_or_refused(read_stations, path)


@MANY
@given(data=spoilt(json.dumps(KEPT)))
def test_a_camera_file_as_text(tmp_path, data):
    path = tmp_path / "camera.json"
    path.write_bytes(data)
    is_read_or_refused(load_camera, path)


def test_what_is_spoilt_is_sound_before(tmp_path):
    for text, name, reader in ((TOML, "a.toml", load_hull), (TABLE, "b.csv", read_stations)):
        (tmp_path / name).write_text(text, encoding="utf-8")
        assert reader(tmp_path / name)
    assert load_camera(TEAL).size_px


def places(value, path=()):
    """Every place in a JSON document."""
    yield path
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, one in inside:
        yield from places(one, (*path, key))


PLACES = [path for path in places(KEPT) if path and path[0] != "inputs"]


@MANY
@given(changes=st.lists(st.tuples(st.sampled_from(PLACES), st.sampled_from(ODD)), min_size=1, max_size=3))
@pytest.mark.filterwarnings("error")
def test_a_camera_file_with_odd_values(tmp_path, changes):
    kept = copy.deepcopy(KEPT)
    for place, odd in changes:
        with contextlib.suppress(KeyError, IndexError, TypeError):  # the place went with an earlier change
            functools.reduce(operator.getitem, place[:-1], kept)[place[-1]] = odd
    path = tmp_path / "camera.json"
    path.write_text(json.dumps(kept), encoding="utf-8")
    is_read_or_refused(load_camera, path)
