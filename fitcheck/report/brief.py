"""The answer in few lines: what to do, how the edge lies, what was not seen. The rest is asked for with ``--all``."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

from fitcheck.measurement import Measurement
from fitcheck.report.answer import planing_lines, summary_lines, title, verdict_words, warning_lines
from fitcheck.report.wording import Wording

WIDTH = 78
#: A terminal window shows so many lines beside the call and what went on record.
MOST_LINES = 15
#: Where several photographs are answered in one call, each by itself.
MOST_EACH = 8
ASK = "Every place, every note and the limit: --all"


def brief_lines(measurement: Measurement, wording: Wording, *, most: int = MOST_LINES) -> list[str]:
    """The answer in at most ``most`` lines, 8 or more; what found no room is counted, never dropped unsaid.

    >>> from fitcheck.measurement import Sample
    >>> fit = Measurement("measured", {}, samples=(Sample(0.0, 1.6, 0.2, "past"), Sample(25.4, 0.0, 0.2, "on")))
    >>> print("\\n".join(brief_lines(fit, Wording(on_plank=False))[1:4]))
    MEASURED  No planing advice was worked out.
      longest: past 1/16 in ± 1/64, at middle
      nowhere short of the line
    """
    if not measurement:
        reasons = [line for reason in measurement.reasons for line in wrapped(reason.text, "  ")]
        return fitted([title(measurement), "NOT MEASURED", *reasons], most, "more")
    headline, asks = verdict_words(measurement.planing)
    head = [title(measurement), *wrapped(f"{headline}  {asks}", "")]
    foot = [*wrapped(wording.origin(measurement.reference), ""), ASK]
    summary = [line for told in summary_lines(measurement, wording) for line in wrapped(told, "  ")]
    told = planing_lines(measurement.planing, wording)
    notes = [f"Note: {text}" for text in warning_lines(measurement)]
    room = most - len(head) - len(foot)
    # What is asked for stands before what is told, and that before the notes.
    asked = fitted_groups(told, max(1, room - len(summary) - bool(notes)), "more to plane or short")
    summary = summary[: room - len(asked)]
    noted = fitted_groups(notes, room - len(asked) - len(summary), "more notes" if len(notes) > 1 else "note")
    return [*head, *asked, *summary, *noted, *foot]


def fitted_groups(texts: Sequence[str], room: int, what: str) -> list[str]:
    """As many texts, wrapped, as find room whole; the rest in one line that counts them."""
    lines: list[str] = []
    groups = [wrapped(text, "  ") for text in texts]
    for number, group in enumerate(groups):
        left = len(groups) - number
        if len(lines) + len(group) + (left > 1) > room:
            return [*lines, f"  and {left} {what}: --all"] if room > len(lines) else lines
        lines += group
    return lines


def fitted(lines: Sequence[str], most: int, what: str) -> list[str]:
    """The lines, the last of them standing for those that found no room."""
    if len(lines) <= most:
        return list(lines)
    return [*lines[: most - 1], f"  and {len(lines) - most + 1} lines {what}: --all"]


def wrapped(text: str, indent: str) -> list[str]:
    """``text`` in lines of the terminal's width, later ones further in; no number is parted from its unit."""
    whole = re.sub(r"(?<=\d) (?=(?:in|ft|mm)\b)", "\u00a0", text)
    lines = textwrap.wrap(whole, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
    return [line.replace("\u00a0", " ") for line in lines]
