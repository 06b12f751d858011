"""The hull's settings: found from below, read with clear errors, written with comments, defaults of commands."""

from __future__ import annotations

import re
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.first_file import new_hull_text, write_new_hull
from fitcheck.hull.plank_name import PlankName, extent_mm, planks_of, read_plank
from fitcheck.hull.settings_file import Gain, Hull, Limits, Stations, Strake, find_hull, hull_here, load_hull

PLAIN = 'name = "Invented dinghy"\nlap = "1in"\nthickness = "1/2in"\n'


def written(folder, text):
    path = folder / "fitcheck.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_settings_are_found_from_a_folder_below(tmp_path):
    path = written(tmp_path, PLAIN)
    below = tmp_path / "photos" / "strake 4"
    below.mkdir(parents=True)
    assert find_hull(below) == path
    assert hull_here(below).db_path == tmp_path / "fitcheck.db"
    nearer = written(below.parent, PLAIN)
    assert find_hull(below) == nearer


def test_no_settings_anywhere(tmp_path):
    (tmp_path / "fitcheck.toml").mkdir()  # a folder of that name is no settings file
    assert find_hull(tmp_path) is None
    with pytest.raises(WrongCall, match="fitcheck new"):
        hull_here(tmp_path)


def test_lengths_are_read_as_a_builder_writes_them(tmp_path):
    text = PLAIN + 'witness = "20mm"\nbevel = "6deg"\n[limits]\nedge = "1/64in"\ngap = "0.004in"\n'
    hull = load_hull(written(tmp_path, text))
    assert (hull.lap_mm, hull.thickness_mm, hull.witness_mm, hull.bevel_deg) == (25.4, 12.7, 20.0, 6.0)
    assert hull.limits.edge_mm == 25.4 / 64
    assert hull.limits.gap_mm == pytest.approx(0.1016)


def test_defaults_feed_the_settings_of_a_measurement(tmp_path):
    text = PLAIN + 'reference = "station"\nbevel = "6deg"\n'
    text += '[[strakes]]\nnumber = 7\nthickness = "5/8in"\nlap = "1-1/4in"\nbevel = "0deg"\n'
    hull = load_hull(written(tmp_path, text))
    plain, seventh = Settings(**hull.defaults()), Settings(**hull.defaults(7))
    assert (plain.reference, plain.thickness_mm, plain.lap_mm, plain.limit_mm) == ("station", 12.7, 25.4, 25.4 / 32)
    assert (seventh.thickness_mm, seventh.lap_mm) == (15.875, 31.75)
    assert (plain.bevel_deg, seventh.bevel_deg) == (6.0, 0.0)


