"""How likely a found line is the right one, from how far it beats the wood's own ridges.

The weights were fitted on made scenes (see DEVELOPERS.md for the study); they are a scale, not a fit to any photograph.
"""

from __future__ import annotations

import numpy as np

#: Log odds of the whole line: per unit of lead over the best rival, and the lead at which the odds are even.
LEAD_WEIGHT, EVEN_LEAD = 11.0, 0.30
#: Log odds of a place: per unit of evidence around it, and the evidence at which it neither adds nor takes away.
PLACE_WEIGHT, EVEN_PLACE = 3.0, 0.9
AROUND_BLOCKS = 6.0
MOST_FROM_PLACE = 4.0


def local_chance(evidence: np.ndarray, score: float, rival: float) -> np.ndarray:
    """Chance (B,) that the path is the line at each block, from its ``evidence`` (B,), its mean ``score`` and the best ``rival``.

    >>> import numpy as np
    >>> local_chance(np.full(40, 2.0), 2.0, 0.6).min() > 0.99, local_chance(np.full(40, 0.6), 0.6, 0.5).max() < 0.5
    (True, True)
    """
    from scipy.ndimage import gaussian_filter1d
    from scipy.special import expit

    around = gaussian_filter1d(evidence, AROUND_BLOCKS, mode="nearest")
    place = np.clip(PLACE_WEIGHT * (around - EVEN_PLACE), -8.0, MOST_FROM_PLACE)
    return np.asarray(expit(LEAD_WEIGHT * (score - rival - EVEN_LEAD) + place))
