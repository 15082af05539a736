"""Remedies of the cuts and one more holder: each, put into the document and sent again, gives what it promised."""

import copy
from functools import cache
from typing import Any

import numpy as np
import pytest
import shapely
from tests.asking import patched

from stillstock.answers.gentler_cuts import climb, down_cut, shallower, slower, slower_program
from stillstock.answers.hold import PESSIMIST_SLACK, assess, pessimistic_readings, stance_of, typical_reading
from stillstock.answers.job import job_of
from stillstock.answers.margin import MarginAnswer, answer_plain_margin
from stillstock.answers.one_more_holder import one_more
from stillstock.answers.remedy import Remedy
from stillstock.answers.said import said
from stillstock.answers.trial import Pull, Trial
from stillstock.answers.trials import Bench
from stillstock.engine.mechanics.work import OutOfWork, budget
from stillstock.schemas.results import _change
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Corner

TABLES = load_tables()
CUT: dict[str, Any] = {
    "name": "{0} outline",
    "kind": "profile",
    "tool": 1,
    "depth": 5,
    "width": 8,
    "feed": 4000,
    "speed": 16000,
    "level": -18,
    "direction": "conventional",
    "path": [[60, 40], [240, 50], [230, 160]],
}
BOARD: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 18},
    "tools": {
        "1": {"kind": "end_mill", "diameter": 8, "flutes": 2, "helix": "up"},
        "2": {"kind": "end_mill", "diameter": 8, "helix": "compression", "up_length": 5, "cutting_length": 17},
    },
    "holders": [
        {"kind": "strap_clamp", "at": [10, 50], "torque": 2.4, "anchor": "through_bolt"},
        {"kind": "strap_clamp", "at": [290, 150], "angle": 180, "torque": 2.4, "anchor": "through_bolt"},
    ],
    "cuts": [CUT, {**CUT, "name": "groove", "kind": "slot", "depth": 1, "path": [[100, 80], [150, 120]]}],
}
PROGRAM = "G21 G90 G94\nT1 M6\nS16000 M3\nG0 X60 Y40 Z5\nG1 Z-8 F800\nG1 X240 F9500\nG0 Z5\nM30\n"
CASES: dict[str, tuple[dict[str, Any], Any]] = {
    "feed": (BOARD, slower),
    "depth": (BOARD, shallower),
    "climb": (BOARD, climb),
    "down_cut": (BOARD, down_cut),
    "strap_clamp": (BOARD, one_more("strap_clamp")),
    "stop": (BOARD | {"spare": ["stop"]}, one_more("stop")),
    "override": (
        {name: value for name, value in BOARD.items() if name != "cuts"}
        | {"program": {"text": PROGRAM, "feed_override": 0.9}},
        slower_program,
    ),
}


def bench_of(document: dict[str, Any]) -> Bench:
    set_up = load_set_up(document, TABLES).set_up
    job = job_of(set_up, limits=Limits())
    (typical, _), (hard, _) = job.loads(Corner.TYPICAL), job.loads(Corner.HIGH)
    assert typical is not None
    assert hard is not None
    stance = stance_of(set_up, TABLES)
    shaken = TABLES.value("friction", "any_pair", "dynamic_factor").typical
    stated = Trial(
        typical=assess(stance, [typical_reading()], typical),
        hard=assess(stance, pessimistic_readings(stance.contacts, shaken=shaken), hard, slack=PESSIMIST_SLACK),
        checks=(),
        stands=True,
        required=set_up.required,
    )
    pull = Pull(typical=typical, hard=hard)
    return Bench(job, TABLES, pull, stated, checks=lambda _stance, _assessed, _job: ())


def answered(document: dict[str, Any]) -> MarginAnswer:
    """Return the answer without remedies of its own."""
    set_up = load_set_up(document, TABLES).set_up
    return answer_plain_margin(set_up, TABLES, limits=Limits(), fingerprint="")


@cache
def bench(name: str) -> Bench:
    return bench_of(CASES[name][0])


@cache
def remedy_of(name: str) -> Remedy:
    found: Remedy | None = CASES[name][1](bench(name))
    assert found is not None
    return found


def again(name: str) -> dict[str, Any]:
    """Return the document with the remedy in it."""
    return patched(CASES[name][0], [_change(change, "metric") for change in remedy_of(name).changes])


@pytest.mark.parametrize("name", CASES)
def test_a_remedy_sent_again_gives_what_it_promised(name):
    """Two roads: the search's proof, and the patched document read and judged anew; 1 %, the rounding of a document."""
    remedy, answer = remedy_of(name), answered(again(name))
    assert answer.typical == pytest.approx(remedy.margin, rel=0.01)
    assert answer.pessimistic == pytest.approx(remedy.pessimistic, rel=0.01)
    assert answer.typical >= answer.required
    assert answer.pessimistic >= 1.0
    assert bench(name).stated.score < 1.0


@pytest.mark.parametrize("name", CASES)
def test_no_name_of_the_caller_is_taken_for_a_number(name):
    remedy = remedy_of(name)
    sentence = said(remedy.detail, remedy.numbers, "metric")
    assert "{" not in sentence
    assert ("(0) outline" in sentence) == (name in ("feed", "depth", "climb"))


def score(document: dict[str, Any], member: str, value: float) -> float:
    """Return the least of both factors over what is asked, with the first cut's member at a value."""
    changed = copy.deepcopy(document)
    changed["cuts"][0][member] = value
    answer = answered(changed)
    return min(answer.typical / answer.required, answer.pessimistic)


