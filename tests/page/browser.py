"""A real Chromium at phone and at laptop size, the page it looks at, and the checker of what a screen reader meets."""

from __future__ import annotations

import functools
import os
import shutil
import subprocess
import tarfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from fitcheck.page.doors import doors_of, opened
from fitcheck.page.job_line import Line
from fitcheck.page.keys import Keys
from fitcheck.page.shop import Shop
from fitcheck.page.site import site

PHONE = {"viewport": {"width": 390, "height": 844}, "device_scale_factor": 2, "has_touch": True, "is_mobile": True}
LAPTOP = {"viewport": {"width": 1280, "height": 800}}
#: Debian's names of it.
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
AXE = "axe-core@4.14.1"


@contextmanager
def chromium() -> Iterator[Any]:
    """A browser; the test skips where none is installed."""
    if CHROMIUM is None:
        pytest.skip("no chromium on this computer (Debian: apt-get install chromium)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def served(hull_path: Path, *, port: int = 0, secret: bytes = b"s" * 32, **line: Any) -> Iterator[Shop]:
    """The page of a hull on a port of this computer, its line at work, until the block ends."""
    import uvicorn

    with opened(port, lan=False) as door:
        shop = Shop(hull_path, Keys(secret), doors_of(door.getsockname()[1], lan=False))
        config = uvicorn.Config(site(shop, Line(hull_path, **line)), ws="none", lifespan="on", log_level="error")
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.02)
        try:
            yield shop
        finally:
            server.should_exit = True
            thread.join(20)


@contextmanager
def let_in(browser: Any, shop: Shop, size: dict[str, Any], *, name: str = "A. Builder") -> Iterator[Any]:
    """A page of a session of its own, let in by the key and named; no error may come up in it."""
    context = browser.new_context(**size)
    errors: list[str] = []
    try:
        page = context.new_page()
        page.set_default_timeout(120_000)
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda said: errors.append(said.text) if "Content Security" in said.text else None)
        page.goto(f"{shop.doors.here}/enter?key={shop.keys.key}")
        page.fill("#name", name)
        page.click("text=Go on")
        page.wait_for_url(f"{shop.doors.here}/")
        yield page
        assert not errors
    finally:
        context.close()


def serious(page: Any) -> list[str]:
    """What the checker finds serious or critical on a page as it stands, each in a line."""
    page.evaluate(_axe())
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']}).then((found) => found.violations)")
    return [
        f"{one['id']}: {node['html'][:120]}"
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]


def too_small(page: Any, least_px: float = 48.0) -> list[str]:
    """Buttons, fields and links to be touched that are lower than a finger is wide; links in running text are not."""
    script = """(least) => [...document.querySelectorAll("button, .button, .card, select, summary, header a,"
      + " input:not([type=hidden], [type=file], [type=radio], [type=checkbox]), fieldset label")]
      .filter((one) => one.offsetParent && one.getBoundingClientRect().height < least - .5)
      .map((one) => one.outerHTML.slice(0, 120))"""
    found: list[str] = page.evaluate(script, least_px)
    return found


def too_wide(page: Any) -> bool:
    """Whether the page must be moved sideways to be read."""
    found: bool = page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth + 1")
    return found


@functools.cache
def _axe() -> str:
    """The checker's script: of the file that FITCHECK_AXE names, or fetched once by npm into the user's cache."""
    told = os.environ.get("FITCHECK_AXE")
    path = Path(told) if told else Path.home() / ".cache" / "fitcheck" / f"{AXE}.js"
    if not path.is_file():
        _fetch(path)
    return path.read_text(encoding="utf-8")


def _fetch(path: Path) -> None:
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("no npm to fetch axe-core with; FITCHECK_AXE may name its axe.min.js")
    path.parent.mkdir(parents=True, exist_ok=True)
    ran = subprocess.run([npm, "pack", AXE, "--silent"], cwd=path.parent, capture_output=True, text=True, check=False)
    if ran.returncode:
        pytest.skip(f"axe-core could not be fetched: {ran.stderr.strip()[-200:]}")
    packed = path.parent / ran.stdout.strip().splitlines()[-1]
    with tarfile.open(packed) as archive:
        member = archive.extractfile("package/axe.min.js")
        assert member is not None
        path.write_bytes(member.read())
    packed.unlink()
