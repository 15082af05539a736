"""How work grows with what is asked: a ratio within one run, the least of several, because others share the machine."""

from collections.abc import Callable

#: Below this, a clock tells nothing of growth. [s]
LEAST = 0.002
TRIES = 6


def growth(seconds: Callable[[int], float], small: int, large: int, *, bound: float) -> float:
    """Return what the large costs in terms of the small; tries again while it is beyond the bound.

    Parameters
    ----------
    seconds : callable
        Does the work of a size and returns its time. [s]
    small, large : int
        Sizes.
    bound : float
        What the ratio is compared with: work that grows too fast is beyond it every time. [-]
    """
    before = max(min(seconds(small) for _ in range(3)), LEAST)
    after = seconds(large)
    for _ in range(TRIES):
        if after < bound * before:
            break
        after = min(after, seconds(large))
    return after / before
