"""Tabs and skins that hold a part: the least that must be left of them."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from stillstock.answers.remedy import Change, Remedy
from stillstock.answers.trial import Variant
from stillstock.answers.trials import Bench
from stillstock.engine.holding.demands import plain
from stillstock.engine.set_up import Part, SetUp

__all__ = ["stronger_bridges"]

#: Members that say what stands of a bridge: what is left of its height first.
_SIZES = {"tab": ("height", "width"), "skin": ("thickness",)}

#: Factors on what is left now, and how near to one that does not hold the search comes; own judgement. [-]
FACTORS = tuple(float(f) for f in np.geomspace(1.0, 12.0, 12))
TOLERANCE = 0.01

#: Parts that a sentence names. [-]
NAMED = 3

#: Share of the stock's thickness that a bridge is at the most; own judgement. [-]
MOST = 0.6


def _sizes(holder: Any, factor: float, most: float) -> dict[str, float]:
    """Return a bridge's sizes, all times one factor, its height up to a most. [m]"""
    height, *others = _SIZES[holder.kind]
    now = float(getattr(holder, height))
    return {height: max(now, min(now * factor, most)), **{name: getattr(holder, name) * factor for name in others}}


def _stronger(part: Part, factor: float, most: float) -> Part:
    held_by = [
        replace(holder, **_sizes(holder, factor, most)) if holder.kind in _SIZES else holder for holder in part.held_by
    ]
    return replace(part, held_by=tuple(held_by))


def _with(set_up: SetUp, numbers: Sequence[int], factor: float) -> SetUp:
    most = MOST * set_up.stock.thickness[0]
    parts = [_stronger(part, factor, most) if number in numbers else part for number, part in enumerate(set_up.parts)]
    return replace(set_up, parts=tuple(parts))


def _bridges(set_up: SetUp, numbers: Sequence[int]) -> list[tuple[int, int, Any]]:
    return [
        (number, place, holder)
        for number in numbers
        for place, holder in enumerate(set_up.parts[number].held_by)
        if holder.kind in _SIZES
    ]


def _words(bridges: Sequence[tuple[int, int, Any]], set_up: SetUp, factor: float) -> tuple[str, str]:
    """Return what to do in a sentence, {0} being the least height, and in a few words."""
    numbers = list(dict.fromkeys(number for number, *_ in bridges))
    names = ", ".join(plain(set_up.parts[number].name) for number in numbers[:NAMED])
    more = f" and {len(numbers) - NAMED} more parts" if len(numbers) > NAMED else ""
    if all(holder.kind == "skin" for *_, holder in bridges):
        return f"leave a skin of {{0}} at {names}{more}, {factor:.3g} times as thick", f"{factor:.2g} times the skin"
    return (
        f"leave the tabs at {names}{more} {factor:.3g} times as wide and as high: {{0}} high",
        f"{factor:.2g} times the tabs",
    )


def stronger_bridges(bench: Bench) -> Remedy | None:
    """Return by how much tabs and skins must be larger at the parts that fall short, for these to hold."""
    set_up = bench.job.set_up
    numbers = [part.number for part in bench.stated.short_parts]
    bridges = _bridges(set_up, numbers)
    if not bridges:
        return None
    found = bench.settle(lambda f: Variant(set_up=_with(set_up, numbers, f)), FACTORS, tolerance=TOLERANCE)
    if found is None:
        return None
    factor, trial = found
    sizes = [
        (f"/parts/{number}/held_by/{place}/{name}", value)
        for number, place, holder in bridges
        for name, value in _sizes(holder, factor, MOST * set_up.stock.thickness[0]).items()
    ]
    least = min(_sizes(holder, factor, np.inf)[_SIZES[holder.kind][0]] for _, _, holder in bridges)
    detail, short = _words(bridges, set_up, factor)
    return Remedy(
        kind="bridge",
        detail=detail,
        numbers=((min(least, MOST * set_up.stock.thickness[0]), "length"),),
        short=short,
        changes=tuple(Change(pointer=pointer, value=value, dimension="length") for pointer, value in sizes),
        margin=trial.margin,
        pessimistic=trial.pessimistic,
        holds=trial.holds,
    )
