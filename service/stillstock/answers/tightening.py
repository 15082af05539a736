"""The least torque, vacuum or tape area that holds, each as a linear programme over the worst loads."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from itertools import combinations
from typing import Any

import numpy as np
import shapely

from stillstock.answers.least_setting import Knobs, NotStraight, least
from stillstock.answers.least_tape import Widening, least_widening
from stillstock.answers.remedy import Change, Remedy
from stillstock.answers.trial import Trial, Variant
from stillstock.answers.trials import WORSE, Bench
from stillstock.engine.mechanics.leakage import standard_pressure
from stillstock.engine.mechanics.threshold import nearest_that_holds
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["Eased", "eased", "grown_outlines", "looser", "more_tape", "more_vacuum", "tighter", "tighter_alone"]

#: Factors on what the clamps are tightened to now; own judgement of what is worth trying. [-]
UP = tuple(float(f) for f in np.geomspace(1.0, 8.0, 16))
DOWN = tuple(float(f) for f in np.geomspace(1.0, 0.1, 16))

#: Factors at which it is asked what bolts, anchors and stock bear, and how near to that the search comes. [-]
BORNE, BORNE_TOLERANCE = UP[::3], 0.02

#: Share of the air's own pressure that a workshop's pump reaches under a tight stock; common practice, no source. [-]
BEST_VACUUM = 0.85

#: Least gain that a change up to a limit must bring to be worth saying; own judgement. [-]
WORTHWHILE = 1.03

#: Clamps up to which each is looked at for itself, and least factor that is worth a turn of the wrench. [-]
MOST_ALONE, TOUCHED = 12, 0.01

#: Factor on the clamps by which it is seen whether a check suffers from tightening; own judgement. [-]
EASED = 0.9

Setting = float | Triple


@dataclass(frozen=True, kw_only=True)
class _Screwed:
    """What sets a clamp's force: the member that states it, and what it is now. [SI of `dimension`]"""

    index: int
    member: str
    now: Setting
    dimension: str
    most: float


@dataclass(frozen=True, kw_only=True)
class Eased:
    """A set-up whose clamps overload nothing, and what is to be done for that; nothing if it is the stated one."""

    set_up: SetUp
    detail: str = ""
    numbers: tuple[tuple[float, str], ...] = ()
    changes: tuple[Change, ...] = ()


def _times(value: Setting, factor: float) -> Setting:
    return value.times(factor) if isinstance(value, Triple) else value * factor


def _typical(value: Setting) -> float:
    return value.typical if isinstance(value, Triple) else value


def _member(holder: Any, tables: Tables) -> tuple[str, Setting] | None:
    """Return the member of a holder that sets its force, and its value; None where there is none to set."""
    names = {item.name for item in fields(holder)}
    if "torque" in names and "preload" in names:
        if holder.preload is not None:
            return "preload", holder.preload
        hand = tables.value("clamps", holder.handle, "hand_torque").typical
        return "torque", holder.torque if holder.torque is not None else hand
    if "force" not in names or getattr(holder, "pull_test", None):
        return None
    for member in ("force", "torque", "drive_force"):
        if getattr(holder, member, None) is not None:
            return member, getattr(holder, member)
    return "force", holder.push(tables)


def _screwed(set_up: SetUp, tables: Tables) -> list[_Screwed]:
    found = []
    for index, holder in enumerate(set_up.holders):
        named = _member(holder, tables)
        if named is not None:
            meta = next(item.metadata for item in fields(holder) if item.name == named[0])
            found.append(
                _Screwed(index=index, member=named[0], now=named[1], dimension=meta["dimension"], most=meta["most"])
            )
    return found


def _with(set_up: SetUp, changed: Sequence[tuple[int, str, Any]]) -> SetUp:
    holders = list(set_up.holders)
    for index, member, value in changed:
        holders[index] = replace(holders[index], **{member: value})
    return replace(set_up, holders=tuple(holders))


def _tightened(set_up: SetUp, clamps: Sequence[_Screwed], factor: float) -> SetUp:
    return _with(set_up, [(clamp.index, clamp.member, _times(clamp.now, factor)) for clamp in clamps])


def _remedy(
    kind: str, words: tuple[str, str], numbers: Sequence[tuple[float, str]], changes: Sequence[Change], trial: Trial
) -> Remedy:
    return Remedy(
        kind=kind,
        detail=words[0],
        numbers=tuple(numbers),
        short=words[1],
        changes=tuple(changes),
        margin=trial.margin,
        pessimistic=trial.pessimistic,
        holds=trial.holds,
    )


