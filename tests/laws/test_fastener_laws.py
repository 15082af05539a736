"""One holder more that only holds never lowers the margin: tape, screw, tab, stop; and where that ends."""

import copy
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from tests.engine.holding.grips import best_factor
from tests.engine.holding.slabs import (
    LONG,
    THICK,
    WIDE,
    at,
    clamp,
    gathered,
    screw,
    stop,
    strip,
    suction,
    weight,
)

from stillstock.answers import margin, remedies
from stillstock.answers.job import job_of
from stillstock.answers.judgement import judgement
from stillstock.engine.holding.contact_list import holder_contacts
from stillstock.engine.holding.contacts import Bond, Contact, Pin, Rub
from stillstock.engine.holding.one_place import in_one_place
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import FloatArray
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

TABLES = load_tables()
#: A law that breaks is told at once, without the slow search for its least case.
PHASES = (Phase.explicit, Phase.generate)
FEW = settings(max_examples=8, deadline=None, derandomize=True, phases=PHASES)
along, across = st.floats(0.02, LONG - 0.02), st.floats(0.02, WIDE - 0.02)
OWN = weight(12.0, 0.14, 0.11)


@st.composite
def jobs(draw) -> list[FloatArray]:
    """One to three pulls, each somewhere on the slab."""
    found = []
    for _ in range(draw(st.integers(1, 3))):
        turn, lift = draw(st.floats(0.0, 2.0 * np.pi)), draw(st.floats(-0.3, 4.0))
        place = at(draw(along), draw(across), draw(st.floats(0.0, THICK)))
        found.append(wrench(place, (np.cos(turn), np.sin(turn), lift)))
    return found


@st.composite
def tapes(draw, holder: int) -> Bond:
    bond = strip(draw(along), force=draw(st.floats(20.0, 400.0)), width=draw(st.floats(0.002, 0.03)), holder=holder)
    return replace(bond, shear_stiffness=draw(st.floats(2e8, 2e9)), tension_stiffness=draw(st.floats(2e8, 2e9)))


@st.composite
def screws(draw, holder: int) -> Pin:
    pull = draw(st.floats(20.0, 1000.0))
    pin = screw(
        draw(along),
        draw(across),
        pull_out=pull,
        lateral=draw(st.floats(20.0, 400.0)),
        preload=draw(st.sampled_from([0.0, 0.3])) * pull,
        holder=holder,
    )
    return replace(pin, axial_stiffness=draw(st.floats(2e5, 4e6)), lateral_stiffness=draw(st.floats(2e5, 4e6)))


@st.composite
def tabs(draw, holder: int) -> Pin:
    """A tab stands at the edge, half its height up, and has no head."""
    pin = draw(screws(holder))
    x = draw(st.sampled_from([0.0, LONG]))
    found: Pin = replace(pin, at=at(x, draw(across), 0.001), preload=None, head=None)
    return found


@st.composite
def others(draw) -> list[Contact]:
    """Nothing, or clamps, suction, a stop."""
    mixes: dict[str, list[Contact]] = {
        "nothing": [],
        "clamp": [clamp(300.0, 0.25, 0.15, holder=8)],
        "suction": [suction(3e3, holder=8)],
        "stop": [stop(at(0.0, 0.07, 0.006), (1.0, 0.0, 0.0), group="+x", holder=8)],
    }
    return mixes[draw(st.sampled_from(sorted(mixes)))]


def stiffer_and_weaker(one: Bond | Pin) -> Bond | Pin:
    """Return a fastener that is quick to take more than its part."""
    if isinstance(one, Bond):
        return replace(
            one,
            shear=one.shear.times(0.3),
            tension=one.tension.times(0.3),
            shear_stiffness=3.0 * one.shear_stiffness,
            tension_stiffness=3.0 * one.tension_stiffness,
        )
    return replace(
        one,
        lateral=one.lateral.times(0.3),
        pull_out=one.pull_out.times(0.3),
        preload=one.preload and one.preload.times(0.3),
        lateral_stiffness=3.0 * one.lateral_stiffness,
        axial_stiffness=3.0 * one.axial_stiffness,
    )


KINDS = {"tape": tapes, "screw": screws, "tab": tabs}


@pytest.mark.parametrize("kind", sorted(KINDS))
@FEW
@given(st.data())
def test_one_fastener_more_never_lowers_the_margin(kind, data):
    """Among one to three others of any kind, clamps and stops beside them; all loads of a job together.

    Nothing outside is compared with: what held before still holds, whatever is added that only holds.
    """
    count = data.draw(st.integers(1, 3))
    before = [data.draw(KINDS[data.draw(st.sampled_from(sorted(KINDS)))](i)) for i in range(count)]
    beside, loads = data.draw(others()), data.draw(jobs())
    held = best_factor(gathered(OWN, *beside, *before), *loads)
    one = stiffer_and_weaker(data.draw(KINDS[kind](count)))
    more = best_factor(gathered(OWN, *beside, *before, one), *loads)
    assert more >= held * (1.0 - 1e-6)


