"""The line of jobs: none lost by a crash or a restart, none done twice, and one that is stopped stays stopped."""

from __future__ import annotations

import time
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

import pytest

from fitcheck.fitlog.store import reading
from fitcheck.ground.refusal import WrongCall
from fitcheck.page import jobs
from fitcheck.page.job_line import Line
from fitcheck.page.shop import FOLDER
from fitcheck.page.tidying import tidy
from tests.fitlog.made import made_hull
from tests.page.pretended import pretended


@pytest.fixture
def hull(tmp_path):
    return made_hull(tmp_path)


@contextmanager
def working(hull, **told):
    line = Line(hull.path, target=pretended, **told)
    line.start()
    try:
        yield line
    finally:
        line.stop()


def sent(hull, note="", *, plank="4 port", photos=1):
    """A job with photographs of one byte, sent."""
    job_id = jobs.open_job(hull.db_path, plank=plank, kind="edge", who="A", told={"note": note})
    folder = hull.path.with_name(FOLDER) / f"{job_id:06d}"
    folder.mkdir(parents=True)
    for number in range(photos):
        part = folder / "part"
        part.write_bytes(b"x")
        jobs.add_photo(hull.db_path, job_id, digest=str(number), ending=".jpg", part=part, most=40)
    jobs.send(hull.db_path, job_id)
    return job_id


def count(hull, job_id, what):
    path = hull.path.with_name(FOLDER) / f"{job_id:06d}" / what
    return len(path.read_text()) if path.exists() else 0


def until(hull, job_id, *states, seconds=20.0):
    """The job, once it is in one of these states."""
    deadline = time.monotonic() + seconds
    while (found := jobs.job(hull.db_path, job_id)).state not in states:
        assert time.monotonic() < deadline, found
        time.sleep(0.02)
    return found


def test_jobs_are_done_in_turn_and_told(hull):
    first, second, third = sent(hull), sent(hull, "refuse"), sent(hull, "fail")
    with working(hull):
        assert until(hull, third, *jobs.ENDED).said == "cannot be measured so"
    assert (jobs.job(hull.db_path, first).state, jobs.job(hull.db_path, first).fit) == ("measured", 7)
    assert jobs.job(hull.db_path, second).state == "refused"
    assert jobs.in_hand(hull.db_path) == []


def test_a_job_that_comes_later_wakes_the_line(hull):
    with working(hull) as line:
        job_id = sent(hull)
        line.wake()
        until(hull, job_id, "measured")
    assert count(hull, job_id, "recorded") == 1


def test_two_processes_take_no_job_twice(hull):
    every = [sent(hull) for _ in range(12)]
    with working(hull, processes=2):
        for job_id in every:
            until(hull, job_id, "measured")
    assert [count(hull, job_id, "recorded") for job_id in every] == [1] * 12


def test_a_process_that_crashes_loses_no_job(hull):
    crashing, after = sent(hull, "crash once"), sent(hull)
    with working(hull):
        until(hull, crashing, "measured")
        until(hull, after, "measured")
    assert (count(hull, crashing, "begun"), count(hull, crashing, "recorded")) == (2, 1)


def test_a_job_that_crashes_every_time_is_given_up_and_the_next_is_done(hull):
    crashing, after = sent(hull, "crash"), sent(hull)
    with working(hull):
        assert until(hull, crashing, *jobs.ENDED).said == jobs.CRASHED
        until(hull, after, "measured")
    assert count(hull, crashing, "begun") == jobs.MOST_CRASHES


def test_a_crash_after_recording_is_tried_again_where_the_record_knows_the_photographs(hull):
    """The line does it again; that the record then has it once is tested with the real measuring."""
    job_id = sent(hull, "crash recorded")
    with working(hull):
        until(hull, job_id, "measured")
    assert count(hull, job_id, "begun") == 2


def test_a_restart_in_the_middle_takes_the_job_up_again(hull):
    hanging, waiting = sent(hull, "hang"), sent(hull)
    with working(hull):
        until(hull, hanging, "measuring")
    assert {job.state for job in jobs.in_hand(hull.db_path)} == {"measuring", "waiting"}
    with reading(hull.db_path) as connection:
        assert connection.execute("SELECT crashes FROM jobs WHERE id = ?", (hanging,)).fetchone()[0] == 0
    with working(hull) as line:
        until(hull, hanging, "measuring")
        assert line.cancel(hanging)
        until(hull, waiting, "measured")


def test_a_job_that_is_stopped_ends_at_once_and_records_nothing(hull):
    hanging, after = sent(hull, "hang"), sent(hull)
    with working(hull) as line:
        until(hull, hanging, "measuring")
        began = time.monotonic()
        assert line.cancel(hanging)
        until(hull, after, "measured")
        assert time.monotonic() - began < 10
        assert not line.cancel(after)
    assert jobs.job(hull.db_path, hanging).state == "cancelled"
    assert count(hull, hanging, "recorded") == 0


