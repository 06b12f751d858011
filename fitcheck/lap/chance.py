"""How likely a found line is the right one, from how far it beats the wood's own ridges.

The weights were fitted on made scenes (see DEVELOPERS.md for the study); they are a scale, not a fit to any photograph.
"""

from __future__ import annotations

import numpy as np

#: Log odds of the whole line: per unit of lead over the best rival, per unit of log speckle, and where the odds are even.
LEAD_WEIGHT, EVEN_LEAD = 8.0, 0.45
SPECKLE_WEIGHT, EVEN_LOG_SPECKLE = 10.0, 0.18
#: Log odds of a place: per unit of evidence around it below the evidence that every line shows.
PLACE_WEIGHT, EVEN_PLACE = 4.0, 0.9
AROUND_BLOCKS = 6.0
MOST_FROM_PLACE = 1.0


def local_chance(evidence: np.ndarray, lead: float, speckle: float) -> np.ndarray:
    """Chance (B,) that the path is the line at each block.

    ``evidence`` (B,) is the path's own, ``lead`` by how much its mean beats the best rival's, ``speckle`` its flicker along.

    >>> import numpy as np
    >>> bool(local_chance(np.full(40, 2.0), 1.4, 2.0).min() > 0.99), bool(local_chance(np.full(40, 0.8), 0.3, 1.0).max() < 0.5)
    (True, True)
    """
    from scipy.ndimage import gaussian_filter1d
    from scipy.special import expit

    around = gaussian_filter1d(evidence, AROUND_BLOCKS, mode="nearest")
    place = np.clip(PLACE_WEIGHT * (around - EVEN_PLACE), -8.0, MOST_FROM_PLACE)
    whole = LEAD_WEIGHT * (lead - EVEN_LEAD) + SPECKLE_WEIGHT * (np.log(max(speckle, 0.1)) - EVEN_LOG_SPECKLE)
    return np.asarray(expit(whole + place))
