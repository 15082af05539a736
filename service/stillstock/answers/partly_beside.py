"""Tape that lies in part beside the stock."""

from collections.abc import Iterator

from shapely.geometry import Polygon

from stillstock.answers.notices import Notice
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.set_up import SetUp

__all__ = ["partly_beside"]

#: Share of an area under the stock from which on nothing is said: what trimming leaves; own judgement. [-]
MOSTLY = 0.98


def partly_beside(set_up: SetUp, contacts: Contacts) -> Iterator[Notice]:
    """Give a notice for each bonded area of which only a part is counted, since the stock covers no more of it."""
    for index, holder in enumerate(set_up.holders):
        covered = [Polygon(b.area).area for b in contacts.bonds if b.holder == index and not b.of_stock]
        stated = getattr(holder, "area", None)
        if not covered or stated is None:
            continue
        share = sum(covered) / Polygon(stated).area
        if share < MOSTLY:
            detail = f"the stock lies on {share:.0%} of this {holder.title}: the rest is not counted"
            yield Notice(code="partly_beside", detail=detail, pointer=f"/holders/{index}/area")
