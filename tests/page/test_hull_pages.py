"""The list of planks and one plank's page, without a browser."""

from __future__ import annotations

import pytest

from fitcheck.fitlog.recording import record
from fitcheck.page.plain_words import on_page
from tests.fitlog.made import made_hull, measured
from tests.page.phone import Phone, made_shop, text_of

CUT = {"from_mm": 100.0, "to_mm": 300.0, "deepest_mm": 1.2, "profile": [[100.0, 0.0], [200.0, 1.2], [300.0, 0.0]]}
PLANE = {"verdict": "plane", "first": None, "cuts": [CUT], "short": [], "unseen": [], "warnings": []}


@pytest.fixture
def shop(tmp_path):
    return made_shop(tmp_path)


def recorded(shop, past_mm=0.0, plank="4 port", **told):
    return record(
        measured(past_mm, **told), db_path=shop.hull().db_path, plank=plank, hull=shop.hull(), who="A. Builder"
    )


def test_every_plank_is_listed_with_what_is_next(shop):
    recorded(shop, 2.0, planing=PLANE)
    said = text_of(Phone(shop).get("/"))
    assert said.index("In hand") < said.index("4 port") < said.index("Not begun") < said.index("3 port")
    assert "5 starboard aft" in said
    assert "plane" in said.split("4 port")[1].split("Not begun")[0]
    assert "clamp it dry and photograph the lap" in said
    assert "No camera file is set" in said


def test_a_plank_shows_its_fits_the_latest_first(shop):
    recorded(shop, 2.0, planing=PLANE)
    recorded(shop, 0.0)
    said = text_of(Phone(shop).get("/plank?plank=4+port"))
    assert said.index("Fit 2") < said.index("Fit 1")
    assert "most past the line" in said
    assert "5/64" in text_of(Phone(shop).get("/fit?plank=4+port&fit=1"))


def test_no_word_of_the_command_line_is_left_on_a_page(shop):
    recorded(shop, 0.0)
    for plank in ("4 port", "3 port"):
        said = text_of(Phone(shop).get(f"/plank?plank={plank}"))
        assert "fitcheck" not in said
        assert " --" not in said


@pytest.mark.parametrize(
    ("asked", "said"), [("", "names no plank"), ("9 port", "strake 9 is not in"), ("5 port", "of several planks")]
)
def test_what_is_no_plank_is_told_as_at_the_command_line(shop, asked, said):
    answer = Phone(shop).get(f"/plank?plank={asked}")
    assert answer.status_code == 400
    assert said in text_of(answer)
    assert 'role="alert"' in answer.text


@pytest.mark.parametrize("fit", ["0", "-1", "99", "x", "²", "9" * 30])
def test_a_fit_that_is_not_there_is_told(shop, fit):
    recorded(shop)
    assert Phone(shop).get("/fit", params={"plank": "4 port", "fit": fit}).status_code == 400


def test_a_strake_more_goes_into_the_settings_and_the_rest_stays_as_it_was(shop):
    before = shop.hull_path.read_text(encoding="utf-8")
    answer = Phone(shop).post("/add", plank="7 starboard")
    assert (answer.status_code, answer.headers["location"]) == (303, "/plank?plank=7+starboard")
    assert shop.hull_path.read_text(encoding="utf-8").startswith(before.rstrip())
    assert [strake.number for strake in shop.hull().strakes] == [3, 4, 5, 7]
    assert "7 starboard" in text_of(Phone(shop).get("/"))


def test_a_plank_that_is_there_is_opened(shop):
    before = shop.hull_path.read_bytes()
    assert Phone(shop).post("/add", plank="4p").headers["location"] == "/plank?plank=4+port"
    assert Phone(shop).post("/add", plank="no plank").status_code == 400
    assert shop.hull_path.read_bytes() == before


def test_a_hull_without_strakes_takes_any_plank(tmp_path):
    shop = made_shop(tmp_path)
    made_hull(tmp_path, 'name = "Bare"\nlap = "1in"\nthickness = "1/2in"\n')
    phone = Phone(shop)
    assert "No planks yet" in text_of(phone.get("/"))
    assert phone.post("/add", plank="2 port").status_code == 303
    assert phone.get("/plank?plank=2+port").status_code == 200


def test_settings_that_cannot_be_used_are_told_with_what_is_wrong(shop):
    phone = Phone(shop)
    shop.hull_path.write_text('name = "Bent"\nlap = 25\nthickness = "1/2in"\n', encoding="utf-8")
    assert phone.get("/enter").status_code == 200
    answer = phone.get("/")
    assert answer.status_code == 400
    assert "has no unit" in text_of(answer)


def test_an_altered_record_is_said_on_the_page(shop):
    import sqlite3
    from contextlib import closing

    recorded(shop)
    with closing(sqlite3.connect(shop.hull().db_path)) as connection:
        connection.execute("UPDATE fits SET who = 'Mallory'")
        connection.commit()
    assert "altered" in text_of(Phone(shop).get("/plank?plank=4+port"))


def test_at_the_laptop_the_code_that_lets_a_phone_in_is_shown(tmp_path):
    from fitcheck.page.doors import doors_of

    shop = made_shop(tmp_path)
    assert "--lan" in text_of(Phone(shop).get("/phone"))
    on_lan = type(shop)(shop.hull_path, shop.keys, doors_of(8714, lan=True, address="192.168.7.9"))
    answer = Phone(on_lan).get("/phone")
    assert f"http://192.168.7.9:8714/enter?key={shop.keys.key}" in answer.text
    assert "data:image/svg+xml" in answer.text
    assert "plain HTTP" in answer.text


@pytest.mark.parametrize(
    ("said", "here"),
    [
        (
            "The lap line cannot be told from the grain. Strike it again, darker, or point to it with --line-at u,v.",
            "The lap line cannot be told from the grain. Strike it again, darker, or point to it.",
        ),
        (
            "--edge-at 410,20 lies outside photo-1.jpg, which is 400 x 300 pixels",
            "What was pointed at, 410,20 lies outside photo-1.jpg, which is 400 x 300 pixels",
        ),
        (
            "--line-at and --edge-at point into one photograph: measure that one by itself with them",
            "What is pointed at lies in one photograph: send that one by itself",
        ),
        (
            "--camera is needed: the file that fitcheck calibrate wrote",
            "a camera file is needed, named in the settings",
        ),
        (
            "No bevel was told; 6° ± 4° is assumed. Give --bevel from the bevel gauge for a narrower answer.",
            "No bevel was told; 6° ± 4° is assumed. "
            "Give the bevel from the bevel gauge in the settings for a narrower answer.",
        ),
        ("taking something back asks for who does it and why: --who NAME --why 'reason'", None),
        ("set 1 is the only one it has: withdraw the fit (--fit 3 without --set)", None),
        ("there is no cut 9: they are numbered 1 to 2, as fitcheck log show tells", None),
    ],
)
def test_the_words_of_the_command_line_have_their_names_of_the_page(said, here):
    assert here is None or on_page(said) == here
    assert "--" not in on_page(said)
    assert "fitcheck " not in on_page(said)
