"""Places for a kind that has no way of its own: what its fields say of where one stands."""

from dataclasses import MISSING, Field, fields
from typing import Any

import numpy as np
import shapely

from stillstock.answers.placing.areas import tape
from stillstock.answers.placing.ground import Ground, Layout, NoPlace, Piece
from stillstock.answers.placing.growth import Tries, grown
from stillstock.answers.placing.sides import OPPOSITE, side_clamps, stops
from stillstock.answers.shop import PLACED, Entry
from stillstock.engine.holding.candidate_places import edge_places, inner_places
from stillstock.engine.holding.method import HoldingMethod
from stillstock.engine.holding.register import methods
from stillstock.engine.mechanics.area import joined

__all__ = ["by_fields"]

#: Places looked at over the stock and round its edge, and how many of a kind are tried. Own judgement. [-]
LOOKED_AT = 80
SIZES = (1, 2, 3, 4, 6, 9, 14)

#: What is kept from the stock's edge; common practice, no source. [m]
EDGE = 0.012


def by_fields(ground: Ground, entry: Entry, taken: Layout) -> Tries:
    """Yield layouts of a kind by its fields `PLACED`, and by them alone.

    Parameters
    ----------
    ground : Ground
    entry : Entry
    taken : tuple of Piece
        What stands already.

    Raises
    ------
    NoPlace
        If nothing of it can stand anywhere, or its fields ask for something that is not known here.

    Notes
    -----
    With `faces` it stands as stops do, with `pushes` as side clamps do, opposite stops; with `area` it lies as tape
    does; with `at` alone, or with `angle`, it stands on the stock beside the parts, where the tool does not come. What
    states none of these is there once.
    """
    placed = {item.name: item for item in fields(methods()[entry.kind]) if item.name in PLACED}  # type: ignore[arg-type]
    if "at" in placed and _side_words(placed.get("faces")):
        yield from stops(ground, entry, taken)
    elif "at" in placed and _side_words(placed.get("pushes")):
        yield from side_clamps(ground, entry, taken)
    elif "at" in placed and placed["at"].metadata.get("size") == 2 and not _missing(placed, "at", "angle"):
        yield from _on_stock(ground, entry, taken, turned="angle" in placed)
    elif "area" in placed and not _missing(placed, "area"):
        yield from tape(ground, entry, taken)
    elif not _missing(placed):
        yield (ground.piece(entry, {}),)
    else:
        raise _unknown(methods()[entry.kind])


def _side_words(item: "Field[Any] | None") -> bool:
    return item is not None and set(OPPOSITE) <= set(item.metadata.get("options", ()))


def _missing(placed: "dict[str, Field[Any]]", *stated: str) -> bool:
    """Return whether a member has to be stated besides some."""
    return any(
        item.default is MISSING and item.default_factory is MISSING and name not in stated
        for name, item in placed.items()
    )


def _unknown(method: type[HoldingMethod]) -> NoPlace:
    detail = f"where a {method.title} would go is not known here: place it and ask its margin"
    return NoPlace("no_placing", detail)


def _on_stock(ground: Ground, entry: Entry, taken: Layout, *, turned: bool) -> Tries:
    """Yield layouts of what stands on the stock beside its parts, one first."""
    title = methods()[entry.kind].title
    pool = ground.free(_places(ground, entry, turned=turned), taken=taken, what=title)
    yield from grown(ground, pool, sizes=SIZES, taken=taken, what=title)


def _places(ground: Ground, entry: Entry, *, turned: bool) -> list[Piece]:
    """Return it on a grid over the stock, and along its edge, turned inwards where it has an angle."""
    stock = ground.set_up.stock
    parts = joined([part.outline for part in ground.set_up.parts])
    shapely.prepare(parts)
    straight = {"angle": 0.0} if turned else {}
    found = [
        ground.piece(entry, {"at": ground.point(at), **straight})
        for at in inner_places(stock, count=LOOKED_AT, inset=EDGE)
    ]
    for place in edge_places(stock, count=LOOKED_AT, margin=EDGE):
        inward = np.asarray(place.inward)
        angle = {"angle": ground.snap(float(np.arctan2(inward[1], inward[0])), "angle")} if turned else {}
        x, y = np.asarray(place.at) + EDGE * inward
        found.append(ground.piece(entry, {"at": ground.point((x, y)), **angle}))
    return [piece for piece in found if not parts.intersects(shapely.Point(piece.at))]
