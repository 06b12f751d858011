"""Work spread over the cores is done where there is room for it, and comes back in order."""

from __future__ import annotations

import os

from tests.in_processes import in_processes


def here(number: int) -> tuple[int, int]:
    return number, os.getpid()


def test_beside_other_tests_it_is_done_in_this_process(monkeypatch):
    monkeypatch.setenv("PYTEST_XDIST_WORKER", "gw0")
    assert in_processes(here, range(3)) == [(number, os.getpid()) for number in range(3)]


def test_alone_it_is_done_in_others(monkeypatch):
    monkeypatch.delenv("PYTEST_XDIST_WORKER", raising=False)
    found = in_processes(here, range(3), workers=1)
    assert [number for number, _ in found] == [0, 1, 2]
    assert os.getpid() not in {process for _, process in found}
