"""What the builder enters by hand: cuts made, feeler readings."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.advice.cut_depth import told_cut
from fitcheck.fitlog import queries
from fitcheck.fitlog.chain import seal
from fitcheck.fitlog.clock import now
from fitcheck.fitlog.ends import need_on_plank
from fitcheck.fitlog.judged_by import terms_of
from fitcheck.fitlog.recorded_input import as_text
from fitcheck.fitlog.recorded_parts import untied_cards
from fitcheck.fitlog.store import writing
from fitcheck.fitlog.summary import refresh
from fitcheck.ground.refusal import WrongCall
from fitcheck.ground.small_lengths import format_blade
from fitcheck.hull.plank_name import PlankName

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

#: No one takes more off a plank's edge in one go than this.
MOST_CUT_MM = 50.0
#: Feeler gauges end at about 1 mm; a lap open by more than 1/8 in needs no feeler (common practice, no source).
MOST_BLADE_MM = 25.4 / 8
PAPER_MM = 0.1


def record_cut(
    db_path: Path,
    plank: PlankName,
    hull: Hull | None = None,
    *,
    from_mm: float,
    to_mm: float,
    deepest_mm: float,
    profile: Sequence[Sequence[float]] | None = None,
    from_card: int | None = None,
    who: str | None = None,
    note: str = "",
) -> None:
    """Record wood planed off a plank after its latest fit; it opens a sign-off again.

    ``profile`` is [[at_mm, depth_mm], ...]; without it the cut is taken as even. Places count from ``from_card``, which
    may be another than card 0 only where the latest fit has a part that counts from it. Raises :class:`WrongCall` for
    ends or a depth that cannot be, for places beyond the ends that ``hull`` tells of the plank, or where no fit of it
    is on record.
    """
    if to_mm <= from_mm:
        raise WrongCall("a cut ends beyond its beginning: give --from and --to along the tape")
    if not 0 < deepest_mm <= MOST_CUT_MM:
        raise WrongCall(f"a cut is deeper than nothing and at most {_size(MOST_CUT_MM, hull)} deep")
    if not from_card:  # nobody knows where the ends of the plank lie from another card
        need_on_plank(plank, hull, from_mm, to_mm, "this cut")
    with writing(db_path) as connection:
        fit = queries.fit(connection, plank)
        _need_card(connection, fit, from_card)
        row = (queries.plank_id(connection, plank), fit.id, now(), who, note)
        ends = (from_mm, to_mm, deepest_mm, None if profile is None else as_text(profile))
        _put_cut(connection, (*row, *ends), from_card=from_card or None)


def record_advised_cuts(
    db_path: Path, plank: PlankName, *, units: str = "in", who: str | None = None, note: str = ""
) -> list[dict[str, Any]]:
    """Record every cut the latest fit asked for as made, and give them back.

    They go on record as deep as ticket and strip told them in ``units``, the hull's: rounded down to the finest mark.
    Raises :class:`WrongCall` where that fit asked for none, or where a cut was recorded after it already.
    """
    with writing(db_path) as connection:
        fit = queries.fit(connection, plank)
        asked = [told_cut(cut, units) for cut in queries.advised_cuts(connection, fit.id)]
        if not asked and queries.move_first(queries.advice_of(connection, fit.id)) is not None:
            raise WrongCall(
                f"fit {fit.number} of {plank} asks to move the plank first, and for no cut: move it, clamp it and "
                "photograph it again; what was planed all the same is told with --from, --to and --depth"
            )
        if not asked:
            raise WrongCall(
                f"fit {fit.number} of {plank} asked for no cut: tell what was planed with --from, --to and --depth"
            )
        if queries.cuts_after(connection, fit):
            raise WrongCall(f"cuts after fit {fit.number} of {plank} are on record already")
        row = (queries.plank_id(connection, plank), fit.id, now(), who, note)
        for cut in asked:
            if cut["deepest_mm"] > 0:
                ends = (cut["from_mm"], cut["to_mm"], cut["deepest_mm"], _profile_text(cut))
                _put_cut(connection, (*row, *ends), from_card=cut.get("from_card") or None)
    return asked


def record_feeler(
    db_path: Path,
    plank: PlankName,
    hull: Hull | None,
    *,
    from_mm: float,
    to_mm: float,
    blade_mm: float,
    goes_in: bool,
    who: str | None = None,
    note: str = "",
) -> None:
    """Record a feeler blade, or a slip of paper, tried in the lap of the latest fit; at one place both ends are one.

    A blade that goes in opens a sign-off again. Raises :class:`WrongCall` where ends or blade cannot be, for places
    beyond the ends that ``hull`` tells of the plank, where no fit is on record, or where the plank was planed since.
    """
    if to_mm < from_mm:
        raise WrongCall("a stretch ends at or beyond its beginning: give --at, or --from and --to along the tape")
    if not 0 < blade_mm <= MOST_BLADE_MM:
        raise WrongCall(
            f"no feeler blade is {_size(blade_mm, hull)} thick: it is more than nothing and at most "
            f"{_size(MOST_BLADE_MM, hull)}; a slip of paper is about {_size(PAPER_MM, hull)}"
        )
    need_on_plank(plank, hull, from_mm, to_mm, "this reading")
    with writing(db_path) as connection:
        fit = queries.fit(connection, plank)
        if queries.cuts_after(connection, fit):
            raise WrongCall(
                f"{plank} was planed after fit {fit.number}: clamp it again and photograph it, then try the lap"
            )
        felt = connection.execute(
            "INSERT INTO feelers (fit_id, made_at, who, from_mm, to_mm, blade_mm, goes_in, note)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (fit.id, now(), who, from_mm, to_mm, blade_mm, int(goes_in), note),
        )
        seal(connection, what="feeler", row_id=int(felt.lastrowid or 0))
        refresh(connection, fit.id, terms_of(plank, hull))


def _need_card(connection: sqlite3.Connection, fit: queries.Fit, from_card: int | None) -> None:
    """Raise :class:`WrongCall` for a card that no part of the fit counts from."""
    cards = untied_cards(connection, fit.id)
    if not from_card or from_card in cards:
        return
    named = f"card 0 or card {' or '.join(map(str, cards))}" if cards else "card 0 alone"
    raise WrongCall(f"places of fit {fit.number} of {fit.plank} count from {named}, not from card {from_card}")


def _put_cut(connection: sqlite3.Connection, row: tuple[Any, ...], *, from_card: int | None = None) -> None:
    cut = connection.execute(
        "INSERT INTO cuts (plank_id, fit_id, made_at, who, note, from_mm, to_mm, deepest_mm, profile, from_card)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (*row, from_card),
    )
    seal(connection, what="cut", row_id=int(cut.lastrowid or 0))


def _size(mm: float, hull: Hull | None) -> str:
    return format_blade(mm, units=hull.units if hull else "in")


def _profile_text(cut: dict[str, Any]) -> str | None:
    return as_text(cut["profile"]) if cut.get("profile") else None
