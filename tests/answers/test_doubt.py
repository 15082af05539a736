"""Doubt against closed forms: a block held by friction has the margin mu N / F, a product of two scattered numbers."""

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import triang
from tests.bench.bench_doubt import HOLDERS, by_itself, drawn_of, shares_of

from stillstock.answers.doubt import SEED, Doubt, doubt_of, indices
from stillstock.answers.drawn_margins import DrawnMargins
from stillstock.answers.hold import Assessed, Stance, assess, typical_reading
from stillstock.answers.job import Job, job_of
from stillstock.engine.holding.contacts import Bond, Contacts, Pin, Push, Rest, Rub
from stillstock.engine.holding.drawn import GROUPS, scattered, triangular
from stillstock.engine.mechanics.work import OutOfWork, budget
from stillstock.engine.set_up import Bed, Load, SetUp, Stock
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Corner, Triple

TABLES = load_tables()
FRICTION = Triple(low=0.15, typical=0.3, high=0.35)
PUSH = Triple(low=400.0, typical=500.0, high=900.0, dimension="force")
FORCE = 130.0
NONE = Triple(low=0.0, typical=0.0, high=0.0)


def square(x: float, y: float, half: float) -> np.ndarray:
    return np.array([(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)])


def clamped(friction: Triple = FRICTION, push: Triple = PUSH) -> tuple[Stance, Job, Assessed]:
    """Return a block under one push at its middle, pulled along x at the bed's face: it slides at mu N."""
    mdf = TABLES.material("mdf")
    assert mdf is not None
    stock = Stock(material=mdf, size=(0.2, 0.12, 0.03), thickness=(0.03, 0.03), origin=(0.05, -0.03, 0.0))
    middle = (0.15, 0.03)
    set_up = SetUp(
        stock=stock,
        bed=Bed(material=mdf, thickness=0.02, top=0.0),
        loads=(Load(name="pull", at=(*middle, 0.0), force=(FORCE, 0.0, 0.0)),),
    )
    down = Push(holder=0, at=(*middle, 0.03), direction=(0.0, 0.0, -1.0), force=push, toe=square(*middle, 0.01))
    stance = Stance(contacts=Contacts(pushes=(down,)), set_up=set_up, friction=friction)
    job = job_of(set_up, limits=Limits())
    loads, _ = job.loads(Corner.TYPICAL)
    assert loads is not None
    return stance, job, assess(stance, [typical_reading()], loads)


@cache
def doubted() -> Doubt:
    stance, job, worst = clamped()
    return doubt_of(stance, job, [worst], samples=128)


def distribution(band: Triple) -> Any:
    """Return the triangular distribution of a general-purpose library."""
    span = band.high - band.low
    return triang((band.typical - band.low) / span, loc=band.low, scale=span)


def product_below(limit: float) -> float:
    """Return the chance that mu N stays below a limit, by numerical integration over N."""
    n = np.linspace(PUSH.low, PUSH.high, 20_001)
    integrand = distribution(FRICTION).cdf(limit / n) * distribution(PUSH).pdf(n)
    return float(np.trapezoid(integrand, n))


def product_indices(one: Triple, other: Triple) -> tuple[float, float]:
    """Return first-order and total index of the first factor of a product of two independent numbers.

    With squared coefficients of variation c and d: c / (c + d + c d) and c (1 + d) / (c + d + c d); from the variance
    of a product, E[X2] E[Y2] - E[X]2 E[Y]2. Definitions: Saltelli et al. 2010.
    """
    c, d = (distribution(band).var() / distribution(band).mean() ** 2 for band in (one, other))
    whole = c + d + c * d
    return c / whole, c * (1.0 + d) / whole


def test_the_margin_is_distributed_as_the_product_of_friction_and_push():
    """Tolerance: 256 points of a low-discrepancy sequence; the deviation of a plain sample is 0.031 at the median."""
    found = doubted()
    assert found.samples == 256
    assert found.lets_go == pytest.approx(product_below(FORCE), abs=0.02)
    assert found.short == pytest.approx(product_below(2.0 * FORCE), abs=0.02)
    for share, margin in found.quantiles:
        assert product_below(margin * FORCE) == pytest.approx(share, abs=0.02)


def test_the_indices_are_those_of_a_product():
    """Tolerance: the estimators' own error at 128 rows, some hundredths."""
    found = {each.name: each for each in doubted().inputs}
    assert set(found) == {"friction under the stock", "clamping force"}
    for name, bands in (("friction under the stock", (FRICTION, PUSH)), ("clamping force", (PUSH, FRICTION))):
        first, total = product_indices(*bands)
        assert found[name].first == pytest.approx(first, abs=0.05)
        assert found[name].total == pytest.approx(total, abs=0.05)
    assert doubted().inputs[0].total >= doubted().inputs[1].total


def test_the_indices_of_a_product_of_three_and_of_what_does_not_matter():
    """More rows, so nearer: x y (1 + 0 z) with uniform x in 1..3 and y in 0..1, of which z has no part."""

    def product(shares: np.ndarray) -> np.ndarray:
        return np.asarray((1.0 + 2.0 * shares[:, 0]) * shares[:, 1])

    _, inputs = indices(product, ("x", "y", "z"), samples=1024)
    found = {each.name: each for each in inputs}
    c, d = (4.0 / 12.0) / 2.0**2, (1.0 / 12.0) / 0.5**2
    whole = c + d + c * d
    assert_allclose([found["x"].first, found["y"].first, found["z"].first], [c / whole, d / whole, 0.0], atol=0.01)
    assert_allclose(
        [found["x"].total, found["y"].total, found["z"].total],
        [c * (1 + d) / whole, d * (1 + c) / whole, 0.0],
        atol=0.01,
    )
    assert [each.name for each in inputs] == ["y", "x", "z"]


