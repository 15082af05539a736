"""More tape area never lowers the capacity: another strip, a strip grown on both sides, one grown towards its load."""

import copy
from dataclasses import replace
from typing import Any

import numpy as np
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from tests.engine.holding.grips import best_factor
from tests.engine.holding.slabs import LONG, THICK, WIDE, at, box, factor, gathered, strip, weight
from tests.laws.test_fastener_laws import margins, stiffer_and_weaker

from stillstock.engine.holding.contacts import Bond
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import FloatArray

PHASES = (Phase.explicit, Phase.generate)
FEW = settings(max_examples=12, deadline=None, derandomize=True, phases=PHASES)
OWN = weight(12.0, 0.14, 0.11)
SHARE = 1.0 - 1e-6

#: Half a strip's length and width, and how far it grows.
halves = st.tuples(st.floats(0.01, 0.06), st.floats(0.005, 0.04))
grown = st.floats(0.0, 0.03)


def tape(middle: tuple[float, float], half: tuple[float, float]) -> Bond:
    """Return a tape of one strength and stiffness per area on a rectangle about a middle. [m]"""
    (x, y), (a, b) = middle, half
    return replace(strip(0.1, force=100.0, width=0.01), area=box(x - a, y - b, x + a, y + b))


@st.composite
def pulls(draw, middle: tuple[float, float], half: tuple[float, float]) -> FloatArray:
    """A pull up and to some side over the middle half of a strip."""
    x, y = (m + h * draw(st.floats(-0.5, 0.5)) for m, h in zip(middle, half, strict=True))
    turn, lift = draw(st.floats(0.0, 2.0 * np.pi)), draw(st.floats(-0.2, 4.0))
    return wrench(at(x, y, draw(st.floats(0.0, THICK))), (np.cos(turn), np.sin(turn), lift))


@FEW
@given(st.data())
def test_a_strip_grown_alike_on_opposite_sides_never_bears_less(data):
    """Every stress of an eccentric column, F / A and 6 M / (a b^2), falls as a side grows about its middle."""
    middle, half = (LONG / 2.0, WIDE / 2.0), data.draw(halves)
    load = data.draw(pulls(middle, half))
    by = data.draw(grown), data.draw(grown)
    less, more = (
        factor(gathered(OWN, tape(middle, each)), load) for each in (half, (half[0] + by[0], half[1] + by[1]))
    )
    assert more >= less * SHARE


@FEW
@given(st.data())
def test_another_strip_never_lowers_what_one_bears(data):
    """Nor does one that is stiffer and weaker, and takes more than its part."""
    middle, half = (0.1, 0.1), data.draw(halves)
    load = data.draw(pulls(middle, half))
    other = replace(tape((0.23, data.draw(st.floats(0.05, 0.15))), data.draw(halves)), holder=1)
    other = data.draw(st.sampled_from([other, stiffer_and_weaker(other)]))
    one = tape(middle, half)
    less, more = (best_factor(gathered(OWN, *tapes), load) for tapes in ([one], [one, other]))
    assert more >= less * SHARE


@FEW
@given(st.data())
def test_a_strip_grown_at_one_end_till_its_load_lies_in_the_middle_never_bears_less(data):
    """Lifted beside its middle it bears a^2 / (6 p - 2 a), p from the other end: that rises with a up to 2 p.

    Grown beyond that it may bear less (test_hold_laws).
    """
    a, b = data.draw(halves)
    beyond, part = data.draw(st.floats(0.0, 0.5)) * a, data.draw(st.floats(0.0, 1.0))
    lift = wrench(at(0.05 + a + beyond, WIDE / 2.0, 0.0), (0.0, 0.0, 1.0))
    short, long = (factor(gathered(tape((0.05 + h, WIDE / 2.0), (h, b))), lift) for h in (a, a + part * beyond))
    assert long >= short * SHARE


# ---- through the whole margin ----


def taped(*areas: list[list[float]], loads: list[dict[str, Any]]) -> dict[str, Any]:
    return {
        "units": "metric",
        "stock": {"material": "birch plywood", "size": [230, 140, 18]},
        "bed": {"material": "mdf", "thickness": 30},
        "holders": [{"kind": "film_tape", "area": area} for area in areas],
        "loads": loads,
    }


places = st.tuples(st.floats(75.0, 155.0), st.floats(60.0, 80.0), st.floats(-18.0, 0.0))
forces = st.tuples(st.floats(-60.0, 60.0), st.floats(-60.0, 60.0), st.floats(1.0, 60.0))


@settings(max_examples=5, deadline=None, derandomize=True, phases=PHASES)
@given(st.lists(st.tuples(places, forces), min_size=1, max_size=2), st.floats(0.0, 30.0), st.floats(0.0, 20.0))
def test_more_tape_never_lowers_either_margin(pulled, longer, wider):
    """A strip of 160 by 40 mm loaded over its middle half, that strip grown on all sides, and another beside it."""
    loads = [{"name": f"pull {i}", "at": list(p), "force": list(f)} for i, (p, f) in enumerate(pulled)]
    one = [[35.0, 50.0], [195.0, 90.0]]
    bigger = [[35.0 - longer, 50.0 - wider], [195.0 + longer, 90.0 + wider]]
    before = margins(taped(one, loads=loads))
    for areas in ([bigger], [one, [[10.0, 5.0], [220.0, 40.0]]]):
        after = margins(taped(*copy.deepcopy(areas), loads=loads))
        assert all(new >= old * SHARE for new, old in zip(after, before, strict=True))
