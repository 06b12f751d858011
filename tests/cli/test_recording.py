"""Recording comes before any output: whatever becomes of the output, the fit is on record and that is said."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from fitcheck.answering.on_record import Kept
from fitcheck.cli import trouble
from fitcheck.cli.record_first import then_shown
from fitcheck.fitlog import queries
from fitcheck.fitlog.store import reading
from fitcheck.fitlog.stripped import stripped
from fitcheck.hull.plank_name import PlankName
from tests.cli.running import TOLD
from tests.fitlog.made import made_hull
from tests.samples import PLAIN, ROOT


def measured_with(hull, *more, stdout=subprocess.PIPE):
    code = "from fitcheck.cli.main import main; main()"
    command = [sys.executable, "-c", code, "measure", str(PLAIN), *TOLD, "--plank", "4 port", *map(str, more)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        command, stdout=stdout, stderr=subprocess.PIPE, text=True, cwd=hull.path.parent, env=environment, check=False
    )


def fits_on_record(hull):
    with reading(hull.db_path) as connection:
        return [fit.number for fit in queries.fits(connection, PlankName(4, "port"))]


def closed_pipe(mode):
    reader, writer = os.pipe()
    os.close(reader)
    return os.fdopen(writer, mode)


@pytest.mark.parametrize(
    ("more", "stdout", "why"),
    [
        ([], closed_pipe, "was closed"),
        (["--json", "-"], Path("/dev/full").open, "No space left"),
        (["--out", "fitcheck.toml/report"], Path(os.devnull).open, "cannot write"),
        (["--json", "fitcheck.toml/answer.json"], Path(os.devnull).open, "cannot write"),
    ],
    ids=["closed pipe", "full disk", "bad out", "bad json"],
)
def test_output_trouble_loses_no_fit_and_says_it_is_on_record(tmp_path, more, stdout, why):
    hull = made_hull(tmp_path)
    with stdout("w") as stream:
        done = measured_with(hull, *more, stdout=stream)
    assert done.returncode in (1, 2)
    (line,) = done.stderr.splitlines()[-1:]
    assert line.startswith("fitcheck: ")
    assert line.endswith("; on record and kept: fit 1 of 4 port")
    assert why in line
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr
    assert fits_on_record(hull) == [1]


def test_where_recording_fails_the_answer_is_still_shown(tmp_path):
    hull = made_hull(tmp_path)
    hull.db_path.write_bytes(b"not a record, though long enough to be taken for a file of one" * 100)
    done = measured_with(hull, "--out", "report")
    assert done.returncode == 2
    assert "short" in done.stdout
    assert (tmp_path / "report" / "report.html").exists()
    assert done.stderr.splitlines()[-1].startswith("fitcheck: ")
    assert "damaged" in done.stderr


def test_stopped_while_writing_says_what_is_on_record(capsys, monkeypatch):
    monkeypatch.setattr(trouble, "RECORDED", ["fit 1 of 4 port"])
    with pytest.raises(KeyboardInterrupt) as stopped, then_shown(Kept(("recorded as fit 1 of 4 port",))):
        raise KeyboardInterrupt
    assert capsys.readouterr().err == "recorded as fit 1 of 4 port\n"
    assert trouble.in_words(stopped.value) == ("fitcheck: stopped; on record and kept: fit 1 of 4 port", 130)


def test_the_photograph_that_is_kept_is_the_one_that_was_measured(tmp_path):
    """The file is put in another's place once it is measured, before it is recorded."""
    hull = made_hull(tmp_path)
    path = tmp_path / "p.jpg"
    path.write_bytes(PLAIN.read_bytes())
    code = (
        "import fitcheck.answering.on_record as it; from pathlib import Path; was = it._as_read\n"
        "it._as_read = lambda paths, read: Path('p.jpg').write_bytes(b'another') and was(paths, read)\n"
        "from fitcheck.cli.main import main; main()"
    )
    command = [sys.executable, "-c", code, "measure", "p.jpg", *TOLD, "--plank", "4 port"]
    done = subprocess.run(
        command, capture_output=True, text=True, cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False
    )
    assert done.returncode == 0, done.stderr
    assert path.read_bytes() == b"another"
    (kept,) = (tmp_path / "fitcheck-photos").glob("*/*.jpg")
    assert kept.read_bytes() == stripped(PLAIN.read_bytes())
    assert fits_on_record(hull) == [1]