def test_a_share_falls_where_the_library_says():
    shares = np.array([0.0, 0.02, 0.3, 0.5, 0.77, 1.0])
    for band in (FRICTION, PUSH, Triple(low=1.0, typical=1.0, high=4.0), Triple(low=-2.0, typical=3.0, high=3.0)):
        assert_allclose(triangular(band, shares), distribution(band).ppf(shares), rtol=1e-9)
    assert_allclose(triangular(Triple(low=2.0, typical=2.0, high=2.0), shares), 2.0)


def test_every_band_has_its_group_and_only_the_weight_has_none():
    band = Triple(low=1.0, typical=2.0, high=4.0)
    at, up = (0.1, 0.2, 0.0), (0.0, 0.0, 1.0)
    area = square(0.1, 0.2, 0.05)
    contacts = Contacts(
        pushes=(
            Push(holder=-1, at=at, direction=(0.0, 0.0, -1.0), force=band),
            Push(holder=0, at=at, direction=(0.0, 0.0, -1.0), force=band, friction=band),
        ),
        rests=(Rest(holder=1, area=area, pressure=band, friction=band),),
        rubs=(Rub(holder=2, at=at, normal=up, friction=band, preload=band, limit=band),),
        bonds=(
            Bond(holder=3, area=area, height=0.0, shear=band, tension=band, shear_stiffness=1.0, tension_stiffness=1.0),
        ),
        pins=(
            Pin(holder=4, at=at, lateral=band, pull_out=band, lateral_stiffness=1.0, axial_stiffness=1.0, preload=band),
        ),
    )
    assert scattered(contacts, band) == GROUPS
    assert scattered(replace(contacts, rests=(), bonds=()), replace(band, high=2.0, low=2.0)) == (
        "friction at sides and toes",
        "clamping force",
        "strength of fasteners",
    )


def test_the_same_question_has_the_same_answer_and_what_does_not_scatter_has_no_inputs():
    stance, job, worst = clamped()
    again = doubt_of(stance, job, [worst], samples=128)
    assert again == doubted()
    assert SEED == 20261125
    still = clamped(friction=replace(FRICTION, low=0.3, high=0.3), push=replace(PUSH, low=500.0, high=500.0))
    found = doubt_of(still[0], still[1], [still[2]], samples=128)
    assert found.inputs == ()
    assert found.samples == 1
    assert found.quantiles[1][1] == pytest.approx(0.3 * 500.0 / FORCE, rel=1e-9)


def test_too_many_samples_end_where_the_work_is_spent():
    stance, job, worst = clamped()
    with pytest.raises(OutOfWork), budget(100.0):
        doubt_of(stance, job, [worst], samples=1024)


BOARD = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 18},
    "tools": {"1": {"kind": "end_mill", "diameter": 8, "flutes": 2, "helix": "up"}},
    "holders": [{"kind": "strap_clamp", "at": [10, 60], "preload": 900}],
}
CUT = {"kind": "profile", "tool": 1, "depth": 4, "width": 5, "feed": 2500, "speed": 16000, "level": -9}
PATH = [[60, 40], [240, 50], [230, 160]]
PROGRAM = "G21 G90 G94\nT1 M6\nS16000 M3\nG0 X60 Y40 Z5\nG1 Z-4 F800\nG1 X240 F2500\nG0 Z5\nM30\n"


@pytest.mark.parametrize(
    "document",
    [
        BOARD | {"cuts": [CUT | {"path": PATH}]},
        BOARD | {"cuts": [CUT | {"path": [PATH[1], PATH[2], PATH[0]], "direction": "conventional"}]},
        BOARD | {"cuts": [CUT | {"path": PATH}], "machine": {"push_limit": 15}},
        BOARD | {"program": {"text": PROGRAM}},
    ],
    ids=["entry", "conventional", "push_limit", "program"],
)
def test_at_typical_numbers_the_drawn_load_is_the_worst_that_the_margin_found(document):
    """Two roads: the job's own worst load, and the load that is made anew from coefficients, with no scatter at all."""
    set_up = load_set_up(document, TABLES).set_up
    job = job_of(set_up, limits=Limits())
    loads, _ = job.loads(Corner.TYPICAL)
    assert loads is not None
    still = replace(PUSH, low=500.0, high=500.0)
    down = Push(holder=0, at=(0.1, 0.07, 0.0), direction=(0.0, 0.0, -1.0), force=still, toe=square(0.1, 0.07, 0.01))
    friction = replace(FRICTION, low=0.3, high=0.3)
    stance = Stance(contacts=Contacts(pushes=(down,)), set_up=set_up, friction=friction)
    worst = assess(stance, [typical_reading()], loads)
    boxes = {
        number: replace(
            box, terms={name: replace(band, low=band.typical, high=band.typical) for name, band in box.terms.items()}
        )
        for number, box in job.boxes.items()
    }
    found = doubt_of(stance, replace(job, boxes=boxes), [worst], samples=64)
    assert found.quantiles[1][1] == pytest.approx(worst.factor, rel=1e-6)


@pytest.mark.parametrize("name", ["four screws", "eight screws", "tape and two screws"])
def test_many_draws_of_fasteners_stay_well_within_the_budget(name):
    """A third of what a request may cost at 64 samples, and at some of the draws what each has by itself, to 1e-9."""
    one = drawn_of(HOLDERS[name])
    found = DrawnMargins(one.stance, one.job, [one.worst])
    shares = shares_of(one)
    with budget(Limits().work / 3.0):
        margins = found.margins(shares)
    assert_allclose(margins[::64], by_itself(one, shares[::64]), rtol=1e-9)
    assert np.ptp(margins) > np.median(margins)
