"""How sure the margin is: its distribution over what nature scatters, and the input that matters most.

The loads that are worst by typical numbers and for the pessimist are drawn, not the whole program each time: where the
margin is least seldom moves with the scatter, and what it is there does.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import qmc, sobol_indices

from stillstock.answers.hold import Assessed, Stance, held, typical_reading
from stillstock.answers.job import Job
from stillstock.engine.cutting.coefficients import Coefficients
from stillstock.engine.cutting.engagement import Engagement, described_engagements
from stillstock.engine.cutting.job_sweep import capped
from stillstock.engine.cutting.loads import cut_curves, in_work_frame
from stillstock.engine.cutting.milling import ENTRY
from stillstock.engine.holding.drawn import drawn, scattered, triangular
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import FloatArray, Tool
from stillstock.errors import Fault, TooMuchWork
from stillstock.settings import Limits

__all__ = ["Doubt", "Input", "doubt_of", "indices"]

#: Of the quasi-random sequence; any number serves, so long as it stays. [-]
SEED = 20261125

#: What scatters in the cut: the chip and edge term of one direction move together.
CUTTING = (
    ("tangential cutting force", ("ktc", "kte")),
    ("radial cutting force", ("krc", "kre")),
    ("axial cutting force", ("kac", "kae")),
)

#: Programmes that setting up a system costs as much as; by measurement. [-]
SYSTEM = 5

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


@dataclass(frozen=True, kw_only=True)
class _Cutting:
    """What cuts at a worst place."""

    tool: Tool
    engagements: tuple[Engagement, ...]
    feed: float
    speed: float
    knock: float
    push_limit: float | None

    def loads(self, sets: Sequence[Coefficients]) -> FloatArray:
        """Return every load in the feed frame for each set of coefficients, (n, k, 6). [N, N m]"""
        each = [
            capped(cut_curves(self.tool, sets, one, feed=self.feed, speed=self.speed), push_limit=self.push_limit)[0]
            for one in self.engagements
        ]
        rows = [np.concatenate([curve.wrenches for curve in curves]) for curves in zip(*each, strict=True)]
        return self.knock * np.array(rows)


@dataclass(frozen=True, kw_only=True)
class _Place:
    """A worst place: where, what cuts there (or the load that is given), and the motion that it would let go with."""

    tip: FloatArray
    heading: float
    cutting: _Cutting | None
    tool: int
    given: FloatArray
    slope: FloatArray

    def worst(self, sets: Sequence[Coefficients], count: int) -> FloatArray:
        """Return for each draw the load that does most work in the motion, (n, 6) about the origin. [N, N m]"""
        if self.cutting is None:
            return np.broadcast_to(self.given, (count, 6))
        loads = self.cutting.loads(sets)
        turned = in_work_frame(loads.reshape(-1, 6), np.array([self.heading]))[0].reshape(loads.shape)
        force, moment = turned[..., :3], turned[..., 3:]
        bare = force * (1.0, 1.0, 0.0)
        force = np.concatenate([force, np.where(force[..., 2:] < 0.0, bare, force)], axis=1)
        found = wrench(self.tip, force, np.concatenate([moment, moment], axis=1))
        most = np.argmax(found @ self.slope, axis=1)
        return np.asarray(found[np.arange(len(found)), most])


def _cutting(job: Job, assessed: Assessed) -> tuple[_Cutting | None, int]:
    """Return what cuts at the worst place of an assessment, and with which tool; None for a given load."""
    set_up, place, loads = job.set_up, assessed.worst.place, assessed.loads
    cut, move = int(loads.cut[place]), int(loads.move[place])
    limit = set_up.machine.push_limit
    engagements: tuple[Engagement, ...]
    if move >= 0:
        group = next(group for group in job.groups if move in group.rows)
        knock = ENTRY.typical if group.enters else 1.0
        tool, engagements, feed, speed = group.tool, (group.engagement,), group.feed, group.speed
    elif cut < len(set_up.cuts):
        described = set_up.cuts[cut]
        at_start = bool(np.allclose(loads.tip[place, :2], described.path[0, :2], rtol=0.0, atol=1e-9))
        knock = ENTRY.typical if at_start else 1.0
        tool, feed, speed = described.tool, described.feed, described.speed
        engagements = described_engagements(described, set_up.tools[tool])
    else:
        return None, 0
    found = _Cutting(
        tool=set_up.tools[tool], engagements=engagements, feed=feed, speed=speed, knock=knock, push_limit=limit
    )
    return found, tool


def _place(job: Job, assessed: Assessed, usual: Capacity) -> _Place:
    place, loads = assessed.worst.place, assessed.loads
    there, _ = loads.sweep.loads(np.array([place]))
    row = int(np.argmin(np.abs(there.force - assessed.worst.force).max(axis=1)))
    given = there.wrenches[row]
    cutting, tool = _cutting(job, assessed)
    found = usual.at(given)
    slope = usual.system(found).scale.gradient(found.hold.slope)
    return _Place(
        tip=loads.tip[place], heading=float(loads.sweep.heading[place]), cutting=cutting, tool=tool, given=given,
        slope=slope,
    )  # fmt: skip


class _Draws:
    """The margin as a function of a share for each input that scatters."""

    def __init__(self, stance: Stance, job: Job, places: Sequence[_Place]) -> None:
        self._stance, self._job, self._places = stance, job, places
        self.holding = scattered(stance.contacts, stance.friction)
        boxes = [job.boxes[place.tool] for place in places if place.cutting is not None]
        self.cutting = tuple(
            name
            for name, terms in CUTTING
            if any(box.terms[term].high > box.terms[term].low for box in boxes for term in terms)
        )

    @property
    def names(self) -> tuple[str, ...]:
        """Inputs, in the order of the columns of shares."""
        return (*self.holding, *self.cutting)

    def _coefficients(self, tool: int, shares: FloatArray) -> Coefficients:
        box, terms = self._job.boxes[tool], {}
        drawn_shares = dict(zip(self.cutting, shares, strict=True))
        for name, members in CUTTING:
            for term in members:
                band = box.terms[term]
                terms[term] = triangular(band, drawn_shares[name]) if name in drawn_shares else band.typical
        return Coefficients(**terms)

    def _capacity(self, shares: FloatArray) -> Capacity:
        named = {name: float(share) for name, share in zip(self.holding, shares, strict=True)}
        contacts, friction = drawn(self._stance.contacts, self._stance.friction, named)
        changed = replace(self._stance, contacts=contacts, friction=friction)
        return held(changed, [typical_reading()])[0].capacity

    def margins(self, shares: FloatArray) -> FloatArray:
        """Return the margin at each row of shares, (n, inputs) -> (n,). [-]"""
        split = len(self.holding)
        cuts, of_cut = np.unique(shares[:, split:], axis=0, return_inverse=True)
        loads = [
            place.worst(
                [] if place.cutting is None else [self._coefficients(place.tool, row) for row in cuts], len(cuts)
            )
            for place in self._places
        ]
        holds, of_hold = np.unique(shares[:, :split], axis=0, return_inverse=True)
        found = np.zeros(len(shares))
        for number, row in enumerate(holds):
            capacity = self._capacity(row)
            for draw in np.nonzero(of_hold.ravel() == number)[0]:
                found[draw] = min(capacity.at(load[of_cut.ravel()[draw]]).factor for load in loads)
        return found


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


def _refuse_too_much(draws: _Draws, capacity: Capacity, samples: int, limits: Limits) -> None:
    """Count a system that is set up anew as so many programmes, and every draw as one for each system."""
    systems = len(capacity.systems)
    work = samples * systems * (SYSTEM * (2 + len(draws.holding)) + 2 + len(draws.names))
    if work > limits.work:
        detail = (
            f"so many samples would cost as much as {work} linear programmes here, more than {limits.work}: take fewer"
        )
        fault = Fault(pointer="/doubt/samples", code="too_much_work", detail=detail, limit=limits.work, seen=work)
        raise TooMuchWork([fault])


def doubt_of(stance: Stance, job: Job, worst: Sequence[Assessed], *, samples: int, limits: Limits) -> Doubt:
    """Return how sure the margin of the stock is.

    Parameters
    ----------
    stance : Stance
    job : Job
    worst : sequence of Assessed
        Whose worst places are drawn: by typical numbers first, then the pessimist's.
    samples : int
        Rows of each of the two blocks of draws, a power of two. [-]
    limits : Limits

    Raises
    ------
    TooMuchWork
        If the draws need more programmes than a request may cost.

    Notes
    -----
    What scatters: friction, preload, vacuum, strength of bonds and of fasteners, one draw for each of them in the whole
    set-up, and the three cutting forces; each triangular between the ends of its band (`triangular`). The knock of
    entering is typical and vibration left out, as in the typical margin. At each draw the tooth angle counts that does
    most work in the typical let-go motion.
    """
    usual = held(stance, [typical_reading()])[0].capacity
    places: list[_Place] = []
    for assessed in worst:
        place = _place(job, assessed, usual)
        if not any(np.allclose(place.tip, known.tip) and np.isclose(place.heading, known.heading) for known in places):
            places.append(place)
    draws = _Draws(stance, job, places)
    inputs: tuple[Input, ...] = ()
    if draws.names:
        _refuse_too_much(draws, usual, samples, limits)
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
