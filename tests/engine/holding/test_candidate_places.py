"""Places for one more holder: on the edge, facing in; and the guide by which they are told apart."""

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose
from tests.engine.holding.benches import bench, exactly

from stillstock.engine.holding.candidate_places import beside, edge_places, inner_places
from stillstock.engine.holding.contacts import Pin, Push, Rub
from stillstock.engine.holding.resisting_work import resisting_work
from stillstock.engine.mechanics.wrench import wrench

STOCK = bench(size=(0.3, 0.2, 0.018)).stock
PLAN = shapely.Polygon(STOCK.plan)


def test_places_lie_on_the_edge_and_face_into_the_stock():
    places = edge_places(STOCK, count=24, margin=0.015)
    assert len({place.edge for place in places}) == 4
    for place in places:
        assert PLAN.exterior.distance(shapely.Point(place.at)) < 1e-12
        assert PLAN.contains(shapely.Point(np.array(place.at) + 0.01 * np.array(place.inward)))
        assert min(np.hypot(*(STOCK.plan - place.at).T)) >= 0.015 - 1e-12
        for near in beside(STOCK, place, by=0.004, margin=0.015):
            assert np.hypot(near.at[0] - place.at[0], near.at[1] - place.at[1]) == pytest.approx(0.004)
            assert near.inward == place.inward


def test_short_edges_get_their_middle():
    tiny = bench(size=(0.3, 0.02, 0.018)).stock
    ends = [place for place in edge_places(tiny, count=12, margin=0.015) if place.edge in (1, 3)]
    assert_allclose([place.along for place in ends], 0.01)


def test_inner_places_keep_their_distance_from_the_edge():
    places = inner_places(STOCK, count=40, inset=0.016)
    assert 30 <= len(places) <= 70
    assert all(PLAN.exterior.distance(shapely.Point(place)) >= 0.016 - 1e-9 for place in places)
    assert inner_places(STOCK, count=40, inset=0.2) == ()


def test_the_work_against_a_motion_is_force_times_way():
    """Closed form: a slide by +x at 1/N for a load along x; a lift; a spin about a point whose arm is known."""
    slide = np.array([1.0, 0.0, 0.0, 0.0, 0.0, 0.0])
    lift = np.array([0.0, 0.0, 1.0, 0.0, 0.0, 0.0])
    down = Push(holder=0, at=(0.1, 0.05, 0.018), direction=(0.0, 0.0, -1.0), force=exactly(200.0))
    stop = Rub(holder=0, at=(0.3, 0.0, 0.0), normal=(-1.0, 0.0, 0.0), friction=exactly(0.3))
    side = Rub(holder=0, at=(0.3, 0.0, 0.0), normal=(-1.0, 0.0, 0.0), friction=exactly(0.3), preload=exactly(70.0))
    pin = Pin(
        holder=0, at=(0.1, 0.0, 0.0), lateral=exactly(50.0), pull_out=exactly(90.0), lateral_stiffness=1.0,
        axial_stiffness=1.0, preload=exactly(20.0),
    )  # fmt: skip

    def work(contact, motion):
        return resisting_work([contact], motion, friction=0.25, level=0.0)

    assert work(down, slide) == pytest.approx(0.25 * 200.0)
    assert work(down, lift) == pytest.approx(200.0)
    assert work(side, slide) == pytest.approx(70.0)
    assert work(side, -slide) == pytest.approx(-70.0)
    assert work(stop, slide) > 1e3
    assert work(stop, -slide) == 0.0
    assert work(pin, slide) == pytest.approx(50.0 + 0.25 * 20.0)
    assert work(pin, lift) == pytest.approx(90.0)


def test_the_motion_is_that_of_a_gauge_of_wrenches():
    """A slope is a motion such that it times a wrench is force times velocity: lopsided spin about (0.2, -0.1)."""
    omega, pivot = 0.7, np.array([0.2, -0.1, 0.0])
    slope = np.concatenate([-np.cross([0.0, 0.0, omega], pivot), [0.0, 0.0, omega]])
    at, force = np.array([0.3, 0.05, 0.0]), np.array([3.0, -8.0, 0.0])
    side = Rub(
        holder=0, at=tuple(at), normal=tuple(force / np.linalg.norm(force)), friction=exactly(0.0),
        preload=exactly(float(np.linalg.norm(force))),
    )  # fmt: skip
    assert resisting_work([side], slope, friction=0.0, level=0.0) == pytest.approx(-float(slope @ wrench(at, force)))
