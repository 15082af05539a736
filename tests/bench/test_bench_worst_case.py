"""The measurements themselves, on sizes that say nothing about speed: they run, and the roads agree."""

import pytest
from tests.bench.bench_worst_case import DOOR, end_to_end, roads, stages
from tests.programs import cabinet_door_program


def test_the_roads_are_timed_and_none_finds_worse_than_the_worst():
    found = roads(40, sample=6, conic_sample=1)
    assert min(found[name] for name in ("worst", "programmes", "linprog", "warm", "conic")) > 0.0
    assert found["off"] <= 1e-9


def test_every_stage_of_a_program_is_timed():
    text = "\n".join(cabinet_door_program().split("\n")[:90])
    found = stages(text, DOOR)
    assert set(found) == {"split", "reading", "removal", "loads", "worst", "brackets", "settled"}
    assert min(found.values()) >= 0.0


def test_a_program_goes_through_the_served_application():
    found = end_to_end("G21 G90\nT1 M6\nS18000 M3\nG0 X-9. Y40.\nZ-2.\nG1 X160. F2400.\nM30\n", DOOR)
    assert found["json"] > found["split"] > 0.0
    assert found["svg"] == pytest.approx(found["svg"])
