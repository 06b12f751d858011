"""May the plank be fastened? What is still missing, and the builder's signature.

What is asked for is geometry where it was photographed, on a dry clamped plank: not strength, not watertightness. The
signature is the builder's judgement; local rules and a licensed surveyor go before it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.fitlog import queries
from fitcheck.fitlog.chain import check, seal
from fitcheck.fitlog.clock import now
from fitcheck.fitlog.connection import Damaged
from fitcheck.fitlog.fit_profile import Run, Sample, runs
from fitcheck.fitlog.grounds import grounds
from fitcheck.fitlog.judged_by import Terms, terms_of
from fitcheck.fitlog.limits import looser_lines
from fitcheck.fitlog.recorded_input import as_text
from fitcheck.fitlog.recorded_parts import untied_cards
from fitcheck.fitlog.store import writing
from fitcheck.fitlog.summary import lap_of, profiles_of
from fitcheck.ground.refusal import Reason, Refused, WrongCall
from fitcheck.ground.tape_places import format_place
from fitcheck.hull.plank_name import PlankName

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

_EDGE_WORDS = {
    "past": ("past-limit", "the edge is past the line by more than the limit", "plane it"),
    "short": ("short-limit", "the edge is short of the line by more than the limit", "slide or recut the plank"),
    "unsure": ("unsure", "it is unsure whether the edge is inside the limit", "photograph closer and squarer"),
    "hidden": ("hidden", "the line is not in sight", "strike a witness line, or photograph from the keel side"),
    "covered": ("covered", "clamps cover the edge", "move the clamps and add photographs to this fit (--same-fit)"),
    "ambiguous": ("ambiguous", "edge or line could be more than one thing", "photograph again, or point the line out"),
    "unseen": ("unseen", "no photograph shows it", "add photographs to this fit (--same-fit)"),
}
_LAP_WORDS = {
    "open": ("lap-open", "the lap is open by more than the limit", "see to the bevel and clamp again"),
    "unsure": ("lap-unsure", "it is unsure whether the lap is closed within the limit", "try a feeler there"),
    "eased": (
        "corner-eased",
        "the plank's inner corner is, or may be, eased, and no photograph tells that from a lap so little open",
        "a feeler decides here",
    ),
    "unseen": ("lap-unseen", "no one has seen the lap closed", "photograph it edge-on (fitcheck gap), or try a feeler"),
}


@dataclass(frozen=True)
class Signed:
    """What was signed: the fit, by whom, what the builder overruled, and which limits were looser than this hull's
    usual."""

    plank: PlankName
    fit_number: int
    who: str
    overruled: str | None
    missing: tuple[Reason, ...]
    looser: tuple[str, ...] = ()


def missing(connection: sqlite3.Connection, plank: PlankName, hull: Hull | None) -> list[Reason]:
    """All that keeps the latest fit of a plank from being signed off, place by place; nothing where it may be.

    Raises :class:`WrongCall` where no fit is on record.
    """
    fit = queries.fit(connection, plank)
    terms = terms_of(plank, hull)
    found = []
    if queries.cuts_after(connection, fit):
        found.append(Reason("planed", f"It was planed after fit {fit.number}: clamp it again and photograph it."))
    if terms.to_mm is None:
        text = "The plank's ends are not told: write 'from' and 'to' of this strake into fitcheck.toml."
        found.append(Reason("ends-not-told", text))
    for card in untied_cards(connection, fit.id):
        text = (
            f"Nothing tells where along the plank the places counted from card {card} lie: photograph it whole, two "
            "cards in each photograph, and measure all in one call, or tell the cards' places with --stations."
        )
        found.append(Reason("part-untied", text))
    frame, profiles = profiles_of(connection, fit.id, terms)
    if frame == "photo":
        text = "The places along the plank are not known: photograph with station cards, or record with --at."
        return [*found, Reason("places-not-known", text)]
    edge = profiles[0] if profiles else []
    if not edge:
        return [*found, Reason("edge-unseen", f"Fit {fit.number} holds no photograph of the edge.")]
    found += _told(runs(edge), _EDGE_WORDS, hull)
    found += _lap_left(edge, terms, hull)
    lap = lap_of(connection, fit.id, terms, edge)
    words = ["eased" if place.eased and place.state == "unsure" else place.state for place in lap]
    found += _told(runs(lap, words), _LAP_WORDS, hull)
    return found


def sign(db_path: Path, plank: PlankName, hull: Hull | None, *, who: str, overrule: str | None = None) -> Signed:
    """Sign the latest fit of a plank off, if nothing is missing, or where the builder overrules in writing what is.

    What it stands on is kept with it.

    Raises :class:`Refused` with all that is missing, :class:`WrongCall` without a name, or where it is signed already.
    """
    if not who.strip():
        raise WrongCall("say who signs: --who NAME")
    if overrule is not None and not overrule.strip():
        raise WrongCall("overruling asks for the reason in writing: --overrule 'why'")
    with writing(db_path) as connection:
        fit = queries.fit(connection, plank)
        earlier = queries.signoffs(connection, plank)
        if earlier and earlier[-1].opened_at is None:
            raise WrongCall(f"{plank} is signed off already, by {earlier[-1].who} after fit {earlier[-1].fit_number}")
        _need_as_written(connection, plank, fit.id)
        reasons = missing(connection, plank, hull)
        if reasons and overrule is None:
            lines = [f"  - {reason.text}" for reason in reasons]
            raise Refused("not-ready", "\n".join([f"{plank} may not be signed off yet:", *lines]))
        why, texts = (overrule, as_text([reason.text for reason in reasons])) if reasons else (None, None)
        stood_on = grounds(connection, fit, terms_of(plank, hull))
        signed = connection.execute(
            "INSERT INTO signoffs (plank_id, fit_id, signed_at, who, overruled, missing, stood_on)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            (queries.plank_id(connection, plank), fit.id, now(), who.strip(), why, texts, as_text(stood_on)),
        )
        seal(connection, what="signing", row_id=int(signed.lastrowid or 0))
    looser = looser_lines(stood_on["limits"], stood_on["usual"], hull)
    return Signed(plank, fit.number, who.strip(), why, tuple(reasons), tuple(looser))


def _need_as_written(connection: sqlite3.Connection, plank: PlankName, fit_id: int) -> None:
    """Nothing is signed on what another hand changed, and nothing overrules that."""
    troubles = check(connection, plank_id=queries.plank_id(connection, plank), fits=(fit_id,))
    if troubles:
        lines = [f"  - {trouble}" for trouble in troubles]
        what = f"{plank} is not signed off: the record of it is not as it was written (fitcheck log check):"
        raise Damaged("\n".join([what, *lines]))


def _lap_left(edge: Sequence[Sample], terms: Terms, hull: Hull | None) -> list[Reason]:
    """Where the edge is so short that less lap is left than the hull asks for, as far as the doubt allows to say."""
    if terms.least_lap_mm is None or terms.lap_mm is None:
        return []
    spare_mm = terms.lap_mm - terms.least_lap_mm

    def enough(place: Sample) -> str:
        if place.past_line_mm is None or place.u95_mm is None:
            return "enough"
        return "enough" if spare_mm + place.past_line_mm - place.u95_mm >= 0 else "little"

    words = {"little": ("lap-little", "less lap may be left than the least allowed", "recut, or a wider plank")}
    return _told(runs(edge, [enough(place) for place in edge]), words, hull)


def _told(found: Sequence[Run], words: dict[str, tuple[str, str, str]], hull: Hull | None) -> list[Reason]:
    reasons = []
    for run in found:
        if run.word in words:
            code, what, mend = words[run.word]
            first, last = _place(run.from_mm, hull), _place(run.to_mm, hull)
            where = first if first == last else f"{first} to {last}"
            reasons.append(Reason(code, f"{where}: {what}; {mend}."))
    return reasons


def _place(place_mm: float, hull: Hull | None) -> str:
    units, tape = (hull.units, hull.tape_style) if hull else ("in", "")
    return format_place(place_mm, units=units, tape=tape)
