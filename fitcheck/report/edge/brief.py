"""The answer in few lines: what to do, how the edge lies, what was not seen. The rest is asked for with ``--all``."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

from fitcheck.contract.measurement import Measurement
from fitcheck.report.edge.answer import extreme_lines, planing_lines, title, verdict_words, warning_lines
from fitcheck.report.edge.seen import measured_line, unseen_in_all, unseen_line
from fitcheck.report.edge.wording import Wording

WIDTH = 78
#: A terminal window shows so many lines beside the call and what went on record.
MOST_LINES = 15
#: Where several photographs are answered in one call, each by itself.
MOST_EACH = 10
ASK = "Every place, every note and the limit: --all"


def brief_lines(measurement: Measurement, wording: Wording, *, most: int = MOST_LINES) -> list[str]:
    """The answer in at most ``most`` lines, 8 or more; what found no room is counted, never dropped unsaid.

    >>> from fitcheck.contract.measurement import Sample
    >>> fit = Measurement("measured", {}, samples=(Sample(0.0, 1.6, 0.2, "past"), Sample(25.4, 0.0, 0.2, "on")))
    >>> print("\\n".join(brief_lines(fit, Wording(on_plank=False))[1:4]))
    MEASURED  No planing advice was worked out.
      measured all of the 1 in photographed
      longest: past 1/16 in ± 1/64, at middle
    """
    if not measurement:
        reasons = [line for reason in measurement.reasons for line in wrapped(reason.text, "  ")]
        return fitted([title(measurement), "NOT MEASURED", *reasons], most, "more")
    headline, asks = verdict_words(measurement.planing)
    head = [title(measurement), *wrapped(f"{headline}  {asks}", "")]
    foot = [*wrapped(_origin(measurement, wording), ""), ASK]
    notes = [f"Note: {text}" for text in warning_lines(measurement)]
    room = most - len(head) - len(foot) - bool(notes)
    # What is asked for goes before what was seen, that before the extremes, and those before the notes.
    lines = _dropped(measurement)
    told = planing_lines(measurement.planing, wording)
    left = room - len(lines) - (2 if measurement.samples and not measurement.parts else 0)
    lines += fitted_groups(told, max(1, left), "more to be done or known first")
    lines += _seen(measurement, wording, room - len(lines))
    extremes = [line for text in _extremes(measurement, wording) for line in wrapped(text, "  ")]
    if len(lines) + len(extremes) <= room:
        lines += extremes
    what = "more notes" if len(notes) > 1 else "note"
    return [*head, *lines, *fitted_groups(notes, room + bool(notes) - len(lines), what), *foot]


def _dropped(measurement: Measurement) -> list[str]:
    """Every photograph of several that could not be used, by its name, with the gist of the reason if it is one."""
    dropped = [photo for photo in measurement.photos if photo.get("reasons")] if len(measurement.photos) > 1 else []
    if not dropped:
        return []
    why = str(dropped[0]["reasons"][0]["text"]).split(". ")[0] if len(dropped) == 1 else "the reasons: --all"
    return wrapped(f"not used: {', '.join(str(photo.get('name', '')) for photo in dropped)} ({why})", "  ")


def _seen(measurement: Measurement, wording: Wording, room: int) -> list[str]:
    """How much got a number and what got none: with its places where there is room, else in all."""
    if not measurement.samples or measurement.parts:
        return []
    share = wrapped(measured_line(measurement, wording), "  ")
    full = wrapped(unseen_line(measurement, wording), "  ")
    return [*share, *(full if len(share) + len(full) <= room else wrapped(unseen_in_all(measurement, wording), "  "))]


def _extremes(measurement: Measurement, wording: Wording) -> list[str]:
    """The longest and the shortest place; of a plank in parts none, as their places are in no one frame."""
    return [] if measurement.parts else extreme_lines(measurement, wording)


def _origin(measurement: Measurement, wording: Wording) -> str:
    if measurement.parts:
        words = " and ".join(part.part.words for part in measurement.parts if part.part)
        return f"Parts: {words}, each counted from its own lowest card; how they lie to each other is not known."
    return wording.origin(measurement.reference)


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
