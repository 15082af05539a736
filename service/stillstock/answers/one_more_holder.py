"""The best place for one more holder of a kind that the shop has, or for two more clamps where one is not enough."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from stillstock.answers.remedy import Change, Remedy
from stillstock.answers.retract_tools import margins_of, spindle_of
from stillstock.answers.tightening import Eased, eased
from stillstock.answers.trial import Trial, Variant
from stillstock.answers.trials import Bench
from stillstock.engine.clearance.holder_collision import holder_meetings
from stillstock.engine.clearance.obstacles import overlaps, standing
from stillstock.engine.holding.candidate_places import EdgePlace, beside, edge_places, inner_places
from stillstock.engine.holding.register import methods
from stillstock.engine.holding.resisting_work import resisting_work
from stillstock.engine.mechanics.work import OutOfWork
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import Cut, SetUp, Stock
from stillstock.errors import ImpossibleSetUp

__all__ = ["KINDS", "one_more", "path_moves"]

#: Kinds for which places are sought, those that make least trouble first.
KINDS = ("stop", "strap_clamp", "side_clamp", "screw")

#: Places looked at, places tried, and rounds of closer steps round the best of them. Own judgement. [-]
LOOKED_AT, TRIED, CLOSER = 40, 6, 2

#: Proofs, each with the loads that the last one found. [-]
PROOFS = 3

#: Kinds of which two more are sought where one more is not enough: clamps stand in twos.
PAIRED = ("strap_clamp",)

#: What a toe keeps from the stock's edge, and anything from a corner. Common practice, no source. [m]
TOE_INSET, CORNER = 0.002, 0.015

#: Diameters that a screw keeps from the stock's edge, so as not to split it; common practice, no source. [-]
EDGE_DISTANCE = 4.0

_WORDS: dict[tuple[float, float], str] = {(1, 0): "+x", (-1, 0): "-x", (0, 1): "+y", (0, -1): "-y"}
_SIDES = {"+x": "left", "-x": "right", "+y": "front", "-y": "back"}


@dataclass(frozen=True, kw_only=True)
class _Candidate:
    """A holder at a place; `members` are those that say where it stands."""

    holder: Any
    place: EdgePlace | tuple[float, float]
    members: Mapping[str, Any]
    side: str


@dataclass(frozen=True, kw_only=True)
class _Search:
    """One kind's search: how a candidate is made at a place, and what is known of the table.

    `eased` is what the holder joins; `added` are those that have joined it already.
    """

    bench: Bench
    kind: str
    like: int | None
    moves: Moves | None
    eased: Eased
    added: tuple[_Candidate, ...] = ()

    def candidate(self, place: EdgePlace | tuple[float, float]) -> _Candidate | None:
        """Return the holder at a place; None if it cannot face that way."""
        if not isinstance(place, EdgePlace):
            return self._made(place, {"at": place}, "")
        word = _WORDS.get((round(place.inward[0], 6), round(place.inward[1], 6)), "")
        side = _SIDES.get(word, "")
        if self.kind == "strap_clamp":
            pattern = self.pattern({"at": place.at})
            x, y = np.asarray(place.at) + np.asarray(place.inward) * (pattern.toe[0] / 2.0 + TOE_INSET)
            angle = float(np.arctan2(place.inward[1], place.inward[0]))
            return self._made(place, {"at": (float(x), float(y)), "angle": angle}, side)
        if not word:
            return None
        return self._made(place, {"at": place.at, "faces" if self.kind == "stop" else "pushes": word}, side)

    @property
    def ground(self) -> Stock:
        """The stock, or the part that falls shortest once it is free: only what stands in it holds it."""
        _, part = self.bench.stated.shortest
        return self.bench.job.set_up.stock if part is None else part.set_up.stock

    def pattern(self, members: Mapping[str, Any]) -> Any:
        """Return the holder, in all else like the first of its kind that is in use."""
        if self.like is not None:
            return replace(self.eased.set_up.holders[self.like], **members)
        return methods()[self.kind](**members)

    def _made(self, place: EdgePlace | tuple[float, float], members: Mapping[str, Any], side: str) -> _Candidate:
        return _Candidate(holder=self.pattern(members), place=place, members=members, side=side)

    def with_it(self, candidate: _Candidate) -> SetUp:
        """Return the set-up with the holder added."""
        set_up = self.eased.set_up
        joined = [one.holder for one in (*self.added, candidate)]
        return replace(set_up, holders=(*set_up.holders, *joined))

    def free(self, candidate: _Candidate) -> bool:
        """Return whether the holder can stand there, clear of other holders and of the tool."""
        set_up, tables = self.with_it(candidate), self.bench.tables
        number = len(set_up.holders) - 1
        try:
            candidate.holder.contacts(number, set_up, tables)
        except ImpossibleSetUp:
            return False
        if any(number in (found.one.holder, found.other.holder) for found in overlaps(standing(set_up))):
            return False
        if self.moves is None or not set_up.tools:
            return True
        margins, _ = margins_of(set_up, tables)
        grown = [
            replace(body, radius=body.radius + margins.around(body), high=body.high + margins.above(body))
            for body in candidate.holder.bodies(number, set_up)
        ]
        return not holder_meetings(self.moves, parts=spindle_of(set_up, tables).parts, bodies=grown)

    def promise(self, candidate: _Candidate) -> float:
        """Return by about what share the corner that falls short would gain."""
        bench, set_up = self.bench, self.with_it(candidate)
        short, _ = bench.stated.shortest
        hold = short.worst.worst.hold
        if hold.gauge <= 0.0:
            return 0.0
        contacts = candidate.holder.contacts(len(set_up.holders) - 1, set_up, bench.tables)
        slope = short.system.scale.gradient(hold.slope)
        work = resisting_work(contacts, slope, friction=bench.friction, level=set_up.stock.origin[2])
        return work / hold.gauge


def path_moves(cuts: Sequence[Cut]) -> Moves | None:
    """Return the moves along described cuts, each begun at its first place; None if there is no cut."""
    pairs = [(number, cut, a, b) for number, cut in enumerate(cuts, 1) for a, b in pairwise([cut.path[0], *cut.path])]
    if not pairs:
        return None
    count = len(pairs)
    return Moves(
        line=np.array([number for number, *_ in pairs]),
        kind=np.full(count, FEED),
        start=np.array([a for _, _, a, _ in pairs]),
        end=np.array([b for _, _, _, b in pairs]),
        feed=np.array([cut.feed for _, cut, _, _ in pairs]),
        speed=np.array([cut.speed for _, cut, _, _ in pairs]),
        tool=np.array([cut.tool for _, cut, _, _ in pairs]),
        known=np.ones(count, dtype=np.bool_),
    )


def _inset(search: _Search) -> float:
    middle = search.bench.job.set_up.stock.plan.mean(axis=0)
    return EDGE_DISTANCE * float(search.pattern({"at": (float(middle[0]), float(middle[1]))}).diameter)


def _places(search: _Search) -> Sequence[EdgePlace | tuple[float, float]]:
    stock = search.ground
    if search.kind != "screw":
        return edge_places(stock, count=LOOKED_AT, margin=CORNER)
    return inner_places(stock, count=LOOKED_AT, inset=_inset(search))


def _nearby(search: _Search, place: EdgePlace | tuple[float, float], by: float) -> Sequence[Any]:
    stock = search.ground
    if isinstance(place, EdgePlace):
        return beside(stock, place, by=by, margin=CORNER)
    inner = shapely.Polygon(stock.plan).buffer(-_inset(search))
    near = [(place[0] + dx * by, place[1] + dy * by) for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1))]
    return [at for at in near if inner.covers(shapely.Point(at))]


def _score(search: _Search, candidate: _Candidate) -> float:
    trial = search.bench.quick(Variant(set_up=search.with_it(candidate)))
    return -1.0 if trial is None or search.bench.spoilt(trial.failing) else trial.score


def _best(search: _Search, free: Sequence[_Candidate]) -> _Candidate:
    """Return the best of some candidates, moved by ever closer steps while that helps."""
    ranked = [(_score(search, candidate), candidate) for candidate in free]
    score, best = max(ranked, key=lambda pair: pair[0])
    stock = search.bench.job.set_up.stock
    step = float(np.ptp(stock.plan, axis=0).sum()) * 2.0 / LOOKED_AT
    for _ in range(CLOSER):
        step /= 2.0
        near = [search.candidate(place) for place in _nearby(search, best.place, step)]
        for candidate in near:
            if candidate is None or not search.free(candidate):
                continue
            found = _score(search, candidate)
            if found > score * (1.0 + 1e-6):
                score, best = found, candidate
    return best


def one_more(kind: str) -> Callable[[Bench], Remedy | None]:
    """Return the search for the best place of one more holder of a kind."""

    def search(bench: Bench) -> Remedy | None:
        return _searched(bench, kind)

    return search


def _searched(bench: Bench, kind: str) -> Remedy | None:
    set_up = bench.job.set_up
    like = next((index for index, holder in enumerate(set_up.holders) if holder.kind == kind), None)
    if like is None and kind not in set_up.spare:
        return None
    if bench.stated.shortest[1] is not None and kind != "screw":
        return None  # what stands beside a part that is free does not hold it
    moves = bench.job.reading.moves if bench.job.reading is not None else path_moves(set_up.cuts)
    search = _Search(bench=bench, kind=kind, like=like, moves=moves, eased=eased(bench))
    one = _best_proved(search)
    if one is None or one[1].holds:
        return None if one is None else _remedy(search, *one)
    if kind in PAIRED and like is not None:
        pair = replace(search, added=(one[0],))
        two = _best_proved(pair)
        if two is not None and two[1].holds:
            return _remedy(pair, *two)
    return _remedy(search, *one) if bench.gains(one[1]) else None


def _best_proved(search: _Search) -> tuple[_Candidate, Trial] | None:
    """Return the best place that was proved, and its proof; None if there is no free place, or the work is spent."""
    made = [candidate for place in _places(search) if (candidate := search.candidate(place)) is not None]
    free = [candidate for candidate in made if search.free(candidate)]
    free = sorted(free, key=lambda candidate: -search.promise(candidate))[:TRIED]
    proved = _proved(search, free) if free else []
    return max(proved, key=lambda pair: pair[1].score) if proved else None


def _proved(search: _Search, free: Sequence[_Candidate]) -> list[tuple[_Candidate, Trial]]:
    """Return places that were proved, each the best by the loads known so far, until one holds or the work is spent."""
    bench, found = search.bench, list[tuple[_Candidate, Trial]]()
    for _ in range(PROOFS):
        try:
            best = _best(search, free)
            trial = bench.prove(Variant(set_up=search.with_it(best)))
        except OutOfWork:
            break
        if trial is None:
            break
        found.append((best, trial))
        if bench.accepts(trial) or not bench.remember(trial):
            break
    return found


def _added(search: _Search, candidate: _Candidate, number: int) -> list[Change]:
    """Return the changes that put a holder on the table."""
    words = {name: value for name, value in candidate.members.items() if isinstance(value, str)}
    if search.like is not None:
        changes = [Change(pointer="/holders/-", copied=f"/holders/{search.like}")]
        changes += [Change(pointer=f"/holders/{number}/{name}", value=word) for name, word in words.items()]
    elif number:
        changes = [Change(pointer="/holders/-", value={"kind": search.kind, **words})]
    else:
        changes = [Change(pointer="/holders", value=({"kind": search.kind, **words},))]
    at = np.array(candidate.members["at"])
    changes.append(Change(pointer=f"/holders/{number}/at", value=at, dimension="length"))
    if "angle" in candidate.members:
        angle = candidate.members["angle"]
        changes.append(Change(pointer=f"/holders/{number}/angle", value=angle, dimension="angle"))
    return changes


def _remedy(search: _Search, best: _Candidate, trial: Trial) -> Remedy:
    number, added = len(search.eased.set_up.holders), (*search.added, best)
    title = methods()[search.kind].title
    numbers, places = list(search.eased.numbers), list[str]()
    for one in added:
        x, y = len(numbers), len(numbers) + 1
        side = f"on the {one.side} side " if one.side else ""
        places.append(f"{side}at X {{{x}}}, Y {{{y}}}")
        numbers += [(value, "length") for value in one.members["at"]]
    count = "a" if len(added) == 1 else "two more"
    first = f"{search.eased.detail}, and " if search.eased.detail else ""
    tail = ", where a hole does no harm" if search.kind == "screw" else ""
    return Remedy(
        kind="one_more_holder",
        detail=f"{first}add {count} {title}{'s' * (len(added) > 1)} {' and '.join(places)}{tail}",
        numbers=tuple(numbers),
        short=f"one more {title}" if len(added) == 1 else f"two more {title}s",
        changes=(
            *search.eased.changes,
            *(change for place, one in enumerate(added) for change in _added(search, one, number + place)),
        ),
        margin=trial.margin,
        pessimistic=trial.pessimistic,
        holds=trial.holds,
    )