def test_the_camera_file_lies_beside_the_settings(tmp_path):
    text = PLAIN + 'camera = "calib/phone.json"\n[stations]\nfile = "stations.csv"\n'
    hull = load_hull(written(tmp_path, text))
    assert hull.camera_path == tmp_path / "calib" / "phone.json"
    assert hull.stations_path == tmp_path / "stations.csv"
    plain = load_hull(written(tmp_path, PLAIN))
    assert (plain.camera_path, plain.stations_path) == (None, None)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "name: is missing"),
        (PLAIN.replace('"1in"', "25.4"), "lap: 25.4 has no unit"),
        (PLAIN.replace('"1in"', '"1"'), "lap: '1' has no unit"),
        (PLAIN.replace('"1in"', '"0in"'), "lap: must be more than nothing"),
        (PLAIN + 'unit = "in"\n', "unit: is not a setting; did you mean units?"),
        (PLAIN.replace('"1in"', '"1000m"'), "lap: 1000m is 1e.06 mm; between 5 and 200 mm"),
        (PLAIN.replace('"1in"', '"12mm"'), "narrower than the plank is thick"),
        (PLAIN + '[[strakes]]\nnumber = 4\nthickness = "30mm"\n', "strake 4: a lap of 25.4 mm is narrower"),
        (PLAIN + '[[strakes]]\nnumber = 4\nlap = "10mm"\n', "strake 4: a lap of 10 mm is narrower"),
        (PLAIN + '[gains.bow]\nlength = "12in"\nstart = "1in"\n', "deeper than the plank is thick"),
        (PLAIN + '[gains.stern]\nlength = "12in"\nstart = "1/4in"\nfinish = "3/8in"\n', "no higher than its start"),
        (PLAIN.replace('"1in"', '"16mm"') + '[limits]\nedge = "18mm"\n', "past the whole lap"),
        (PLAIN + '[limits]\nedge = "2in"\n', "limits.edge: 2in is 50.8 mm; between 0.05 and 20 mm"),
        (PLAIN + '[limits]\nleast_lap = "2in"\n', "wider than the lap"),
        (PLAIN + '[limits]\nunseen = "1000m"\n', "limits.unseen: 1000m"),
        (PLAIN + '[stations.places]\n0 = "2ft"\n1 = "1ft"\n', "stations: station 1 must lie beyond station 0"),
        (PLAIN + '[stations.places]\n-1 = "2ft"\n', "stations: station cards are numbered 0 to 61, not -1"),
        (PLAIN + "[[strakes]]\nnumber = 1\nsides = []\n", "strake 1 is on no side"),
        (PLAIN + '[[strakes]]\nnumber = 1\nname = "a\\u001b"\n', "printable letters"),
        (PLAIN + "[limits]\nedgy = 1\n", r"limits\.edgy: is not a setting; did you mean edge\?"),
        (PLAIN + 'units = "cm"\n', "units: Input should be 'in' or 'mm'"),
        (PLAIN + "fraction = 10\n", "fraction 10 is on no rule"),
        (PLAIN + 'bevel = "6"\n', "bevel: '6' is not a bevel"),
        (PLAIN + 'eased = "round"\n', "a corner that was not eased is: sharp"),
        (PLAIN + 'eased = "5mm"\n', "eased: a corner eased by 5mm: 5 mm; between 0 and 2 mm"),
        (PLAIN + "[[strakes]]\nnumber = 1\n[[strakes]]\nnumber = 1\n", "strake number 1 is there twice"),
        (PLAIN + '[[strakes]]\nnumber = 1\nsides = ["left"]\n', "strakes.1.sides.1: Input should be 'port'"),
        (PLAIN + '[[strakes]]\nnumber = 1\nfrom = "3ft"\nto = "2ft"\n', "'to' must lie beyond 'from'"),
        (PLAIN + "[[strakes]]\nnumber = 0\n", "strakes.1.number"),
        (PLAIN + 'lap = "2in"\n', "is not TOML"),
        ("lap = ", "is not TOML"),
    ],
)
def test_errors_name_the_file_the_setting_and_the_reason(tmp_path, text, said):
    path = written(tmp_path, text)
    with pytest.raises(WrongCall, match=said) as caught:
        load_hull(path)
    assert str(path) in str(caught.value)


def test_all_errors_are_told_at_once(tmp_path):
    with pytest.raises(WrongCall) as caught:
        load_hull(written(tmp_path, 'lap = "x"\nthickness = "y"\n'))
    assert [line.split(":")[0].strip() for line in str(caught.value).splitlines()[1:]] == ["name", "lap", "thickness"]


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"name = '\xe9'", b"#" * 2_000_000])
def test_what_is_no_settings_file(tmp_path, content):
    path = tmp_path / "fitcheck.toml"
    path.write_bytes(content)
    with pytest.raises(WrongCall, match=r"UTF-8|too large"):
        load_hull(path)
    with pytest.raises(WrongCall, match="cannot read"):
        load_hull(tmp_path / "gone" / "fitcheck.toml")


@pytest.mark.parametrize(("lap", "warned"), [("1in", False), ("13mm", True), ("2in", True)])
def test_an_unusual_lap_is_a_warning(tmp_path, lap, warned):
    """Lap over thickness of 1.5 to 2.7 covers every pair in print and practice (common practice, no source)."""
    hull = load_hull(written(tmp_path, PLAIN.replace('"1in"', f'"{lap}"')))
    assert bool(hull.warnings()) is warned


def test_new_settings_are_read_back(tmp_path):
    hull = write_new_hull(tmp_path, name="Invented skiff", units="mm", lap="28mm", thickness="14mm", strakes=5)
    assert (hull.name, hull.units, hull.lap_mm, hull.thickness_mm, len(hull.strakes)) == (
        "Invented skiff",
        "mm",
        28,
        14,
        5,
    )
    assert hull.path == tmp_path / "fitcheck.toml"
    before = hull.path.read_text(encoding="utf-8")
    with pytest.raises(WrongCall, match="left as it is"):
        write_new_hull(tmp_path, name="Another")
    assert hull.path.read_text(encoding="utf-8") == before


@pytest.mark.parametrize(
    "wrong", [{"lap": "one"}, {"units": "feet"}, {"strakes": 0}, {"name": ""}, {"thickness": '1/2in"'}]
)
def test_new_settings_that_cannot_be_used_are_not_written(tmp_path, wrong):
    with pytest.raises(WrongCall):
        write_new_hull(tmp_path, **{"name": "Invented", **wrong})
    assert list(tmp_path.iterdir()) == []


@given(name=st.text(min_size=1, max_size=60))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_name_is_written_and_read_back(tmp_path, name):
    if not name.isprintable() and re.search("[\ud800-\udfff]", name):
        return
    text = new_hull_text(name=name, units="in", lap="1in", thickness="1/2in", strakes=2)
    assert load_hull(written(tmp_path, text)).name == name


