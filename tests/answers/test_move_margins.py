"""The margin of every cutting move of a posted program, beside how the move cuts."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.answers.hold import assess, stance_of, typical_reading
from stillstock.answers.job import job_of
from stillstock.answers.margin import answer_margin
from stillstock.answers.move_margins import MoveClass, move_margins, move_notices
from stillstock.answers.path_margins import of_moves
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.schemas.results import margin_document
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Corner

TABLES = load_tables()
RADIUS, DEPTH, CELL = 3e-3, 2e-3, 0.5e-3

#: A straight slot along X, the same again half the tool aside (half immersion, the stock left standing on the left of
#: the feed), a shave of 0.4 mm from the same wall, and a plunge.
PROGRAM = """G21 G90 G94 G17
T1 M6
S18000 M3
G0 X-10. Y40.
Z-2.
G1 X160. F2400.
G0 Z5.
X-10. Y43.
Z-2.
G1 X160.
G0 Z5.
X-10. Y43.4
Z-2.
G1 X160.
G0 Z5.
X60. Y70.
G1 Z-3. F600.
G0 Z5.
M30
"""


def document(program=PROGRAM, **more):
    clamps = [((10, 15), 0), ((140, 15), 180), ((140, 85), 180), ((10, 85), 0)]
    return {
        "units": "metric",
        "stock": {"material": "birch plywood", "size": [150, 100, 18], "origin": [0, 0, -18]},
        "bed": {"material": "mdf", "thickness": 18, "top": -18},
        "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up", "stickout": 28}},
        "holders": [
            {"kind": "strap_clamp", "at": list(at), "torque": "0.3 N m", "angle": angle} for at, angle in clamps
        ],
        "program": {"text": program},
        **more,
    }


def judged(budget: int = 20_000):
    set_up = load_set_up(document(), TABLES).set_up
    job = job_of(set_up, limits=Limits())
    loads, _ = job.loads(Corner.TYPICAL)
    assert loads is not None
    assert job.reading is not None
    assert job.removal is not None
    body = assess(stance_of(set_up, TABLES), [typical_reading()], loads)
    margins = move_margins(
        [body], moves=job.reading.moves, removal=job.removal, required=set_up.required, budget=budget
    )
    return body, margins


@pytest.fixture(scope="module")
def straight():
    return judged()


def test_each_kind_of_cut_has_its_name_and_engagement_by_geometry(straight):
    """Slot: phi from 0 to pi; half immersion: the stock on the left, 0 to pi / 2; a shave of width a: 0 to
    arccos(1 - a / R), from Altintas 2012, ch. 2 (from memory). Tolerance: the removal widens the engaged width by half
    a cell on either side, and samples it no finer than a cell."""
    _, margins = straight
    line = {int(number): k for k, number in enumerate(margins.line)}
    assert [str(margins.kind[line[k]]) for k in (6, 10, 14, 17)] == ["slot", "side", "finish", "full"]
    assert_allclose(margins.depth[[line[k] for k in (6, 10, 14, 17)]], [DEPTH, DEPTH, DEPTH, 3e-3], atol=1e-6)
    for number, width in ((6, 2 * RADIUS), (10, RADIUS), (14, 0.4e-3)):
        start, end = margins.arc[line[number]]
        assert RADIUS * (1.0 - np.cos(end)) == pytest.approx(width, abs=1.5 * CELL)
        assert RADIUS * (1.0 - np.cos(start)) == pytest.approx(0.0, abs=CELL)
    assert margins.enters[line[6]]
    assert margins.exits[line[6]]


def test_bounds_hold_every_load_of_every_move_solved_by_itself(straight):
    """A programme a load on the plain road; rounding of the programmes 1e-9. The worst is exact."""
    body, margins = straight
    loads, place = body.loads.sweep.loads(np.arange(len(body.loads)))
    plain = np.zeros(len(body.loads))
    fresh = Capacity([[body.capacity.systems[k] for k in way] for way in body.capacity.ways])
    some = np.arange(0, len(place), 7)
    np.maximum.at(plain, place[some], [fresh.at(load).gauge for load in loads.wrenches[some]])
    by_move = {int(move): k for k, move in enumerate(margins.move)}
    for gauge, move in zip(plain, body.loads.move, strict=True):
        assert gauge * margins.lower[by_move[int(move)]] <= 1.0 + 1e-9
    assert margins.lower.min() == pytest.approx(body.factor, rel=1e-9)
    assert margins.upper.min() == pytest.approx(body.factor, rel=1e-9)
    assert margins.settled
    near = np.isfinite(margins.upper)
    assert np.all(margins.upper[near] <= margins.lower[near] * 1.0201)


def test_a_line_has_the_least_of_its_moves(straight):
    _, margins = straight
    lines, lower, upper = of_moves(margins).least_by(margins.line)
    assert list(lines) == [6, 10, 14, 17]
    assert_allclose([lower.min(), upper.min()], [margins.lower.min(), margins.upper.min()])


def test_a_shave_is_held_longer_than_a_slot(straight):
    _, margins = straight
    slot, shave = (margins.kind.index(kind) for kind in (MoveClass.SLOT, MoveClass.FINISH))
    assert margins.lower[shave] > margins.upper[slot]


def test_too_little_work_and_too_long_a_list_are_said():
    _, margins = judged(budget=0)
    codes = [notice.code for notice in move_notices(margins, most=2)]
    assert codes[-1] == "moves_left_out"
    assert len(margins.listed(2)) == 2
    assert margins.listed(2)[0] == int(np.argmin(margins.lower))
    assert margins.listed(100) == tuple(range(len(margins)))


@pytest.mark.usefixtures("no_remedies")
def test_the_document_says_the_moves_only_when_asked():
    plain, asked = (
        margin_document(
            answer_margin(load_set_up(document(**more), TABLES).set_up, TABLES, limits=Limits(), fingerprint="x"),
            "metric",
        )
        for more in ({}, {"detail": {"moves": True}})
    )
    assert plain["moves"] is None
    assert [move["line"] for move in asked["moves"]] == [6, 10, 14, 17]
    assert min(move["lower"] for move in asked["moves"]) == pytest.approx(asked["margin"]["typical"], rel=1e-6)
    assert asked["margin"] == plain["margin"]
    assert asked["verdict"] == plain["verdict"]
