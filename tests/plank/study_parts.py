"""The whole sample plank with each photograph spoilt: ``python -m tests.plank.study_parts [KIND or NUMBER ...]``.

For each case: the parts by their cards, what became of the spoilt photograph, how many cuts are asked, how far the
worst of them goes beyond the wood that truly is there, and the verdict. FITCHECK_PHOTOS names the folder of truths.
"""

from __future__ import annotations

import sys

from fitcheck.contract.measurement import Measurement
from fitcheck.plank import photo_groups
from tests.plank.spoilt_planks import EIGHT, KINDS, advised, excess_mm, run_once, spoilt


def main(told: list[str]) -> None:
    """Print a row for each case as it is done."""
    numbers = [int(one) for one in told if one.isdigit()] or EIGHT
    kinds = [one for one in told if not one.isdigit()] or KINDS
    photo_groups._run = run_once
    print("kind      no  parts (cards)      not used, why                   cuts  worst excess mm  verdict, first")
    for kind in kinds:
        for number in numbers:
            print(f"{kind:<9} {number:>2}  {_row(advised(spoilt(kind, number)))}", flush=True)


def _row(answer: Measurement) -> str:
    parts = " | ".join(f"{min(one.part.cards)}-{max(one.part.cards)}" for one in answer.each_part() if one.part)
    lost = ", ".join(
        f"{photo['name']}: {photo['reasons'][0]['code']}" for photo in answer.photos if photo["state"] == "refused"
    )
    planing, excess = answer.planing or {}, excess_mm(answer)
    worst = f"{max(excess):+.3f}" if excess else "none"
    return f"{parts:<17}  {lost or 'none':<30}  {len(excess):>4}  {worst:>15}  {planing['verdict']}, {planing['first']}"


if __name__ == "__main__":
    main(sys.argv[1:])
