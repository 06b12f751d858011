"""What two fits, two sides or many readings have to say together, in lines of plain text for the terminal."""

from __future__ import annotations

from fitcheck.fitlog import wood
from fitcheck.fitlog.compare import Comparison, Planed
from fitcheck.fitlog.differ import Changed, Difference
from fitcheck.fitlog.repeat import Study
from fitcheck.fitlog.twin import Twin
from fitcheck.hull.settings_file import Hull
from fitcheck.report.record.record_lines import day, doubt, place, size, span, table

#: How far along the plank a swing is told, on a hull in feet and inches.
SWING_FT = 10


def compare_lines(found: Comparison, hull: Hull) -> list[str]:
    """What two fits have to say together."""
    lines = [
        f"{found.plank}: fit {found.old.number} ({day(found.old.made_at)})"
        f" and fit {found.new.number} ({day(found.new.made_at)}), on {len(found.raw)} places in common"
    ]
    if not found.changed:
        lines.append(f"no change beyond the doubt{_largest(found.largest, hull)}")
    lines += [f"{span(s.from_mm, s.to_mm, hull)}: {_moved(s, hull)}" for s in found.changed]
    lines += _movement_lines(found, hull)
    lines += [_planed_line(planed, found.movement is not None, hull) for planed in found.planed]
    lines += [
        f"worse: {span(s.from_mm, s.to_mm, hull)} lies {size(s.by_mm, hull)} ± {doubt(s.u95_mm, hull)}"
        " further from the line"
        for s in found.worse
    ]
    return lines + _wood_lines(found, hull)


def twin_lines(found: Twin, hull: Hull) -> list[str]:
    """Port against starboard."""
    strake = hull.strake(found.port.plank.strake)
    name = f"strake {found.port.plank.strake}{f' ({strake.name})' if strake and strake.name else ''}"
    lines = [
        f"{name}: port fit {found.port.number} and starboard fit {found.starboard.number},"
        f" on {len(found.raw)} places at the same distance from the bow"
        " (seen from the bow, looking aft: starboard on the left, port on the right)"
    ]
    if not found.changed:
        largest = max(found.raw, key=lambda difference: abs(difference.by_mm) / max(difference.u95_mm, 1e-6))
        return [*lines, f"twins within the doubt{_largest(largest, hull)}"]
    for stretch in found.changed:
        more = "starboard" if stretch.by_mm > 0 else "port"
        lines.append(
            f"{span(stretch.from_mm, stretch.to_mm, hull)}: {more} lies {size(abs(stretch.by_mm), hull)}"
            f" ± {doubt(stretch.u95_mm, hull)} further toward the keel (most {size(abs(stretch.most_mm), hull)}"
            f" at {place(stretch.most_at_mm, hull)})"
        )
    return lines


def study_lines(found: Study, hull: Hull) -> list[str]:
    """A repeatability study, as standard deviations, finer than a rule: what a builder compares is small."""
    spread = found.spread
    decimals, one_mm = (3, 1.0) if hull.units == "mm" else (4, 25.4)

    def said(mm: float) -> str:
        return f"{mm / one_mm:.{decimals}f}"

    rows = [
        ("repeat (one person, again)", said(spread.repeat)),
        ("person (from one to another)", said(spread.people)),
        ("person by place", "pooled with repeat" if spread.pooled else said(spread.interaction)),
        ("all readings of one place", said(spread.system)),
        ("plank (from place to place)", said(spread.parts)),
        ("stated for one reading", said(found.stated_u_mm)),
    ]
    head = (
        f"{found.plank}, fit {found.fit_number}: {len(found.people)} people ({', '.join(found.people)}),"
        f" {found.trials} sets each, {len(found.places_mm)} places"
    )
    return [head, "", *table(("differ by", f"standard deviation, {hull.units}"), rows), "", found.word]


def _movement_lines(found: Comparison, hull: Hull) -> list[str]:
    moved = found.movement
    if moved is None or not moved.sure:
        return []
    way = "toward the keel" if moved.slide_mm > 0 else "toward the sheer"
    slid = f"{size(abs(moved.slide_mm), hull)} ± {doubt(moved.slide_u95_mm, hull)} {way}"
    over_m, over = (1.0, "a metre") if hull.units == "mm" else (SWING_FT * 0.3048, f"over {SWING_FT} ft")
    swing = size(abs(moved.swing_mm_per_m) * over_m, hull)
    return [f"where nothing was planed the plank lies {slid}, swung {swing} {over}"]


def _planed_line(planed: Planed, told_apart: bool, hull: Hull) -> str:
    asked = "not asked for" if planed.asked_mm is None else f"asked {size(planed.asked_mm, hull)} on average"
    reported = "" if planed.reported_mm is None else f", reported {size(planed.reported_mm, hull)}"
    taken = f"{size(planed.taken_mm, hull)} ± {doubt(planed.u95_mm, hull)} came off: {planed.word}"
    apart = "" if told_apart else " (or the plank lay differently: too little was left alone to tell)"
    return f"planed {span(planed.from_mm, planed.to_mm, hull)}: {asked}{reported}; {taken}{apart}"


def _wood_lines(found: Comparison, hull: Hull) -> list[str]:
    told = wood.between(found, hull)
    if told is None:
        return []
    movement, word = told
    verdict = {
        "yes": "which explains the shift",
        "in part": "which explains a part of the shift",
        "no": "which does not explain the shift",
        "unsure": "and the plank shifted by no more than the doubt",
    }[word]
    way = "wider" if movement.change_mm >= 0 else "narrower"
    beyond = " (beyond 6 to 14 %: a rougher figure)" if movement.outside else ""
    return [
        f"moisture {found.old.moisture_pct:g} % to {found.new.moisture_pct:g} %: the plank is expected"
        f" {size(abs(movement.change_mm), hull)} ± {doubt(movement.u95_mm, hull)} {way}{beyond}, {verdict}"
    ]


def _moved(stretch: Changed, hull: Hull) -> str:
    way = "further past the line (toward the keel)" if stretch.by_mm > 0 else "less past the line (toward the sheer)"
    return (
        f"{size(abs(stretch.by_mm), hull)} ± {doubt(stretch.u95_mm, hull)} {way},"
        f" most {size(abs(stretch.most_mm), hull)} at {place(stretch.most_at_mm, hull)}"
    )


def _largest(difference: Difference, hull: Hull) -> str:
    largest = f"{size(abs(difference.by_mm), hull)} ± {doubt(difference.u95_mm, hull)}"
    return f" (largest {largest} at {place(difference.place_mm, hull)})"
