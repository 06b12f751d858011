"""Which way things lie in what is drawn: the same in chart, picture, ticket and strip."""

from __future__ import annotations

from itertools import pairwise

from fitcheck.contract.measurement import Measurement, Sample


def rises_right(measurement: Measurement) -> bool:
    """Whether places rise to the right as one looks at the plank with the keel down; so they do where nothing tells.

    >>> seen = [Sample(None, 0.0, 0.1, "on", plank_mm=at, edge_px=(900 - at, 400)) for at in (0.0, 100.0)]
    >>> rises_right(Measurement("measured", {"keel": "down"}, samples=tuple(seen)))
    False
    """
    rise = 0.0
    for left, right in pairwise(sorted(measurement.samples, key=Sample.place_mm)):
        if left.edge_px and right.edge_px and left.photos[:1] == right.photos[:1]:
            rise += right.edge_px[0] - left.edge_px[0]
    return rise >= 0 if measurement.settings.get("keel") != "up" else rise <= 0


def past_is_down(measurement: Measurement) -> bool:
    """Whether an edge past its line lies below it in what is drawn.

    One photograph is drawn as it was taken: with the keel up the plank lies at the bottom, and past is up. A whole
    plank is drawn with its places rising to the right, never mirrored: turned over where they rise to the left.

    >>> past_is_down(Measurement("measured", {"keel": "up"}, samples=(Sample(0.0, 0.1, 0.2, "on"),)))
    False
    """
    if any(sample.plank_mm is not None for sample in measurement.samples):
        return rises_right(measurement)
    return measurement.settings.get("keel") != "up"
