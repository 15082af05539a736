"""Cuts that pull less: the greatest feed and depth that hold, climb for conventional, down-cut for up-cut."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from stillstock.answers.hold import Assessed
from stillstock.answers.remedy import Change, Remedy
from stillstock.answers.trial import Trial, Variant
from stillstock.answers.trials import Bench
from stillstock.engine.holding.demands import plain
from stillstock.engine.mechanics.threshold import nearest_that_holds
from stillstock.engine.set_up import Cut, CutKind, Direction, Helix, Tool

__all__ = ["climb", "down_cut", "shallower", "slower", "slower_program"]

#: Least share of the stated feed that is proposed; own judgement. [-]
LEAST_FEED = 0.15

#: Thinnest chip of one tooth: below it the edge rubs and burns; common practice, no source. [m]
LEAST_CHIP = 0.02e-3

#: Least depth of a pass that is proposed; own judgement. [m]
LEAST_DEPTH = 0.3e-3

#: Depths tried between the greatest and the least, and feeds: the gauge is convex in the feed, since every load is a
#: straight line of it, so those that hold are in one piece, and fewer will do. [-]
STEPS, FEED_STEPS = 12, 6

#: How near a feed or depth comes to one that does not hold. [-]
TOLERANCE = 0.01

#: Longest path that is sent back the other way round. [-]
LONGEST_PATH = 2000

#: Cuts that a sentence names. [-]
NAMED = 3


def _descending(most: float, least: float, steps: int) -> tuple[float, ...]:
    return tuple(float(value) for value in np.geomspace(most, least, steps)) if most > least > 0.0 else ()


def _with_cuts(bench: Bench, changed: Mapping[int, Cut]) -> Variant:
    stated = bench.job.set_up.cuts
    set_up = replace(bench.job.set_up, cuts=tuple(changed.get(index, cut) for index, cut in enumerate(stated)))
    return Variant(set_up=set_up, job=replace(bench.job, set_up=set_up))


def _settled(bench: Bench, index: int, adjusted: Callable[[float], Cut], values: Sequence[float]) -> Cut | None:
    """Return one described cut changed as little as serves, itself if it serves as it is; None if no change does.

    The stock is tried by itself, unless it holds anyway; the parts that fell short as they are freed in the whole job.
    """

    def parts_held(cut: Cut) -> bool:
        return bench.parts_seem_held(_with_cuts(bench, {index: cut}).set_up, index)

    stated = bench.job.set_up.cuts[index]
    alone = None if bench.stated.stock_reaches else bench.alone(index)
    if alone is None or alone.accepts(alone.stated):
        if parts_held(stated):
            return stated
        value = nearest_that_holds(lambda value: parts_held(adjusted(value)), values, tolerance=TOLERANCE)
        return None if value is None else adjusted(value)
    own = alone
    found = own.settle(
        lambda value: _with_cuts(own, {0: adjusted(value)}),
        values,
        tolerance=TOLERANCE,
        besides=lambda value: parts_held(adjusted(value)),
    )
    return None if found is None else adjusted(found[0])


def _changed(
    bench: Bench, adjusted: Callable[[Cut, float], Cut], values: Callable[[Cut], Sequence[float]]
) -> tuple[dict[int, Cut], Trial] | None:
    """Change each described cut against which stock or part does not hold as little as serves; prove all together."""
    found: dict[int, Cut] = {}
    for index, cut in enumerate(bench.job.set_up.cuts):
        settled = _settled(bench, index, partial(adjusted, cut), values(cut))
        if settled is None:
            return None
        if settled is not cut:
            found[index] = settled
    if not found:
        return None
    trial = bench.prove(_with_cuts(bench, found))
    return (found, trial) if trial is not None and bench.accepts(trial) else None


def _sentence(verb: str, cuts: dict[int, Cut], tail: str) -> str:
    named = [f"{plain(cut.name)} {tail.format('{' + str(place) + '}')}" for place, cut in enumerate(cuts.values())]
    more = f" and {len(named) - NAMED} more cuts" if len(named) > NAMED else ""
    return f"{verb} {', '.join(named[:NAMED])}{more}"


def _remedy(kind: str, words: tuple[str, str], cuts: dict[int, Cut], member: str, found: tuple[str, Trial]) -> Remedy:
    dimension, trial = found
    values = [(float(getattr(cut, member)), dimension) for cut in cuts.values()]
    changes = [
        Change(pointer=f"/cuts/{index}/{member}", value=value, dimension=dimension)
        for index, (value, _) in zip(cuts, values, strict=True)
    ]
    if member == "depth":
        changes += [
            Change(pointer=f"/cuts/{index}/layer", value=cut.layer, dimension="length") for index, cut in cuts.items()
        ]
    return Remedy(
        kind=kind,
        detail=words[0],
        numbers=tuple(values[:NAMED]),
        short=words[1],
        changes=tuple(changes),
        margin=trial.margin,
        pessimistic=trial.pessimistic,
        holds=trial.holds,
    )


def slower(bench: Bench) -> Remedy | None:
    """Return the greatest feed at which each described cut holds."""
    tools = bench.job.set_up.tools

    def values(cut: Cut) -> Sequence[float]:
        chip = 2.0 * np.pi * cut.feed / (abs(cut.speed) * tools[cut.tool].flutes)
        return _descending(1.0, max(LEAST_FEED, LEAST_CHIP / chip), FEED_STEPS)

    found = _changed(bench, lambda cut, share: replace(cut, feed=cut.feed * share), values)
    if found is None:
        return None
    cuts, trial = found
    share = min(cut.feed / bench.job.set_up.cuts[index].feed for index, cut in cuts.items())
    words = (_sentence("feed", cuts, "at {} at the most"), f"{share:.2g} times the feed")
    return _remedy("feed", words, cuts, "feed", ("speed", trial))


def slower_program(bench: Bench) -> Remedy | None:
    """Return the greatest feed override at which the program holds."""
    job = bench.job
    if not job.groups or max(int(worst.loads.cut[worst.worst.place]) for worst in _worst(bench)) >= 0:
        return None
    now = job.set_up.feed_override

    def variant(share: float) -> Variant:
        set_up = replace(job.set_up, feed_override=now * share)
        groups = tuple(replace(group, feed=group.feed * share) for group in job.groups)
        return Variant(set_up=set_up, job=replace(job, set_up=set_up, groups=groups))

    found = bench.settle(variant, _descending(1.0, LEAST_FEED, FEED_STEPS), tolerance=TOLERANCE)
    if found is None:
        return None
    share, trial = found
    return Remedy(
        kind="feed",
        detail=f"turn the feed override down to {100.0 * now * share:.0f} %",
        numbers=(),
        short=f"{share:.2g} times the feed",
        changes=(Change(pointer="/program/feed_override", value=now * share, dimension="number"),),
        margin=trial.margin,
        pessimistic=trial.pessimistic,
        holds=trial.holds,
    )


def _worst(bench: Bench) -> tuple[Assessed, Assessed]:
    return bench.stated.typical, bench.stated.hard


def shallower(bench: Bench) -> Remedy | None:
    """Return the greatest depth per pass at which each described cut holds.

    A compression bit is tried deeper too: it presses the work down once its down-cut part is well in.
    """
    set_up = bench.job.set_up
    top = set_up.stock.top

    def values(cut: Cut) -> Sequence[float]:
        if cut.kind in (CutKind.DRILL, CutKind.PLUNGE, CutKind.ENGRAVE):
            return ()
        tool = set_up.tools[cut.tool]
        most = cut.depth
        if tool.helix is Helix.COMPRESSION:
            most = max(most, min(tool.cutting_length or np.inf, top - float(cut.path[:, 2].min())))
        return _descending(most, LEAST_DEPTH, STEPS)

    def adjusted(cut: Cut, depth: float) -> Cut:
        return replace(cut, depth=depth, layer=max(cut.layer or cut.depth, depth))

    found = _changed(bench, adjusted, values)
    if found is None:
        return None
    cuts, trial = found
    share = min(cut.depth / set_up.cuts[index].depth for index, cut in cuts.items())
    words = (_sentence("cut", cuts, "in passes {} deep"), f"{share:.2g} times the depth of a pass")
    return _remedy("depth", words, cuts, "depth", ("length", trial))


def _round(cut: Cut) -> Cut:
    """Return a cut of the same stock, its path run the other way."""
    return replace(cut, direction=Direction.CLIMB, path=cut.path[::-1])


def _path_changes(index: int, cut: Cut) -> list[Change]:
    pointer = f"/cuts/{index}"
    direction = Change(pointer=f"{pointer}/direction", value=str(cut.direction))
    if np.ptp(cut.path[:, 2]) > 0.0:
        return [direction, Change(pointer=f"{pointer}/path", value=cut.path, dimension="length")]
    return [
        direction,
        Change(pointer=f"{pointer}/path", value=cut.path[:, :2], dimension="length"),
        Change(pointer=f"{pointer}/level", value=float(cut.path[0, 2]), dimension="length"),
    ]


def climb(bench: Bench) -> Remedy | None:
    """Return climb in place of conventional for the described cuts that are conventional."""
    stated = bench.job.set_up.cuts
    turned = {
        index: _round(cut)
        for index, cut in enumerate(stated)
        if cut.direction is Direction.CONVENTIONAL
        and cut.kind in (CutKind.PROFILE, CutKind.POCKET)
        and 1 < len(cut.path) <= LONGEST_PATH
    }
    if not turned:
        return None
    trial = bench.prove(_with_cuts(bench, turned))
    if trial is None or not bench.gains(trial):
        return None
    names = ", ".join(plain(cut.name) for cut in list(turned.values())[:NAMED])
    more = f" and {len(turned) - NAMED} more cuts" if len(turned) > NAMED else ""
    return Remedy(
        kind="climb",
        detail=f"cut {names}{more} climb in place of conventional: the path runs the other way round",
        numbers=(),
        short="climb cutting",
        changes=tuple(change for index, cut in turned.items() for change in _path_changes(index, cut)),
        margin=trial.margin,
        pessimistic=trial.pessimistic,
        holds=trial.holds,
    )


def _tools_at_worst(bench: Bench) -> list[Tool]:
    """Return the up-cut cutters at the worst places, of the stock and of parts that fall short."""
    job, found = bench.job, {}
    short = [worst for part in bench.stated.short_parts for worst in (part.typical, part.pessimistic)]
    for worst in (*_worst(bench), *short):
        place, loads = worst.worst.place, worst.loads
        cut, move = int(loads.cut[place]), int(loads.move[place])
        number = None
        if move >= 0 and job.reading is not None:
            number = int(job.reading.moves.tool[move])
        elif 0 <= cut < len(job.set_up.cuts):
            number = job.set_up.cuts[cut].tool
        tool = job.set_up.tools.get(number) if number is not None else None
        if tool is not None and tool.helix is Helix.UP:
            found[tool.number] = tool
    return list(found.values())


def down_cut(bench: Bench) -> Remedy | None:
    """Return a down-cut cutter in place of the up-cut one at the worst places."""
    tools = _tools_at_worst(bench)
    if not tools:
        return None
    job = bench.job
    turned = {tool.number: replace(tool, helix=Helix.DOWN) for tool in tools}
    set_up = replace(job.set_up, tools={**job.set_up.tools, **turned})
    trial = bench.prove(Variant(set_up=set_up, job=replace(job, set_up=set_up)))
    if trial is None or not bench.gains(trial):
        return None
    numbers = " and ".join(f"T{number}" for number in turned)
    return Remedy(
        kind="down_cut",
        detail=f"put a down-cut cutter of that size in {numbers}: it presses the stock down, but packs chips in slots",
        numbers=(),
        short="a down-cut cutter",
        changes=tuple(Change(pointer=f"/tools/{number}/helix", value=str(Helix.DOWN)) for number in turned),
        margin=trial.margin,
        pessimistic=trial.pessimistic,
        holds=trial.holds,
    )