def _clamps_words(set_up: SetUp, clamps: Sequence[_Screwed], factor: float) -> tuple[str, list[tuple[float, str]]]:
    """Return what is to be done to the clamps, and the numbers in it."""
    values = [(_typical(clamp.now) * factor, clamp.dimension) for clamp in clamps]
    same = all(dimension == values[0][1] and np.isclose(value, values[0][0]) for value, dimension in values)
    verb = "tighten" if factor >= 1.0 else "loosen"
    title = set_up.holders[clamps[0].index].title
    which = f"{title} {clamps[0].index + 1}" if len(clamps) == 1 else _all_of(len(clamps))
    if same:
        detail, numbers = f"{verb} {which} to {{0}}", values[:1]
    elif len({dimension for _, dimension in values}) > 1:
        detail, numbers = f"{verb} {which}, each to {factor:.3g} times what it has", []
    else:
        detail, numbers = f"{verb} {which} to {factor:.3g} times what they have: {{0}} to {{1}}", sorted(values)
        numbers = [numbers[0], numbers[-1]]
    return detail + _gauged(set_up, clamps), numbers


def _by_torque(clamps: Sequence[_Screwed]) -> bool:
    return any(clamp.member == "torque" for clamp in clamps)


def _clamps_changes(clamps: Sequence[_Screwed], factor: float) -> list[Change]:
    return [
        Change(
            pointer=f"/holders/{clamp.index}/{clamp.member}",
            value=_times(clamp.now, factor),
            dimension=clamp.dimension,
        )
        for clamp in clamps
    ]


def _clamps_remedy(set_up: SetUp, clamps: Sequence[_Screwed], factor: float, trial: Trial, *, limit: str) -> Remedy:
    detail, numbers = _clamps_words(set_up, clamps, factor)
    if limit:
        detail += f"; that is all that {limit} bears"
    what = "torque" if _by_torque(clamps) else "clamping force"
    words = (detail, f"{factor:.2g} times the {what}")
    return _remedy("tighten", words, numbers, _clamps_changes(clamps, factor), trial)


def _all_of(count: int) -> str:
    return "both clamps" if count == 2 else f"all {count} clamps"


def _gauged(set_up: SetUp, clamps: Sequence[_Screwed]) -> str:
    """Return what shows the torque: a wrench fits no knob (common practice, no source)."""
    by_torque = [set_up.holders[clamp.index] for clamp in clamps if clamp.member == "torque"]
    if not by_torque:
        return ""
    on_knob = any(getattr(holder, "handle", "hex_key") != "hex_key" for holder in by_torque)
    return f", by a torque wrench{' on a hex head in place of the knob' if on_knob else ''}"


def _bearable(bench: Bench, changed: Callable[[float], SetUp], most: float) -> tuple[float, str]:
    """Return the greatest factor that spoils no check, and the name of one that fails beyond; empty if none does."""
    beyond = ""

    def bears(factor: float) -> bool:
        nonlocal beyond
        spoilt = bench.spoilt(bench.failing(changed(factor)) or {})
        if not spoilt:
            return True
        beyond = min(spoilt, key=lambda one: (one[0], one[1] or 0))[0].replace("_", " ")
        return False

    found = nearest_that_holds(bears, [f for f in reversed(BORNE) if f <= most], tolerance=BORNE_TOLERANCE)
    return (1.0 if found is None else found), beyond


def _least_common(bench: Bench, changed: Callable[[float], SetUp], most: float) -> tuple[float, Trial] | None:
    """Return the least common factor that is proved to hold: by linear programme, or where there is none by scan."""
    knobs = Knobs(
        set_up_at=lambda factors: changed(float(factors[0])),
        worth=lambda _factors: True,
        cost=np.ones(1),
        high=np.array([max(most, 1.0)]),
    )
    try:
        found = least(bench, knobs)
    except NotStraight:
        values = [*(factor for factor in UP if factor < most), most]
        return bench.settle(lambda factor: Variant(set_up=changed(factor)), values)
    return None if found is None else (float(found[0][0]), found[1])


