"""What a way of holding costs in time and consumables, per piece of stock, for a batch."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import shapely

from stillstock.answers.placing.ground import Layout, Piece
from stillstock.answers.shop import Entry, Question
from stillstock.tables.catalogue import holder_entries
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Grade, Triple

__all__ = ["Effort", "effort", "quickness"]


@dataclass(frozen=True, kw_only=True)
class Effort:
    """Time and consumables per piece of stock.

    Attributes
    ----------
    loading, unloading : Triple
        To put one piece on and take it off, all its loadings together. [s]
    mounting : Triple
        Once for the batch. [s]
    time : Triple
        Per piece, its share of the mounting included. [s]
    cost : Triple
        Of what is used up, per piece. [money]
    grounds : tuple of Triple
        Every number that these rest on.
    """

    loading: Triple
    unloading: Triple
    mounting: Triple
    time: Triple
    cost: Triple
    grounds: tuple[Triple, ...]


def _given(value: float | None, table: Triple) -> Triple:
    """Return the shop's own number where it stated one. [as the table's]"""
    if value is None:
        return table
    return replace(table, low=value, typical=value, high=value, source="caller", grade=Grade.CALLER, note="")


def _of_kind(tables: Tables, table: str, kind: str, row: str) -> Triple:
    """Return a time or cost of a kind; that of any holder where the table has none of its own."""
    return tables.get(table, kind, row) or tables.value(table, "any_holder", row)


def _sum(bands: Iterable[Triple], *, what: str, dimension: str) -> Triple:
    every = list(bands)
    low, typical, high = (sum(getattr(band, end) for band in every) for end in ("low", "typical", "high"))
    return Triple(low=low, typical=typical, high=high, what=what, source="own_derivation", dimension=dimension)


def _times_over(entry: Entry, layout: Layout) -> float:
    """Return how often a time of the table counts: for each tab and each part's skin, once for all else."""
    left_standing = holder_entries()[entry.kind].facts["in_program"]
    return float(sum(piece.entry is entry for piece in layout)) if left_standing else 1.0


def _area(piece: Piece) -> float:
    """Return the area that a piece of tape lies on. [m2]"""
    return float(shapely.Polygon(piece.members["area"]).area)


def _cost(entry: Entry, layout: Layout, tables: Tables) -> tuple[Triple, Triple]:
    """Return what one kind uses up on one piece of stock, and the number that it rests on. [money]"""
    mine = [piece for piece in layout if piece.entry is entry]
    by_area = tables.get("shop", entry.kind, "cost_of_square_metre")
    if by_area is not None:
        ground = _given(entry.cost, by_area)
        return ground.times(sum(_area(piece) for piece in mine)), ground
    ground = _given(entry.cost, _of_kind(tables, "shop", entry.kind, "cost_each"))
    return ground.times(float(len(mine))), ground


def quickness(entries: Sequence[Entry], question: Question, tables: Tables) -> float:
    """Return about how long some kinds of holders take per piece, before any is placed: of tabs and skins one. [s]"""
    rows = (("practice", "setup_time"), ("practice", "removal_time"), ("shop", "mounting_time"))
    shares = (1.0, 1.0, 1.0 / question.batch)
    own = [(entry.kind, (entry.set_up_time, entry.removal_time, entry.mounting_time)) for entry in entries]
    found = sum(
        share * _given(given, _of_kind(tables, table, kind, row)).typical
        for kind, times in own
        for given, (table, row), share in zip(times, rows, shares, strict=True)
    )
    return found if _placed(entries) else found + tables.value("shop", "locating", "by_eye").typical


def effort(layout: Layout, question: Question, tables: Tables) -> Effort:
    """Return what a placed set-up costs in time and consumables, per piece of stock.

    Parameters
    ----------
    layout : tuple of Piece
    question : Question
        With the batch, and the shop's own times and costs.
    tables : Tables

    Notes
    -----
    Each kind is put on and taken off once a loading, two loadings where both faces are cut; a piece that nothing puts
    in its place has its zero found anew each time. What is mounted once is shared out over the batch. The work of the
    machine itself is not counted: it is about the same for all.
    """
    entries = list({piece.entry.number: piece.entry for piece in layout}.values())
    loadings = 2.0 if "both_faces" in question.matters else 1.0
    on, off, once, costs, grounds = [], [], [], [], []
    for entry in entries:
        times = _times_over(entry, layout) * loadings
        put = _given(entry.set_up_time, _of_kind(tables, "practice", entry.kind, "setup_time"))
        take = _given(entry.removal_time, _of_kind(tables, "practice", entry.kind, "removal_time"))
        mount = _given(entry.mounting_time, _of_kind(tables, "shop", entry.kind, "mounting_time"))
        cost, ground = _cost(entry, layout, tables)
        on.append(put.times(times))
        off.append(take.times(times))
        once.append(mount)
        costs.append(cost.times(loadings))
        grounds += [put, take, mount, ground]
    if not _placed(entries):
        locating = _given(question.shop.locating_time, tables.value("shop", "locating", "by_eye"))
        on.append(locating.times(loadings))
        grounds.append(locating)
    loading = _sum(on, what="loading of one piece", dimension="time")
    unloading = _sum(off, what="unloading of one piece", dimension="time")
    mounting = _sum(once, what="mounting, once for the batch", dimension="time")
    shared = mounting.times(1.0 / question.batch)
    return Effort(
        loading=loading,
        unloading=unloading,
        mounting=mounting,
        time=_sum((loading, unloading, shared), what="time per piece", dimension="time"),
        cost=_sum(costs, what="consumables per piece", dimension="number"),
        grounds=tuple({ground.what: ground for ground in grounds}.values()),
    )


def _placed(entries: Sequence[Entry]) -> bool:
    """Return whether anything puts the next piece in the same place."""
    return any(holder_entries()[entry.kind].facts["places"] for entry in entries)
