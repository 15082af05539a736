"""The margin at so many draws of what nature scatters.

The loads that are worst by typical numbers and for the pessimist are drawn, not the whole program each time: where the
margin is least seldom moves with the scatter, and what it is there does. Contacts, areas and motions are the same at
every draw; only numbers of the programmes differ, and what is solved at one draw bounds the others or settles them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.answers.hold import Assessed, Stance, held, typical_reading
from stillstock.answers.job import Job
from stillstock.engine.cutting.coefficients import Coefficients
from stillstock.engine.cutting.engagement import Engagement, described_engagements
from stillstock.engine.cutting.job_sweep import capped
from stillstock.engine.cutting.loads import cut_curves, in_work_frame
from stillstock.engine.cutting.milling import ENTRY
from stillstock.engine.holding.drawn import Draws, scattered, triangular
from stillstock.engine.holding.resistance import ways_at_draws
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.capacity_at_draws import CapacityAtDraws
from stillstock.engine.mechanics.equilibrium import Family
from stillstock.engine.mechanics.linear_program import GIVES_WAY, IntArray
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import FloatArray, Tool

__all__ = ["DrawnMargins"]

BoolArray = NDArray[np.bool_]

#: What scatters in the cut: the chip and edge term of one direction move together.
CUTTING = (
    ("tangential cutting force", ("ktc", "kte")),
    ("radial cutting force", ("krc", "kre")),
    ("axial cutting force", ("kac", "kae")),
)

#: Draws of what holds for which programmes are kept at once: more takes memory, and less saves little time. [-]
AT_ONCE = 128


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


def _places(stance: Stance, job: Job, worst: Sequence[Assessed]) -> list[_Place]:
    """Return the worst place of each assessment, each once."""
    usual = held(stance, [typical_reading()])[0].capacity
    places: list[_Place] = []
    for assessed in worst:
        place = _place(job, assessed, usual)
        if not any(np.allclose(place.tip, known.tip) and np.isclose(place.heading, known.heading) for known in places):
            places.append(place)
    return places


class DrawnMargins:
    """The margin as a function of a share for each input that scatters."""

    def __init__(self, stance: Stance, job: Job, worst: Sequence[Assessed]) -> None:
        """Take what is worst by each assessment as the places at which the margin may be least."""
        self._stance, self._job = stance, job
        self._places = _places(stance, job, worst)
        self.holding = scattered(stance.contacts, stance.friction)
        boxes = [job.boxes[place.tool] for place in self._places if place.cutting is not None]
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
                share = drawn_shares.get(name)
                terms[term] = band.typical if share is None else float(triangular(band, share))
        return Coefficients(**terms)

    def loads(self, shares: FloatArray) -> FloatArray:
        """Return the worst load of each place at each row of shares (n, inputs), (n, places, 6). [N, N m]"""
        cuts, of_cut = np.unique(shares[:, len(self.holding) :], axis=0, return_inverse=True)
        each = [place.worst(self._sets(place, cuts), len(cuts)) for place in self._places]
        return np.stack(each, axis=1)[of_cut.ravel()]

    def _sets(self, place: _Place, cuts: FloatArray) -> list[Coefficients]:
        return [] if place.cutting is None else [self._coefficients(place.tool, row) for row in cuts]

    def margins(self, shares: FloatArray) -> FloatArray:
        """Return the margin at each row of shares, (n, inputs) -> (n,). [-]"""
        gauges = self._gauges(shares[:, : len(self.holding)], self.loads(shares))
        factors = 1.0 / np.where(gauges > 0.0, gauges, np.inf)
        return np.where(gauges > 0.0, np.where(gauges < GIVES_WAY * 1e-3, factors, 0.0), np.inf)

    def _gauges(self, shares: FloatArray, loads: FloatArray) -> FloatArray:
        """Return the worst gauge of each draw's loads (n, places, 6), (n,). [-]"""
        holds, of_hold = np.unique(shares, axis=0, return_inverse=True)
        gauges, of_hold = np.zeros(len(shares)), of_hold.ravel()
        known = list[list[IntArray]]()
        for first in range(0, len(holds), AT_ONCE):
            these = np.nonzero((of_hold >= first) & (of_hold < first + AT_ONCE))[0]
            ways = self._ways(holds[first : first + AT_ONCE])
            capacity = CapacityAtDraws(ways, loads[these], of_hold[these] - first, known=known)
            gauges[these] = capacity.gauges()
            known = capacity.bases()
        return gauges

    def _ways(self, holds: FloatArray) -> list[list[tuple[Family, BoolArray]]]:
        stance, draws = self._stance, Draws(count=len(holds), shares=dict(zip(self.holding, holds.T, strict=True)))
        stock, bed = stance.set_up.stock, stance.set_up.bed
        ways = ways_at_draws(stance.contacts, stock=stock, bed=bed, friction=stance.friction, draws=draws)
        return [list(zip(way.families, way.counts, strict=True)) for way in ways]
