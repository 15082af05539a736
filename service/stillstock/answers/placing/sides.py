"""What bears on the stock's sides: stops by 3-2-1, side clamps opposite, a vise."""

from collections.abc import Iterator, Sequence
from itertools import product

from stillstock.answers.placing.ground import Ground, Layout, NoPlace, Piece
from stillstock.answers.placing.growth import Tries
from stillstock.answers.shop import Entry

__all__ = ["side_clamps", "stops", "vise"]

#: Where two stops stand on the long side and one on the short, as shares of the side; common practice, no source. [-]
PAIR, SINGLE = (0.2, 0.8), (0.5,)

#: Shares of a side by which a place is moved to get out of the way, nearest first. [-]
MOVED = (0.0, 0.05, -0.05, 0.1, -0.1, 0.15, -0.15, 0.25, -0.25, 0.35, -0.35)

OPPOSITE = {"+x": "-x", "-x": "+x", "+y": "-y", "-y": "+y"}


def _box(ground: Ground) -> tuple[float, float, float, float]:
    """Return least and greatest x and y of a stock whose sides lie along the axes. [m]

    Raises
    ------
    NoPlace
        If its outline is another.
    """
    plan = ground.set_up.stock.plan
    (x0, y0), (x1, y1) = plan.min(axis=0), plan.max(axis=0)
    if ground.plan.area < (1.0 - 1e-6) * (x1 - x0) * (y1 - y0):
        raise NoPlace("no_place", "stops, side clamps and vises are placed on straight sides along the axes only")
    return float(x0), float(y0), float(x1), float(y1)


def _place(ground: Ground, word: str, share: float) -> tuple[float, float]:
    """Return the place on the side whose holder pushes along `word`, at a share of its length. [m]"""
    x0, y0, x1, y1 = _box(ground)
    if word in ("+x", "-x"):
        return ground.point((x0 if word == "+x" else x1, y0 + share * (y1 - y0)))
    return ground.point((x0 + share * (x1 - x0), y0 if word == "+y" else y1))


def _words(ground: Ground) -> tuple[tuple[str, str], tuple[str, str]]:
    """Return the ways that holders push on the long sides and on the short ones."""
    x0, y0, x1, y1 = _box(ground)
    along_x, along_y = ("+y", "-y"), ("+x", "-x")
    return (along_x, along_y) if x1 - x0 >= y1 - y0 else (along_y, along_x)


def _standing(
    ground: Ground, entry: Entry, member: str, word: str, shares: Sequence[float], taken: Layout
) -> list[Piece] | None:
    """Return a piece at about each share of a side, moved along it out of the way; None if one finds no place."""
    found: list[Piece] = []
    for share in shares:
        near = [share + by for by in MOVED if 0.02 <= share + by <= 0.98]
        pieces = [ground.piece(entry, {"at": _place(ground, word, s), member: word}) for s in near]
        words = ground.obstacles(pieces, taken=(*taken, *found))
        free = [piece for piece, obstacle in zip(pieces, words, strict=True) if not obstacle]
        if not free:
            return None
        found.append(free[0])
    return found


def _stop_layouts(ground: Ground, entry: Entry, taken: Layout) -> Iterator[Layout]:
    """Yield three stops for each pair of neighbouring sides."""
    if not entry.enough(3):
        detail = f"it takes three stops to place a piece, and the shop has {entry.count}"
        raise NoPlace("count", detail, value=float(entry.count or 0), limit=3.0)
    long, short = _words(ground)
    for a, b in product(long, short):
        first = _standing(ground, entry, "faces", a, PAIR, taken)
        second = _standing(ground, entry, "faces", b, SINGLE, (*taken, *(first or ())))
        if first and second:
            yield (*first, *second)


def _no_side(what: str) -> NoPlace:
    return NoPlace("no_place", f"no two neighbouring sides are clear of the tool for {what}", value=0.0, limit=4.0)


def stops(ground: Ground, entry: Entry, taken: Layout) -> Tries:
    """Yield three stops, two on a long side and one on a short one, at each corner in turn that is clear."""
    found = False
    for layout in _stop_layouts(ground, entry, taken):
        found = True
        yield layout
    if not found:
        raise _no_side("three stops")


def side_clamps(ground: Ground, entry: Entry, taken: Layout) -> Tries:
    """Yield two side clamps, then three, opposite the stops that stand already.

    Raises
    ------
    NoPlace
        If no stops stand, or there is no place opposite them.
    """
    pushing = [piece for piece in taken if piece.entry.kind == "stop"]
    if not pushing:
        raise NoPlace("no_stop", "a side clamp needs stops opposite, and the shop has none", value=0.0, limit=3.0)
    if not entry.enough(2):
        detail = f"it takes two side clamps, and the shop has {entry.count}"
        raise NoPlace("count", detail, value=float(entry.count or 0), limit=2.0)
    words = [str(piece.members["faces"]) for piece in pushing]
    pair = next(word for word in words if words.count(word) == 2)
    single = next(word for word in words if words.count(word) == 1)
    across = _standing(ground, entry, "pushes", OPPOSITE[single], SINGLE, taken)
    found = False
    for shares in (SINGLE, PAIR):
        if not entry.enough(len(shares) + 1):
            break
        along = _standing(ground, entry, "pushes", OPPOSITE[pair], shares, (*taken, *(across or ())))
        if across and along:
            found = True
            yield (*along, *across)
    if not found:
        raise _no_side("side clamps opposite the stops")


def vise(ground: Ground, entry: Entry, taken: Layout) -> Tries:
    """Yield one vise across the narrower side, then across the other."""
    pattern = entry.holder({"at": (0.0, 0.0), "faces": "+x"})
    opening = ground.tables.value("shop", f"vise_{pattern.size}", "opening").high
    x0, y0, x1, y1 = _box(ground)
    width = {"+x": x1 - x0, "-x": x1 - x0, "+y": y1 - y0, "-y": y1 - y0}
    words = sorted(width, key=lambda word: width[word])
    if width[words[0]] > opening:
        detail = (
            f"the stock is {ground.say(width[words[0]])} wide at the least, and a vise of this size opens "
            f"{ground.say(opening)} at the most"
        )
        raise NoPlace("opening", detail, value=width[words[0]], limit=opening)
    pieces = [
        ground.piece(entry, {"at": _place(ground, word, 0.5), "faces": word})
        for word in words
        if width[word] <= opening
    ]
    for piece in ground.free(pieces, taken=taken, what="vise"):
        yield (piece,)
