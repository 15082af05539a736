"""Parts that come free are judged by themselves, wherever the path that frees them has its corners."""

from functools import cache

import pytest

from stillstock.answers.job import job_of
from stillstock.answers.judgement import Judgement, judgement
from stillstock.answers.path_margins import cut_margins
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

TABLES = load_tables()


@cache
def judged(offset: float) -> Judgement:
    """Return what comes of a sheet on vacuum whose cut runs round a square part at a distance. [mm]"""
    x0, y0, x1, y1 = 100 - offset, 50 - offset, 200 + offset, 150 + offset
    document = {
        "units": "metric",
        "stock": {"material": "birch plywood", "size": [300, 200, 12], "origin": [0, 0, 0]},
        "bed": {"material": "mdf", "thickness": 18, "top": 0},
        "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2}},
        "holders": [{"kind": "vacuum"}],
        "cuts": [
            {
                "name": "outline",
                "kind": "profile",
                "tool": 1,
                "depth": 6,
                "feed": 2400,
                "speed": 18000,
                "path": [[x0, y0, 0], [x1, y0, 0], [x1, y1, 0], [x0, y1, 0], [x0, y0, 0]],
            }
        ],
        "parts": [{"name": "square", "outline": [[100, 50], [200, 150]]}],
    }
    set_up = load_set_up(document, TABLES).set_up
    found = judgement(set_up, job_of(set_up, limits=Limits()), TABLES)
    assert found is not None
    return found


def margin(offset: float) -> float:
    """Return the typical margin of the part."""
    (part,) = judged(offset).parts
    return part.typical.factor


def test_a_path_a_tool_radius_off_frees_its_part_as_one_within_it_does():
    """A square path that runs a radius outside a square has its corners 1.41 radii from those of the square.

    There the tool does not touch the part, so its levers are no longer than those of a path on two thirds of the
    radius, and shorter by less than a radius on half a side: the factor is no less, and by far less than twice it.
    """
    within = margin(2.0)
    assert within <= margin(3.0) < 1.5 * within


@pytest.mark.parametrize("offset", [2.0, 3.0])
def test_the_least_margin_along_the_cut_is_that_of_the_part_it_frees(offset):
    """Definition: a job's margin is the least of its stretches', wherever on a stretch the tool comes to the part."""
    found = judged(offset)
    assert found.weakest is not None
    bodies = [found.typical, found.weakest.typical]
    along = cut_margins(bodies, set_up=found.set_up, required=2.0, budget=5000)
    assert along.lower.min() <= found.factor * (1.0 + 1e-9)
    assert along.upper.min() >= found.factor * (1.0 - 1e-9)
