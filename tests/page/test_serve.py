"""The page as a process: its start, its door, its QR code, its stop."""

from __future__ import annotations

import os
import re
import shutil
import signal
import ssl
import subprocess
import sys
import urllib.error
import urllib.request
from contextlib import contextmanager

import cv2
import numpy as np
import pytest

from fitcheck.page.doors import doors_of
from fitcheck.page.keys import Keys
from fitcheck.page.qr import qr_lines
from fitcheck.page.serve import PLAIN, opening_lines
from tests.cli.running import ROOT, run_here
from tests.fitlog.made import made_hull


@contextmanager
def _process(folder, *told):
    """A page that listens on a free port, its address, and what it said."""
    code = "from fitcheck.cli.main import main; main()"
    process = subprocess.Popen(
        [sys.executable, "-c", code, "page", "--port", "0", *told],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        lines = [process.stdout.readline() for _ in range(3)]
        yield process, re.search(r"https?://\S+", lines[0])[0], "".join(lines)
    finally:
        process.kill()
        process.communicate()


@pytest.fixture
def started(tmp_path):
    """The page of the invented hull as a process."""
    made_hull(tmp_path)
    with _process(tmp_path) as found:
        yield found


def test_a_process_serves_the_page_to_this_computer_and_ends_when_it_is_stopped(started):
    process, address, said = started
    with urllib.request.urlopen(address, timeout=10) as answer:
        assert "Who works with this phone?" in answer.read().decode()
    with pytest.raises(urllib.error.HTTPError, match="403"):
        urllib.request.urlopen(address.split("?")[0], timeout=10)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=20)
    assert process.returncode == 0
    assert err == ""
    assert "served to this computer alone" in said


def test_a_second_page_of_the_same_hull_is_not_served(started, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ran = run_here("page", "--port", "0")
    assert (ran.returncode, "is served already" in ran.stderr, ran.stdout) == (2, True, "")


def test_it_starts_without_what_measuring_needs():
    code = "import sys; from fitcheck.page import serve, site; print(sorted(sys.modules))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    loaded = set(re.findall(r"'([^']+)'", ran.stdout))
    assert "starlette" in loaded
    assert not loaded & {"numpy", "cv2", "scipy", "matplotlib", "pydantic", "PIL", "segno", "fitcheck.one_photo"}


def test_the_page_starts_in_a_second():
    """Processor time, so that a busy machine is no fault of the code; a second here, with room for a slower one."""
    code = (
        "import resource; from fitcheck.page import serve, site; import uvicorn.protocols.http.h11_impl;"
        "used = resource.getrusage(resource.RUSAGE_SELF); print(used.ru_utime + used.ru_stime)"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert float(ran.stdout) < 1.5


def test_how_to_open_it_is_said():
    keys = Keys(b"0" * 32)
    here = opening_lines(doors_of(8714, lan=False), keys)
    assert f"http://127.0.0.1:8714/enter?key={keys.key}" in here[0]
    on_lan = opening_lines(doors_of(8714, lan=True, address="192.168.7.9"), keys)
    assert PLAIN in on_lan
    assert f"http://192.168.7.9:8714/enter?key={keys.key}" in on_lan


def test_the_code_in_the_terminal_reads_as_its_address():
    """Drawn as the terminal shows it and read by another library (ISO/IEC 18004)."""
    address = f"http://192.168.7.9:8714/enter?key={Keys(b'0' * 32).key}"
    halves = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1)}
    cells = []
    for line in qr_lines(address):
        inverse = "\x1b[7m" in line
        bare = re.sub(r"\x1b\[[0-9;]*m", "", line)
        rows = np.array([halves[letter] for letter in bare]).T
        cells += list(1 - rows if inverse else rows)
    drawn = np.kron(np.array(cells, np.uint8) * 255, np.ones((8, 8), np.uint8))
    detector = cv2.QRCodeDetector()
    read = [detector.detectAndDecode(picture)[0] for picture in (drawn, 255 - drawn)]
    assert address in read


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (["--tls", "no.pem", "no.key"], "there is no such file"),
        (["--tls", "fitcheck.toml", "fitcheck.toml"], "no certificate and its key"),
        (["--address", "192.168.7.9"], "give --lan too"),
        (["--port", "70000"], "65535"),
    ],
)
def test_what_cannot_be_is_one_line(tmp_path, monkeypatch, told, said):
    made_hull(tmp_path)
    monkeypatch.chdir(tmp_path)
    ran = run_here("page", *told)
    assert ran.returncode == 2
    assert said in ran.stderr
    assert len(ran.stderr.splitlines()) == 1


def test_without_a_hull_there_is_no_page(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ran = run_here("page")
    assert (ran.returncode, "fitcheck new" in ran.stderr) == (2, True)


def test_over_tls_it_is_served_with_the_certificate_given(tmp_path):
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("no openssl to make a certificate with")
    made_hull(tmp_path)
    made = "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -keyout key.pem -out cert.pem -days 2"
    told = [*made.split(), "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1"]
    subprocess.run([openssl, *told], cwd=tmp_path, check=True, capture_output=True)
    with _process(tmp_path, "--tls", "cert.pem", "key.pem") as (_, address, said):
        assert address.startswith("https://127.0.0.1:")
        assert PLAIN not in said
        trust = ssl.create_default_context(cafile=str(tmp_path / "cert.pem"))
        with urllib.request.urlopen(address, timeout=20, context=trust) as answer:
            assert "; secure" in answer.headers["set-cookie"].lower()
            assert "plain HTTP" not in answer.read().decode()
