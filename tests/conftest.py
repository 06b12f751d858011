"""What every test runs under."""

from __future__ import annotations

import pytest

from fitcheck.contract.codes import REFUSALS, WARNINGS, codes_of
from fitcheck.ground.refusal import Reason, Refused


@pytest.fixture(scope="session", autouse=True)
def _only_listed_codes():
    """A code that the program gives out, and that its list does not hold, fails the test at once."""
    refusals = frozenset(codes_of(REFUSALS))
    known = refusals | frozenset(codes_of(WARNINGS))
    as_reason, as_refused = Reason.__init__, Refused.__init__

    def reason(self, code, text):
        assert code in known, f"{code!r} is not in fitcheck/contract/codes.py"
        as_reason(self, code, text)

    def refused(self, code, *rest, **named):
        assert code in refusals, f"{code!r} is no refusal in fitcheck/contract/codes.py"
        as_refused(self, code, *rest, **named)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Reason, "__init__", reason)
        patch.setattr(Refused, "__init__", refused)
        yield
