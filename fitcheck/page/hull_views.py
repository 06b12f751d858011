"""The hull: every plank with where it stands and what is next, and a plank more."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from fitcheck.page.asked import Ask, then
from fitcheck.page.by_hand_views import DONE

if TYPE_CHECKING:
    from fitcheck.fitlog.listing import Standing

#: The groups of the list, by what a plank still asks for.
IN_HAND, NOT_BEGUN, SIGNED = "In hand", "Not begun", "Signed off"


def hull(ask: Ask) -> Response:
    """Every plank: those in hand first."""
    from fitcheck.fitlog.listing import standings_at

    settings = ask.shop.hull()
    found = standings_at(settings)
    groups: dict[str, list[dict[str, Any]]] = {IN_HAND: [], NOT_BEGUN: [], SIGNED: []}
    for standing in found:
        groups[_group(standing)].append(plank_card(standing))
    notes = [reason.text for reason in settings.warnings()]
    if settings.camera_path is None or not settings.camera_path.is_file():
        notes.append("No camera file is set, so nothing can be measured yet: calibrate the camera first.")
    return ask.page(
        "hull.html",
        hull=settings.name,
        signed=f"{len(groups[SIGNED])} of {len(found)} planks signed off",
        groups=[(name, cards) for name, cards in groups.items() if cards],
        notes=notes,
        done=DONE.get(ask.told.get("done", ""), ""),
    )


def add(ask: Ask) -> Response:
    """A plank more: it is opened, and its strake put into the settings where they list strakes without it."""
    from fitcheck.hull.more_strakes import with_strake
    from fitcheck.hull.plank_name import read_plank

    named = ask.text("plank")
    settings = ask.shop.hull()
    plank = read_plank(named)
    if settings.strakes and settings.strake(plank.strake) is None:
        with_strake(ask.shop.hull_path, plank.strake)
        settings = ask.shop.hull()
    return then("/plank", plank=str(read_plank(named, settings)))


def plank_card(standing: Standing) -> dict[str, Any]:
    """What the list shows of one plank."""
    from fitcheck.report.record.hull_page import STANDING_LOOKS

    return {
        "name": str(standing.plank),
        "state": STANDING_LOOKS[standing.state].words,
        "look": standing.state.replace(" ", "-"),
        "todo": standing.todo,
        "fits": standing.fits,
    }


def _group(standing: Standing) -> str:
    if standing.state == "signed":
        return SIGNED
    return IN_HAND if standing.fits else NOT_BEGUN
