"""What a few readings of the shop's own test promise of all that come after them."""

from collections.abc import Sequence

import numpy as np
from scipy.stats import nct, norm

__all__ = ["CONFIDENCE", "CONTENT", "mean_and_deviation", "tolerance_factor"]

#: Share of all future readings that must lie beyond the end that is reckoned with, and how sure of it the readings must
#: make us: the characteristic value of structural timber (EN 14358, from memory: 5-percentile at a confidence of 75 %).
#: [-]
CONTENT, CONFIDENCE = 0.95, 0.75


def tolerance_factor(count: int, *, content: float = CONTENT, confidence: float = CONFIDENCE) -> float:
    r"""Return how many standard deviations below its mean a normal sample's lower tolerance bound lies.

    Parameters
    ----------
    count : int
        Readings, two or more. [-]
    content : float
        Share of the population that must lie above the bound. [-]
    confidence : float
        How often a bound made this way keeps its word. [-]

    Returns
    -------
    float
        [-]

    Notes
    -----
    .. math:: k = t'_{\gamma}(n - 1, \; z_p \sqrt{n}) \, / \sqrt{n}

    with t' the quantile of the noncentral t distribution: exact for a normal sample whose mean and deviation are both
    read from it. ISO 16269-6, and M. G. Natrella, "Experimental Statistics", NBS Handbook 91, table A-7 (from memory).

    Examples
    --------
    >>> tolerance_factor(5, content=0.95, confidence=0.95)
    4.203
    """
    root = np.sqrt(count)
    return float(nct.ppf(confidence, count - 1, norm.ppf(content) * root) / root)


def mean_and_deviation(readings: Sequence[float]) -> tuple[float, float]:
    """Return mean and sample deviation of two readings or more. [as the readings]"""
    values = np.asarray(readings, dtype=float)
    return float(values.mean()), float(values.std(ddof=1))
