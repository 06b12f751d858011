"""Which photographed boards are for what: no board is both trained on and judged by."""

from __future__ import annotations

from tests.scenes.photographed import photographed_woods

#: Boards for fitting how far the trained score is to be believed. Training leaves out every scene that shows one.
FOR_FITTING = ("spruce_board_02", "oak_plank_cathedral")
USES = ("trained", "fitted", "judged")


def boards_for(use: str) -> list[str]:
    """Names of the boards for one of :data:`USES`; the judged ones are those that tests/scenes marks as left out."""
    if use == "judged":
        return photographed_woods(left_out=True)
    if use == "fitted":
        return list(FOR_FITTING)
    return [name for name in photographed_woods(left_out=False) if name not in FOR_FITTING]