@FEW
@given(st.data())
def test_the_first_fastener_never_lowers_the_margin(data):
    beside, loads = data.draw(others()), data.draw(jobs())
    first = stiffer_and_weaker(data.draw(KINDS[data.draw(st.sampled_from(["screw", "tab"]))](0)))
    held = best_factor(gathered(OWN, *beside), *loads)
    assert best_factor(gathered(OWN, *beside, first), *loads) >= held * (1.0 - 1e-6)


def stops(*places: float) -> list[Rub]:
    return [stop(at(0.0, y, 0.006), (1.0, 0.0, 0.0), group="+x", holder=5 + i) for i, y in enumerate(places)]


@FEW
@given(st.data())
def test_a_second_stop_in_a_line_never_lowers_the_margin_of_fastened_stock(data):
    """Two in a line both touch; with fasteners alone nothing seats them, so that they only push back."""
    fastener = data.draw(KINDS[data.draw(st.sampled_from(sorted(KINDS)))](0))
    first, second = data.draw(st.lists(st.floats(0.02, WIDE - 0.02), min_size=2, max_size=2, unique=True))
    loads = data.draw(jobs())
    one, two = (best_factor(gathered(OWN, fastener, *stops(*places)), *loads) for places in ((first,), (first, second)))
    assert two >= one * (1.0 - 1e-6)


def test_a_third_stop_in_a_line_may_lower_the_margin_for_it_may_stand_proud():
    """Where the law ends: common practice, no source. A straight edge touches two of three stops, or the middle one.

    A tape bears a twist together with two stops far apart; on a proud middle stop it turns about that one alone.
    """
    tape = strip(0.1, force=100.0, width=0.02, shear=5e3)
    twist = wrench(at(0.2, 0.02, 0.0), (-1.0, 0.0, 0.0)) + np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.05])
    two, three = (
        best_factor(gathered(OWN, tape, *stops(*places)), twist) for places in ((0.03, 0.17), (0.03, 0.1, 0.17))
    )
    assert three < 0.9 * two


# ---- through the whole margin ----


def margins(document: dict[str, Any]) -> tuple[float, float]:
    """Return the typical and the pessimist's factor."""
    set_up = load_set_up(document, TABLES).set_up
    found = judgement(set_up, job_of(set_up, limits=Limits()), TABLES)
    assert found is not None
    return found.factor, found.pessimistic


def slotted(holders: list[dict[str, Any]]) -> dict[str, Any]:
    """Return a board with a slot cut across it."""
    return {
        "units": "metric",
        "stock": {"material": "birch_plywood", "size": [230, 140, 18]},
        "bed": {"material": "mdf", "thickness": 30},
        "tools": {"1": {"kind": "end_mill", "diameter": 8, "flutes": 2, "stickout": 30}},
        "holders": holders,
        "cuts": [
            {"name": "slot", "kind": "slot", "tool": 1, "width": 8, "depth": 6, "feed": 2000, "speed": 16000,
             "level": -6, "path": [[30, 70], [200, 90]]}
        ],
    }  # fmt: skip


PLACES = st.tuples(st.floats(15.0, 215.0), st.floats(15.0, 125.0))
MADE: dict[str, Any] = {
    "screw": lambda x, y: {"kind": "screw", "at": [x, y]},
    "weak screw": lambda x, y: {"kind": "screw", "at": [x, y], "pull_out": 10},
    "film_tape": lambda x, y: {"kind": "film_tape", "area": [[x - 10.0, y - 8.0], [x + 10.0, y + 8.0]]},
    "polymer_nail": lambda x, y: {"kind": "polymer_nail", "at": [x, y]},
}


@settings(max_examples=5, deadline=None, derandomize=True, phases=PHASES)
@given(
    st.lists(st.tuples(st.sampled_from(sorted(MADE)), PLACES), min_size=1, max_size=3),
    st.sampled_from(sorted(MADE)),
    PLACES,
)
def test_one_holder_more_never_lowers_either_margin_of_a_described_cut(held, kind, place):
    before = slotted([MADE[name](*where) for name, where in held])
    after = copy.deepcopy(before)
    after["holders"].append(MADE[kind](*place))
    assume(not in_one_place(holder_contacts(load_set_up(after, TABLES).set_up, TABLES)[0]))
    assert all(new >= old * (1.0 - 1e-6) for old, new in zip(margins(before), margins(after), strict=True))


def test_a_holder_that_is_not_counted_on_is_named_and_carries_nothing(monkeypatch):
    """Two screws and one between them of 10 N in pull-out, which lets go at the first tilt.

    Without it the others hold longer: the margin is theirs by themselves.
    """
    strong = [{"kind": "screw", "at": [x, 70.0]} for x in (40.0, 190.0)]
    weak = {"kind": "screw", "at": [115.0, 75.0], "pull_out": 10}
    monkeypatch.setattr(remedies, "WORK", 0.0)  # no remedy is asked for here
    set_up = load_set_up(slotted([*strong, weak]), TABLES).set_up
    found = margin.answer_margin(set_up, TABLES, limits=Limits(), fingerprint="law")
    left = [notice for notice in found.warnings if notice.code == "not_counted"]
    assert [notice.pointer for notice in left] == ["/holders/2"]
    assert [(share.share, share.force) for share in found.holders if share.holder == 2] == [(0.0, (0.0, 0.0, 0.0))]
    assert found.typical == pytest.approx(margins(slotted(strong))[0], rel=1e-9)
