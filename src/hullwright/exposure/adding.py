"""Adding up by number."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def added(number: NDArray[np.int64], values: NDArray[np.float64], count: int) -> NDArray[np.float64]:
    """Add up values by number, 0 to `count` - 1.

    Examples
    --------
    >>> added(np.array([2, 0, 2]), np.array([1.0, 5.0, 2.0]), 4).tolist()
    [5.0, 0.0, 3.0, 0.0]
    """
    return np.bincount(number, values, minlength=count).astype(np.float64)
