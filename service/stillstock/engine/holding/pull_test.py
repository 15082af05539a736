"""The shop's own pull test: readings in, a strength with its scatter out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stillstock.engine.holding.threads import given_or
from stillstock.engine.readings import CONFIDENCE, CONTENT, mean_and_deviation, tolerance_factor
from stillstock.engine.set_up import FloatArray
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.scatter import Grade, Triple

__all__ = ["DIRECTIONS", "PullTest", "measured_force", "measured_stress"]

#: Which way a test pulls: along the bed, straight up, or against a scale that the holder pushes at.
DIRECTIONS = ("shear", "lift", "push")

#: Least coefficient of variation that is believed of a few readings; EN 14358, from memory. [-]
LEAST_VARIATION = 0.05


@dataclass(frozen=True, kw_only=True)
class PullTest:
    """Readings of one kind of test, made as the holder will be used.

    Attributes
    ----------
    direction : str
        One of `DIRECTIONS`.
    readings : tuple of float
        Force at which each piece let go. [N]
    area : float or None
        Bonded area of each test piece; None for fasteners and clamps. [m2]
    count : int
        Fasteners that were pulled together in each reading. [-]
    date : str
        Day of the test, as the shop writes it.
    surface : str
        The faces that were tested, in words.
    """

    direction: str
    readings: tuple[float, ...]
    area: float | None = None
    count: int = 1
    date: str = ""
    surface: str = ""


def measured_stress(
    tests: Sequence[PullTest], direction: str, *, given: Triple | None, named: str, table: Triple
) -> Triple:
    """Return a strength per area: from the shop's test, else as the caller states it, else from the table.

    Parameters
    ----------
    tests : sequence of PullTest
        As the holder's member ``pull_test`` has them.
    direction : str
        Which of them counts.
    given : Triple or None
        The same strength as stated outright. [Pa]
    named : str
        The member that states it.
    table : Triple
        [Pa]

    Returns
    -------
    Triple
        [Pa]

    Raises
    ------
    ImpossibleSetUp
        If both test and strength are stated, the area is missing, or the readings prove nothing.
    """
    place = _place(tests, direction, given=given, named=named)
    if place is None:
        return given_or(given, table)
    test = tests[place]
    if test.area is None:
        raise _fault(place, "area", "missing", "a bond's test needs the bonded area of its test pieces")
    forces = np.asarray(test.readings)
    return _band(place, test, mean=forces / test.area, pieces=1, table=table)


def measured_force(
    tests: Sequence[PullTest], direction: str, *, given: Triple | None, named: str, table: Triple
) -> Triple:
    """Return a force per holder: from the shop's test, else as the caller states it, else from the table.

    Parameters and refusals as `measured_stress`, in newtons.

    Notes
    -----
    The sum of m fasteners that were pulled together scatters less than m single ones do: with independent fasteners
    the deviation of one is that of the sum over the root of m. Own derivation.
    """
    place = _place(tests, direction, given=given, named=named)
    if place is None:
        return given_or(given, table)
    test = tests[place]
    return _band(place, test, mean=np.asarray(test.readings) / test.count, pieces=test.count, table=table)


def _place(tests: Sequence[PullTest], direction: str, *, given: Triple | None, named: str) -> int | None:
    places = [place for place, test in enumerate(tests) if test.direction == direction]
    if len(places) > 1:
        raise _fault(places[1], "direction", "stated_twice", f"there are two tests in {direction}: join their readings")
    if places and given is not None:
        raise _fault(places[0], "direction", "stated_twice", f"{named} is stated besides its test: leave one out")
    return places[0] if places else None


def _fault(place: int, member: str, code: str, detail: str, **more: object) -> ImpossibleSetUp:
    pointer = f"/pull_test/{place}/{member}"
    return ImpossibleSetUp([Fault(pointer=pointer, code=code, detail=detail, **more)])  # type: ignore[arg-type]


def _band(place: int, test: PullTest, *, mean: FloatArray, pieces: int, table: Triple) -> Triple:
    """Return the band of one fastener or of a unit of area; `mean` has each reading's share of it."""
    readings = test.readings
    if len(readings) < 2:
        detail = "one reading shows no scatter: pull at least two, better five"
        raise _fault(place, "readings", "too_few", detail, limit=2, seen=len(readings))
    if min(readings) < 0.0:
        raise _fault(
            place, "readings", "range", "a pull is not negative", limit=0.0, seen=min(readings), dimension="force"
        )
    if max(readings) <= 0.0:
        detail = "every piece let go at nought: that is no holder, or the scale was not read"
        raise _fault(place, "readings", "nothing_held", detail, seen=list(readings), dimension="force")
    middle, scatter = mean_and_deviation(list(mean))
    deviation = max(scatter * float(np.sqrt(pieces)), LEAST_VARIATION * middle)
    reach = tolerance_factor(len(readings)) * deviation
    if middle - reach <= 0.0:
        detail = (
            f"these {len(readings)} readings scatter by {deviation / middle:.0%} of their mean, so that "
            "they promise nothing: make more of them, or find what differs between them"
        )
        raise _fault(place, "readings", "scatter", detail, seen=list(readings), dimension="force")
    when, where = (f" {word} {value}" if value else "" for word, value in (("of", test.date), ("on", test.surface)))
    return Triple(
        low=middle - reach,
        typical=middle,
        high=middle + reach,
        what=table.what,
        source="caller",
        grade=Grade.CALLER,
        dimension=table.dimension,
        note=f"pull test{when}{where}, {len(readings)} readings: the low end is below {CONTENT:.0%} of pulls at "
        f"{CONFIDENCE:.0%} confidence",
    )
