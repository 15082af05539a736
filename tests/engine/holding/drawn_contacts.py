"""Contacts at one draw of their scatter, made anew: every band becomes one number. The plain road to a drawn margin."""

from collections.abc import Mapping
from dataclasses import replace

from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.holding.drawn import GROUPS, triangular
from stillstock.tables.scatter import Triple

UNDER, SIDES, CLAMPING, VACUUM, BONDS, FASTENERS = GROUPS


def drawn(contacts: Contacts, friction: Triple, shares: Mapping[str, float]) -> tuple[Contacts, Triple]:
    """Return contacts, and friction under the stock, at one share of the scatter for each group; weight is typical."""

    def at(group: str, band: Triple) -> Triple:
        value = float(triangular(band, shares[group])) if group in shares else band.typical
        return replace(band, low=value, typical=value, high=value)

    def maybe(group: str, band: Triple | None) -> Triple | None:
        return None if band is None else at(group, band)

    def still(band: Triple) -> Triple:
        return replace(band, low=band.typical, high=band.typical)

    found = Contacts(
        pushes=tuple(
            replace(p, force=at(CLAMPING, p.force), friction=maybe(SIDES, p.friction))
            if p.holder >= 0
            else replace(p, force=still(p.force))
            for p in contacts.pushes
        ),
        rests=tuple(
            replace(r, pressure=at(VACUUM, r.pressure), friction=maybe(UNDER, r.friction)) for r in contacts.rests
        ),
        rubs=tuple(
            replace(
                r, friction=at(SIDES, r.friction), preload=maybe(CLAMPING, r.preload), limit=maybe(FASTENERS, r.limit)
            )
            for r in contacts.rubs
        ),
        bonds=tuple(replace(b, shear=at(BONDS, b.shear), tension=at(BONDS, b.tension)) for b in contacts.bonds),
        pins=tuple(
            replace(
                p,
                lateral=at(FASTENERS, p.lateral),
                pull_out=at(FASTENERS, p.pull_out),
                preload=maybe(CLAMPING, p.preload),
            )
            for p in contacts.pins
        ),
    )
    return found, at(UNDER, friction)
