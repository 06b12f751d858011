"""The one list of codes that refusals and warnings carry, with what each asks the builder for.

The sentence beside a code in an answer says what was seen; this list says what every refusal or warning of that code
asks for. The documents are made from it, and the tests hold every code that the program uses against it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Group:
    """Codes that ask for the same thing, in words for the documents (options between backticks)."""

    codes: tuple[str, ...]
    asks: str


def _groups(*rows: tuple[str, str]) -> tuple[Group, ...]:
    return tuple(Group(tuple(codes.split()), asks) for codes, asks in rows)


#: Why nothing was measured: a photograph, a set of them, a calibration, a comparison or a signature.
REFUSALS = _groups(
    (
        "photo-kind photo-damaged photo-empty photo-huge photo-small",
        "the camera's own file, JPEG, PNG or HEIC, copied again",
    ),
    ("photo-mirrored", "the camera's own file, not one turned over as in a mirror"),
    ("photo-blurred", "focus on the lap, hold still or use a support"),
    ("photo-burnt photo-dark photo-soft", "(station cards, where none can be read) even light, and the lap in focus"),
    (
        "camera-size camera-other camera-lens camera-zoom",
        "photograph as the camera was calibrated: same camera, lens, zoom and size; or calibrate that setting too",
    ),
    (
        "no-reference reference-cut reference-unclear",
        "the card or rule flat on the strake, whole, out of glare, on wood of another shade; "
        "`--reference-at` to point to the card",
    ),
    ("reference-aspect reference-unit", "the kind of card or rule that really lies there, or its measured size"),
    ("reference-oblique", "a squarer photograph"),
    ("reference-on-plank", "the card on the strake below, not on the plank"),
    ("no-edge edge-covered", "the edge in sight near the card; photograph between the clamps"),
    ("keel-unclear", "`--keel down` or `--keel up`"),
    (
        "edge-ambiguous",
        "`--edge-at` to point to the plank's edge; light from the keel's side; a card nearer the lap",
    ),
    ("line-hidden", "a place lower down, on the keel's side, or a witness line"),
    ("no-line", "a darker line; or the edge has run past it: a witness line"),
    ("line-ambiguous", "a darker line, or `--line-at` to point to it"),
    ("looks-differ", "all photographs of one lap again, without touching the card between them"),
    ("looks-alike", "a second photograph from another height"),
    ("covered", "a photograph between the clamps"),
    (
        "not-edge-on",
        "(edge-on) a photograph from the keel side, 55 to 75 degrees off square, in which the edge face shows",
    ),
    ("edge-faint", "(edge-on) light from the keel side or the sheer side, so that the edge stands out from the faces"),
    (
        "edge-elsewhere",
        "(edge-on, station cards) that stretch photographed again: the edge lies elsewhere in the other photographs",
    ),
    ("seam-oblique", "a seam photographed squarely"),
    (
        "too-far",
        "a photograph from nearer: a pixel must cover 0.4 mm or less; edge-on, the edge face must fill more of it",
    ),
    ("no-card cards-unusable", "station cards flat, each number once, two in every photograph"),
    ("gain-unplaced", "photographs from card 0 on, two cards in each; or the cards' places with `--stations`"),
    (
        "cards-elsewhere other-plank photo-repeated",
        "the photographs of one clamp-up, with cards that were not moved, overlapping",
    ),
    (
        "board-none board-cut board-count board-blurred board-repeated",
        "the whole board in the picture, sharp, evenly lit; the right `--corners` (inner corners, where four squares "
        "meet)",
    ),
    ("board-odd", "a board that does not bend; nothing moved while a photograph is taken"),
    ("mixed-sizes mixed-cameras mixed-lenses mixed-zooms", "board photographs of one camera, lens, zoom and size"),
    ("too-few-views head-on not-covered", "more photographs: the board leaning, and in every corner of the picture"),
    ("poor-fit halves-differ calibration-failed", "a flatter board (glass), one focus, more photographs"),
    (
        "places-not-known no-common-places",
        "places along the plank: station cards, or `--at`; the same stretch photographed",
    ),
    ("not-ready", "what still keeps a plank from being signed off, place by place: the rows below"),
    ("planed", "(signing off) the plank clamped and photographed again after planing"),
    ("ends-not-told", "(signing off) the plank's ends: `from` and `to` of its strake in `fitcheck.toml`"),
    (
        "part-untied",
        "(signing off) all photographs in one call, two cards in each; or the cards' places with `--stations`",
    ),
    ("past-limit", "(signing off) the edge planed to the line"),
    ("short-limit lap-little", "(signing off) the plank moved, or a new one"),
    ("unsure", "(signing off) a photograph from nearer and squarer"),
    ("hidden", "(signing off) a witness line, or a photograph from the keel's side"),
    ("ambiguous", "(signing off) another photograph, or the line pointed to"),
    ("edge-unseen unseen", "(signing off) photographs of the edge there, with `--same-fit`"),
    ("lap-open", "(signing off) the bevel seen to, and the plank clamped again"),
    ("lap-unsure lap-unseen", "(signing off) an edge-on photograph there, or a feeler"),
    ("corner-eased", "(signing off) a feeler there: no photograph tells an eased corner from a lap so little open"),
)

#: What stands beside an answer that was given all the same.
WARNINGS = _groups(
    ("photo-burnt photo-dark photo-soft", "even light, and the lap in focus"),
    ("camera-unknown", "the camera's own file: nothing shows that it is the camera that was calibrated"),
    ("pointed-elsewhere", "a look at the picture; where it is marked wrongly, two or three places pointed at again"),
    ("by-score", "a look at the picture, and a place or two measured with a rule"),
    ("cards-no-plane", "cards flat on the strake, none on a batten or a clamp"),
    ("origin-from-what-is-seen width-not-seen", "more of the rule in the picture, with both long edges"),
    ("card-not-told", "`--reference`, where the card in the picture is one"),
    ("lap-unusual", "the lap and the thickness looked at again, in `fitcheck.toml` or in `--lap` and `--thickness`"),
    ("thickness-differs", "the thickness looked at again; the gain told; light from the keel's side"),
    ("bevel-not-told", "`--bevel`, from the bevel gauge, for a narrower answer"),
    ("bevel-measured", "nothing: a card on the plank shows the bevel, and it is used"),
    ("bevel-disagrees", "the bevel gauge again: a card on the plank shows another bevel, and it is left out"),
    ("keel-assumed", "(edge-on) `--keel up` where the hull lies upside down"),
    ("slant-small", "(edge-on) a place further round to the keel's side"),
    ("dark-all-along", "(edge-on) the line wiped off, or light from the keel's side"),
    ("number-twice card-unclear stray-marker", "each number once; the cards flat, in focus and clear of clamps"),
    (
        "parts-apart no-card-0",
        "the stretch between the parts, or from card 0 on, two cards in every photograph; or the cards' places with "
        "`--stations`",
    ),
    ("gain-unplaced", "(edge-on) the same: without it the step is not held against the gains"),
    ("places-from-record", "a look whether a card was moved since the earlier fit"),
    ("rests-on-one-card", "two cards in common with the other photographs, or a look whether it is this plank"),
    ("station-differs", "the place of that card measured again with the tape"),
    ("photos-disagree", "a look at both pictures; the stretch photographed again"),
    ("not-all-judged see-the-rest", "the rest of the plank photographed"),
    ("under-clamps", "a second clamp beside each clamp before easing it, and photographs with `--same-fit`"),
    ("move-first other-part-first", "the plank moved, clamped and photographed again before any wood comes off"),
    ("move-unasked move-not-told", "what the plank allows: `--may-slide` and `--may-swing`, or `--ends held`"),
    ("slide-tried ends-held", "nothing: they say which moves were tried"),
    ("short-too", "the short stretch settled before any wood comes off"),
    ("cut-stops-unseen", "the cut stopped there, and that stretch photographed"),
    ("lap-left", "a look whether the fastenings keep their distance from the edge"),
    ("doubt-beyond-limit", "photographs from nearer and squarer, the bevel told, or a wider limit"),
    ("few-views not-covered", "more photographs of the board, in every corner of the picture"),
    ("poor-fit halves-differ", "a flatter board (glass), more photographs"),
)

#: Codes that are both: such a photograph may be measured all the same, such a camera be used.
BOTH = frozenset(
    {"photo-burnt", "photo-dark", "photo-soft", "gain-unplaced", "not-covered", "poor-fit", "halves-differ"}
)


def codes_of(groups: tuple[Group, ...]) -> Iterator[str]:
    """Every code of ``groups``, in their order.

    >>> list(codes_of(REFUSALS))[:2]
    ['photo-kind', 'photo-damaged']
    """
    return (code for group in groups for code in group.codes)
