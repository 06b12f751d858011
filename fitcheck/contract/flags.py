"""The one list of what can be said of a sample beside its number: a code for programs, a sentence for the builder.

The table, the page, the record and the documents all read it from here.
"""

from __future__ import annotations

from collections.abc import Iterable
from types import MappingProxyType

FLAGS = MappingProxyType(
    {
        "edge-from-outer-corner": "Worked out from the outer corner of the edge; the inner corner does not show here.",
        "edge-from-inner-corner": "Seen at the inner corner of the edge itself.",
        "far-from-reference": "Far from the reference: the strake may curve away from it, so the doubt is wider.",
        "low-contrast": "Edge or line is faint here.",
        "witness": "Measured from the witness line.",
        "bevel-not-told": "The bevel was not told; a usual one is assumed, so the doubt is wider.",
        "by-hand": "Edge or line was pointed out by hand.",
        "shadow": "A shadow lies over or beside the line here.",
        "line-hidden": "The lap line is hidden behind the edge.",
        "near-clamp": "Close to a clamp or another thing that covers the lap.",
        "scale-from-thickness": "No reference here: the plank's thickness is the scale, and places are rough.",
        "slit-or-line": "The dark under the edge may be in part a line, a stain or a shadow.",
        "corner-eased": "The plank's inner corner is, or may be, eased: that looks like a slit. A feeler decides here.",
        "flush": "The step is too low here to be told from flush.",
    }
)


def describe(flag: str) -> str:
    """The sentence for one flag. Raises KeyError for a flag that is not in :data:`FLAGS`.

    >>> describe("witness")
    'Measured from the witness line.'
    """
    return FLAGS[flag]


def told(flags: Iterable[str]) -> list[str]:
    """Every flag of many samples once, in the order of :data:`FLAGS`.

    >>> told(["witness", "low-contrast", "witness"])
    ['low-contrast', 'witness']
    """
    seen = set(flags)
    return [flag for flag in FLAGS if flag in seen]
