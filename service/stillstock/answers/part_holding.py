"""The least tabs, and the least skin, that hold a part once it is free: found by search, proved by running."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from stillstock.answers.hold import (
    PESSIMIST_SLACK,
    Assessed,
    Held,
    Stance,
    assess_held,
    held,
    pessimistic_readings,
    typical_reading,
)
from stillstock.answers.known_loads import worst_alone
from stillstock.answers.parts import FreePart, part_stance
from stillstock.answers.trials import PESSIMIST_SURPLUS, SURPLUS
from stillstock.engine.holding.bridging import COUNTED_FROM, loss
from stillstock.engine.holding.methods.skin import Skin
from stillstock.engine.holding.methods.tab import Tab
from stillstock.engine.holding.tab_places import tab_places
from stillstock.engine.mechanics.work import OutOfWork, budget
from stillstock.engine.set_up import FloatArray, Part
from stillstock.errors import ImpossibleSetUp
from stillstock.tables.load import Tables

__all__ = ["WORK", "PartHolding", "SkinThatHolds", "TabsThatHold", "part_holdings"]

Holders = tuple[Any, ...]

#: Searches until a proof agrees. [-]
ROUNDS = 5

#: What the search for all parts of a set-up may cost; it ends where that is spent. [units]
WORK = 12_000.0

#: Tabs that are tried, few first: three at least, so that no side can hinge (common practice, no source). [-]
COUNTS = (3, 4, 6, 8, 12, 16)

#: Steps in which a tab's height and a skin's thickness are told: what a program can be written in. [m]
TAB_STEP, SKIN_STEP = 0.1e-3, 0.05e-3


@dataclass(frozen=True, kw_only=True)
class TabsThatHold:
    """Tabs that hold a part.

    Attributes
    ----------
    width, height : float
        Of each, as the program leaves it. [m]
    places : tuple of (x, y, angle)
        Where each stands, and the direction of the path there. [m], [rad]
    typical, pessimistic : float
        Load factors of the part with them. [-]
    """

    width: float
    height: float
    places: tuple[tuple[float, float, float], ...]
    typical: float
    pessimistic: float


@dataclass(frozen=True, kw_only=True)
class SkinThatHolds:
    """A skin that holds a part: its thickness as the program leaves it [m], and the part's load factors with it [-]."""

    thickness: float
    typical: float
    pessimistic: float


@dataclass(frozen=True, kw_only=True)
class PartHolding:
    """What holds a part.

    Attributes
    ----------
    without : bool
        Whether it holds with neither tabs nor skin.
    tabs : TabsThatHold or None
        The fewest and lowest; None if no tabs up to half the thickness hold, or the budget of work is spent.
    skin : SkinThatHolds or None
        The thinnest; None likewise.
    """

    without: bool
    tabs: TabsThatHold | None
    skin: SkinThatHolds | None


class _Trial:
    """A part that is tried with other holders: under the worst loads met so far, and then under all of its own."""

    def __init__(self, stance: Stance, free: FreePart, tables: Tables) -> None:
        self.stance, self.free, self.tables = stance, free, tables
        self._shaken = tables.value("friction", "any_pair", "dynamic_factor").typical
        self._worst: tuple[list[FloatArray], list[FloatArray]] = ([], [])
        self._remember(free.typical, free.pessimistic)

    def _remember(self, typical: Assessed, pessimistic: Assessed) -> None:
        """Keep the worst load of both, as wrenches about the origin."""
        for known, found in zip(self._worst, (typical, pessimistic), strict=True):
            alone, _ = worst_alone(found).sweep.loads(np.array([0]))
            known += list(alone.wrenches)

    def _held(self, holders: Holders) -> tuple[Sequence[Held], Sequence[Held]] | None:
        """Return what the part resists with some holders, typically and for the pessimist; None if they cannot be."""
        try:
            own = part_stance(self.stance, replace(self.free.part, held_by=holders), self.tables)
        except ImpossibleSetUp:
            return None
        ends = pessimistic_readings(own.contacts, shaken=self._shaken)
        return held(own, [typical_reading()]), held(own, ends)

    def seems(self, holders: Holders) -> bool:
        """Return whether the part holds as asked against the worst loads met so far."""
        found = self._held(holders)
        if found is None:
            return False
        factors = SURPLUS * self.stance.set_up.required, PESSIMIST_SURPLUS
        return all(
            self._reaches(helds, loads, factor)
            for helds, loads, factor in reversed(tuple(zip(found, self._worst, factors, strict=True)))
        )

    def _reaches(self, helds: Sequence[Held], loads: Sequence[FloatArray], factor: float) -> bool:
        """Return whether each load is held to a factor. [-]"""
        return all(one.capacity.at(load).factor >= factor for one in helds for load in loads)

    def proved(self, holders: Holders) -> tuple[float, float] | None:
        """Return the factors under all loads if the part holds as asked; if not, remember the worst load. [-]"""
        found = self._held(holders)
        if found is None:
            return None
        typical = assess_held(found[0], self.free.typical.loads)
        pessimistic = assess_held(found[1], self.free.pessimistic.loads, slack=PESSIMIST_SLACK)
        if typical.factor >= self.stance.set_up.required and pessimistic.factor >= 1.0:
            return typical.factor, pessimistic.factor
        self._remember(typical, pessimistic)
        return None

    @property
    def others(self) -> Holders:
        """The part's holders that are neither tab nor skin."""
        return tuple(each for each in self.free.part.held_by if not isinstance(each, Tab | Skin))

    def lost(self, counted_from: str) -> float:
        """Return what thin stock, bow and bed may take from a height at the most. [m]"""
        return max(loss(self.stance.set_up, counted_from=counted_from).high, 0.0)


