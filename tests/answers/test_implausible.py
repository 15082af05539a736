"""Cutting data and first moves that cannot be meant: told by program and by described cut alike."""

from typing import Any

import pytest

from stillstock.answers.job import Job, job_of
from stillstock.answers.notices import Notice
from stillstock.schemas.results import notice
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

TABLES = load_tables()
HEAD = "G21 G90 G94\nT1 M6\nS2400 M3\n"


def job(bed: str = "mdf", **stated: Any) -> Job:
    document = {
        "units": "metric",
        "stock": {"material": "mdf", "size": [400, 300, 18]},
        "bed": {"material": bed, "thickness": 18, "error": 0.2},
        "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2}},
    }
    return job_of(load_set_up(document | stated, TABLES).set_up, limits=Limits())


def program(*lines: str, **more: Any) -> Job:
    return job(program={"text": HEAD + "\n".join(lines) + "\nG0 Z5\nM30\n"}, **more)


def slot(level: float = -4, depth: float = 4, feed: float = 1500, **more: Any) -> Job:
    cut = {"name": "{0} slot", "kind": "slot", "tool": 1, "depth": depth, "feed": feed, "speed": 18000, "level": level}
    return job(cuts=[cut | {"path": [[100, 100], [200, 100]]}], **more)


def told(found: Job, code: str) -> Notice | None:
    every = [one for one in found.notices if one.code == code]
    assert len(every) <= 1
    return every[0] if every else None


def test_a_chip_thicker_than_a_fifth_of_the_diameter_is_told_by_program_and_by_cut():
    """By hand: 18 m/min on 2 teeth at 2400 rpm are 3.75 mm a tooth, at 18000 rpm 0.5 mm; a fifth of 6 mm is 1.2 mm."""
    by_program = told(program("G0 X100 Y100 Z5", "G1 Z-4 F600", "G1 X200 F18000"), "thick_chip")
    assert by_program is not None
    assert by_program.line == 6
    assert notice(by_program, "metric")["detail"].startswith("feed and speed make a chip of 3.75 mm a tooth, more")
    assert told(slot(feed=18000), "thick_chip") is None
    by_cut = told(slot(feed=45000), "thick_chip")
    assert by_cut is not None
    assert by_cut.pointer == "/cuts/0/feed"
    assert "(0) slot make a chip of 1.25 mm a tooth" in notice(by_cut, "metric")["detail"]
    assert not by_cut.doubt


def test_the_feed_override_counts_for_the_chip():
    text = HEAD + "G0 X100 Y100 Z5\nG1 Z-4 F600\nG1 X200 F4000\nG0 Z5\nM30\n"
    assert told(job(program={"text": text}), "thick_chip") is None
    assert told(job(program={"text": text, "feed_override": 2}), "thick_chip") is not None


@pytest.mark.parametrize("deep", [19.1, 19.3, 30])
def test_a_cut_deeper_than_a_usual_overcut_is_told_with_how_far_it_goes_into_the_bed(deep):
    """18 mm of stock, 1 mm of overcut and 0.2 mm of bed error: 19.2 mm is the deepest that is usual."""
    jobs = program("G0 X100 Y100 Z5", f"G1 Z-{deep} F600", "G1 X200 F1500"), slot(level=-deep, depth=deep)
    for found in jobs:
        one = told(found, "into_bed")
        assert (one is None) == (deep < 19.2)
        if one is not None:
            assert f"{deep - 18:.3g} mm into the bed" in notice(one, "metric")["detail"]
            assert f"{(deep - 18) / 25.4:.3g} in into the bed" in notice(one, "inch")["detail"]
            assert not one.doubt


def test_what_the_shop_states_of_its_bed_wins():
    assert told(slot(level=-30, depth=18, clearances={"into_bed": 12}), "into_bed") is None


@pytest.mark.parametrize(("bed", "deep"), [("steel", 20), ("mdf", 40)])
def test_a_cut_into_a_metal_bed_or_right_through_it_cannot_be_meant(bed, deep):
    one = told(program("G0 X100 Y100 Z5", f"G1 Z-{deep} F600", "G1 X200 F1500", bed=bed), "into_bed")
    assert one is not None
    assert one.doubt


def test_a_pass_deeper_than_the_stock_above_the_tip_is_told():
    one = told(slot(level=-18, depth=30), "deeper_than_stock")
    assert one is not None
    assert notice(one, "metric")["detail"].startswith("a pass of 30 mm is deeper than the 18 mm of stock above the tip")
    assert told(slot(level=-18, depth=19), "deeper_than_stock") is None


@pytest.mark.parametrize(
    "first",
    [("G0 X100 Y100 Z-4",), ("G0 X100 Y100", "G0 Z-4"), ("G0 Z-4", "G0 X100 Y100"), ("G0 X100 Y100 Z5", "G0 Z-4")],
    ids=str,
)
def test_a_first_rapid_that_ends_inside_the_stock_is_one_finding_however_it_is_written(first):
    one = told(program(*first, "G1 X160 F1500"), "rapid_into_stock")
    assert one is not None
    assert (one.doubt, one.line) == (True, 3 + len(first))


@pytest.mark.parametrize("first", ["G0 X100 Y100 Z1", "G0 X-10 Y100 Z-4", "G0 X402.9 Y302.9 Z-4"])
def test_a_first_rapid_that_ends_above_or_beside_the_stock_is_none(first):
    """The corner is 4.1 mm from the last: farther than the radius of 3 mm."""
    assert told(program(first, "G1 X160 Y150 Z-4 F1500"), "rapid_into_stock") is None
