"""The scale on which margins are coloured: few classes, between borders that stand on it as numbers."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillstock.answers.move_margins import BEYOND

__all__ = ["CLASSES", "borders", "class_of", "layer_of"]

#: Borders above the required factor, as multiples of it; own choice. [-]
STEPS = (1.0, 1.5, 2.5, 5.0, BEYOND)

#: Classes from what lets go (0) to what is beyond all doubt. [-]
CLASSES = len(STEPS) + 2


def borders(required: float) -> tuple[float, ...]:
    """Return the factors at which one class ends and the next begins, from 1 up. [-]

    Parameters
    ----------
    required : float
        Factor that is asked for; where that is 1, the class between 1 and it is empty. [-]

    Examples
    --------
    >>> borders(2.0)
    (1.0, 2.0, 3.0, 5.0, 10.0, 20.0)
    """
    return (1.0, *(step * required for step in STEPS))


def class_of(factor: ArrayLike, required: float) -> NDArray[np.int64]:
    """Return the class of each load factor: 0 lets go, 1 falls short of what is required, then ever better. [-]

    Examples
    --------
    >>> class_of([0.5, 1.0, 1.9, 2.0, np.inf], 2.0).tolist()
    [0, 1, 1, 2, 6]
    """
    return np.searchsorted(borders(required), np.asarray(factor, dtype=float), side="right").astype(np.int64)


def layer_of(number: int) -> str:
    """Return the layer on which strokes of a class stand."""
    return f"margin-{number}"