def tighter(bench: Bench) -> Remedy | None:
    """Return the least common factor on all clamps that holds, or as much as bolts, anchors and stock bear."""
    set_up = bench.job.set_up
    clamps = _screwed(set_up, bench.tables)
    if not clamps:
        return None

    def changed(factor: float) -> SetUp:
        return _tightened(set_up, clamps, factor)

    room = min(clamp.most / max(_typical(clamp.now), 1e-9) for clamp in clamps)
    most, limit = _bearable(bench, changed, room)
    if most <= 1.0:
        return None
    found = _least_common(bench, changed, most)
    if found is not None:
        return _clamps_remedy(set_up, clamps, found[0], found[1], limit="")
    some = limit and most > WORTHWHILE and bench.stated.shortest[1] is None
    trial = bench.prove(Variant(set_up=changed(most))) if some else None
    if trial is None or not bench.gains(trial):
        return None
    return _clamps_remedy(set_up, clamps, most, trial, limit=f"the {limit}")


def tighter_alone(bench: Bench) -> Remedy | None:
    """Return which clamps to tighten, the others left as they are, such that all together tighten the least."""
    set_up = bench.job.set_up
    clamps = _screwed(set_up, bench.tables)
    if not 1 < len(clamps) <= MOST_ALONE:
        return None

    def set_up_at(factors: FloatArray) -> SetUp:
        pairs = zip(clamps, factors.tolist(), strict=True)
        return _with(set_up, [(clamp.index, clamp.member, _times(clamp.now, factor)) for clamp, factor in pairs])

    knobs = Knobs(
        set_up_at=set_up_at,
        worth=lambda factors: bool(factors.min() < 1.0 + TOUCHED),
        cost=np.ones(len(clamps)),
        high=np.array([_bearable_alone(bench, clamp) for clamp in clamps]),
    )
    if knobs.high.max() <= 1.0:
        return None
    try:
        found = least(bench, knobs)
    except NotStraight:
        return None
    if found is None:
        return None
    turned = [(clamp, float(f)) for clamp, f in zip(clamps, found[0], strict=True) if f > 1.0 + TOUCHED]
    return _alone_remedy(set_up, turned, found[1]) if 0 < len(turned) < len(clamps) else None


def _bearable_alone(bench: Bench, clamp: _Screwed) -> float:
    """Return the greatest factor on one clamp at which none of its checks fails that was ok. [-]"""
    room = clamp.most / max(_typical(clamp.now), 1e-9)
    return _bearable(bench, lambda factor: _tightened(bench.job.set_up, [clamp], factor), room)[0]


def _alone_remedy(set_up: SetUp, turned: Sequence[tuple[_Screwed, float]], trial: Trial) -> Remedy:
    names = [f"{set_up.holders[clamp.index].title} {clamp.index + 1}" for clamp, _ in turned]
    words = [f"{name} to {{{place}}}" for place, name in enumerate(names)]
    tail = _gauged(set_up, [clamp for clamp, _ in turned])
    return _remedy(
        "tighten",
        (f"tighten {' and '.join(words)}{tail}; leave the others", f"{' and '.join(names)} tighter"),
        [(_typical(clamp.now) * factor, clamp.dimension) for clamp, factor in turned],
        [
            Change(
                pointer=f"/holders/{clamp.index}/{clamp.member}",
                value=_times(clamp.now, factor),
                dimension=clamp.dimension,
            )
            for clamp, factor in turned
        ],
        trial,
    )


def eased(bench: Bench) -> Eased:
    """Return the set-up with its clamps loosened until no check fails that tightening worsens; as stated if none does.

    Whether it holds then is another matter: more holders may make up for it.
    """
    set_up = bench.job.set_up
    stated = Eased(set_up=set_up)
    clamps = _screwed(set_up, bench.tables) if bench.stated.failing else []
    if not clamps:
        return stated
    before, below = bench.failing(set_up) or {}, bench.failing(_tightened(set_up, clamps, EASED)) or {}
    worsened = {key for key, ratio in before.items() if below.get(key, 0.0) < ratio / WORSE}
    if not worsened:
        return stated
    factor = nearest_that_holds(lambda f: worsened.isdisjoint(bench.failing(_tightened(set_up, clamps, f)) or {}), DOWN)
    if factor is None:
        return stated
    detail, numbers = _clamps_words(set_up, clamps, factor)
    return Eased(
        set_up=_tightened(set_up, clamps, factor),
        detail=detail,
        numbers=tuple(numbers),
        changes=tuple(_clamps_changes(clamps, factor)),
    )


def looser(bench: Bench) -> Remedy | None:
    """Return the greatest common factor on all clamps at which every check is ok and the stock still holds."""
    set_up = bench.job.set_up
    clamps = _screwed(set_up, bench.tables)
    if not clamps:
        return None

    def variant(factor: float) -> Variant:
        return Variant(set_up=_tightened(set_up, clamps, factor))

    factor = nearest_that_holds(lambda f: not bench.failing(variant(f).set_up), DOWN)
    trial = bench.prove(variant(factor)) if factor is not None else None
    if factor is None or trial is None or not bench.accepts(trial) or not trial.holds:
        return None
    return _clamps_remedy(set_up, clamps, factor, trial, limit="")


