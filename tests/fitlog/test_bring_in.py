"""Export and import: everything comes back, equal to the last digit and sealed as it was; anything else is refused."""

from __future__ import annotations

import copy
import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from fitcheck.cli.log import log_app
from fitcheck.fitlog import by_hand
from fitcheck.fitlog.backup import copy_checked
from fitcheck.fitlog.bring_in import bring_in
from fitcheck.fitlog.chain import check
from fitcheck.fitlog.connection import connect, migrations
from fitcheck.fitlog.export import BESIDE, LEFT_OUT, as_json
from fitcheck.fitlog.listing import standings
from fitcheck.fitlog.move import OF_A_TAKE, move_fit, move_set
from fitcheck.fitlog.notes import record_note, take_note_back
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.signing import sign
from fitcheck.fitlog.store import migrate, reading
from fitcheck.fitlog.withdraw import withdraw_cut, withdraw_feeler, withdraw_fit, withdraw_set
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
from fitcheck.hull.settings_file import load_hull
from tests.calls import call
from tests.fitlog.made import cut, made_hull, measured, photographs, seen_edge_on

FOUR, STARBOARD, THREE = PlankName(4, "port"), PlankName(4, "starboard"), PlankName(3, "port")
BY = {"who": "Builder Ä", "why": "the wrong\nplank \u0085 = +1"}
OLD = Path(__file__).with_name("old")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A record with everything in it that a record can hold, and numbers that end nowhere."""
    folder = tmp_path_factory.mktemp("made")
    hull = made_hull(folder)
    told = {"db_path": hull.db_path, "hull": hull, "who": "Builder A"}
    photos = photographs(folder, "a.jpg", "ä b.jpg", seed=1)
    asked = measured(
        lambda x: 0.7 + x / 3e3, u95_mm=1 / 7, planing={"verdict": "plane", "cuts": [cut(100, 600, 1 / 3)]}
    )
    record(asked, plank="4 port", photos=photos, note="dry\nthe clamps ☐", moisture_pct=12.3, **told)
    record(asked | {"camera": None}, plank="4 port", photos=photos, **told)
    record(asked | {"warnings": [{"text": "x"}]}, plank="4 port", photos=photos, **told)
    withdraw_set(hull.db_path, FOUR, hull, number=1, set_number=3, **BY)
    by_hand.record_advised_cuts(hull.db_path, FOUR, who="Builder A")
    withdraw_cut(hull.db_path, FOUR, number=1, **BY)
    by_hand.record_cut(hull.db_path, FOUR, hull, from_mm=10 / 3, to_mm=50, deepest_mm=0.1, note="=1+1")
    record(measured(0.0), plank="4 port", photos=photographs(folder, "b.jpg", seed=2), **told)
    record(seen_edge_on(0.0), plank="4 port", **told)
    by_hand.record_feeler(
        hull.db_path, FOUR, hull, from_mm=0, to_mm=1000, blade_mm=0.1, goes_in=False, who="B", note="n"
    )
    record_note(hull.db_path, FOUR, hull, note="ribband eased\nat 3 ft", who="Builder Ä")
    record_note(hull.db_path, FOUR, hull, at_mm=1000 / 3, past_line_mm=-1 / 7)
    take_note_back(hull.db_path, FOUR, number=2, **BY)
    record_note(hull.db_path, PlankName(5, "port", "aft"), hull, note="no fit yet")
    sign(hull.db_path, FOUR, hull, who="Builder A")
    by_hand.record_feeler(hull.db_path, FOUR, hull, from_mm=1 / 3, to_mm=10, blade_mm=0.1, goes_in=True)
    withdraw_feeler(hull.db_path, FOUR, hull, number=2, **BY)
    record(measured(0.1), plank="4 starboard", **told)
    move_fit(hull.db_path, STARBOARD, PlankName(5, "port", "fore"), hull, number=1, **BY)
    record(measured(0.6, frame="along_mm", places_mm=range(-100, 101, 5)), plank="3 port", at_mm=1000 / 7, **told)
    move_set(hull.db_path, THREE, hull, number=1, set_number=None, at_mm=2000 / 7, **BY)
    sign(hull.db_path, THREE, hull, who="Builder A", overrule="by eye")
    record(measured(0.2), plank="3 port", **told)
    withdraw_fit(hull.db_path, THREE, number=2, **BY)
    return folder


@pytest.fixture
def hull(made):
    return load_hull(made / "fitcheck.toml")


@pytest.fixture
def empty(tmp_path):
    return made_hull(tmp_path)


def exported(hull):
    with reading(hull.db_path) as connection:
        assert check(connection) == []
        return as_json(connection)


def rows(db_path):
    """Every row of every table as SQLite holds it."""
    with closing(connect(db_path)) as connection:
        tables = [r["name"] for r in connection.execute("PRAGMA table_list") if r["type"] == "table"]
        held = {name: [tuple(r) for r in connection.execute(f"SELECT * FROM {name}")] for name in tables}
    held.pop("sqlite_schema", None)
    held.pop("sqlite_temp_schema", None)
    return {name: sorted(found, key=repr) for name, found in held.items()}


def written(folder, document):
    path = folder / "export.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


def test_everything_comes_back_row_for_row_and_sealed(hull, empty, tmp_path):
    done = call(log_app, "export", "json", "--out", str(tmp_path / "x.json"), "--hull", str(hull.path))
    assert done.exit_code == 0, done.output
    done = call(log_app, "import", str(tmp_path / "x.json"), "--hull", str(empty.path))
    assert done.exit_code == 0, done.output
    assert done.output.startswith("imported: planks 5, fits 6, photographs 3; the seals hold")
    assert "3 of the photographs are not in" in done.output
    assert rows(empty.db_path) == rows(hull.db_path)
    assert exported(empty) == exported(hull)
    with closing(sqlite3.connect(empty.db_path)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        assert connection.execute("PRAGMA foreign_key_check").fetchone() is None
    assert not list(tmp_path.glob(".*"))


def test_the_export_to_the_terminal_comes_back_too(hull, empty, tmp_path):
    out = call(log_app, "export", "json", "--hull", str(hull.path)).stdout
    (tmp_path / "x.json").write_text(out, encoding="utf-8")
    bring_in(empty.db_path, tmp_path / "x.json")
    assert exported(empty) == exported(hull)


def test_an_imported_record_goes_on_as_the_old_one(hull, empty, made, tmp_path):
    shutil.copytree(made / "fitcheck-photos", tmp_path / "fitcheck-photos")
    found = bring_in(empty.db_path, written(tmp_path, exported(hull)))
    assert found.not_in_store == 0
    with reading(hull.db_path) as old, reading(empty.db_path) as new:
        assert standings(new, empty) == standings(old, hull)
    assert record(measured(0.1), db_path=empty.db_path, plank="4 port", hull=empty).number == 3
    assert exported(empty) != exported(hull)


@pytest.mark.parametrize("name", sorted(path.name for path in OLD.glob("schema-*.sql")))
def test_a_record_that_began_with_an_old_schema_comes_back(tmp_path, name):
    old, new = tmp_path / "old.db", tmp_path / "new" / "fitcheck.db"
    new.parent.mkdir()
    with closing(sqlite3.connect(old)) as connection:
        connection.executescript((OLD / name).read_text(encoding="utf-8"))
    with reading(old) as connection:
        document = as_json(connection)
    bring_in(new, written(tmp_path, document))
    with reading(new) as connection:
        assert as_json(connection) == document


def changed(document, change):
    document = copy.deepcopy(document)
    change(document)
    return document


def _a_digit(d):
    d["planks"][1]["fits"][0]["takes"][0]["samples"][7]["past_line_mm"] += 1e-12


def _no_row(d):
    del d["planks"][0]["fits"][0]["takes"][0]["measurement"]


def _a_seal_gone(d):
    del d["seals"][3]


def _last_seal_gone(d):
    del d["seals"][-1]


def _more_told(d):
    d["planks"][0]["cuts"].append({"anything": 1})


def _unknown_key(d):
    d["planks"][0]["fits"][0]["colour"] = "green"


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (_a_digit, "a set of photographs .* was altered"),
        (lambda d: d["planks"][1]["fits"][0].update(note="wet"), "fit 1 .* was altered .* its note"),
        (lambda d: d["planks"][1]["cuts"].pop(), "a cut .* is gone"),
        (lambda d: d["withdrawals"].pop(), "not whole|is gone"),
        (_a_seal_gone, "the seal before that of .* is gone"),
        (_last_seal_gone, "has no seal"),
        (lambda d: d.update(hull="another"), None),
        (_no_row, "can be read back"),
        (_more_told, "can be read back"),
        (_unknown_key, "no fitcheck has written"),
        (lambda d: d.update(planks=7), "can be read back"),
        (lambda d: d.update(planks=[]), "not whole"),
        (lambda d: d["planks"][0].update(strake="four"), "can be read back"),
        (lambda d: d["planks"][0].update(id=10**30), "can be read back"),
        (lambda d: d["seals"][0].update(what="nothing known"), "can be read back"),
        (lambda d: d.update(whole=False), "one plank"),
        (lambda d: d.update(record_schema=3), "of schema 3"),
        (lambda d: d.pop("record_schema"), "no export of a record"),
    ],
)
def test_what_is_not_as_it_was_written_is_refused_and_nothing_begun(hull, empty, tmp_path, change, reason):
    path = written(tmp_path, changed(exported(hull), change))
    if reason is None:  # the name of a hull is the settings' to say, and is not sealed
        bring_in(empty.db_path, path)
        return
    with pytest.raises(WrongCall, match=reason):
        bring_in(empty.db_path, path)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["export.json", "fitcheck.toml"]


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "as JSON"),
        (b"[]", "no export of a record"),
        (b'{"record_schema": NaN}', "NaN is no number"),
        (b"[" * 100_000, "as JSON"),
        (b'{"record_schema": ' + b"9" * 10_000 + b"}", "as JSON"),
        (b"\xff\xfe\x00", "as JSON"),
    ],
)
def test_what_is_no_export_is_one_line(empty, tmp_path, content, reason):
    (tmp_path / "x.json").write_bytes(content)
    done = call(log_app, "import", str(tmp_path / "x.json"), "--hull", str(empty.path))
    assert done.exit_code == 2
    assert done.output.startswith("fitcheck: ")
    assert reason in done.output
    assert not empty.db_path.exists()


def test_a_record_that_holds_something_is_not_written_over(hull, empty, tmp_path):
    path = written(tmp_path, exported(hull))
    record(measured(0.1), db_path=empty.db_path, plank="4 port", hull=empty)
    before = exported(empty)
    with pytest.raises(WrongCall, match="holds a record already"):
        bring_in(empty.db_path, path)
    assert exported(empty) == before


def test_an_empty_record_is_filled(hull, empty, tmp_path):
    with closing(connect(empty.db_path, "mode=rwc")) as connection:
        migrate(connection, migrations())
    bring_in(empty.db_path, written(tmp_path, exported(hull)))
    assert exported(empty) == exported(hull)


def test_a_lost_record_is_not_imported_over(hull, empty, tmp_path):
    path = written(tmp_path, exported(hull))
    record(measured(0.1), db_path=empty.db_path, plank="4 port", hull=empty)
    copy_checked(empty.db_path)
    empty.db_path.unlink()
    with pytest.raises(WrongCall, match="what a record left"):
        bring_in(empty.db_path, path)


def test_one_plank_is_told_without_the_others(hull):
    with reading(hull.db_path) as connection:
        document = as_json(connection, FOUR)
    assert [plank["strake"] for plank in document["planks"]] == [4]
    assert not document["whole"]
    assert "seals" not in document


def test_no_table_is_left_out(hull):
    """A table that a later schema adds must be exported, imported, and moved with its fit, or this fails."""
    nested = {"hulls", "planks", "fits", "summaries", "takes", "take_photographs", "feelers", "cuts", "signoffs"}
    nested |= {"samples", "gap_samples", "notes"}
    with reading(hull.db_path) as connection:
        tables = {r["name"] for r in connection.execute("PRAGMA table_list") if r["type"] == "table"}
        tables = {name for name in tables if not name.startswith("sqlite_")}
        of_takes = {
            t for t in tables if any(c["name"] == "take_id" for c in connection.execute(f"PRAGMA table_info({t})"))
        }
    assert tables == nested | BESIDE.keys() | LEFT_OUT
    assert of_takes == {*OF_A_TAKE, "withdrawals", "moves"}