@pytest.mark.parametrize(("name", "member"), [("feed", "feed"), ("depth", "depth")])
def test_what_is_proposed_is_about_the_greatest_that_holds(name, member):
    """A little more no longer holds: the border is found to 1 %, and the pessimist's 2 % of slack are of a margin that

    grows slowly as the feed falls, for rubbing stays.
    """
    found = again(name)
    value = found["cuts"][0][member]
    assert value < CUT[member]
    assert score(found, member, value) >= 1.0
    assert score(found, member, 1.15 * value) < 1.0
    assert [cut[member] for cut in found["cuts"][1:]] == [cut[member] for cut in BOARD["cuts"][1:]]


def test_a_thinner_pass_keeps_the_layer_and_is_judged_at_its_top_too():
    found = again("depth")["cuts"][0]
    assert found["layer"] == CUT["depth"]
    set_up = load_set_up(again("depth"), TABLES).set_up
    loads, _ = job_of(set_up, limits=Limits()).loads(Corner.TYPICAL)
    assert loads is not None
    heights = np.unique(loads.tip[loads.cut == 0, 2].round(6))
    np.testing.assert_allclose(heights, [-0.018, -0.018 + 1e-3 * (CUT["depth"] - found["depth"])], atol=2e-6)


def test_climb_runs_the_same_path_the_other_way():
    """The wall stays on the same side of the cut: with the direction the path turns round too."""
    found = again("climb")["cuts"][0]
    assert found["direction"] == "climb"
    assert found["path"] == [[230.0, 160.0], [240.0, 50.0], [60.0, 40.0]]
    assert found["level"] == -18.0


def fenced(depth: float) -> dict[str, Any]:
    """Return a board that stops keep from sliding, so that only lift can take it, under a compression bit."""
    sides = (("+x", 0, 30), ("+x", 0, 170), ("-x", 300, 30), ("-x", 300, 170))
    ends = (("+y", 40, 0), ("+y", 260, 0), ("-y", 40, 200), ("-y", 260, 200))
    stops = [{"kind": "stop", "at": [x, y], "faces": way, "height": 18} for way, x, y in (*sides, *ends)]
    clamps = [clamp | {"torque": 0.06, "at": [clamp["at"][0], 100]} for clamp in BOARD["holders"]]
    cut = {"tool": 2, "kind": "slot", "direction": "climb", "path": [[140, 90], [165, 110]]}
    return BOARD | {
        "holders": stops + clamps,
        "cuts": [CUT | cut | {"depth": depth, "layer": 17}],
        "required": {"factor": 15},
    }


def test_a_compression_bit_is_found_to_hold_deeper_where_it_lifts_at_middle_depths():
    """Two roads: the scan and bisection, and each depth judged by itself: it holds shallow and deep, and not between.

    Common practice, no source: a compression bit is run with passes deeper than its up-cut part.
    """
    remedy = shallower(bench_of(fenced(6)))
    assert remedy is not None
    ((found, _),) = remedy.numbers
    deep = 1e3 * found
    reached = {depth: answered(fenced(depth)).typical for depth in (0.9, 3.0, 6.0, deep, 1.05 * deep)}
    assert 12.0 < deep < 17.0
    assert [factor >= 15.0 for factor in reached.values()] == [True, False, False, True, False]
    assert reached[deep] == pytest.approx(remedy.margin, rel=0.01)


def test_a_new_holder_keeps_clear_of_the_tool_and_of_the_others():
    """No closer than the margins asked to the path, by plan distances that the test reckons itself."""
    crowded = copy.deepcopy(BOARD)
    crowded["cuts"] = [{**CUT, "path": [[25, 20], [25, 180]], "level": -6, "depth": 6}]
    crowded["tools"]["1"] |= {"stickout": 40, "collet": {"diameter": 20, "length": 20}}
    crowded["clearances"] = {"beside": 5}
    remedy = one_more("strap_clamp")(bench_of(crowded))
    assert remedy is not None
    changes = [_change(change, "metric") for change in remedy.changes]
    (at,) = (change["value"] for change in changes if change["path"] == "/holders/2/at")
    path = shapely.LineString([(25, 20), (25, 180)])
    clamp = load_set_up(patched(crowded, changes), TABLES).set_up.holders[2]
    bodies = clamp.bodies(2, load_set_up(crowded, TABLES).set_up)
    gaps = [path.distance(shapely.MultiPoint(1e3 * body.core).convex_hull) - 1e3 * body.radius for body in bodies]
    assert min(gaps) >= 4.0 + 5.0 - 1e-6  # the cutter's radius and the margin
    assert all(np.hypot(at[0] - x, at[1] - y) > 30.0 for x, y in ([10, 50], [290, 150]))


def test_the_search_ends_where_the_work_is_spent_and_always_the_same_way():
    with pytest.raises(OutOfWork), budget(300.0):
        slower(bench_of(BOARD))
    one, two = (slower(bench_of(BOARD)) for _ in range(2))
    assert one is not None
    assert two is not None
    assert (one.margin, one.pessimistic, one.numbers) == (two.margin, two.pessimistic, two.numbers)


def test_what_is_not_there_has_no_remedy():
    bare = bench_of(
        {**BOARD, "cuts": [{**CUT, "direction": "climb", "kind": "drill", "path": [[60, 40]], "depth": 18}]}
    )
    assert climb(bare) is None
    assert slower_program(bare) is None
    assert one_more("screw")(bare) is None
    assert shallower(bare) is None
