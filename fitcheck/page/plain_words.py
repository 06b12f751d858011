"""The words of the command line as the page says them: its options and commands under the names they have here."""

from __future__ import annotations

import re

#: What is said of an option or a command, and how the page says it. The longest first.
_HERE = (
    (r" \(--same-fit\)", " (Add to this fit)"),
    (r" \(--at\)", ""),
    (r": fitcheck log sign$", ""),
    (r" \(fitcheck (?:gap|log check)\)", ""),
    (r" \(fitcheck log restore\)", ""),
    (r"point to it with --line-at u,v", "point to it"),
    (r"Point at it with --edge-at u,v", "Point at it"),
    (r"with --(?:edge|line)-at(?: u,v)?", "on the picture"),
    (r"--line-at and --edge-at point into", "What is pointed at lies in"),
    (r"--edge-at points into", "What is pointed at lies in"),
    (r": measure that one by itself with them", ": send that one by itself"),
    (r"--(?:edge|line)-at (\d)", r"What was pointed at, \1"),
    (r"--camera is needed: the file that fitcheck calibrate wrote", "a camera file is needed, named in the settings"),
    (r"--who NAME --why 'reason'", "the name and the reason"),
    (r", as fitcheck log show tells", ""),
    (r" \(--fit \d+ without --set\)", " itself"),
    (r" and give its distance with --witness", " and give its distance in the settings"),
    (r"Give --bevel from the bevel gauge", "Give the bevel from the bevel gauge in the settings"),
    (r"--lap and --thickness", "the settings"),
    (r"--thickness", "the thickness in the settings"),
    (r"--reference", "Reference"),
    (r"--corners", "Inner corners"),
    (r"--square", "A square's side"),
    (r"--keel (down|up)", r"Keel \1"),
    (r"with --stations", "in the settings"),
    (r"record with --at", "tell where the card lies"),
    (r" with --may-slide and --may-swing, or --ends held", " at the command line"),
    (r" with --may-slide and --may-swing", " at the command line"),
    (r"--may-slide and --may-swing, or --ends held", "at the command line"),
    (r"--who NAME", "the name"),
    (r"--overrule 'why'", "the reason"),
    (r"with --from, --to and --depth", "with its places and its depth"),
    (r"--at, or --from and --to", "one place, or from and to,"),
    (r"--from and --to", "from and to"),
    (r"--at\b", "Place"),
    (r"'from' and 'to' of this strake into fitcheck\.toml", "its ends into the settings"),
    (r"\(from, to\) in fitcheck\.toml", "in the settings"),
    (r"fitcheck\.toml", "the settings"),
)


def on_page(text: str) -> str:
    """``text`` as the page says it.

    >>> on_page("look at the lap edge-on (fitcheck gap), or try a feeler along it")
    'look at the lap edge-on, or try a feeler along it'
    >>> on_page("sign it off: fitcheck log sign")
    'sign it off'
    """
    for said, here in _HERE:
        text = re.sub(said, here, text)
    return text