def _least(holds: Callable[[int], bool], low: int, high: int) -> int:
    """Return the least step above `low` that holds, given that `high` does."""
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def _template(part: Part, tables: Tables, kerf: float) -> Tab:
    """Return the part's own first tab, or one of the usual width."""
    own = next((each for each in part.held_by if isinstance(each, Tab)), None)
    width = tables.value("tabs", "tab", "width").typical
    return own or Tab(at=(0.0, 0.0), width=width, height=TAB_STEP, kerf=kerf, counted_from=_counted_from(part))


def _counted_from(part: Part) -> str:
    own = next((each for each in part.held_by if isinstance(each, Tab | Skin)), None)
    return COUNTED_FROM[0] if own is None else own.counted_from


def _tabs(trial: _Trial, kerf: float) -> TabsThatHold | None:
    """Return the fewest tabs that hold, each as low as serves."""
    part, thickness = trial.free.part, trial.stance.set_up.stock.thickness[0]
    template = _template(part, trial.tables, kerf)
    share = trial.tables.value("tabs", "tab", "thickness_share")
    nothing = int(trial.lost(template.counted_from) / TAB_STEP)

    def some(count: int, steps: int) -> Holders:
        places = tab_places(part.outline, count)
        tabs = (replace(template, at=(x, y), angle=angle, height=steps * TAB_STEP) for x, y, angle in places)
        return (*trial.others, *tabs)

    for most in (int(part_of * thickness / TAB_STEP) for part_of in (share.typical, share.high)):
        for count in COUNTS:
            found = _least_proved(trial, partial(some, count), nothing, most)
            if found is not None:
                steps, typical, pessimistic = found
                return TabsThatHold(
                    width=template.width,
                    height=steps * TAB_STEP,
                    places=tab_places(part.outline, count),
                    typical=typical,
                    pessimistic=pessimistic,
                )
    return None


def _least_proved(
    trial: _Trial, holders: Callable[[int], Holders], nothing: int, most: int
) -> tuple[int, float, float] | None:
    """Return the least steps above `nothing` with which a part is proved to hold, and its load factors; or None."""
    for _ in range(ROUNDS):
        if nothing >= most or not trial.seems(holders(most)):
            return None
        steps = _least(lambda k: trial.seems(holders(k)), nothing, most)
        proof = trial.proved(holders(steps))
        if proof is not None:
            return steps, *proof
    return None


def _skin(trial: _Trial, kerf: float) -> SkinThatHolds | None:
    """Return the thinnest skin that holds."""
    part = trial.free.part
    own = next((each for each in part.held_by if isinstance(each, Skin)), None)
    template = own or Skin(thickness=SKIN_STEP, kerf=kerf, counted_from=_counted_from(part))
    share = trial.tables.value("tabs", "tab", "thickness_share").high
    found = _least_proved(
        trial,
        lambda steps: (*trial.others, replace(template, thickness=steps * SKIN_STEP)),
        int(trial.lost(template.counted_from) / SKIN_STEP),
        int(share * trial.stance.set_up.stock.thickness[0] / SKIN_STEP),
    )
    if found is None:
        return None
    steps, typical, pessimistic = found
    return SkinThatHolds(thickness=steps * SKIN_STEP, typical=typical, pessimistic=pessimistic)


def part_holdings(stance: Stance, parts: Sequence[FreePart], tables: Tables) -> tuple[PartHolding | None, ...]:
    """Return for each part what holds it; None where the budget of work was spent, which serves the weakest first.

    Parameters
    ----------
    stance : Stance
        Of the whole stock.
    parts : sequence of FreePart
    tables : Tables

    Notes
    -----
    A part's holders that are neither tab nor skin stay, as does what lies under it of the set-up's. Height and
    thickness are the least steps that hold by bisection, which takes it that more of them never holds less; the one
    that is told was run itself.
    """
    found: list[PartHolding | None] = [None] * len(parts)
    try:
        with budget(WORK):
            for number in sorted(range(len(parts)), key=lambda k: parts[k].typical.factor):
                found[number] = _holding(_Trial(stance, parts[number], tables))
    except OutOfWork:
        pass
    return tuple(found)


def _holding(trial: _Trial) -> PartHolding:
    kerf = trial.stance.set_up.tools[trial.free.tool].diameter
    without = trial.proved(trial.others) is not None
    return PartHolding(without=without, tabs=_tabs(trial, kerf), skin=_skin(trial, kerf))
