"""A phone that is let in, as requests without a browser."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from fitcheck.page.doors import PORT, doors_of
from fitcheck.page.job_line import Line
from fitcheck.page.keys import Keys
from fitcheck.page.shop import Shop
from fitcheck.page.site import site
from tests.fitlog.made import made_hull

HERE = f"http://127.0.0.1:{PORT}"


def made_shop(folder: Path, **told: Any) -> Shop:
    """The page of the invented hull, put into ``folder``."""
    return Shop(made_hull(folder).path, Keys(b"s" * 32), doors_of(PORT, lan=False), **told)


class Phone:
    """Asks for pages and sends forms as a browser does: with its cookies, the form's mark and the page's origin."""

    def __init__(self, shop: Shop, who: str = "A. Builder", *, let_in: bool = True, line: Line | None = None) -> None:
        self.shop = shop
        self.client = TestClient(site(shop, line), base_url=HERE, raise_server_exceptions=True, follow_redirects=False)
        if let_in:
            self.get(f"/enter?key={shop.keys.key}")
        if let_in and who:
            assert self.post("/who", name=who).status_code == 303

    @property
    def session(self) -> str:
        return self.shop.keys.session_of(self.client.cookies.get(self.shop.cookie) or "") or ""

    @property
    def mark(self) -> str:
        return self.shop.keys.form_mark(self.session)

    def get(self, path: str, **more: Any) -> Any:
        return self.client.get(path, **more)

    def post(self, path: str, **fields: Any) -> Any:
        """Send a form of this session and, where it leads on to a page, give the answer that does."""
        return self.client.post(path, data={"mark": self.mark, **fields}, headers={"origin": HERE})


def text_of(answer: Any) -> str:
    """A page's words, without its tags."""
    return " ".join(re.sub(r"<[^>]+>", " ", answer.text).split())
