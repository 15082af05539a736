"""A part that comes free during the job, as a body of its own: what still holds it once its outline is cut."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from stillstock.engine.holding.contact_list import gathered, weight
from stillstock.engine.holding.contacts import Bond, Contact, Contacts, Rest
from stillstock.engine.holding.demands import Demand, plain
from stillstock.engine.holding.one_place import in_one_place
from stillstock.engine.holding.place import TOUCH
from stillstock.engine.mechanics.area import grown
from stillstock.engine.set_up import FloatArray, Part, SetUp
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.load import Tables

__all__ = ["part_contacts", "part_demands", "part_set_up", "part_shape", "skin_of"]


def skin_of(part: Part) -> float:
    """Return the thickness of the skin that holds a part, 0 without one. [m]"""
    return max((getattr(holder, "thickness", 0.0) for holder in part.held_by if holder.kind == "skin"), default=0.0)


def part_set_up(set_up: SetUp, part: Part) -> SetUp:
    """Return the set-up in which the part is the stock, and its tabs or skin the only holders."""
    low, high = part.outline.min(axis=0), part.outline.max(axis=0)
    stock = set_up.stock
    alone = replace(
        stock,
        outline=part.outline,
        origin=(float(low[0]), float(low[1]), stock.origin[2]),
        size=(float(high[0] - low[0]), float(high[1] - low[1]), stock.size[2]),
    )
    return replace(set_up, stock=alone, holders=tuple(part.held_by))


def part_shape(set_up: SetUp, part: Part) -> Polygon:
    """Return what a part covers in plan, without the slugs inside it: what lies under those does not hold it."""
    shape = Polygon(part.outline)
    reach = _reach_of(shape)
    slugs = [Polygon(other.outline) for other in set_up.parts if other.outline is not part.outline]
    return shape.difference(shapely.union_all([slug for slug in slugs if reach.covers(slug)]))


def _reach_of(shape: Polygon) -> BaseGeometry:
    """Return a shape grown by what counts as touching, made ready to be asked many times."""
    reach = grown(shape, by=TOUCH)
    shapely.prepare(reach)
    return reach


def _pieces(area: FloatArray, shape: Polygon) -> Iterator[FloatArray]:
    """Give the outlines of what an area has in common with a part, each without a hole."""
    cut = Polygon(area).intersection(shape)
    for piece in getattr(cut, "geoms", [cut]):
        if isinstance(piece, Polygon) and piece.area > 0.0:
            yield from _without_holes(piece)


def _without_holes(piece: Polygon) -> Iterator[FloatArray]:
    """Give the outlines of a piece, cut in two through each of its holes."""
    if not piece.interiors:
        yield np.asarray(shapely.geometry.polygon.orient(piece).exterior.coords)[:-1, :2]
        return
    middle = Polygon(piece.interiors[0]).centroid.x
    low_x, low_y, high_x, high_y = piece.bounds
    for left, right in ((low_x, middle), (middle, high_x)):
        half = piece.intersection(shapely.box(left, low_y, right, high_y))
        for each in getattr(half, "geoms", [half]):
            if isinstance(each, Polygon) and each.area > 0.0:
                yield from _without_holes(each)


def _inside(contact: Contact, shape: Polygon, reach: BaseGeometry) -> Iterator[Contact]:
    """Give what is left of a contact of the whole stock once the part, with its reach, is on its own."""
    if isinstance(contact, Bond | Rest):
        for piece in _pieces(contact.area, shape):
            yield replace(contact, area=piece)
    elif reach.covers(Point(contact.at[:2])):
        yield contact


def part_contacts(set_up: SetUp, part: Part, contacts: Contacts, tables: Tables, *, first: int) -> Contacts:
    """Return every contact of a part that is free: its tabs or skin, and what of the stock's holders lies within it.

    Parameters
    ----------
    set_up : SetUp
        Of the whole stock.
    part : Part
    contacts : Contacts
        Of the whole stock.
    tables : Tables
    first : int
        Number under which the first of the part's own holders counts.

    Raises
    ------
    ImpossibleSetUp
        With the pointer relative to the part.
    """
    alone = part_set_up(set_up, part)
    shape = part_shape(set_up, part)
    whole = weight(alone.stock)
    found: list[Contact] = [replace(whole, force=whole.force.times(shape.area / Polygon(part.outline).area))]
    every: tuple[Contact, ...] = (*contacts.pushes, *contacts.rests, *contacts.rubs, *contacts.bonds, *contacts.pins)
    reach = _reach_of(shape)
    for contact in every:
        if contact.holder >= 0:
            found += list(_inside(contact, shape, reach))
    faults: list[Fault] = []
    own: list[Contact] = []
    for number, holder in enumerate(part.held_by):
        try:
            own += holder.contacts(first + number, alone, tables)
        except ImpossibleSetUp as error:
            faults += [replace(fault, pointer=f"/held_by/{number}{fault.pointer}") for fault in error.faults]
    faults += in_one_place(own, under="/held_by", first=first)
    if faults:
        raise ImpossibleSetUp(faults)
    return gathered([*found, *own])


def part_demands(set_up: SetUp, part: Part, tables: Tables, *, first: int) -> tuple[Demand, ...]:
    """Return what a part's own holders ask of the stock: whether anything is left of tabs and skin."""
    alone = part_set_up(set_up, part)
    return tuple(
        replace(demand, detail=f"part {plain(part.name)}: {demand.detail}")
        for number, holder in enumerate(part.held_by)
        for demand in holder.demands(first + number, alone, tables)
    )
