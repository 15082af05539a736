"""The margin's three different clear answers, its verdict, its caps and its one line of words."""

import copy
from dataclasses import replace
from math import inf
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from stillstock.answers import margin as module
from stillstock.answers.judgement import verdict_of
from stillstock.answers.margin import MarginAnswer, Verdict, answer_plain_margin
from stillstock.answers.margin_words import LONGEST, in_ascii, motion_words, summary
from stillstock.answers.notices import Notice
from stillstock.engine.checks.check import Check
from stillstock.engine.mechanics.motion import LetGo, Motion, let_go
from stillstock.errors import NothingToJudge, NotInBalance
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

TABLES = load_tables()
#: Weight of the block below, 300 x 200 x 18 mm; friction 0.4 as the caller's own test has it.
FRICTION = 0.4
BLOCK: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "mdf", "size": [300, 200, 18], "origin": [10, -20, -18]},
    "bed": {"material": "mdf", "thickness": 30, "friction": FRICTION},
    "loads": [{"name": "pull", "at": [150, 90, -18], "force": [40, -10, 0]}],
}
STOPS = [{"kind": "stop", "at": [10, y], "faces": "+x", "height": 12} for y in (20, 140)]


def document(*holders: dict[str, Any], **members: Any) -> dict[str, Any]:
    return {**copy.deepcopy(BLOCK), "holders": list(holders), **members}


def answer(stated: dict[str, Any]) -> MarginAnswer:
    return answer_plain_margin(load_set_up(stated, TABLES).set_up, TABLES, limits=Limits(), fingerprint="f")


def side_clamp(**members: Any) -> dict[str, Any]:
    return {"kind": "side_clamp", "at": [310, 80], "pushes": "-x", "force": 300, "height": 6, **members}


def pull(*force: float, at: tuple[float, float, float] = (150, 90, -18)) -> list[dict[str, Any]]:
    return [{"name": "pull", "at": list(at), "force": list(force)}]


def strap(force: float = 800, **members: Any) -> dict[str, Any]:
    return {"kind": "strap_clamp", "at": [60, 40], "preload": force, "toe": [20, 20], **members}


# ---- three different, clear answers ----


def test_a_set_up_that_does_not_stay_put_by_itself_is_refused_by_the_holder_that_pushes_it():
    """Balance: 300 N against 0.4 times a block of about 8 N. The stop stands on another side and does not help."""
    with pytest.raises(NotInBalance) as refused:
        answer(document({"kind": "stop", "at": [150, -20], "faces": "+y"}, side_clamp()))
    (fault,) = refused.value.faults
    assert (fault.pointer, fault.code) == ("/holders/1", "not_in_balance")
    assert "side clamp" in fault.detail
    assert answer(document(*STOPS, side_clamp())).typical > 0.0


def test_a_side_clamp_above_its_stop_is_refused_although_it_has_one():
    """300 N at 15 mm against a face up to 4 mm, whose middle is at 2: 3.9 N m, more than 8 N at any edge can hold."""
    low = [{**stop, "height": 4} for stop in STOPS]
    with pytest.raises(NotInBalance):
        answer(document(*low, side_clamp(height=15)))


def test_a_push_that_passes_at_one_end_of_its_scatter_only_is_a_failed_check():
    """Low 20 N, high 400 N at 15 mm over a stop at 2 mm: the block's weight holds the low end alone. Never `holds`."""
    low = [{**stop, "height": 4} for stop in STOPS]
    scattered = side_clamp(height=15, force={"low": 20, "typical": 40, "high": 400})
    found = answer(document(*low, scattered, loads=pull(-1, 0, 0)))
    (check,) = [check for check in found.checks if check.name == "balance"]
    assert not check.ok
    assert check.breaks
    assert found.verdict in (Verdict.DOUBTFUL, Verdict.LETS_GO)


def test_a_load_that_nothing_resists_has_no_margin_at_all():
    """Tape without its strength and no weight cannot be stated; a lift beyond the edge of loose stock comes nearest.

    A stop alone, no clamp: its weight of some 8 N against 1000 N of lift lets go at less than a hundredth.
    """
    found = answer(document(*STOPS, loads=pull(0, 0, 1000)))
    assert 0.0 < found.typical < 0.02
    assert found.verdict is Verdict.LETS_GO
    assert found.summary.startswith("DOES NOT HOLD: lets go at 0.0 times")


