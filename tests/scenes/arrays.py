"""The array types of the picture maker."""

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.floating[Any]]
Mask: TypeAlias = NDArray[np.bool_]
Pixels: TypeAlias = NDArray[np.uint8]
