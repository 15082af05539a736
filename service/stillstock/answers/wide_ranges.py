"""Holders whose strength the tables know only within a wide range: the shop's own test should replace it."""

from collections.abc import Iterator, Mapping
from dataclasses import fields

from stillstock.answers.notices import Notice
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.set_up import SetUp
from stillstock.tables.scatter import Grade, Triple

__all__ = ["WIDE", "own_test_wanted"]

#: High end on low end from which a range of the tables counts as wide; own judgement. [-]
WIDE = 3.0


def _strengths(contacts: Contacts) -> Iterator[tuple[int, Triple]]:
    """Give each number that a holder's hold is in proportion to, with the holder's index."""
    for push in contacts.pushes:
        yield push.holder, push.force
    for rest in contacts.rests:
        yield rest.holder, rest.pressure
    for rub in contacts.rubs:
        if rub.preload is not None:
            yield rub.holder, rub.preload
    for bond in contacts.bonds:
        yield from ((bond.holder, band) for band in (bond.shear, bond.tension))
    for pin in contacts.pins:
        yield from ((pin.holder, band) for band in (pin.lateral, pin.pull_out))
        if pin.preload is not None and pin.pull_out.high <= 0.0:  # it holds by what it presses, as a plate's bolt does
            yield pin.holder, pin.preload


def _width(band: Triple) -> float:
    return band.high / band.low if band.low > 0.0 else float("inf") if band.high > 0.0 else 1.0


def _widest(contacts: Contacts) -> Mapping[int, Triple]:
    """Return for each holder the widest range that it rests on and that the caller did not state."""
    found: dict[int, Triple] = {}
    for holder, band in _strengths(contacts):
        if holder >= 0 and band.grade is not Grade.CALLER and _width(band) >= WIDE:
            found[holder] = max(found.get(holder, band), band, key=_width)
    return found


def own_test_wanted(set_up: SetUp, contacts: Contacts) -> tuple[Notice, ...]:
    """Return one notice for each kind of holder that rests on a wide range of the tables."""
    told: dict[str, Notice] = {}
    for index, band in sorted(_widest(contacts).items()):
        if index >= len(set_up.holders):
            continue
        holder = set_up.holders[index]
        if holder.kind not in told:
            takes = any(item.metadata.get("kind") == "pull_test" for item in fields(holder))
            test = "pull test (pull_test)" if takes else "test"
            width = _width(band)
            apart = f"{width:.0f} times apart" if width < 100.0 else "from nothing upward"
            detail = (
                f"{band.what}: the tables' ends lie {apart}. The shop's own {test} should replace this number; "
                f"GET /v1/holders/{holder.kind} says how to make it"
            )
            told[holder.kind] = Notice(code="own_test_wanted", detail=detail, pointer=f"/holders/{index}")
    return tuple(told.values())
