"""The answer as plain text for a terminal or a file: verdict, where to plane, the table by place, the summary."""

from __future__ import annotations

from dataclasses import replace
from typing import TextIO

from fitcheck.advice.headline import HEADLINES
from fitcheck.contract.measurement import Measurement
from fitcheck.ground.streams import bare, plain
from fitcheck.report.edge.answer import (
    limit_line,
    planing_lines,
    rows,
    summary_lines,
    title,
    verdict_words,
    warning_lines,
)
from fitcheck.report.edge.brief import brief_lines, wrapped
from fitcheck.report.edge.part_words import frame_line, unused_lines
from fitcheck.report.edge.wording import Wording


def print_table(
    measurement: Measurement,
    stream: TextIO,
    *,
    units: str | None = None,
    fraction: int | None = None,
    step_mm: float | None = None,
    most: int | None = None,
) -> None:
    """Write the answer to ``stream``: coloured where it is a terminal, else plain.

    ``units`` and ``fraction`` are the measurement's own unless given; ``step_mm`` sets the distance of rows. With
    ``most`` it is the answer alone, in so many lines at most.
    """
    wording = Wording.of(measurement, units=units, fraction=fraction)
    if most is None:
        lines = table_lines(measurement, wording, step_mm=step_mm)
    else:
        lines = brief_lines(measurement, wording, most=most)
    if not stream.isatty():
        stream.write("\n".join(lines) + "\n")
        return
    from rich.console import Console
    from rich.text import Text

    console = Console(file=bare(stream), highlight=False, soft_wrap=True)
    for line in lines:
        console.print(Text(plain(line), style=_style(line)))


def table_lines(measurement: Measurement, wording: Wording, *, step_mm: float | None = None) -> list[str]:
    """The answer as lines of text.

    >>> from fitcheck.contract.measurement import Sample
    >>> fit = Measurement("measured", {}, samples=(Sample(0.0, 1.6, 0.2, "past"), Sample(5.0, 0.0, 0.2, "on")))
    >>> print("\\n".join(table_lines(fit, Wording(on_plank=False))[1:5]))
    MEASURED  No planing advice was worked out.
    <BLANKLINE>
    place         edge                 what follows
    middle        past 1/16 in ± 1/64  past
    """
    if not measurement:
        return _refused_lines(measurement)
    headline, asks = verdict_words(measurement.planing)
    lines = [title(measurement), *wrapped(f"{headline}  {asks}", "")]
    first = [*unused_lines(measurement), *planing_lines(measurement.planing, wording)]
    lines += [line for told in first for line in wrapped(told, "  ")]
    for part in measurement.each_part():
        lines += ["", *_part_lines(part, replace(wording, from_card=Wording.of(part).from_card), step_mm)]
    lines += [line for told in warning_lines(measurement) for line in wrapped(f"Note: {told}", "  ")]
    origin = "" if measurement.parts else f"{wording.origin(measurement.reference)} "
    return [*lines, "", *wrapped(f"{origin}{limit_line(measurement, wording)}", "")]


def _part_lines(part: Measurement, wording: Wording, step_mm: float | None) -> list[str]:
    """The table of one part of a plank, or of the whole where it hangs together, and its summary."""
    lines = [*wrapped(frame_line(part.part), ""), *_table(part, wording, step_mm), ""]
    return lines + [line for told in summary_lines(part, wording) for line in wrapped(told, "  ")]


def _table(measurement: Measurement, wording: Wording, step_mm: float | None) -> list[str]:
    cells = [("place", "edge", "what follows")]
    cells += [(row.place, row.edge, row.means) for row in rows(measurement, wording, step_mm=step_mm)]
    wide = [max(12, *(len(cell[column]) for cell in cells)) + 2 for column in range(2)]
    return [f"{place:<{wide[0]}}{edge:<{wide[1]}}{means}".rstrip() for place, edge, means in cells]


def _refused_lines(measurement: Measurement) -> list[str]:
    lines = [title(measurement), "NOT MEASURED"]
    for reason in measurement.reasons:
        lines += wrapped(reason.text, "  ")
    return lines


def _style(line: str) -> str:
    """Bold for what is to be done or cannot be mended by it, dim for notes alone."""
    if line.split("  ")[0] in (*(headline for headline, _ in HEADLINES.values()), "NOT MEASURED", "MEASURED"):
        return "bold"
    if line.startswith(("  plane ", "  then plane ", "  short by ")):
        return "bold"
    return "dim" if line.startswith("  Note: ") else ""
