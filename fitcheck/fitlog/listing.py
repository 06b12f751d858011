"""Where every plank stands, and what needs doing next: from one row a plank, without reading samples."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fitcheck.advice.cut_depth import format_depth
from fitcheck.fitlog.judged_by import Terms, terms_of
from fitcheck.fitlog.store import is_begun, reading
from fitcheck.ground.lengths import format_length
from fitcheck.hull.plank_name import PlankName, planks_of

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

#: Where a plank can stand, in the order a plank goes through them.
STATES = (
    "not begun",
    "recut",
    "slide first",
    "short",
    "plane",
    "planed",
    "look again",
    "close the lap",
    "ready to sign",
    "signed",
)
#: A new plank is not said before at least this share of the plank was seen.
LEAST_SEEN = 0.5

_LATEST = """
SELECT p.id AS plank_id, p.strake, p.side, p.part, f.id AS latest_id, f.number, f.made_at, s.*,
    (SELECT count(*) FROM standing_fits WHERE plank_id = p.id) AS fits,
    EXISTS (SELECT 1 FROM standing_cuts WHERE plank_id = p.id AND rank >= f.rank) AS planed,
    (SELECT who || iif(overruled IS NULL, '', ', who overruled in writing what was missing') FROM signoffs
     WHERE plank_id = p.id AND opened_at IS NULL ORDER BY id DESC LIMIT 1) AS signed_by,
    (SELECT stood_on ->> '$.limits' FROM signoffs
     WHERE plank_id = p.id AND opened_at IS NULL ORDER BY id DESC LIMIT 1) AS signed_under
FROM planks p
LEFT JOIN standing_fits f ON f.id = (SELECT id FROM standing_fits WHERE plank_id = p.id ORDER BY rank DESC LIMIT 1)
LEFT JOIN summaries s ON s.fit_id = f.id
ORDER BY p.strake, p.side, p.part
"""


@dataclass(frozen=True)
class Standing:
    """Where one plank stands. ``summary`` is the latest fit's row of the table ``summaries``, empty without a fit."""

    plank: PlankName
    fits: int
    number: int | None
    made_at: str | None
    state: str
    todo: str
    summary: Mapping[str, Any]


def standings(connection: sqlite3.Connection, hull: Hull | None) -> list[Standing]:
    """Every plank of the hull and of the record, in the order of building."""
    found = {}
    for row in connection.execute(_LATEST).fetchall():
        name = PlankName(row["strake"], row["side"], row["part"])
        found[name] = _standing(connection, name, row, hull)
    listed = planks_of(hull) if hull else []
    # A plank that was named by mistake has nothing left on record once that is withdrawn.
    found = {name: standing for name, standing in found.items() if standing.fits or name in listed}
    for name in listed:
        found.setdefault(name, not_begun(name))
    order = {name: i for i, name in enumerate(listed)}
    return [found[name] for name in sorted(found, key=lambda name: (name.strake, order.get(name, len(order)), name))]


def standings_at(hull: Hull) -> list[Standing]:
    """Where every plank of a hull stands by the record beside its settings, which need not be begun yet."""
    if not is_begun(hull.db_path):
        return [not_begun(name) for name in planks_of(hull)]
    with reading(hull.db_path) as connection:
        return standings(connection, hull)


def every_fit(connection: sqlite3.Connection) -> list[sqlite3.Row]:
    """One row a fit, oldest first: plank, number, time, who, note, and the summary's columns."""
    return connection.execute(
        "SELECT p.strake, p.side, p.part, f.number, f.made_at, f.who, f.note, s.* FROM standing_fits f"
        " JOIN planks p ON p.id = f.plank_id JOIN summaries s ON s.fit_id = f.id ORDER BY f.rank, f.id"
    ).fetchall()


def share_seen(summary: Mapping[str, Any]) -> float:
    """The share of the lap's length whose edge has a number, 0 to 1; 0 where no photograph shows the edge."""
    if not summary or summary["from_mm"] is None:
        return 0.0
    return 1 - _length(summary, "hidden", "covered", "ambiguous", "unseen") / _whole(summary)


def _standing(connection: sqlite3.Connection, name: PlankName, row: sqlite3.Row, hull: Hull | None) -> Standing:
    terms = terms_of(name, hull)
    summary = dict(row)
    if row["number"] is not None and hull is not None and row["terms"] != terms.key():
        from fitcheck.fitlog.summary import summary_of

        summary |= summary_of(connection, row["latest_id"], terms)
    if summary["verdict"] == "slide first":
        summary["move"] = _move(connection, row["latest_id"], hull)
    state, todo = _state(summary, terms, hull)
    return Standing(
        plank=name,
        fits=row["fits"],
        number=row["number"],
        made_at=row["made_at"],
        state=state,
        todo=todo,
        summary=summary if row["number"] else {},
    )


def not_begun(name: PlankName) -> Standing:
    """A plank of which nothing counts yet."""
    return Standing(
        plank=name,
        fits=0,
        number=None,
        made_at=None,
        state="not begun",
        todo="clamp it dry and photograph the lap",
        summary={},
    )


def _state(row: Mapping[str, Any], terms: Terms, hull: Hull | None) -> tuple[str, str]:
    if row["signed_by"]:
        return "signed", f"signed off by {row['signed_by']}: may be fastened{_since(row, terms, hull)}"
    if row["number"] is None:
        return "not begun", "clamp it dry and photograph the lap"
    if row["planed"]:
        return "planed", "clamp it again and photograph the lap"
    if row["from_mm"] is None:
        return "look again", "photograph the lap square-on: this fit holds no photograph of the edge"
    edge = _edge_state(row, terms, hull)
    if edge is not None and edge[0] == "plane" and row["open_len_mm"] > 0:
        # Bevelling lets the plank lie closer and moves its edge: planed first, the edge would be planed twice.
        return "close the lap", f"{_open(row, hull)}: bevel first; the edge waits, past the line though it is"
    return edge or _lap_state(row, terms, hull)


