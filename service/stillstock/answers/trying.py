"""One way of holding put to the test: its placings one after another, till one holds."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stillstock.answers.batch import Effort, effort
from stillstock.answers.hold import Stance, held, short_load, stance_of, typical_reading
from stillstock.answers.judgement import Judgement, Verdict, judgement
from stillstock.answers.parts import short_part
from stillstock.answers.placing.ground import Ground, Layout, NoPlace, with_pieces
from stillstock.answers.placing.growth import LetsGo
from stillstock.answers.placing.kinds import placing_of
from stillstock.answers.retract_height import RetractAnswer, heights_of
from stillstock.answers.retract_run import Run, run_of
from stillstock.answers.retract_tools import spindle_of
from stillstock.answers.said import said
from stillstock.answers.shop import Entry
from stillstock.answers.ways_to_hold import Method
from stillstock.engine.checks.check import Check
from stillstock.engine.clearance.holder_collision import Against
from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.mechanics.capacity import Worst
from stillstock.engine.mechanics.equilibrium import System
from stillstock.engine.mechanics.work import OutOfWork, budget, left, need
from stillstock.engine.set_up import SetUp
from stillstock.errors import ImpossibleSetUp, NotInBalance
from stillstock.settings import Limits
from stillstock.tables.scatter import Corner

__all__ = ["Placed", "Reason", "Trier"]

#: Placings that one way of holding gets, and of these the ones that are judged in full. Own judgement. [-]
TRIES, PROOFS = 8, 3

#: Shares of the work of a request: after the first one way of holding gets no further placing, and it never gets more
#: than the second. Own judgement. [-]
SHARE, MOST = 1 / 20, 4 / 5

#: By how much a placing must be nearer than the one before it, for more of the same to be tried. Own judgement. [-]
GAIN = 1.05

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
        """How much of what is asked for it reaches, in factors and checks; 1 is enough. [-]"""
        checks = [1.0 / check.ratio for check in self.found.checks if not check.ok]
        return min(self.found.factor / self.found.set_up.required, self.found.pessimistic, *checks)

    @property
    def movement(self) -> float:
        """How far the stock gives way under the worst load. [m]"""
        return max((c.value for c in self.found.checks if c.name == "displacement"), default=0.0)

    @property
    def worst_check(self) -> Check | None:
        """The check that is nearest to failing."""
        return max(self.found.checks, key=lambda check: check.ratio, default=None)


@dataclass(kw_only=True)
class _Log:
    """What the placings of one way of holding came to.

    Attributes
    ----------
    ends : float
        What may be left of the work once no further placing is tried. [units]
    """

    ends: float
    best: Placed | None = None
    reason: Reason | None = None
    nearest: float = -1.0
    tries: int = 0
    proofs: int = 0
    spent: bool = False

    def ended(self) -> bool:
        """Return whether one holds, or enough was tried."""
        if self.best is not None and self.best.grade == 0:
            return True
        return self.tries >= TRIES or self.proofs >= PROOFS or (self.tries > 0 and left() <= self.ends)

    def note(self, outcome: Placed | Reason) -> float:
        """Keep an outcome if it is the best so far; return how much of what is asked it reaches. [-]"""
        self.tries += 1
        if isinstance(outcome, Placed):
            self.proofs += 1
            if self.best is None or (outcome.grade, -outcome.score) < (self.best.grade, -self.best.score):
                self.best = outcome
            return outcome.score
        reached = (outcome.value or 0.0) / (outcome.limit or 1.0) if outcome.code == "margin" else 0.0
        if reached > self.nearest:
            self.nearest, self.reason = reached, outcome
        return reached

    def none(self, why: NoPlace) -> None:
        """Keep why there was no place, unless something was placed."""
        if self.reason is None:
            self.reason = Reason(code=why.code, detail=why.detail, value=why.value, limit=why.limit)

    def outcome(self) -> Placed | Reason:
        """Return the best, or why there is none."""
        if self.best is not None:
            return self.best
        if self.spent:
            return Reason(
                code="work", detail="not judged to the end, the work of one request is spent: ask for it alone"
            )
        return self.reason or Reason(code="no_place", detail="there is no place for it")


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
        self._few = None if loads is None else loads.only(_extremes(loads))
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
        with budget(MOST * self._limits.work):
            log = _Log(ends=left() - SHARE * self._limits.work)
            try:
                need(0.0)
                self._try(method, log)
            except NoPlace as none:
                log.none(none)
            except OutOfWork:
                log.spent = True
        return log.outcome()

    def _try(self, method: Method, log: _Log) -> None:
        """Try one layout of what helps after the other, as long as that helps."""
        last: float | None = None
        for first in self._companions(method.companions):
            reached = self._grow(method, first, log)
            if log.ended() or (last is not None and reached is not None and reached <= last * GAIN):
                break
            last = reached if reached is not None else last

    def _companions(self, entries: Sequence[Entry], taken: Layout = ()) -> Iterator[Layout]:
        """Yield every layout of the holders that help, the first kind's first."""
        if not entries:
            yield taken
            return
        for layout in placing_of(entries[0].kind)(self.ground, entries[0], taken):
            yield from self._companions(entries[1:], (*taken, *layout))

    def _grow(self, method: Method, first: Layout, log: _Log) -> float | None:
        """Try more and more of what holds on one layout of what helps, as long as more of it helps.

        Return how much of what is asked for the best of them reaches; None if there is no place. [-]
        """
        tries = placing_of(method.entry.kind)(self.ground, method.entry, first)
        told: LetsGo | None = None
        last: float | None = None
        while not log.ended():
            try:
                layout = tries.send(told)
            except StopIteration:
                break
            except NoPlace as none:
                log.none(none)
                break
            outcome, told = self._tried((*layout, *first), method)
            if isinstance(outcome, Reason):
                outcome = self._at_torque(outcome, layout)
            reached = log.note(outcome)
            helped = last is None or reached > last * GAIN
            last = reached if last is None else max(last, reached)
            if not helped or (told is not None and told.of_part):
                break
        return last

    def _at_torque(self, reason: Reason, layout: Layout) -> Reason:
        """Return a reason that names the torque that was chosen for the clamps, where one was."""
        torque = next((piece.members["torque"] for piece in layout if "torque" in piece.members), None)
        if torque is None or reason.code not in ("margin", "check"):
            return reason
        words = f"with clamps at {self.ground.say(torque, 'torque')}, what a hand gives or the most that they bear"
        return replace(reason, detail=f"{reason.detail} {words}")

    def _tried(self, layout: Layout, method: Method) -> tuple[Placed | Reason, LetsGo | None]:
        set_up = with_pieces(self.ground.set_up, layout)
        try:
            stance = stance_of(set_up, self.ground.tables)
            short = self._short(stance) or self._short_part(stance)
            if short is not None:
                return short
            heights = self._heights(set_up)
            met = _met(heights)
            if met is not None:
                return met, None
            found = judgement(set_up, self.ground.job, self.ground.tables)
        except (ImpossibleSetUp, NotInBalance) as error:
            detail = said(error.faults[0].detail, error.faults[0].numbers, self.ground.question.system)
            return Reason(code="impossible", detail=detail), None
        if found is None:
            return Reason(code="not_judged", detail="no load could be reckoned for this stock and these tools"), None
        self.judged += 1
        self.programmes += found.programmes + sum(p.typical.programmes + p.pessimistic.programmes for p in found.parts)
        worst = found.hard.worst.worst
        told = _told(worst, found.hard.capacity.system(worst), stance, of_part=_by_part(found))
        failed = _failed(found, self.ground)
        if failed is not None:
            return failed, told
        spent = effort(layout, self.ground.question, self.ground.tables)
        return Placed(method=method, layout=layout, found=found, heights=heights, effort=spent), told

    def _short(self, stance: Stance) -> tuple[Reason, LetsGo] | None:
        """Return why typical numbers fall short where the job reaches farthest out; None if they do not.

        Only the loads that may be too much are solved, so this costs less than a judgement, and rules out no
        set-up that a judgement would not.
        """
        if self._few is None:
            return None
        required = stance.set_up.required
        (typical,) = held(stance, [typical_reading()])
        worst, spent = short_load(typical, self._few, factor=required)
        self.programmes += spent
        if worst is None:
            return None
        told = _told(worst, typical.capacity.system(worst), stance, of_part=False)
        return _margin_reason(worst.factor, required), told

    def _short_part(self, stance: Stance) -> tuple[Reason, LetsGo | None] | None:
        """Return which part falls short once it is free; None if none does."""
        required = stance.set_up.required
        if self.loads is None:
            return None
        found = short_part(stance, self.ground.job, self.ground.tables, loads=self.loads, factor=required)
        return None if found is None else (_margin_reason(found[1], required, part=found[0]), None)

    def _heights(self, set_up: SetUp) -> RetractAnswer:
        question = self.ground.question
        spindle = spindle_of(set_up, self.ground.tables)

        def run_at(height: float) -> Run | None:
            if set_up.program is None:
                return run_of(set_up, spindle=spindle, limits=self._limits, height=height)
            self._run = self._run or run_of(set_up, spindle=spindle, limits=self._limits, height=height)
            return self._run

        return heights_of(set_up, self.ground.tables, run_at, fingerprint="", system=question.system)


