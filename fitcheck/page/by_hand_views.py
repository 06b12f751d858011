"""What the builder enters by hand: planed it, a reading, a note; and what was entered by mistake taken back."""

from __future__ import annotations

from typing import Any

from starlette.responses import Response

from fitcheck.ground.refusal import WrongCall
from fitcheck.page.asked import Ask, then

#: What is said once it is on record.
DONE = {
    "planed": "On record. Clamp it again and photograph it.",
    "felt": "The reading is on record.",
    "noted": "The note is on record.",
    "taken-back": "Taken back. It stays on record, struck through.",
    "signed": "Signed off. This speaks of the fit where it was photographed, not of strength or tightness: "
    "local rules go first.",
    "settings": "The settings are written.",
    "backup": "A checked copy of the record is made.",
}


def by_hand(ask: Ask) -> Response:
    """Where planing, readings and notes are entered; a note alone where no fit is on record."""
    from fitcheck.fitlog import queries
    from fitcheck.fitlog.listing import standings_at
    from fitcheck.fitlog.store import reading
    from fitcheck.report.record.record_lines import asked_depth, counted, span

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    inches = hull.units == "in"
    examples: dict[str, Any] = {
        "blade": "0.004in" if inches else "0.1mm",
        "place": "3ft 6in" if inches else "1.05m",
        "depth": "1/64in" if inches else "0.4mm",
    }
    standing = next((one for one in standings_at(hull) if one.plank == plank and one.fits), None)
    if standing is None:
        return ask.page("by_hand.html", hull=hull.name, plank=str(plank), fit=None, cuts=[], planed=False, **examples)
    with reading(hull.db_path) as connection:
        fit = queries.fit(connection, plank)
        asked = queries.advised_cuts(connection, fit.id)
        planed = bool(queries.cuts_after(connection, fit))
    cuts = [
        f"{span(cut['from_mm'], cut['to_mm'], hull, card=cut.get('from_card'))}: "
        f"{asked_depth(cut['deepest_mm'], hull)} at the deepest{counted(cut.get('from_card'))}"
        for cut in asked
    ]
    return ask.page(
        "by_hand.html",
        hull=hull.name,
        plank=str(plank),
        fit=fit.number,
        cuts=[] if planed else cuts,
        planed=planed,
        **examples,
    )


def planed(ask: Ask) -> Response:
    """Every cut that the latest fit asked for was made."""
    from fitcheck.fitlog.by_hand import record_advised_cuts

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    record_advised_cuts(hull.db_path, plank, units=hull.units, who=ask.named(), note=ask.text("note"))
    return then("/plank", plank=str(plank), done="planed")


def cut(ask: Ask) -> Response:
    """A cut as it was made."""
    from fitcheck.fitlog.by_hand import record_cut

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    record_cut(
        hull.db_path,
        plank,
        hull,
        from_mm=_place(ask, "from"),
        to_mm=_place(ask, "to"),
        deepest_mm=_length(ask, "depth"),
        who=ask.named(),
        note=ask.text("note"),
    )
    return then("/plank", plank=str(plank), done="planed")


def feeler(ask: Ask) -> Response:
    """A feeler blade, or a slip of paper, tried in the lap at one place or along a stretch."""
    from fitcheck.fitlog.by_hand import record_feeler

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    if ask.told.get("went") not in ("in", "not"):
        raise WrongCall("tell whether the blade went in or stayed out")
    from_mm = _place(ask, "from")
    to_mm = _place(ask, "to") if ask.text("to") else from_mm
    record_feeler(
        hull.db_path,
        plank,
        hull,
        from_mm=from_mm,
        to_mm=to_mm,
        blade_mm=_length(ask, "blade"),
        goes_in=ask.told["went"] == "in",
        who=ask.named(),
        note=ask.text("note"),
    )
    return then("/plank", plank=str(plank), done="felt")


def rule(ask: Ask) -> Response:
    """What a steel rule reads from edge to line at one place."""
    from fitcheck.fitlog.notes import record_note

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    if ask.told.get("lies") not in ("past", "short"):
        raise WrongCall("tell whether the edge is past the line or short of it")
    read_mm = _length(ask, "reads") * (1.0 if ask.told["lies"] == "past" else -1.0)
    record_note(
        hull.db_path,
        plank,
        hull,
        note=ask.text("note"),
        at_mm=_place(ask, "at"),
        past_line_mm=read_mm,
        who=ask.named(),
    )
    return then("/fit", plank=str(plank))


def note(ask: Ask) -> Response:
    """A note by itself."""
    from fitcheck.fitlog.notes import record_note

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    record_note(hull.db_path, plank, hull, note=ask.text("note"), who=ask.named())
    return then("/plank", plank=str(plank), done="noted")


def take_back(ask: Ask) -> Response:
    """A fit, a cut, a reading or a note entered by mistake."""
    from fitcheck.fitlog import withdraw
    from fitcheck.fitlog.notes import take_note_back

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    what, number = _one(ask.told.get("one", ""))
    told = {"who": ask.named(), "why": ask.text("why")}
    if what == "fit":
        withdraw.withdraw_fit(hull.db_path, plank, number=number, **told)
    elif what == "cut":
        withdraw.withdraw_cut(hull.db_path, plank, number=number, **told)
    elif what == "feeler":
        withdraw.withdraw_feeler(hull.db_path, plank, hull, number=number, **told)
    elif what == "note":
        take_note_back(hull.db_path, plank, number=number, **told)
    else:
        raise WrongCall("a fit, a cut, a reading or a note is taken back")
    return then("/plank", plank=str(plank), done="taken-back")


def _one(told: str) -> tuple[str, int]:
    """What is taken back, and its number, from text such as "cut 3"."""
    what, _, number = told.partition(" ")
    if not (number.isascii() and number.isdecimal() and len(number) < 10):
        raise WrongCall("what is taken back is told by its number")
    return what, int(number)


def _place(ask: Ask, name: str) -> float:
    from fitcheck.ground.tape_places import parse_place

    return parse_place(ask.text(name))


def _length(ask: Ask, name: str) -> float:
    from fitcheck.ground.lengths import parse_length

    return parse_length(ask.text(name))
