"""One way of holding put to the test: its placings one after another, till one holds."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stillstock.answers.batch import Effort, effort
from stillstock.answers.hold import Stance, held, stance_of, typical_reading
from stillstock.answers.judgement import Judgement, Verdict, judgement
from stillstock.answers.placing.ground import Ground, Layout, NoPlace, with_pieces
from stillstock.answers.placing.growth import LetsGo, Tries
from stillstock.answers.placing.kinds import PLACING
from stillstock.answers.retract_height import RetractAnswer, heights_of
from stillstock.answers.retract_run import Run, run_of
from stillstock.answers.retract_tools import spindle_of
from stillstock.answers.ways_to_hold import Method
from stillstock.engine.checks.check import Check
from stillstock.engine.clearance.holder_collision import Against
from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.mechanics.capacity import Worst
from stillstock.engine.set_up import SetUp
from stillstock.errors import ImpossibleSetUp, NotInBalance
from stillstock.settings import Limits
from stillstock.tables.scatter import Corner

__all__ = ["Placed", "Reason", "Trier"]

#: Placings that one way of holding gets, and of these the ones that are judged in full. Own judgement. [-]
TRIES, PROOFS = 8, 3

#: Directions in plan in which the farthest places of the job are looked at first. [-]
COMPASS = 8


@dataclass(frozen=True, kw_only=True)
class Reason:
    """Why a way of holding is out.

    Attributes
    ----------
    fact : str
        Key of the fact that rules it out; empty if a number does.
    code : str
        Constant word: ``"fact"``, ``"no_place"``, ``"margin"``, ``"check"``, ``"meets"``, ``"z_travel"`` ...
    detail : str
        One sentence.
    value, limit : float or None
        The number that ruled it out and its limit. [SI of `dimension`]
    dimension : str
    source : str
        Key of the source of fact or limit.
    """

    code: str
    detail: str
    value: float | None = None
    limit: float | None = None
    dimension: str = "number"
    source: str = "own_derivation"
    fact: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class Placed:
    """A placed set-up, judged.

    Attributes
    ----------
    method : Method
    layout : tuple of Piece
    found : Judgement
    heights : RetractAnswer
    effort : Effort
    """

    method: Method
    layout: Layout
    found: Judgement
    heights: RetractAnswer
    effort: Effort

    @property
    def grade(self) -> int:
        """0 if it holds in full, 1 if it is doubtful, 2 if that cannot be told. [-]"""
        return {Verdict.HOLDS: 0, Verdict.DOUBTFUL: 1}.get(self.found.verdict, 2)

    @property
    def score(self) -> float:
        """How much of what is asked for it reaches; 1 is enough. [-]"""
        return min(self.found.factor / self.found.set_up.required, self.found.pessimistic)

    @property
    def movement(self) -> float:
        """How far the stock gives way under the worst load. [m]"""
        return max((c.value for c in self.found.checks if c.name == "displacement"), default=0.0)

    @property
    def worst_check(self) -> Check | None:
        """The check that is nearest to failing."""
        return max(self.found.checks, key=lambda check: check.ratio, default=None)


def _extremes(loads: JobSweep) -> np.ndarray:
    """Return the places that lie farthest out, with every place that shares a fan with none of them."""
    turn = np.arange(COMPASS) * 2.0 * np.pi / COMPASS
    rows = [int(np.argmax(loads.tip[:, :2] @ np.array([np.cos(a), np.sin(a)]))) for a in turn]
    _, first = np.unique(loads.sweep.fan, return_index=True)
    return np.unique(np.concatenate([rows, first]))


class Trier:
    """Tries ways of holding on one ground; what it costs one of them does not depend on the others."""

    def __init__(self, ground: Ground, limits: Limits) -> None:
        self.ground, self._limits = ground, limits
        loads, _ = ground.job.loads(Corner.TYPICAL)
        self.loads = loads
        self._few = None if loads is None else loads.sweep.loads(_extremes(loads))[0]
        self._run: Run | None = None
        self.programmes = 0
        self.judged = 0

    def best(self, method: Method) -> Placed | Reason:
        """Return the placing that holds with least trouble, else the one that comes nearest; or why there is none."""
        gone = next((entry for entry in method.entries if not entry.enough(1)), None)
        if gone is not None:
            return Reason(
                code="count", detail=f"the shop has no {gone.kind.replace('_', ' ')} left", value=0.0, limit=1.0
            )
        reason, best = Reason(code="no_place", detail="there is no place for it"), None
        nearest, proofs = -1.0, 0
        tries = _both(self.ground, method)
        told: LetsGo | None = None
        for _ in range(TRIES):
            try:
                layout = tries.send(told)
            except StopIteration:
                break
            except NoPlace as none:
                if best is None and nearest < 0.0:
                    reason = Reason(code=none.code, detail=none.detail, value=none.value, limit=none.limit)
                break
            outcome, told = self._tried(layout, method)
            if isinstance(outcome, Reason):
                reached = outcome.value or 0.0 if outcome.code == "margin" else -0.5
                if reached > nearest:
                    nearest, reason = reached, outcome
                continue
            proofs += 1
            if best is None or (outcome.grade, -outcome.score) < (best.grade, -best.score):
                best = outcome
            if outcome.grade == 0 or proofs >= PROOFS:
                break
        tries.close()
        return best or reason

    def _tried(self, layout: Layout, method: Method) -> tuple[Placed | Reason, LetsGo | None]:
        set_up = with_pieces(self.ground.set_up, layout)
        try:
            stance = stance_of(set_up, self.ground.tables)
            short = self._short(stance, set_up)
            if short is not None:
                return short
            found = judgement(set_up, self.ground.job, self.ground.tables)
        except (ImpossibleSetUp, NotInBalance) as error:
            return Reason(code="impossible", detail=error.faults[0].detail), None
        if found is None:
            return Reason(code="not_judged", detail="no load could be reckoned for this stock and these tools"), None
        self.judged += 1
        self.programmes += found.programmes
        told = _told(found.hard.worst.worst, found.hard.capacity.system(found.hard.worst.worst), stance)
        failed = _failed(found, self.ground)
        if failed is not None:
            return failed, told
        heights = self._heights(set_up)
        met = _met(heights)
        if met is not None:
            return met, None
        return (
            Placed(
                method=method, layout=layout, found=found, heights=heights,
                effort=effort(layout, self.ground.question, self.ground.tables),
            ),
            told,
        )  # fmt: skip

    def _short(self, stance: Stance, set_up: SetUp) -> tuple[Reason, LetsGo | None] | None:
        """Return why typical numbers fall short where the job reaches farthest out; None if they do not.

        Only the loads that may be too much are solved, so this costs less than a judgement, and rules out no
        set-up that a judgement would not.
        """
        if self._few is None:
            return None
        (typical,) = held(stance, [typical_reading()])
        worst = typical.capacity.worst(self._few, above=(1.0 + 1e-9) / set_up.required)
        self.programmes += typical.capacity.programmes
        if worst is None:
            return None
        told = _told(worst, typical.capacity.system(worst), stance)
        return _margin_reason(worst.factor, set_up.required), told

    def _heights(self, set_up: SetUp) -> RetractAnswer:
        question = self.ground.question
        spindle = spindle_of(set_up, self.ground.tables)

        def run_at(height: float) -> Run | None:
            if set_up.program is None:
                return run_of(set_up, spindle=spindle, limits=self._limits, height=height)
            self._run = self._run or run_of(set_up, spindle=spindle, limits=self._limits, height=height)
            return self._run

        return heights_of(set_up, self.ground.tables, run_at, fingerprint="", system=question.system)


def _both(ground: Ground, method: Method) -> Tries:
    """Yield the layouts of a way of holding: its companion's first, and on each of them its own."""
    if method.companion is None:
        yield from PLACING[method.entry.kind](ground, method.entry, ())
        return
    told: LetsGo | None = None
    placed = False
    missing: NoPlace | None = None
    for first in _plain(PLACING[method.companion.kind](ground, method.companion, ())):
        own = PLACING[method.entry.kind](ground, method.entry, first)
        told = None
        while True:
            try:
                layout = own.send(told)
            except StopIteration:
                break
            except NoPlace as none:
                missing = missing or none
                break
            placed = True
            told = yield (*layout, *first)
    if not placed and missing is not None:
        raise missing