def test_a_load_factor_of_nought_is_told_from_a_small_one(monkeypatch):
    """Without its weight the block is held against lift by nothing: factor 0, and the words say so."""
    monkeypatch.setattr("stillstock.engine.holding.contact_list.GRAVITY", 1e-12)
    found = answer(document(*STOPS, loads=pull(0, 0, 5)))
    assert found.typical == 0.0
    assert found.verdict is Verdict.LETS_GO
    assert "nothing holds the stock against the worst load, in pull" in found.summary
    assert found.let_go is not None
    assert found.let_go.twist @ (0.0, 0.0, 1.0, 0.09, -0.15, 0.0) > 0.0, "the pull does work in the motion"


def test_a_load_that_only_presses_home_has_no_end_to_its_margin():
    found = answer(document(strap(), loads=pull(0, 0, -500)))
    assert found.typical == found.pessimistic == inf
    assert found.let_go is None
    assert "only presses the stock home" in found.summary


def test_nothing_that_pulls_is_nothing_to_judge():
    stated = document(strap())
    del stated["loads"]
    with pytest.raises(NothingToJudge):
        answer(stated)


# ---- numbers ----


def test_a_weighed_block_slides_at_its_friction():
    """Coulomb, along x at the level of the bed: 0.4 times the weight; 9.80665 m/s2 (CGPM 1901)."""
    found = answer(document(loads=pull(1, 0, 0, at=(160, 80, -18))))
    assert TABLES.material("mdf") is not None
    density = load_set_up(BLOCK | {"holders": []}, TABLES).set_up.stock.material.properties["density"].typical
    assert_allclose(found.typical, FRICTION * density * 0.3 * 0.2 * 0.018 * 9.80665, rtol=1e-6)
    assert found.let_go is not None
    assert found.let_go.kind is Motion.SLIDE
    assert found.let_go.direction[0] >= np.cos(np.pi / 16.0) - 1e-9, "within half a side of the polygon"
    assert found.verdict is Verdict.HOLDS


def test_the_pessimist_takes_the_low_end_of_the_hold_and_friction_at_three_quarters():
    """mu from the caller with a band of 0.3 to 0.5 and the table's factor for vibration: 0.3 x 0.75 against 0.4."""
    stated = document(loads=pull(1, 0, 0, at=(160, 80, -18)))
    stated["bed"]["friction"] = {"low": 0.3, "typical": 0.4, "high": 0.5}
    found = answer(stated)
    density = load_set_up(stated, TABLES).set_up.stock.material.properties["density"]
    expected = 0.3 * 0.75 / 0.4 * density.low / density.typical
    assert_allclose(found.pessimistic / found.typical, expected, rtol=1e-6)


def test_the_worst_of_several_loads_is_named_with_its_place():
    loads = [
        {"name": "light", "at": [150, 90, -9], "force": [5, 0, 0]},
        {"name": "heavy", "at": [200, 30, -9], "force": [30, 20, 5]},
        {"name": "down", "at": [150, 90, 0], "force": [0, 0, -900]},
    ]
    found = answer(document(strap(), loads=loads))
    assert found.worst.cut == "heavy"
    assert_allclose(found.worst.at, (0.2, 0.03, -0.009))
    assert_allclose(found.worst.force, (30, 20, 5))
    assert "heavy" in found.summary


def test_the_pressing_part_of_a_load_does_not_count():
    """1 N sideways with 30 N down on a loose block is judged as 1 N sideways alone; with the 30 N it never slid."""
    alone, pressed = (answer(document(loads=pull(1, 0, z, at=(160, 80, -18)))) for z in (0, -30))
    assert_allclose(pressed.typical, alone.typical, rtol=1e-9)
    assert pressed.worst.force[2] == 0.0


def test_shares_add_up_to_one_and_forces_balance_the_load():
    """Virtual work in the let-go motion, and Newton: what holders and bed put on the block is lambda times the load."""
    held = document(strap(), strap(500, at=[280, 150]), *STOPS, loads=pull(20, 35, 10, at=(200, 100, 0)))
    found = answer(held)
    assert_allclose(sum(share.share for share in found.holders), 1.0, rtol=1e-9)
    total = np.sum([share.force for share in found.holders], axis=0)
    assert_allclose(total, -found.typical * np.array(found.worst.force), rtol=1e-6, atol=1e-6 * found.typical * 40)
    kinds = {share.holder: share.kind for share in found.holders}
    assert kinds[-1] == "bed"
    assert kinds[0] == "strap_clamp"


