"""All contacts of a set-up: every holder's, and the stock's own weight."""

from collections.abc import Iterable
from dataclasses import replace

from shapely.geometry import Polygon

from stillstock.engine.holding.contacts import Bond, Contact, Contacts, Pin, Push, Rest, Rub
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.ground import ground_shape, pad_shape
from stillstock.engine.holding.one_place import in_one_place
from stillstock.engine.set_up import SetUp, Stock
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.load import Tables

__all__ = ["contacts_of", "demands_of", "gathered", "holder_contacts", "weight"]

#: Standard acceleration of free fall, CGPM 1901. [m/s2]
GRAVITY = 9.80665


def weight(stock: Stock) -> Push:
    """Return the stock's own weight as a push at its middle. [N]"""
    shape = Polygon(stock.plan)
    density = stock.material.properties["density"]
    force = density.times(GRAVITY * shape.area * stock.thickness[0])
    return Push(
        holder=-1,
        at=(shape.centroid.x, shape.centroid.y, stock.origin[2] + stock.size[2] / 2.0),
        direction=(0.0, 0.0, -1.0),
        force=replace(force, what=f"weight of the stock, {stock.material.title}", dimension="force"),
    )


def gathered(contacts: Iterable[Contact]) -> Contacts:
    """Return contacts sorted by their kind."""
    every = tuple(contacts)
    return Contacts(
        pushes=tuple(c for c in every if isinstance(c, Push)),
        rests=tuple(c for c in every if isinstance(c, Rest)),
        rubs=tuple(c for c in every if isinstance(c, Rub)),
        bonds=tuple(c for c in every if isinstance(c, Bond)),
        pins=tuple(c for c in every if isinstance(c, Pin)),
    )


def holder_contacts(set_up: SetUp, tables: Tables) -> tuple[list[Contact], list[Fault]]:
    """Return the contacts of all holders that can be, and what each other says against its place."""
    found: list[Contact] = []
    faults: list[Fault] = []
    for index, holder in enumerate(set_up.holders):
        try:
            found += holder.contacts(index, set_up, tables)
        except ImpossibleSetUp as error:
            faults += [replace(fault, pointer=f"/holders/{index}{fault.pointer}") for fault in error.faults]
    return found, faults


def contacts_of(set_up: SetUp, tables: Tables) -> Contacts:
    """Return every contact of a set-up.

    Raises
    ------
    ImpossibleSetUp
        With the faults of all holders at once.
    """
    found, faults = holder_contacts(set_up, tables)
    faults += [*_over_nothing(found, set_up), *in_one_place(found)]
    if faults:
        raise ImpossibleSetUp(faults)
    return gathered([weight(set_up.stock), *found])


def _over_nothing(contacts: Iterable[Contact], set_up: SetUp) -> list[Fault]:
    """Return the fault of each toe or head whose pressure cone meets no bed: nothing bears what it presses."""
    ground = ground_shape(set_up.stock, set_up.bed)
    faults = []
    for contact in contacts:
        face = contact.toe if isinstance(contact, Push) else contact.head if isinstance(contact, Pin) else None
        if face is not None and pad_shape(face, ground, thickness=set_up.stock.thickness[0]).area <= 0.0:
            detail = "nothing supports the stock beneath it: what it presses would only bend the stock"
            at = [contact.at[0], contact.at[1]] if isinstance(contact, Push | Pin) else None
            pointer = f"/holders/{contact.holder}/at"
            faults.append(Fault(pointer=pointer, code="over_nothing", detail=detail, seen=at, dimension="length"))
    return faults


def demands_of(set_up: SetUp, tables: Tables) -> tuple[Demand, ...]:
    """Return what all holders ask of their own parts and of the stock under them."""
    return tuple(
        demand for index, holder in enumerate(set_up.holders) for demand in holder.demands(index, set_up, tables)
    )
