"""What the tests of the page share in one session: a browser, and a hull whose photographs were really measured."""

from __future__ import annotations

import shutil

import pytest

from fitcheck.fitlog.recording import record
from fitcheck.hull.settings_file import load_hull
from tests.fitlog.made import measured as made_up
from tests.page.browser import LAPTOP, PHONE, chromium, let_in, served
from tests.page.measured_hull import measured_hull
from tests.page.pretended import pretended
from tests.page.test_hull_pages import PLANE


@pytest.fixture(scope="session")
def browser():
    with chromium() as found:
        yield found


@pytest.fixture(scope="session")
def measured(tmp_path_factory):
    """A hull with photographs measured by the real program, its line still at work."""
    with measured_hull(tmp_path_factory.mktemp("measured")) as found:
        yield found


@pytest.fixture(scope="session")
def shop_in_browser(browser, measured, tmp_path_factory):
    """A copy of it as it was when all was measured, in a browser's reach; what is sent there is not really measured.

    4 port and 4 starboard have one fit more, invented.
    """
    folder = tmp_path_factory.mktemp("copied") / "hull"
    shutil.copytree(measured.as_measured, folder)
    hull = load_hull(folder / "fitcheck.toml")
    for plank in ("4 port", "4 starboard"):
        record(made_up(2.0, planing=PLANE), db_path=hull.db_path, plank=plank, hull=hull, who="A. Builder")
    with served(folder / "fitcheck.toml", target=pretended) as found:
        yield found


@pytest.fixture(scope="session")
def phone(browser, shop_in_browser):
    """A phone of a session of its own, let in and named."""
    with let_in(browser, shop_in_browser, PHONE) as page:
        yield page


@pytest.fixture(scope="session")
def laptop(browser, shop_in_browser):
    """The same at laptop size."""
    with let_in(browser, shop_in_browser, LAPTOP) as page:
        yield page