def _since(row: Mapping[str, Any], terms: Terms, hull: Hull | None) -> str:
    """How today's limits stand beside those it was signed under."""
    if hull is None or not row["signed_under"]:
        return ""
    from json import loads

    from fitcheck.fitlog.limits import since_lines

    return "".join(f"; {line}" for line in since_lines(loads(row["signed_under"]), terms, hull))


def _edge_state(row: Mapping[str, Any], terms: Terms, hull: Hull | None) -> tuple[str, str] | None:
    if row["verdict"] == "slide first":
        return "slide first", f"{row['move']}, clamp it and photograph it again; plane nothing before that"
    if row["verdict"] in ("recut", "short") or row["short_len_mm"] > 0:
        return _short(row, terms, hull)
    if row["past_len_mm"] > 0:
        return "plane", _planing(row, hull)
    doubt_mm = _length(row, "unsure", "hidden", "covered", "ambiguous", "unseen")
    return ("look again", _looking(row, hull)) if doubt_mm > 0 or row["frame"] == "photo" else None


def _short(row: Mapping[str, Any], terms: Terms, hull: Hull | None) -> tuple[str, str]:
    """What is said of a plank that is short and that no advice moves; a new one only when enough of it was seen."""
    where = f"short over {_said(row['short_len_mm'], hull)}, which planing cannot mend"
    if row["verdict"] not in ("recut", "short"):
        return "short", f"{where}: slide the plank toward the keel and clamp again"
    whole = row["frame"] == "plank" and terms.to_mm is not None and share_seen(row) >= LEAST_SEEN
    if whole and row["verdict"] == "recut":
        return "recut", f"{where}, nor any slide that was tried: a new plank"
    if not whole:
        return "short", f"{where}: photograph the rest of the lap before it is given up"
    past = f" and plane nothing of the {_said(row['past_len_mm'], hull)} past the line" if row["past_len_mm"] else ""
    return "short", f"{where}, nor any slide that was tried: settle that first{past}"


def _move(connection: sqlite3.Connection, fit_id: int, hull: Hull | None) -> str:
    """The move a fit asks for first, as an instruction in the hull's units."""
    from fitcheck.advice.planing.planing_words import Say, move_words
    from fitcheck.advice.planing.slide_and_swing import Move
    from fitcheck.fitlog.queries import advice_of, move_first

    advice = move_first(advice_of(connection, fit_id)) or {}
    move = Move(*(float(advice.get(key) or 0.0) for key in ("slide_mm", "swing_mm_per_m", "about_mm")))
    say = Say(hull.units if hull else "in", hull.fraction if hull else 32)
    return move_words(say, move, reach_mm=float(advice.get("reach_mm") or 0.0), on_plank=True) or "move the plank"


def _lap_state(row: Mapping[str, Any], terms: Terms, hull: Hull | None) -> tuple[str, str]:
    if terms.to_mm is None:
        return "look again", "tell the plank's ends (from, to) in fitcheck.toml, so that its whole length can be judged"
    if row["open_len_mm"] > 0:
        return "close the lap", f"{_open(row, hull)}: see to the bevel, then clamp again"
    doubt_mm = row["lap_doubt_len_mm"]
    if doubt_mm is None or doubt_mm > 0:
        return "close the lap", "look at the lap edge-on (fitcheck gap), or try a feeler along it"
    return "ready to sign", "sign it off: fitcheck log sign"


def _open(row: Mapping[str, Any], hull: Hull | None) -> str:
    return f"the lap is open over {_said(row['open_len_mm'], hull)}"


def _planing(row: Mapping[str, Any], hull: Hull | None) -> str:
    where = f"past the line over {_said(row['past_len_mm'], hull)}"
    if not row["cuts"] or row["deepest_mm"] is None:
        return f"{where}: plane there"
    deepest = format_depth(row["deepest_mm"], hull.units if hull else "in")
    return f"{where}: {row['cuts']} cut{'s' if row['cuts'] > 1 else ''}, deepest {deepest}"


def _looking(row: Mapping[str, Any], hull: Hull | None) -> str:
    if row["frame"] == "photo":
        return "photograph it with station cards, or tell where the reference lay (--at): the places are not known"
    found = {
        "unseen": row["unseen_len_mm"],
        "covered": row["covered_len_mm"],
        "hidden": row["hidden_len_mm"],
        "ambiguous": row["ambiguous_len_mm"],
        "unsure": row["unsure_len_mm"],
    }
    words = [f"{_said(length, hull)} {why}" for why, length in found.items() if length > 0]
    mend = "; move the clamps and photograph again" if row["covered_len_mm"] > 0 else "; photograph again"
    return ", ".join(words) + mend


def _length(row: Mapping[str, Any], *words: str) -> float:
    return float(sum(row[f"{word}_len_mm"] for word in words))


def _whole(row: Mapping[str, Any]) -> float:
    words = ("past", "short", "on", "unsure", "hidden", "covered", "ambiguous", "unseen")
    return _length(row, *words) or 1.0


def _said(length_mm: float, hull: Hull | None) -> str:
    """A length along the plank, in round figures."""
    units, tape = (hull.units, hull.tape_style) if hull else ("in", "")
    return format_length(length_mm, units=units, fraction=4, decimals=0, tape=tape)
