"""Set-ups for the tests of checks."""

import numpy as np

from stillstock.engine.checks.all_checks import checks_of
from stillstock.engine.checks.check import Check
from stillstock.engine.holding.contact_list import contacts_of
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import Bed, SetUp, Stock
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Triple

__all__ = ["TABLES", "area", "band", "checks", "exact", "job", "named"]

TABLES = load_tables()


def material(key):
    found = TABLES.material(key)
    assert found is not None
    return found


def exact(value, dimension="force"):
    return Triple(low=value, typical=value, high=value, dimension=dimension, source="caller")


def band(low, typical, high, dimension="force"):
    return Triple(low=low, typical=typical, high=high, dimension=dimension, source="caller")


def area(x0, y0, x1, y1):
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def job(key, size, holders, *, bow=0.0, grain=0.0, thickness=None, voids=(), error=0.0, origin=(0.0, 0.0, 0.0), **more):
    stock = Stock(
        material=material(key),
        size=size,
        thickness=thickness or (size[2], size[2]),
        origin=origin,
        bow=bow,
        grain=grain,
    )
    bed = Bed(material=material("mdf"), thickness=0.018, top=origin[2], voids=voids, error=error)
    return SetUp(stock=stock, bed=bed, holders=holders, **more)


def checks(set_up, *, force=None, at=None) -> tuple[Check, ...]:
    load = None if force is None else wrench(at, force)
    return checks_of(set_up, contacts_of(set_up, TABLES), TABLES, load, at)


def named(found, name):
    return [check for check in found if check.name == name]