def test_the_same_request_gets_the_same_answer():
    stated = document(strap(), {"kind": "screw", "at": [250, 120]}, loads=pull(20, 35, 10))
    first, second = answer(stated), answer(copy.deepcopy(stated))
    assert repr(replace(first, moves=None)) == repr(replace(second, moves=None))


# ---- the machine's push limit ----


def cut_document(**machine: Any) -> dict[str, Any]:
    stated = document(
        strap(),
        strap(at=[280, 150]),
        tools={"1": {"kind": "end_mill", "diameter": 8, "flutes": 2, "helix": "up"}},
        cuts=[
            {
                "name": "slot",
                "kind": "slot",
                "tool": 1,
                "width": 8,
                "depth": 8,
                "feed": 4000,
                "speed": 16000,
                "path": [[100, 60, -8], [200, 110, -8]],
            }
        ],
        machine=machine,
    )
    del stated["loads"]
    return stated


def test_a_machine_that_stalls_first_caps_the_load_and_is_named():
    """A limit far below the cut's own push raises the margin and is told; one far above changes nothing."""
    free, high, low = (answer(cut_document(**m)) for m in ({}, {"push_limit": 5000}, {"push_limit": 10}))
    assert high.typical == free.typical
    assert low.typical > free.typical
    codes = [[notice.code for notice in found.warnings] for found in (free, high, low)]
    assert ["push_limit" in of for of in codes] == [False, False, True]
    (told,) = [notice for notice in low.warnings if notice.code == "push_limit"]
    assert told.pointer == "/machine/push_limit"


def test_the_push_limit_does_not_touch_loads_that_the_caller_states():
    """They may come from elsewhere than the spindle."""
    stated, capped = (answer(document(strap(), machine=m)) for m in ({}, {"push_limit": 1}))
    assert stated.typical == capped.typical


# ---- verdicts ----


def check(value: float, limit: float, *, typical: float, breaks: bool, judged: bool = True) -> Check:
    return Check(
        name="c",
        holder=None,
        value=value,
        limit=limit,
        typical_ratio=typical,
        breaks=breaks,
        detail="d",
        source="s",
        dimension="force",
        judged=judged,
    )


FINE = check(1.0, 2.0, typical=0.3, breaks=True)


@pytest.mark.parametrize(
    ("typical", "pessimistic", "checks", "doubt", "expected"),
    [
        (2.0, 1.0, [FINE], False, "holds"),
        (1.999, 1.0, [FINE], False, "doubtful"),
        (2.0, 0.999, [FINE], False, "doubtful"),
        (inf, inf, [], False, "holds"),
        (0.999, 0.5, [FINE], False, "lets_go"),
        (9.0, 5.0, [check(3.0, 2.0, typical=0.8, breaks=True)], False, "doubtful"),
        (9.0, 5.0, [check(3.0, 2.0, typical=1.2, breaks=True)], False, "lets_go"),
        (9.0, 5.0, [check(3.0, 2.0, typical=1.2, breaks=False)], False, "doubtful"),
        (9.0, 5.0, [FINE], True, "unknown"),
        (9.0, 5.0, [check(0.0, 1.0, typical=0.0, breaks=False, judged=False)], False, "unknown"),
        (0.5, 0.2, [FINE], True, "lets_go"),
        (1.5, 0.2, [FINE], True, "unknown"),
    ],
)
def test_the_verdict_follows_its_rule(typical, pessimistic, checks, doubt, expected):
    """Holds: typical at least as asked, pessimistic at least 1, every check kept. Lets go: typical below 1, or what
    breaks fails at typical numbers. What was not understood is never safe. All else is doubtful: the contract."""
    assert verdict_of(typical, pessimistic, 2.0, checks, doubt=doubt) == expected


# ---- words ----


def motion(kind: Motion, *direction: float) -> LetGo:
    x, y, z = direction
    return LetGo(kind=kind, direction=(x, y, z), pivot=None, twist=np.zeros(6))