def more_vacuum(bench: Bench) -> Remedy | None:
    """Return the least vacuum that holds, as far as a pump reaches."""
    set_up, tables = bench.job.set_up, bench.tables
    zones = [(index, holder) for index, holder in enumerate(set_up.holders) if holder.kind == "vacuum"]
    if not zones:
        return None
    now = {index: zone.vacuum(set_up, tables, kerf=zone.open_kerf(set_up)) for index, zone in zones}
    best = BEST_VACUUM * standard_pressure(set_up.machine.altitude)
    most = min(best / max(pressure.high, 1e-9) for pressure in now.values())
    if most <= 1.0:
        return None

    def changed(factor: float) -> SetUp:
        return _with(set_up, [(i, "pressure", pressure.times(factor)) for i, pressure in now.items()])

    found = _least_common(bench, changed, most)
    if found is None:
        return None
    factor, trial = found
    lowest = min(pressure.typical for pressure in now.values()) * factor
    words = (
        "bring the vacuum under the stock to {0}, read while cutting: fewer leaks or a stronger pump",
        f"{factor:.2g} times the vacuum",
    )
    changes = [
        Change(pointer=f"/holders/{i}/pressure", value=pressure.times(factor), dimension="pressure")
        for i, pressure in now.items()
    ]
    return _remedy("vacuum", words, [(lowest, "pressure")], changes, trial)


def grown_outlines(outlines: Sequence[FloatArray], plan: FloatArray, *, by: float) -> list[FloatArray]:
    """Return plan areas widened on all sides by a length, and cut at the edge of the stock. [m]

    Parameters
    ----------
    outlines : sequence of (n, 2) arrays
        [m]
    plan : (n, 2) array
        Outline of the stock. [m]
    by : float
        [m]
    """
    stock = shapely.Polygon(plan)
    found = []
    for outline in outlines:
        wide = shapely.Polygon(outline).buffer(by, join_style="mitre").intersection(stock)
        pieces = [piece for piece in getattr(wide, "geoms", [wide]) if isinstance(piece, shapely.Polygon)]
        largest = shapely.geometry.polygon.orient(max(pieces, key=lambda piece: piece.area))
        found.append(np.asarray(largest.exterior.coords)[:-1, :2])
    return found


def _room(outlines: Sequence[FloatArray], plan: FloatArray) -> float:
    """Return how far areas may be widened before two of them meet, or all of the stock is covered. [m]"""
    shapes = [shapely.Polygon(outline) for outline in outlines]
    gaps = [a.distance(b) / 2.0 for a, b in combinations(shapes, 2)]
    return float(min([*gaps, float(np.ptp(plan, axis=0).min()) / 2.0]))


def more_tape(bench: Bench) -> Remedy | None:
    """Return how much wider the tape must be to hold, as far as there is room under the stock."""
    set_up = bench.job.set_up
    tapes = [
        (index, holder.area)
        for index, holder in enumerate(set_up.holders)
        if holder.kind in ("foam_tape", "film_tape", "tape_and_ca")
    ]
    if not tapes:
        return None
    plan = set_up.stock.plan
    outlines = [area for _, area in tapes]
    room = _room(outlines, plan)
    if room <= 0.0:
        return None

    def wider(by: float) -> list[tuple[int, str, FloatArray]]:
        return [
            (index, "area", area) for (index, _), area in zip(tapes, grown_outlines(outlines, plan, by=by), strict=True)
        ]

    def set_up_at(by: float) -> SetUp:
        return _with(set_up, wider(by))

    def area_at(by: float) -> float:
        return float(sum(shapely.Polygon(area).area for _, _, area in wider(by)))

    found = least_widening(bench, Widening(set_up_at=set_up_at, area_at=area_at, room=room))
    if found is None:
        return None
    by, trial = found
    areas = wider(by)
    covered = area_at(by)
    before = sum(shapely.Polygon(outline).intersection(shapely.Polygon(plan)).area for outline in outlines)
    words = (
        f"widen the tape by {{0}} on every side: {covered / before:.2f} times the area, {{1}}",
        f"{covered / before:.2g} times the tape",
    )
    changes = [Change(pointer=f"/holders/{i}/area", value=area, dimension="length") for i, _, area in areas]
    return _remedy("tape_area", words, [(by, "length"), (covered, "area")], changes, trial)
