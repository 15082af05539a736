"""What some of the fasteners hold by themselves counts as held; by hand, and against every set tried outright."""

from itertools import combinations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.engine.holding.grips import best_factor, choice, grip
from tests.engine.holding.slabs import (
    LONG,
    THICK,
    WIDE,
    at,
    clamp,
    exactly,
    factor,
    gathered,
    screw,
    stop,
    strip,
    weight,
)

from stillstock.engine.holding import left_out
from stillstock.engine.holding.contacts import Push
from stillstock.engine.holding.left_out import without
from stillstock.engine.mechanics.wrench import wrench

UP = (0.0, 0.0, 1.0)


def test_a_far_strip_does_not_spoil_what_two_near_ones_hold():
    """Strips of 100 N at 0.05 and 0.09 lifted half-way between, at 0.07, bear 200 N, with or without a third at 0.28.

    Statics: by themselves they share evenly, 2 x 100 N. All three share by stiffness: their middle is 0.14 and sum
    (x - 0.14)^2 = 0.0302 m2, so the first takes 1/3 + 0.07 x 0.09 / 0.0302 = 0.542 of the pull and gives at 184.5 N.
    """
    pair = [strip(x, force=100.0, holder=i, width=0.004) for i, x in enumerate((0.05, 0.09))]
    third = strip(0.28, force=100.0, holder=2, width=0.004)
    pull = wrench(at(0.07, WIDE / 2.0, 0.0), UP)
    assert_allclose(factor(gathered(*pair, third), pull), 184.5, rtol=0.01)
    found = choice(gathered(*pair, third), pull)
    assert_allclose(found.worst.worst.factor, 200.0, rtol=1e-6)
    assert found.left_out == {2}


def test_a_weak_screw_gives_and_leaves_the_load_to_the_strong_ones():
    """Screws of 1000 N at 0.05 and 0.09 bear 2000 N; one of 100 N between them, as stiff, has a third: 300 N."""
    pair = [screw(x, 0.1, preload=0.0, holder=i) for i, x in enumerate((0.05, 0.09))]
    weak = screw(0.07, 0.1, pull_out=100.0, preload=0.0, holder=2)
    pull = wrench(at(0.07, 0.1, 0.0), UP)
    assert_allclose(factor(gathered(*pair, weak), pull), 300.0, rtol=1e-6)
    found = choice(gathered(*pair, weak), pull)
    assert_allclose(found.worst.worst.factor, 2000.0, rtol=1e-6)
    assert found.left_out == {2}


def test_one_set_has_to_hold_every_load_of_a_job():
    """What has given under one load is gone for the next: no third strip left out here, and another there.

    The three strips above hold 200 N at 0.07 without the third; at 0.28 all three hold most, 100 / (1/3 + 0.14^2 /
    0.0302) = 102 N, and the first two 100 / (1/2 + 0.21 x 0.02 / 0.0008) = 17 N. Both loads in one job, the second half
    as great: all three, 184.5 N, and not the 200 N that one set and the other would make.
    """
    held = gathered(*(strip(x, force=100.0, holder=i, width=0.004) for i, x in enumerate((0.05, 0.09, 0.28))))
    pulls = [wrench(at(x, WIDE / 2.0, 0.0), (0.0, 0.0, f)) for x, f in ((0.07, 1.0), (0.28, 0.5))]
    assert [best_factor(held, pull) > 199.0 for pull in pulls] == [True, True]
    assert_allclose(best_factor(held, *pulls), 184.5, rtol=0.01)


def test_strips_that_share_still_hold_no_more_than_their_shares():
    """Strips of 100 N at 0, half and all of the width lifted at one end: 120 N, not the 150 N of free sharing.

    Without the far strip the two others bear 100 N there, and the near one alone 100 N: leaving out helps nothing.
    """
    three = [strip(x, force=100.0, holder=i) for i, x in enumerate((0.0001, LONG / 2.0, LONG - 0.0001))]
    found = choice(gathered(*three), wrench(at(LONG, WIDE / 2.0, 0.0), UP))
    assert_allclose(found.worst.worst.factor, 120.0, rtol=2e-3)
    assert found.left_out == frozenset()


def test_a_set_that_the_holders_push_off_does_not_count():
    """A push of 40 N along +x on 20 N of weight at mu 0.3: friction holds 6 N, so that the tape has to stay.

    Pulled back along -x, against the push, friction alone would bear 46 N once the pull is there; yet before that the
    stock is gone. The tape's own 30 N and the push: 70 N.
    """
    push = Push(holder=3, at=at(0.15, 0.1, 0.0), direction=(1.0, 0.0, 0.0), force=exactly(40.0))
    pin = screw(0.15, 0.1, pull_out=1.0, lateral=50.0, preload=0.0, holder=1)
    held = gathered(weight(20.0, 0.15, 0.1), push, pin)
    assert not grip(without(held, frozenset({1}))).stands()
    assert choice(held, wrench(at(0.15, 0.1, 0.0), (-1.0, 0.0, 0.0))).left_out == frozenset()


