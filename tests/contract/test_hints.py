"""Hints built by any caller: what is no place or no keel is refused; the JSON has them among the settings."""

from __future__ import annotations

import math

import pytest

from fitcheck.contract.hints import Hints
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import WrongCall


@pytest.mark.parametrize(
    "wrong",
    [
        {"keel": "left"},
        {"keel": ""},
        {"line_at_px": ((1.0, math.nan),)},
        {"edge_at_px": ((math.inf, 2.0),)},
        {"edge_at_px": ((1.0, 2.0, 3.0),)},
        {"edge_at_px": ((1.0,),)},
        {"reference_at_px": ((1.0, 2.0), (3.0, 4.0))},
        {"reference_at_px": ((1.0, math.nan),)},
    ],
)
def test_what_is_no_hint_is_refused(wrong):
    with pytest.raises(WrongCall, match=r"--keel|--line-at|--edge-at|--reference-at"):
        Hints(**wrong)


def test_the_json_has_the_hints_among_the_settings():
    hints = Hints(line_at_px=((1.0, 2.0),), keel="up")
    told = Settings(reference="id1", thickness_mm=12.7, hints=hints).as_json()
    assert (told["line_at_px"], told["edge_at_px"], told["keel"]) == (((1.0, 2.0),), (), "up")
    assert "hints" not in told
    assert Settings(reference="id1", thickness_mm=12.7).as_json()["keel"] == "auto"