def _plain(tries: Tries) -> Iterator[Layout]:
    yield from tries


def _told(worst: Worst, system: object, stance: Stance) -> LetsGo | None:
    slope = system.scale.gradient(worst.hold.slope)  # type: ignore[attr-defined]
    return LetsGo(slope=slope, friction=stance.friction.typical) if np.any(slope) else None


def _margin_reason(factor: float, required: float) -> Reason:
    detail = f"it holds no more than {factor:.2g} times the worst load; {required:.2g} times is asked"
    return Reason(code="margin", detail=detail, value=factor, limit=required)


def _failed(found: Judgement, ground: Ground) -> Reason | None:
    """Return the number that rules a judged set-up out."""
    if found.factor < found.set_up.required:
        return _margin_reason(found.factor, found.set_up.required)
    broken = next((check for check in found.checks if check.fails_outright), None)
    if broken is None:
        return None
    value, limit = (ground.say(number, broken.dimension) for number in (broken.value, broken.limit))
    return Reason(
        code="check", detail=f"{broken.detail}: {value} against {limit}", value=broken.value, limit=broken.limit,
        dimension=broken.dimension, source=broken.source,
    )  # fmt: skip


def _met(heights: RetractAnswer) -> Reason | None:
    """Return what of the tool meets a holder, or runs out of travel."""
    codes = {Against.HOLDER: "meets", Against.LIMIT: "z_travel"}
    for found in heights.meetings:
        if found.meeting.against in codes:
            return Reason(
                code=codes[found.meeting.against], detail=found.what, value=found.meeting.depth, limit=0.0,
                dimension="length",
            )  # fmt: skip
    return None