def test_a_job_stopped_while_it_waits_is_never_begun(hull):
    hanging, waiting = sent(hull, "hang"), sent(hull)
    with working(hull) as line:
        until(hull, hanging, "measuring")
        assert line.cancel(waiting)
        assert line.cancel(hanging)
        time.sleep(0.2)
    assert count(hull, waiting, "begun") == 0


def test_how_far_it_is_is_told(hull):
    job_id = sent(hull, "hang")
    with working(hull) as line:
        until(hull, job_id, "measuring")
        deadline = time.monotonic() + 10
        while line.share(job_id) != 0.5:
            assert time.monotonic() < deadline
            time.sleep(0.02)
        assert line.share(job_id + 1) == 0.0


def test_a_process_that_says_nothing_is_ended(hull, monkeypatch):
    monkeypatch.setattr("fitcheck.page.job_line.SILENT_S", 0.3)
    job_id = sent(hull, "hang")
    with working(hull):
        assert "stopped" in until(hull, job_id, "failed").said


def test_the_same_file_sent_twice_counts_once(hull, tmp_path):
    job_id = jobs.open_job(hull.db_path, plank="4 port", kind="edge", who=None, told={})
    names = []
    for digest in ("a", "b", "a"):
        part = tmp_path / "part"
        part.write_bytes(b"x")
        names.append(jobs.add_photo(hull.db_path, job_id, digest=digest, ending=".jpg", part=part, most=2))
    assert names == ["photo-1.jpg", "photo-2.jpg", "photo-1.jpg"]
    with pytest.raises(WrongCall, match="at most 2"):
        jobs.add_photo(hull.db_path, job_id, digest="c", ending=".jpg", part=part, most=2)


def test_nothing_is_added_to_a_job_that_was_sent(hull, tmp_path):
    job_id = sent(hull)
    with pytest.raises(WrongCall, match="sent already"):
        jobs.add_photo(hull.db_path, job_id, digest="z", ending=".jpg", part=tmp_path, most=40)
    jobs.send(hull.db_path, job_id)
    assert jobs.job(hull.db_path, job_id).state == "waiting"


def test_a_job_without_a_photograph_is_not_sent(hull):
    job_id = jobs.open_job(hull.db_path, plank="4 port", kind="edge", who=None, told={})
    with pytest.raises(WrongCall, match="no photograph has come"):
        jobs.send(hull.db_path, job_id)


def test_a_line_of_endless_length_is_not_begun(hull, monkeypatch):
    monkeypatch.setattr(jobs, "MOST_IN_HAND", 2)
    sent(hull)
    sent(hull)
    with pytest.raises(WrongCall, match="waiting to be measured"):
        sent(hull)


def test_without_a_record_nothing_waits_and_none_is_begun(hull):
    assert (jobs.take_next(hull.db_path), jobs.in_hand(hull.db_path), jobs.jobs_of(hull.db_path, "4 port")) == (
        None,
        [],
        [],
    )
    jobs.put_back(hull.db_path)
    with pytest.raises(WrongCall, match="no photographs of number 3"):
        jobs.job(hull.db_path, 3)
    assert not hull.db_path.exists()


def test_what_is_long_done_is_cleared_and_what_is_in_hand_is_not(hull):
    done, waiting, begun = (
        sent(hull),
        sent(hull),
        jobs.open_job(hull.db_path, plank="4 port", kind="edge", who=None, told={}),
    )
    jobs.change(hull.db_path, done, to="measured", among=("waiting",))
    folder = hull.path.with_name(FOLDER)
    (folder / f"{begun:06d}").mkdir()
    (folder / "secret").write_bytes(b"kept")
    now = datetime.now(UTC)
    assert tidy(hull.db_path, folder, at=now + timedelta(days=1)) == []
    assert tidy(hull.db_path, folder, at=now + timedelta(days=3)) == [begun]
    assert tidy(hull.db_path, folder, at=now + timedelta(days=400)) == [done]
    assert sorted(path.name for path in folder.iterdir()) == [f"{waiting:06d}", "secret"]
    assert jobs.job(hull.db_path, done).state == "measured"


def test_a_record_that_cannot_be_written_for_a_while_holds_the_line_up_and_no_more(hull, monkeypatch, capsys):
    job_id, take_next, failed = sent(hull), jobs.take_next, []

    def at_first_not(db_path):
        if not failed:
            failed.append(1)
            raise WrongCall("another fitcheck is writing")
        return take_next(db_path)

    monkeypatch.setattr("fitcheck.page.job_line.AGAIN_S", 0.1)
    monkeypatch.setattr(jobs, "take_next", at_first_not)
    with working(hull):
        until(hull, job_id, "measured")
    assert "another fitcheck is writing" in capsys.readouterr().err
