"""Pictures of a plank's history: its fits in one chart, how the worst place fell, the two sides of a strake."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from itertools import groupby
from textwrap import fill
from typing import TYPE_CHECKING, Any

from fitcheck.fitlog.fit_profile import VALUED, Sample
from fitcheck.ground.lengths import INCH_MM, format_length
from fitcheck.report.drawing.palette import BLUE, GREY, SKY, VERMILION, hex_of

if TYPE_CHECKING:
    from fitcheck.fitlog.history import History
    from fitcheck.fitlog.twin import Twin
    from fitcheck.hull.settings_file import Hull

#: Letters of 12 px where a phone shows a chart as wide as its page, as those of the report's charts.
WIDE_IN, LOW_IN, LETTERS_PT = (6.6, 5.4), (6.6, 4.4), 15.5
#: So many places and sizes find room beside each other.
MOST_PLACES, MOST_SIZES = 4, 3.0
#: Dashes of earlier fits, the second cue beside their colour.
DASHES = ((0, (1, 1.2)), (0, (3, 1.2)), (0, (6, 1.5)), (0, (6, 1.2, 1, 1.2)))


def history_chart(history: History, hull: Hull, *, kind: str = "svg") -> bytes | None:
    """Past and short along the plank, fit after fit, as "svg" or "png"; None where no places are known.

    Past lies below the line, as in a picture with the keel down. The latest fit is drawn bold with its 95 % band,
    earlier ones thin and dashed; what the latest fit does not show is hatched, and the legend says why.
    """
    fits = history.profiled()
    if not fits:
        return None
    figure, axes = _figure(WIDE_IN)
    reach = _reach([place for past in fits for place in past.profile], history.terms.limit_mm)
    _frame(axes, history.terms.limit_mm, reach, hull)
    for i, past in enumerate(fits[:-1]):
        colour = str(0.62 - 0.4 * i / max(1, len(fits) - 2)) if len(fits) > 2 else "0.35"
        _curve(axes, past.profile, label=f"fit {past.fit.number}", color=colour, linewidth=1.5, linestyle=DASHES[i % 4])
    latest = fits[-1]
    _band(axes, latest.profile)
    _curve(axes, latest.profile, label=f"fit {latest.fit.number}, the latest", color=hex_of(BLUE), linewidth=2.8)
    _hatch_unseen(axes, latest.profile)
    _places(axes, hull, [place.place_mm for past in fits for place in (past.profile[0], past.profile[-1])])
    _legend(axes, figure)
    _title(axes, f"{hull.name}, plank {history.plank}: edge to line")
    return _saved(figure, kind)


def worst_chart(history: History, hull: Hull, *, kind: str = "svg") -> bytes:
    """The place furthest past the line and the one furthest short, fit after fit, with their doubt and the limit."""
    figure, axes = _figure(LOW_IN)
    limit_mm = history.terms.limit_mm
    # In the order of time, which is that of their numbers but where a fit was moved here.
    places = range(len(history.fits))
    top_mm = limit_mm
    for name, colour, marker, aside, words in (
        ("worst_past", VERMILION, "s", -0.06, "furthest past the line"),
        ("worst_short", BLUE, "o", 0.06, "furthest short of it"),
    ):
        values = [abs(past.summary[f"{name}_mm"] or 0.0) for past in history.fits]
        doubts = [past.summary[f"{name}_u95_mm"] or 0.0 for past in history.fits]
        top_mm = max([top_mm, *(value + doubt for value, doubt in zip(values, doubts, strict=True))])
        at = [place + aside for place in places]
        style = {"color": hex_of(colour), "marker": marker, "markersize": 8, "linewidth": 2, "capsize": 5}
        axes.errorbar(at, values, yerr=doubts, label=words, **style)
    axes.axhline(limit_mm, color="black", linestyle=(0, (5, 3)), linewidth=1.2)
    axes.annotate(
        "limit",
        (1.0, limit_mm),
        xycoords=("axes fraction", "data"),
        xytext=(4, -4),
        textcoords="offset points",
        fontsize=LETTERS_PT,
    )
    axes.set_ylim(0, top_mm * 1.1)
    axes.set_xlim(-0.5, len(places) - 0.5)
    marked = places[:: max(1, len(places) // 12)]
    axes.set_xticks(marked, [str(history.fits[place].fit.number) for place in marked])
    axes.set_xlabel("fit")
    axes.set_ylabel("edge to line")
    _sizes(axes, hull, top_mm, lambda mm: _size(mm, hull))
    axes.grid(axis="y", color="0.88")
    axes.set_axisbelow(True)
    _legend(axes, figure)
    _title(axes, "The worst place, fit after fit")
    return _saved(figure, kind)


def twin_chart(twin: Twin, hull: Hull, *, kind: str = "svg") -> bytes:
    """Both sides of a strake as seen from the bow: the bow in the middle, starboard to the left, port to the right."""
    figure, axes = _figure(WIDE_IN)
    limit_mm = hull.limits.edge_mm
    reach = _reach([*twin.port_profile, *twin.starboard_profile], limit_mm)
    _frame(axes, limit_mm, reach, hull)
    mirrored = [Sample(-s.place_mm, s.past_line_mm, s.u95_mm, s.state) for s in reversed(twin.starboard_profile)]
    shadows = [Sample(-s.place_mm, s.past_line_mm, s.u95_mm, s.state) for s in reversed(twin.port_profile)]
    for profile, ghost in ((mirrored, shadows), (list(twin.port_profile), list(twin.starboard_profile))):
        _band(axes, profile)
        _curve(axes, profile, color=hex_of(BLUE), linewidth=2.6, label="this side")
        _curve(axes, ghost, color="0.45", linewidth=1.4, linestyle=DASHES[1], label="the other side, mirrored")
    for stretch in twin.changed:
        for sign in (-1, 1):
            ends = sorted((sign * stretch.from_mm, sign * stretch.to_mm))
            named = "surely not alike" not in axes.get_legend_handles_labels()[1]
            label = "surely not alike" if named else None
            axes.axvspan(*ends, facecolor=hex_of(SKY), alpha=0.3, hatch="..", edgecolor="0.4", zorder=0.4, label=label)
    axes.axvline(0.0, color="black", linewidth=1)
    span = max(abs(s.place_mm) for s in (*twin.port_profile, *twin.starboard_profile))
    _places(axes, hull, [-span, span], mirrored=True)
    for side, at in (("starboard", 0.25), ("port", 0.75)):
        # Above the axes: no words lie over a curve.
        axes.text(at, 1.02, side, transform=axes.transAxes, ha="center", va="bottom", fontsize=LETTERS_PT)
    _legend(axes, figure)
    _title(axes, f"{hull.name}, strake {twin.port.plank.strake}: the two sides, seen from the bow", pad=28)
    return _saved(figure, kind)


def _figure(size_in: tuple[float, float]) -> tuple[Any, Any]:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=size_in, layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.tick_params(labelsize=LETTERS_PT)
    for named in (axes.xaxis.label, axes.yaxis.label):
        named.set_fontsize(LETTERS_PT)
    return figure, axes


def _saved(figure: Any, kind: str) -> bytes:
    """The figure's bytes; no date and fixed ids, so that the same record gives the same file."""
    from matplotlib import rc_context

    held = io.BytesIO()
    with rc_context({"svg.hashsalt": "fitcheck", "svg.fonttype": "none", "hatch.linewidth": 1.0}):
        figure.savefig(held, format=kind, dpi=150, metadata={"Date": None} if kind == "svg" else {"Software": None})
    return held.getvalue()


