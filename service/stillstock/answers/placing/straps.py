"""Strap clamps: toes on the stock's edge, bolts in the table's inserts, along its tracks, or anywhere.

Their torque is the planner's to choose where the shop states neither torque nor pull.
"""

from collections.abc import Iterator, Mapping

import numpy as np
import shapely

from stillstock.answers.placing.ground import Ground, Layout, NoPlace, Piece
from stillstock.answers.placing.growth import Tries, grown
from stillstock.answers.shop import Entry
from stillstock.engine.checks.check import of_demands
from stillstock.engine.holding.candidate_places import EdgePlace, edge_places
from stillstock.engine.set_up import FloatArray

__all__ = ["strap_clamps"]

#: Places looked at, and how many clamps are tried. Own judgement. [-]
LOOKED_AT = 48
SIZES = (2, 3, 4, 6, 8)

#: What a toe keeps from the stock's edge, and anything from a corner. Common practice, no source. [m]
TOE_INSET, CORNER = 0.002, 0.015

#: Step along a track at which a bolt is looked at. [m]
STEP = 0.02


def chosen_torque(ground: Ground, entry: Entry) -> float | None:
    """Return the torque to tighten clamps to; None where the shop states torque or pull. [N m]

    What a hand gives, or where that is more than bolt, anchor, arm or stock bear, the greatest that they do.
    """
    if entry.pattern.get("torque") is not None or entry.pattern.get("preload") is not None:
        return None
    middle = ground.set_up.stock.plan.mean(axis=0)
    at = (float(middle[0]), float(middle[1]))
    handle = entry.holder({"at": at}).handle
    hand = ground.tables.value("clamps", handle, "hand_torque").typical
    trial = entry.holder({"at": at, "torque": hand})
    most = max(check.ratio for check in of_demands(trial.demands(0, ground.set_up, ground.tables)))
    return ground.down(hand / max(most, 1.0), "torque")  # all that a clamp bears grows in step with its torque


def _torque(ground: Ground, entry: Entry) -> dict[str, float]:
    torque = chosen_torque(ground, entry)
    return {} if torque is None else {"torque": torque}


def strap_clamps(ground: Ground, entry: Entry, taken: Layout) -> Tries:
    """Yield layouts of strap clamps, from two to eight."""
    pool = ground.free(_places(ground, entry), taken=taken, what="strap clamp")
    yield from grown(ground, pool, sizes=SIZES, taken=taken, what="strap clamp")


def _places(ground: Ground, entry: Entry) -> list[Piece]:
    bolts, torque = _bolts(ground), _torque(ground, entry)
    if bolts is None:
        edges = edge_places(ground.set_up.stock, count=LOOKED_AT, margin=CORNER)
        return [_over_edge(ground, entry, edge, torque) for edge in edges]
    found = [piece for at in bolts for piece in _round_bolt(ground, entry, at, torque)]
    if not found:
        detail = f"from none of {len(bolts)} places for a bolt does a toe reach the stock in full"
        raise NoPlace("no_place", detail, value=0.0, limit=float(len(bolts)))
    step = max(1, -(-len(found) // (2 * LOOKED_AT)))
    return found[::step]


def _bolts(ground: Ground) -> FloatArray | None:
    """Return where a bolt finds something to pull at, (n, 2); None if it may stand anywhere. [m]"""
    shop = ground.question.shop
    if shop.inserts is None and shop.tracks is None:
        return None
    rows = [] if shop.inserts is None else [shop.inserts]
    for start, end in shop.tracks or ():
        stations = np.arange(0.0, float(np.hypot(*(end - start))) + 1e-9, STEP)
        way = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
        rows.append(start + stations[:, None] * way)
    return np.concatenate(rows) if rows else np.zeros((0, 2))


def _over_edge(ground: Ground, entry: Entry, place: EdgePlace, torque: Mapping[str, float]) -> Piece:
    inward = np.asarray(place.inward)
    pattern = entry.holder({"at": place.at})
    at = ground.point(np.asarray(place.at) + inward * (pattern.toe[0] / 2.0 + TOE_INSET))
    angle = ground.snap(float(np.arctan2(inward[1], inward[0])), "angle")
    return ground.piece(entry, {"at": at, "angle": angle, **torque})


def _round_bolt(ground: Ground, entry: Entry, bolt: FloatArray, torque: Mapping[str, float]) -> Iterator[Piece]:
    """Yield the clamps on one bolt that reach the stock square to an edge, their toe in full on it."""
    pattern = entry.holder({"at": (0.0, 0.0)})
    stock = ground.set_up.stock
    if ground.plan.buffer(pattern.slot / 2.0).covers(shapely.Point(bolt)):
        return
    inner = ground.plan.buffer(-(pattern.toe[0] / 2.0 + TOE_INSET) + 1e-9)
    if inner.distance(shapely.Point(bolt)) > pattern.toe_reach:
        return
    corners = stock.plan
    for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        way = (end - start) / np.hypot(*(end - start))
        inward = np.array([-way[1], way[0]])
        along = float((bolt - start) @ way)
        at = ground.point(bolt + inward * pattern.toe_reach)
        outside = float((bolt - start) @ inward) < 0.0
        if outside and CORNER <= along <= float(np.hypot(*(end - start))) - CORNER and inner.covers(shapely.Point(at)):
            angle = ground.snap(float(np.arctan2(inward[1], inward[0])), "angle")
            yield ground.piece(entry, {"at": at, "angle": angle, **torque})
