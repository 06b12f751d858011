"""The harming of files is the same for the same seed, and a short run of each study finds no fault."""

from __future__ import annotations

import os
import random

import pytest

from tests.mutate import inputs, photographs
from tests.mutate.kinds import KINDS
from tests.samples import PLAIN


@pytest.mark.parametrize("kind", KINDS)
def test_harm_is_real_and_the_same_for_the_same_seed(kind: str) -> None:
    sound = PLAIN.read_bytes()
    first, again = (KINDS[kind](sound, random.Random(7)) for _ in range(2))
    assert first == again
    assert first != sound


def test_harmed_inputs_are_told_and_never_a_traceback() -> None:
    figures = inputs.run(60, 2)
    assert not [outcome for outcome in figures if "FAULT" in outcome]
    assert sum(count for outcome, count in figures.items() if "told" in outcome) > 100


@pytest.mark.skipif(os.environ.get("FITCHECK_PHOTOS") is None, reason="FITCHECK_PHOTOS is not set")
@pytest.mark.parametrize("kind", ["jpeg", "png"])
def test_harmed_photographs_are_refused_or_right(kind: str) -> None:
    figures = photographs.run(18, 3, kind, specks=False)
    assert not [outcome for outcome in figures if "SURE AND WRONG" in outcome]
    assert sum(count for outcome, count in figures.items() if outcome.startswith("refused at loading")) > 6