def _frame(axes: Any, limit_mm: float, reach_mm: float, hull: Hull) -> None:
    axes.axhline(0.0, color="black", linewidth=1.6)
    for side in (1, -1):
        axes.axhline(side * limit_mm, color="black", linestyle=(0, (5, 3)), linewidth=1.1)
    at = (1.0, limit_mm)
    axes.annotate(
        "limit", at, xycoords=("axes fraction", "data"), xytext=(4, -4), textcoords="offset points", fontsize=LETTERS_PT
    )
    axes.set_ylim(reach_mm, -reach_mm)
    axes.set_ylabel("edge to line")
    _sizes(axes, hull, reach_mm, lambda mm: _past(mm, hull))
    axes.grid(axis="y", color="0.9")
    axes.set_axisbelow(True)


def _curve(axes: Any, profile: Sequence[Sample], *, label: str, **style: Any) -> None:
    for run in _seen(profile):
        already = label in axes.get_legend_handles_labels()[1]
        values = [place.past_line_mm for place in run]
        axes.plot([place.place_mm for place in run], values, label=None if already else label, **style)


def _band(axes: Any, profile: Sequence[Sample]) -> None:
    for run in _seen(profile):
        low = [(place.past_line_mm or 0.0) - (place.u95_mm or 0.0) for place in run]
        high = [(place.past_line_mm or 0.0) + (place.u95_mm or 0.0) for place in run]
        axes.fill_between([place.place_mm for place in run], low, high, color=hex_of(BLUE), alpha=0.22, linewidth=0)