def many(seed: int):
    """Return fasteners of random strength at random places, two to four of them, beside what else may hold."""
    draw = np.random.default_rng(seed)
    places = draw.uniform((0.03, 0.03), (LONG - 0.03, WIDE - 0.03), size=(2 + seed % 3, 2))
    held: list[object] = [weight(12.0, 0.14, 0.11)]
    for i, (x, y) in enumerate(places):
        if seed % 2:
            held.append(strip(x, force=draw.uniform(30.0, 300.0), width=draw.uniform(0.005, 0.03), holder=i))
        else:
            pull = draw.uniform(50.0, 1000.0)
            held.append(screw(x, y, pull_out=pull, lateral=draw.uniform(40.0, 400.0), preload=0.2 * pull, holder=i))
    if seed % 5 == 0:
        held.append(clamp(200.0, 0.05, 0.15, holder=7))
    if seed % 7 == 0:
        held.append(stop(at(0.0, 0.07, 0.006), (1.0, 0.0, 0.0), group="+x", holder=8))
    forces = np.column_stack([draw.uniform(-1.0, 1.0, size=(6, 2)), draw.uniform(0.0, 0.7, size=6)])
    points = draw.uniform((0.0, 0.0, 0.0), (LONG, WIDE, THICK), size=(6, 3))
    return gathered(*held), [wrench(at(*point), force) for point, force in zip(points, forces, strict=True)]


def outright(contacts, loads) -> float:
    """Return the greatest over all sets of the least over the loads, each set and load by itself."""
    holders = sorted({one.holder for one in (*contacts.bonds, *contacts.pins)})
    sets = [frozenset(out) for count in range(len(holders) + 1) for out in combinations(holders, count)]
    kept = [without(contacts, out) for out in sets]
    return max(
        min(factor(one, load) for load in loads) for out, one in zip(sets, kept, strict=True)
        if not out or grip(one).stands()
    )  # fmt: skip


@pytest.mark.parametrize("seed", [1, 2, 4, 5, 7, 14])
def test_the_search_finds_the_best_of_all_sets(seed):
    contacts, loads = many(seed)
    assert_allclose(best_factor(contacts, *loads), outright(contacts, loads), rtol=1e-7)


@pytest.mark.parametrize("seed", [0, 1])
def test_free_sharing_bounds_every_set_and_load(seed):
    """Two roads: the bound that a sum over contacts gives of each set's gauge, and each set's gauge itself."""
    contacts, loads = many(seed)
    holders = tuple(sorted({one.holder for one in (*contacts.bonds, *contacts.pins)}))
    most = left_out._AtMost(grip(contacts).free_sharing(), holders)
    for load in loads:
        most.motion(load)
    kept = np.array(list(left_out._kept(len(holders))))
    bounds = most.gauges(np.array(loads), kept)
    for which, bound in zip(kept, bounds, strict=True):
        rest = without(contacts, frozenset(np.array(holders)[~which].tolist()))
        worst = max(1.0 / factor(rest, load) if factor(rest, load) > 0.0 else np.inf for load in loads)
        assert bound <= worst * (1.0 + 1e-7)


def test_the_same_job_is_judged_the_same_way_twice():
    contacts, loads = many(6)
    first, second = (choice(contacts, *loads) for _ in range(2))
    assert (first.left_out, first.worst.bound, first.programmes) == (
        second.left_out, second.worst.bound, second.programmes
    )  # fmt: skip


def test_many_fasteners_cost_a_bounded_number_of_sets(monkeypatch):
    """Twelve alike on an ellipse: no more sets are tried than the budget has fasteners for."""
    turn = 2.0 * np.pi * np.arange(12) / 12
    ring = [screw(0.15 + 0.11 * np.cos(a), 0.1 + 0.07 * np.sin(a), preload=0.0, holder=i) for i, a in enumerate(turn)]
    tried: list[frozenset[int]] = []
    real = left_out._Search._try

    def counted(self, out):
        tried.append(out)
        real(self, out)

    monkeypatch.setattr(left_out._Search, "_try", counted)
    choice(gathered(*ring), wrench(at(LONG, 0.1, THICK), (0.3, 0.2, 1.0)))
    assert sum(12 - len(out) for out in tried) <= left_out.TRIED
