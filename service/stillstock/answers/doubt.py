"""How sure the margin is: its distribution over what nature scatters, and the input that matters most."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import qmc, sobol_indices

from stillstock.answers.drawn_margins import DrawnMargins
from stillstock.answers.hold import Assessed, Stance
from stillstock.answers.job import Job
from stillstock.engine.set_up import FloatArray

__all__ = ["Doubt", "Input", "doubt_of", "indices"]

#: Of the quasi-random sequence; any number serves, so long as it stays. [-]
SEED = 20261125

#: Shares at which the distribution is stated. [-]
QUANTILES = (0.05, 0.5, 0.95)


@dataclass(frozen=True, kw_only=True)
class Input:
    """How much of the margin's variance comes from one input.

    Attributes
    ----------
    name : str
    first, total : float
        Share by itself, and with all that it does together with others: Sobol indices. [-]
    """

    name: str
    first: float
    total: float


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """The margin's distribution.

    Attributes
    ----------
    samples : int
        Draws from which it is. [-]
    lets_go, short : float
        Share of them with a margin below 1, and below what is required. [-]
    quantiles : tuple of (float, float)
        Share, and the margin below which it lies. [-]
    inputs : tuple of Input
        Those that matter most first; empty where nothing scatters or the margin has no bound.
    """

    samples: int
    lets_go: float
    short: float
    quantiles: tuple[tuple[float, float], ...]
    inputs: tuple[Input, ...]


def indices(
    margin: Callable[[FloatArray], FloatArray], names: Sequence[str], *, samples: int
) -> tuple[FloatArray, tuple[Input, ...]]:
    """Return the margins of a quasi-random sample, and the Sobol indices of its inputs, the greatest total first.

    Parameters
    ----------
    margin : callable
        From shares (n, inputs) to margins (n,). [-]
    names : sequence of str
    samples : int
        A power of two. [-]

    Notes
    -----
    Two blocks of a scrambled Sobol sequence and their crossings; estimators of Saltelli et al., "Variance based
    sensitivity analysis of model output", Computer Physics Communications 181 (2010), as in `scipy.stats`.
    """
    count = len(names)
    both = qmc.Sobol(d=2 * count, rng=SEED).random(samples)
    one, other = both[:, :count], both[:, count:]
    crossed = [np.column_stack([other[:, k] if k == j else one[:, k] for k in range(count)]) for j in range(count)]
    values = margin(np.concatenate([one, other, *crossed]))
    drawn_values = values[: 2 * samples]
    if not np.isfinite(values).all() or np.ptp(drawn_values) <= 1e-9 * np.abs(drawn_values).max():
        return drawn_values, ()
    blocks = values.reshape(2 + count, 1, samples)
    found = sobol_indices(func={"f_A": blocks[0], "f_B": blocks[1], "f_AB": blocks[2:]}, n=samples)
    first, total = np.ravel(found.first_order), np.ravel(found.total_order)
    inputs = [Input(name=n, first=float(f), total=float(t)) for n, f, t in zip(names, first, total, strict=True)]
    return drawn_values, tuple(sorted(inputs, key=lambda one: -one.total))


def doubt_of(stance: Stance, job: Job, worst: Sequence[Assessed], *, samples: int) -> Doubt:
    """Return how sure the margin of the stock is.

    Parameters
    ----------
    stance : Stance
    job : Job
    worst : sequence of Assessed
        Whose worst places are drawn: by typical numbers first, then the pessimist's.
    samples : int
        Rows of each of the two blocks of draws, a power of two. [-]

    Notes
    -----
    What scatters: friction, preload, vacuum, strength of bonds and of fasteners, one draw for each of them in the whole
    set-up, and the three cutting forces; each triangular between the ends of its band (`triangular`). The knock of
    entering is typical and vibration left out, as in the typical margin. At each draw the tooth angle counts that does
    most work in the typical let-go motion.

    The result is that of solving each draw by itself with everything built anew.
    """
    draws = DrawnMargins(stance, job, worst)
    inputs: tuple[Input, ...] = ()
    if draws.names:
        values, inputs = indices(draws.margins, draws.names, samples=samples)
    else:
        values = draws.margins(np.zeros((1, 0)))
    required = stance.set_up.required
    levels = np.quantile(values, QUANTILES, method="inverted_cdf")
    return Doubt(
        samples=len(values),
        lets_go=float(np.mean(values < 1.0)),
        short=float(np.mean(values < required)),
        quantiles=tuple(
            (q, float(level) if math.isfinite(level) else math.inf) for q, level in zip(QUANTILES, levels, strict=True)
        ),
        inputs=inputs,
    )
