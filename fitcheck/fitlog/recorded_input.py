"""A measurement, as ``measure --json`` or ``gap --json`` writes it, checked and made ready for the record."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fitcheck.contract.measurement import STATES_WITH_VALUE, STATES_WITHOUT_VALUE
from fitcheck.fitlog.recorded_parts import from_card
from fitcheck.ground.refusal import WrongCall

GAP_STATES = ("open", "closed", "unsure", "covered")
_PLACES, _EDGE_PX, _WORDS = ("place_mm", "along_mm", "plank_mm"), ("edge_u_px", "edge_v_px"), ("flags", "photos")
_GAP = ("gap_mm", "gap_u95_mm", "proud_mm", "proud_u95_mm")
#: Columns of the tables ``samples`` and ``gap_samples``, after the take and the count.
SAMPLE_COLUMNS = (*_PLACES, "past_line_mm", "u95_mm", "state", *_EDGE_PX, "line_u_px", "line_v_px", *_WORDS)
GAP_COLUMNS = (*_PLACES, *_GAP, "state", *_EDGE_PX, *_WORDS)


@dataclass(frozen=True)
class Take:
    """One measured set of photographs, ready to be recorded.

    ``kind`` is "edge" or "gap"; ``frame`` "plank" where places along the plank are known, else "photo": places then
    count from the reference, or from the lowest card of a part that nothing ties to card 0. ``rows`` hold
    the samples in the order of :data:`SAMPLE_COLUMNS` or :data:`GAP_COLUMNS`; ``document`` is all the rest of the
    measurement.
    """

    kind: str
    frame: str
    at_mm: float | None
    rows: list[tuple[Any, ...]]
    document: dict[str, Any]
    advice: dict[str, Any] | None
    digest: str

    def places_mm(self) -> list[float]:
        """The samples' places in the take's own frame."""
        return [float(row[0]) for row in self.rows]

    def part(self, key: str) -> str | None:
        """One part of the measurement as JSON text, None where it has none."""
        value = self.document.get(key)
        return None if value is None else as_text(value)


def read_take(measurement: Mapping[str, Any], *, at_mm: float | None = None, along_sign: int = 1) -> Take:
    """Check a measurement and lay out its samples.

    ``at_mm`` tells where along the plank the reference's centre lay, for a photograph without station cards, and
    ``along_sign`` whether places along the plank rise (1) or fall (-1) with ``along_mm``. Raises :class:`WrongCall` for
    what cannot be recorded: a refused measurement, one without samples, a number that is none, an unknown state.
    """
    if measurement.get("state") != "measured":
        raise WrongCall("only a measurement is recorded, and this one was refused")
    samples = measurement.get("samples")
    if not isinstance(samples, list) or not samples or not all(isinstance(sample, Mapping) for sample in samples):
        raise WrongCall("the measurement has no samples to record")
    kind = "gap" if "gap_mm" in samples[0] else "edge"
    on_plank = [sample.get("plank_mm") is not None for sample in samples]
    if any(on_plank) and not all(on_plank):
        raise WrongCall("some samples have a place along the plank and others have none")
    tied = on_plank[0] and from_card(measurement) == 0
    frame = "plank" if tied or (at_mm is not None and not on_plank[0]) else "photo"
    lay_out = _gap_row if kind == "gap" else _edge_row
    rows = [lay_out(sample, _place(sample, at_mm, along_sign)) for sample in samples]
    try:
        text = as_text(measurement)
    except (TypeError, ValueError) as error:
        raise WrongCall(f"the measurement cannot be written as JSON: {error}") from error
    document = {key: value for key, value in measurement.items() if key != "samples"}
    advice = advice_at(kind, document, None if on_plank[0] else at_mm, along_sign)
    return Take(
        kind=kind,
        frame=frame,
        at_mm=at_mm,
        rows=rows,
        document=document,
        advice=advice,
        digest=hashlib.sha256(text.encode()).hexdigest(),
    )


def advice_at(kind: str, document: Mapping[str, Any], at_mm: float | None, along_sign: int) -> dict[str, Any] | None:
    """What a measurement of ``kind`` "edge" or "gap" advises, its places along the plank where ``at_mm`` tells them."""
    if kind == "gap":
        return gap_advice(document, at_mm, along_sign)
    return _advice(document.get("planing"), at_mm, along_sign)


def gap_advice(document: Mapping[str, Any], at_mm: float | None, along_sign: int) -> dict[str, Any] | None:
    """Which bevel to plane and the step against its gains, as an edge-on view advises, its places along the plank where
    ``at_mm`` tells them; None where it advises nothing."""
    bevel, gains = document.get("bevel"), document.get("gains") or []
    if not isinstance(bevel or {}, Mapping) or not all(isinstance(gain, Mapping) for gain in gains):
        raise WrongCall("the measurement's advice on the lap cannot be read")
    runs = [_span(run, at_mm, along_sign) for run in (bevel or {}).get("runs") or []]
    runs.sort(key=lambda run: float(run["from_mm"]))
    told = [_gain(gain, at_mm, along_sign) for gain in gains]
    if not runs and not told:
        return None
    return {"bevel": {**bevel, "runs": runs} if bevel else None, "gains": told}


def _gain(gain: Mapping[str, Any], at_mm: float | None, along_sign: int) -> dict[str, Any]:
    if at_mm is None:
        return dict(gain)
    moved = {key: [_span(run, at_mm, along_sign) for run in gain.get(key) or []] for key in ("take_off", "over_cut")}
    profile = sorted([at_mm + along_sign * row[0], *row[1:]] for row in gain.get("profile") or [])
    return {**gain, **moved, "end_mm": at_mm + along_sign * (_number(gain, "end_mm") or 0.0), "profile": profile}


def as_text(value: Any) -> str:
    """``value`` as JSON text that is the same for the same content. Raises ValueError for numbers JSON cannot hold."""
    return json.dumps(value, ensure_ascii=True, allow_nan=False, sort_keys=True, separators=(",", ":"))


def _edge_row(sample: Mapping[str, Any], place_mm: float) -> tuple[Any, ...]:
    state = sample.get("state")
    past_mm, u95_mm = _number(sample, "past_line_mm"), _number(sample, "u95_mm")
    if state not in STATES_WITH_VALUE + STATES_WITHOUT_VALUE:
        raise WrongCall(f"a sample's state {state!r} is not known")
    if (past_mm is None or u95_mm is None) if state in STATES_WITH_VALUE else past_mm is not None:
        raise WrongCall(f"a sample is {state!r}, which does not go with its numbers")
    u95_mm = None if past_mm is None else u95_mm
    places = (_number(sample, "along_mm"), _number(sample, "plank_mm"))
    return (
        place_mm,
        *places,
        past_mm,
        u95_mm,
        state,
        *_pair(sample, "edge_px"),
        *_pair(sample, "line_px"),
        *_words(sample),
    )


def _gap_row(sample: Mapping[str, Any], place_mm: float) -> tuple[Any, ...]:
    state = sample.get("state")
    if state not in GAP_STATES:
        raise WrongCall(f"a sample's state {state!r} is not known")
    sizes = tuple(_number(sample, key) for key in ("gap_mm", "gap_u95_mm", "proud_mm", "proud_u95_mm"))
    if state in ("open", "closed") and None in sizes[:2]:
        raise WrongCall(f"a sample is {state!r} without a gap and its uncertainty")
    places = (_number(sample, "along_mm"), _number(sample, "plank_mm"))
    return (place_mm, *places, *sizes, state, *_pair(sample, "edge_px"), *_words(sample))


def _place(sample: Mapping[str, Any], at_mm: float | None, along_sign: int) -> float:
    plank_mm, along_mm = _number(sample, "plank_mm"), _number(sample, "along_mm")
    if plank_mm is not None:
        return plank_mm
    if along_mm is None:
        raise WrongCall("a sample has no place: neither along_mm nor plank_mm")
    return along_mm if at_mm is None else at_mm + along_sign * along_mm


def _advice(planing: object, at_mm: float | None, along_sign: int) -> dict[str, Any] | None:
    """The planing advice, its places along the plank where ``at_mm`` tells them; a cut must have ends and depth."""
    if planing is None:
        return None
    if not isinstance(planing, Mapping):
        raise WrongCall("the measurement's planing advice cannot be read")
    advice = dict(planing)
    for key in ("cuts", "might_plane", "short", "short_now", "unseen", "unsure"):
        if advice.get(key):
            advice[key] = [_span(span, at_mm, along_sign) for span in advice[key]]
    for cut in advice.get("cuts") or []:
        if _number(cut, "deepest_mm") is None:
            raise WrongCall("a cut of the planing advice has no depth")
    if at_mm is not None:
        if advice.get("swing_mm_per_m") is not None:
            advice["swing_mm_per_m"] = along_sign * advice["swing_mm_per_m"]
        if advice.get("about_mm") is not None:
            advice["about_mm"] = at_mm + along_sign * advice["about_mm"]
    return advice


def _span(span: Mapping[str, Any], at_mm: float | None, along_sign: int) -> dict[str, Any]:
    ends = (_number(span, "from_mm"), _number(span, "to_mm"))
    if None in ends:
        raise WrongCall("a stretch of the planing advice has no ends")
    if at_mm is None:
        return dict(span)
    from_mm, to_mm = sorted(at_mm + along_sign * (end or 0.0) for end in ends)
    profile = sorted([at_mm + along_sign * at, depth] for at, depth in span.get("profile") or [])
    moved = {"from_mm": from_mm, "to_mm": to_mm} | ({"profile": profile} if profile else {})
    at = _number(span, "at_mm")
    return {**span, **moved} | ({} if at is None else {"at_mm": at_mm + along_sign * at})


def _number(sample: Mapping[str, Any], key: str) -> float | None:
    value = sample.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise WrongCall(f"a sample's {key} is {value!r}, which is no number")
    if key.endswith("u95_mm") and value < 0:
        raise WrongCall(f"a sample's {key} is {value!r}, and an uncertainty is not below zero")
    return float(value)


def _pair(sample: Mapping[str, Any], key: str) -> tuple[float | None, float | None]:
    pair = sample.get(key)
    if pair is None:
        return None, None
    if not isinstance(pair, (list, tuple)) or len(pair) != 2:
        raise WrongCall(f"a sample's {key} is {pair!r}, which is no place (u, v)")
    return _number({key: pair[0]}, key), _number({key: pair[1]}, key)


def _words(sample: Mapping[str, Any]) -> tuple[str, str]:
    return as_text(list(sample.get("flags") or [])), as_text(list(sample.get("photos") or []))
