"""The value nearest to a preferred one at which something holds: scan, then bisect."""

from collections.abc import Callable, Sequence

__all__ = ["nearest_that_holds"]


def nearest_that_holds(
    holds: Callable[[float], bool], values: Sequence[float], *, tolerance: float = 2e-3, steps: int = 12
) -> float | None:
    """Return the most preferred value that holds, or None if none of those tried does.

    Parameters
    ----------
    holds : callable
        Whether a value holds. It need not be monotonic: a compression bit lifts at middle depths and presses at great
        ones.
    values : sequence of float
        From the most preferred to the least.
    tolerance : float
        Relative distance to a value that does not hold, at which the bisection ends. [-]
    steps : int
        Halvings at the most. [-]

    Notes
    -----
    The scan finds the first value that holds; between it and the one before, which does not, lies a border, and the
    bisection ends on its holding side. What lies between two values of the scan that both hold, or both do not, is not
    seen: whoever asks proves the result.

    Examples
    --------
    >>> round(nearest_that_holds(lambda x: x <= 3.0, [8.0, 4.0, 2.0, 1.0]), 2)
    3.0
    """
    before: float | None = None
    for value in values:
        if holds(value):
            return value if before is None else _border(holds, value, before, tolerance=tolerance, steps=steps)
        before = value
    return None


def _border(holds: Callable[[float], bool], good: float, bad: float, *, tolerance: float, steps: int) -> float:
    for _ in range(steps):
        if abs(good - bad) <= tolerance * max(abs(good), abs(bad)):
            break
        middle = (good + bad) / 2.0
        good, bad = (middle, bad) if holds(middle) else (good, middle)
    return good