def test_every_setting_is_explained_in_the_new_file():
    """With every setting that is commented out switched on, the file is read, and no setting is missing from it."""
    text = new_hull_text(name="Invented", units="in", lap="1in", thickness="1/2in", strakes=1)
    uncommented = re.sub(r"^# (?=[a-z_]+ = |\[)", "", text, flags=re.MULTILINE)
    data = tomllib.loads(uncommented)
    hull = Hull.model_validate(data)
    assert hull.gains.bow is not None

    def keys(model):
        return {field.alias or name for name, field in model.model_fields.items()}

    assert keys(Hull) == data.keys()
    assert keys(Limits) == data["limits"].keys()
    assert keys(Stations) == data["stations"].keys()
    assert keys(Gain) == data["gains"]["bow"].keys()
    assert keys(Strake) - data["strakes"][0].keys() <= {"sides", "thickness", "lap", "witness", "bevel", "eased"}


STRAKES = """
[[strakes]]
number = 1
name = "garboard"
[[strakes]]
number = 6
from = "-2in"
to = "12ft"
parts = [{ name = "fore", from = "-2in", to = "7ft" }, { name = "aft", from = "6ft", to = "12ft" }]
[[strakes]]
number = 2
sides = ["port"]
"""


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("1 port", PlankName(1, "port")),
        ("garboard starboard", PlankName(1, "starboard")),
        ("Garboard STBD", PlankName(1, "starboard")),
        ("port 2", PlankName(2, "port")),
        ("6 port fore", PlankName(6, "port", "fore")),
        ("port 6 AFT", PlankName(6, "port", "aft")),
        ("1p", PlankName(1, "port")),
        ("1 s", PlankName(1, "starboard")),
        ("1port", PlankName(1, "port")),
        ("starboard1", PlankName(1, "starboard")),
        ("P6 fore", PlankName(6, "port", "fore")),
        ("garboard p", PlankName(1, "port")),
    ],
)
def test_planks_are_named_as_they_are_spoken_of(tmp_path, text, name):
    assert read_plank(text, load_hull(written(tmp_path, PLAIN + STRAKES))) == name


@pytest.mark.parametrize(
    "text",
    [
        "",
        "4",
        "port",
        "9 port",
        "2 starboard",
        "6 port",
        "6 port middle",
        "sheer port",
        "-1 port",
        "٤ port",
        "1p port",
        "p",
    ],
)
def test_planks_that_are_not_there(tmp_path, text):
    with pytest.raises(WrongCall):
        read_plank(text, load_hull(written(tmp_path, PLAIN + STRAKES)))


_WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=9)


@given(st.integers(1, 99), st.sampled_from(["port", "starboard"]), st.lists(_WORDS, max_size=3))
def test_a_plank_reads_back_from_its_own_name_however_its_part_is_spelled(strake, side, words):
    name = PlankName(strake, side, " ".join(words))
    assert read_plank(str(name)) == name


@given(st.integers(1, 99), st.sampled_from([("port", "p"), ("starboard", "s"), ("starboard", "stbd")]), st.booleans())
def test_short_and_joined_names_are_the_same_plank(strake, side, upper):
    whole, short = side
    forms = [f"{strake} {short}", f"{strake}{short}", f"{strake}-{short}", f"{short}{strake}", f"{strake}{whole}"]
    for form in forms:
        assert read_plank(form.upper() if upper else form) == PlankName(strake, whole)


def test_planks_in_the_order_of_building_with_their_ends(tmp_path):
    hull = load_hull(written(tmp_path, PLAIN + STRAKES))
    names = [str(name) for name in planks_of(hull)]
    assert names == [
        "1 port",
        "1 starboard",
        "2 port",
        "6 port fore",
        "6 port aft",
        "6 starboard fore",
        "6 starboard aft",
    ]
    assert extent_mm(PlankName(6, "port", "fore"), hull) == (-50.8, 2133.6)
    assert extent_mm(PlankName(1, "port"), hull) == (None, None)
    assert extent_mm(PlankName(1, "port"), None) == (None, None)


def test_a_key_of_thousands_of_letters_is_named_in_short(tmp_path):
    path = tmp_path / "fitcheck.toml"
    keys = f'{"k" * 5000} = 1\n"{"a b " * 900}" = 2\n'
    path.write_text(f'name = "{"n" * 9000}"\nlap = "1in"\nthickness = "1/2in"\n{keys}')
    with pytest.raises(WrongCall) as error:
        load_hull(path)
    assert "kkk…: is not a setting" in str(error.value)
    assert len(str(error.value)) < 1500