def _hatch_unseen(axes: Any, profile: Sequence[Sample]) -> None:
    """What got no number, hatched, with one entry of the legend for all."""
    runs = [(state, list(group)) for state, group in groupby(profile, key=lambda place: place.state)]
    unseen = [(state, places) for state, places in runs if state not in VALUED]
    label = fill(f"not measured: {', '.join(dict.fromkeys(state for state, _ in unseen))}", 26)
    style = {"facecolor": "white", "edgecolor": hex_of(GREY), "hatch": "///", "zorder": 0.5, "linewidth": 0}
    for number, (_, places) in enumerate(unseen):
        axes.axvspan(places[0].place_mm, places[-1].place_mm, label=None if number else label, **style)


def _seen(profile: Sequence[Sample]) -> list[list[Sample]]:
    groups = groupby(profile, key=lambda place: place.past_line_mm is not None)
    return [list(group) for seen, group in groups if seen]


def _reach(places: Sequence[Sample], limit_mm: float) -> float:
    ends = [abs(place.past_line_mm) + (place.u95_mm or 0.0) for place in places if place.past_line_mm is not None]
    return max([1.6 * limit_mm, *ends]) * 1.12


def _sizes(axes: Any, hull: Hull, reach_mm: float, said: Callable[[float], str]) -> None:
    from matplotlib.ticker import FuncFormatter, MultipleLocator

    steps = (
        [float(INCH_MM) / n for n in (64, 32, 16, 8, 4, 2, 1)] if hull.units == "in" else [0.2, 0.5, 1, 2, 5, 10, 20]
    )
    axes.yaxis.set_major_locator(
        MultipleLocator(next((step for step in steps if reach_mm / step <= MOST_SIZES), steps[-1]))
    )
    axes.yaxis.set_major_formatter(FuncFormatter(lambda mm, _: said(mm)))


def _places(axes: Any, hull: Hull, ends_mm: Sequence[float], *, mirrored: bool = False) -> None:
    from matplotlib.ticker import FuncFormatter, MultipleLocator

    low, high = min(ends_mm), max(ends_mm)
    axes.set_xlim(low, high)
    steps = [float(INCH_MM) * n for n in (3, 6, 12, 24, 48)] if hull.units == "in" else [50, 100, 200, 500, 1000]
    axes.xaxis.set_major_locator(
        MultipleLocator(next((s for s in steps if (high - low) / s <= MOST_PLACES), steps[-1]))
    )
    axes.xaxis.set_major_formatter(
        FuncFormatter(
            lambda mm, _: format_length(
                abs(mm) if mirrored else mm, units=hull.units, fraction=8, decimals=0, tape=hull.tape_style
            )
        )
    )
    axes.set_xlabel("from the bow, along the lap" if mirrored else "along the lap, from station card 0")


def _title(axes: Any, words: str, *, pad: float = 6.0) -> None:
    axes.set_title(fill(words, 38), loc="left", fontweight="bold", fontsize=LETTERS_PT, pad=pad)


def _legend(axes: Any, figure: Any) -> None:
    handles, labels = axes.get_legend_handles_labels()
    figure.legend(handles, labels, loc="outside lower center", ncols=2, frameon=False, fontsize=LETTERS_PT)


def _past(mm: float, hull: Hull) -> str:
    if abs(mm) < 1e-6:
        return "on the line"
    return f"{'past' if mm > 0 else 'short'} {_size(abs(mm), hull)}"


def _size(mm: float, hull: Hull) -> str:
    return format_length(mm, units=hull.units, fraction=64, decimals=1)
