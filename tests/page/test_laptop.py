"""At the laptop: fits side by side, both sides, sheets to print, the signature, a copy of the record."""

from __future__ import annotations

import pytest

from fitcheck.fitlog import by_hand, queries
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.hull.plank_name import PlankName
from tests.fitlog.made import seen_edge_on
from tests.page.phone import Phone, made_shop, text_of
from tests.page.test_hull_pages import PLANE, recorded

FOUR = PlankName(4, "port")


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """4 port with two fits, the second good; its lap felt closed; 4 starboard with one."""
    shop = made_shop(tmp_path_factory.mktemp("laptop"))
    recorded(shop, 2.0, planing=PLANE)
    by_hand.record_advised_cuts(shop.db_path, FOUR, who="A. Builder")
    recorded(shop, 0.0)
    recorded(shop, 0.8, plank="4 starboard")
    return shop


def test_a_fit_beside_the_fit_before(shop):
    said = text_of(Phone(shop).get("/beside?plank=4+port"))
    assert "Fit 2 beside fit 1" in said
    assert "less past the line" in said
    assert "Fit 2 beside fit 1" in text_of(Phone(shop).get("/beside?plank=4+port&new=2"))
    assert Phone(shop).get("/beside?plank=4+starboard").status_code in (400, 409)
    assert Phone(shop).get("/beside?plank=3+port").status_code == 400


def test_port_beside_starboard(shop):
    said = text_of(Phone(shop).get("/twin?plank=4+port"))
    assert "4 port beside 4 starboard" in said
    assert "starboard lies" in said
    assert Phone(shop).get("/twin?plank=3+port").status_code == 400


@pytest.mark.parametrize("of", ["history", "twin"])
def test_charts_are_drawn_and_can_run_nothing(shop, of):
    answer = Phone(shop).get(f"/chart?plank=4+port&of={of}")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert answer.text.lstrip().startswith("<?xml")
    assert "sandbox" in answer.headers["content-security-policy"]


@pytest.mark.parametrize(("path", "said"), [("/history?plank=4+port", "4 port"), ("/sheet", "planks signed off")])
def test_sheets_to_print_hold_everything_and_run_nothing(shop, path, said):
    answer = Phone(shop).get(path)
    assert said in text_of(answer)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script" not in policy
    assert "sandbox" in policy
    assert answer.headers["x-frame-options"] == "DENY"


def test_what_is_missing_is_told_before_anything_is_signed(shop):
    phone = Phone(shop)
    page = phone.get("/sign?plank=4+port")
    said = text_of(page)
    assert "may not be signed off yet" in said
    assert "no one has seen the lap closed" in said
    assert "fitcheck" not in said
    answer = phone.post("/sign", plank="4 port", sure="yes")
    assert answer.status_code == 409
    assert "no one has seen the lap closed" in text_of(answer)
    assert phone.post("/sign", plank="4 port").status_code == 400
    assert signatures(shop) == []


def test_a_plank_with_nothing_missing_is_signed_with_the_phone_s_name(tmp_path):
    shop = made_shop(tmp_path)
    recorded(shop, 0.0)
    record(seen_edge_on(0.0), db_path=shop.db_path, plank="4 port", hull=shop.hull())
    phone = Phone(shop)
    assert "Nothing is missing" in text_of(phone.get("/sign?plank=4+port"))
    answer = phone.post("/sign", plank="4 port", sure="yes")
    assert answer.headers["location"] == "/plank?plank=4+port&done=signed"
    (signed,) = signatures(shop)
    assert (signed.who, signed.overruled) == ("A. Builder", None)
    assert "Signed off already, by A. Builder" in text_of(phone.get("/sign?plank=4+port"))
    assert phone.post("/sign", plank="4 port", sure="yes").status_code == 400
    assert "not of strength" in text_of(phone.get("/sign?plank=4+port")) or "not of strength" in text_of(
        phone.get("/plank?plank=4+port&done=signed")
    )


def test_what_is_missing_is_overruled_in_writing(tmp_path):
    shop = made_shop(tmp_path)
    recorded(shop, 0.0)
    assert Phone(shop).post("/sign", plank="4 port", sure="yes", overrule="felt it by hand").status_code == 303
    (signed,) = signatures(shop)
    assert signed.overruled == "felt it by hand"
    assert signed.missing


def test_without_a_name_nothing_is_signed(tmp_path):
    shop = made_shop(tmp_path)
    recorded(shop, 0.0)
    assert Phone(shop, who="").post("/sign", plank="4 port", sure="yes", overrule="x").status_code == 400
    assert signatures(shop) == []


def test_a_checked_copy_of_the_record_is_made(tmp_path):
    shop = made_shop(tmp_path)
    assert Phone(shop).post("/backup").status_code == 400
    recorded(shop, 0.0)
    before = len(list(tmp_path.glob("fitcheck-backups/*.db")))
    phone = Phone(shop)
    assert phone.post("/backup").status_code == 303
    assert len(list(tmp_path.glob("fitcheck-backups/*.db"))) == before + 1
    assert "checked copy" in text_of(phone.get("/?done=backup"))


def test_what_is_done_is_said_in_words_of_ours_alone(shop):
    assert "&lt;" not in Phone(shop).get("/?done=<b>x</b>").text
    assert 'class="done"' not in Phone(shop).get("/plank?plank=4+port&done=nonsense").text


def signatures(shop):
    with reading(shop.db_path) as connection:
        return queries.signoffs(connection, FOUR)


def test_settings_are_changed_in_the_form_and_checked_as_everywhere(tmp_path):
    shop = made_shop(tmp_path)
    phone = Phone(shop)
    page = phone.get("/settings")
    assert 'value="1in"' in page.text
    assert "Strake 4" in text_of(page)
    told = {"lap": "7/8in", "limits-edge": "1/16in", "strake-4-to": "9ft"}
    assert phone.post("/settings", **told).headers["location"] == "/?done=settings"
    hull = shop.hull()
    assert (hull.lap_mm, hull.limits.edge_mm) == (pytest.approx(22.225), pytest.approx(25.4 / 16))
    assert hull.strake(4).to_mm == pytest.approx(2743.2)
    before = shop.hull_path.read_bytes()
    answer = phone.post("/settings", lap="much")
    assert answer.status_code == 400
    assert "cannot be used" in text_of(answer)
    assert Phone(shop, who="").post("/settings", lap="1in").status_code == 400
    assert shop.hull_path.read_bytes() == before
