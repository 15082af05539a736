"""More preload never lowers crush and bow, whatever presses or squeezes."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.engine.checks.jobs import checks, exact, job, named

from stillstock.engine.holding.methods.fixture_plate import FixturePlate
from stillstock.engine.holding.methods.screw import Screw
from stillstock.engine.holding.methods.side_clamp import SideClamp
from stillstock.engine.holding.methods.stop import Stop
from stillstock.engine.holding.methods.strap_clamp import StrapClamp
from stillstock.engine.holding.methods.vise import Vise

SIZE = (0.25, 0.11, 0.012)
HELD: dict[str, Any] = {
    "strap_clamp": lambda push: (StrapClamp(at=(0.02, 0.05), preload=exact(push)),),
    "fixture_plate": lambda push: (FixturePlate(at=(0.03, 0.05), preload=exact(push)),),
    "vise": lambda push: (Vise(at=(0.0, 0.05), faces="+x", force=exact(push), grip=0.01),),
    "side_clamp": lambda push: (
        SideClamp(at=(0.0, 0.05), pushes="+x", force=exact(push), height=0.004),
        Stop(at=(0.25, 0.05), faces="-x", height=0.01),
    ),
    "side_clamp beside a screw": lambda push: (
        SideClamp(at=(0.0, 0.05), pushes="+x", force=exact(push), height=0.004),
        Stop(at=(0.25, 0.05), faces="-x", height=0.01),
        Screw(at=(0.12, 0.05)),
    ),
}
#: What preload may only worsen, by the checks' names.
WORSE = ("crush", "squeeze", "buckling", "bow", "bolt", "arm", "anchor")


@pytest.mark.parametrize("held", sorted(HELD))
@settings(max_examples=15, deadline=None, derandomize=True)
@given(push=st.floats(5.0, 4000.0), more=st.floats(0.0, 4000.0), bow=st.sampled_from([0.0, 0.001]))
def test_more_preload_never_lowers_what_it_dents_bends_or_bows(held, push, more, bow):
    """A bow that is no longer told has become a buckling that fails."""
    less, harder = (checks(job("mdf", SIZE, HELD[held](p), bow=bow)) for p in (push, push + more))
    told = {check.name for check in less} & set(WORSE)
    assert "crush" in told or "buckling" in told
    for name in told:
        before, after = named(less, name), named(harder, name)
        if name == "bow" and not after:
            assert not named(harder, "buckling")[0].ok
            continue
        for one, other in zip(before, after, strict=True):
            assert other.ratio >= one.ratio * (1.0 - 1e-12)
            assert other.typical_ratio >= one.typical_ratio * (1.0 - 1e-12)