def _by_part(found: Judgement) -> bool:
    """Return whether a part that is free lets go before the stock as a whole does."""
    return found.weakest is not None or found.pessimistic < found.hard.factor


def _told(worst: Worst, system: System, stance: Stance, *, of_part: bool) -> LetsGo:
    slope = system.scale.gradient(worst.hold.slope)
    return LetsGo(slope=slope, friction=stance.friction.typical, of_part=of_part)


def _margin_reason(factor: float, required: float, *, part: str = "") -> Reason:
    what = f"{part}, once it is free, is held" if part else "the stock is held"
    detail = f"{what} to no more than {factor:.2g} times the worst load; {required:.2g} times is asked"
    return Reason(code="margin", detail=detail, value=factor, limit=required)


def _failed(found: Judgement, ground: Ground) -> Reason | None:
    """Return the number that rules a judged set-up out."""
    if found.factor < found.set_up.required:
        part = "" if found.weakest is None else found.weakest.name
        return _margin_reason(found.factor, found.set_up.required, part=part)
    broken = next((check for check in found.checks if check.fails_outright), None)
    if broken is None:
        return None
    value, limit = (ground.say(number, broken.dimension) for number in (broken.value, broken.limit))
    detail = said(broken.detail, broken.numbers, ground.question.system)
    return Reason(
        code="check", detail=f"{detail}: {value} against {limit}", value=broken.value, limit=broken.limit,
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