@pytest.mark.parametrize(
    ("given_motion", "words"),
    [
        (motion(Motion.SLIDE, 1.0, 0.0, 0.0), "by sliding to the right"),
        (motion(Motion.SLIDE, 0.0, -1.0, 0.0), "by sliding to the front"),
        (motion(Motion.SLIDE, -0.7, 0.7, 0.0), "by sliding to the back left"),
        (motion(Motion.LIFT, 0.0, 0.0, 1.0), "by lifting"),
        (motion(Motion.LIFT, 0.0, 0.0, -1.0), "by sinking"),
        (motion(Motion.TWIST, 0.0, 0.0, 1.0), "by twisting counter-clockwise"),
        (motion(Motion.TWIST, 0.0, 0.0, -1.0), "by twisting clockwise"),
        # right-hand rule: about +y the top goes to +x and the right edge sinks
        (motion(Motion.TIP, 0.0, 1.0, 0.0), "by tipping over to the right"),
        (motion(Motion.TIP, 1.0, 0.0, 0.0), "by tipping over to the front"),
        (motion(Motion.TIP, -1.0, 0.0, 0.0), "by tipping over to the back"),
    ],
)
def test_a_motion_reads_as_seen_from_the_front_of_the_machine(given_motion, words):
    """X to the right, Y to the back, Z up: the usual axes of a router, ISO 841 (from memory)."""
    assert motion_words(given_motion) == words


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [(300.0, 80.0, "tipping over to the left"), (12.0, 80.0, "to the right"), (160.0, 178.0, "to the front")],
)
def test_a_lift_at_an_edge_reads_as_a_tip_to_the_other_side(x, y, words):
    """Lifted at its right end the block falls over to the left: the whole way from the load to the words."""
    found = answer(document(loads=pull(0, 0, 5, at=(x, y, 0))))
    assert found.let_go is not None
    assert found.let_go.kind is Motion.TIP
    assert words in found.summary


numbers = st.floats(-1e3, 1e3, allow_nan=False)


@settings(deadline=None, max_examples=150)
@given(
    st.sampled_from([*Verdict]),
    st.one_of(st.just(inf), st.just(0.0), st.floats(0.0, 1e9)),
    st.floats(0.1, 100.0),
    st.one_of(st.none(), st.lists(numbers, min_size=6, max_size=6)),
    st.text(max_size=200),
    st.text(max_size=200),
)
def test_the_summary_is_one_ascii_line_of_120_characters_at_the_most(verdict, factor, required, slope, place, first):
    """Whatever the motion and whatever the caller calls a cut: the contract."""
    corners = np.array([(x, y, z) for x in (0.0, 0.3) for y in (0.0, 0.2) for z in (0.0, 0.02)])
    found = let_go(np.array(slope), corners=corners) if slope is not None and any(slope) else None
    line = summary(verdict, factor=factor, required=required, motion=found, place=place, first=first)
    assert 0 < len(line) <= LONGEST == 120
    assert line.isascii()
    assert line.isprintable()


def test_a_name_in_other_letters_is_kept_in_its_length():
    assert in_ascii("Tür\n1") == "T?r?1"


def test_a_doubt_is_said_first():
    notice = Notice(code="words", detail="a word that is not read", pointer="/program/text", line=7, doubt=True)
    assert module._said_first([FINE], [notice]) == "line 7: a word that is not read"
    broken = check(4.0, 2.0, typical=1.5, breaks=True)
    assert module._said_first([broken], [notice]) == "c fails: 1.5 times its limit, 2.0 at worst"
    assert module._said_first([FINE], []) == ""


def test_a_check_beyond_its_limit_and_a_low_pessimist_are_said_as_the_ground_of_doubt():
    doubtful = check(3.0, 2.0, typical=0.9, breaks=True)
    assert module._said_first([FINE, doubtful], []) == "c may reach 1.5 times its limit"
    said = summary("doubtful", factor=8.0, required=2.0, motion=None, place="line 7", pessimistic=0.71)
    assert said == "doubtful: holds 8.0 times, at worst 0.7 times the worst load, line 7"


def test_a_summary_ends_with_a_whole_clause():
    first = "bolt fails " + "so" * 30
    said = summary("lets_go", factor=0.5, required=2.0, motion=None, place="line 7", first=first)
    assert said == f"DOES NOT HOLD: {first}"
