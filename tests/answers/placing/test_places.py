"""Where holders are put: held to geometry that a general library works out, on jobs that need no load to be solved."""

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely

from stillstock.answers.job import job_of
from stillstock.answers.placing.ground import Ground, Layout, NoPlace, Piece
from stillstock.answers.placing.kinds import placing_of
from stillstock.schemas.shop import load_question
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

TABLES = load_tables()
WIDE, DEEP, THICK = 300.0, 200.0, 18.0
PATH = [[70, 60, -6], [230, 55, -6], [240, 150, -6], [60, 140, -6], [70, 60, -6]]
PART = [[80, 70], [220, 70], [220, 130], [80, 130]]


def ground(*holders: dict[str, Any], path: Any = PATH, **more: Any) -> Ground:
    """Return the ground of a job, its shop as stated."""
    shop = {"holders": list(holders), **more.pop("shop", {})}
    document = {
        "units": "metric",
        "stock": {"material": "birch plywood", "size": [WIDE, DEEP, THICK]},
        "bed": {"material": "mdf", "thickness": 18},
        "tools": {"1": {"kind": "end_mill", "diameter": 8, "flutes": 2, "stickout": 45}},
        "cuts": [{"kind": "profile", "tool": 1, "depth": 3, "feed": 2000, "speed": 18000, "path": path}],
        "shop": shop,
        **more,
    }
    question = load_question(document, TABLES, limits=Limits()).question
    return Ground(question=question, job=job_of(question.set_up, limits=Limits()), tables=TABLES)


def layouts(on: Ground, number: int = 0, taken: Layout = ()) -> list[Layout]:
    entry = on.question.shop.entries[number]
    return list(placing_of(entry.kind)(on, entry, taken))


def places(layout: Layout) -> list[shapely.Point]:
    return [shapely.Point(np.array(piece.at) * 1e3) for piece in layout]


def cutter_way(path: Any = PATH) -> shapely.LineString:
    return shapely.LineString([point[:2] for point in path])


def test_screws_keep_the_margin_that_practice_asks_from_the_cutter_and_stand_in_waste():
    """A head of 8 mm, a cutter of 8 mm and 12 mm between them (practice/retract/clearance_around_screw)."""
    on = ground({"kind": "screw"}, parts=[{"name": "p", "outline": PART}])
    margin = TABLES.value("practice", "retract", "clearance_around_screw").typical * 1e3
    found = layouts(on)
    assert [len(one) for one in found] == sorted({len(one) for one in found})
    for point in places(found[-1]):
        assert point.distance(cutter_way()) >= 4.0 + 4.0 + margin - 0.06
        assert not point.intersects(shapely.Polygon(PART))
        assert shapely.box(16, 16, WIDE - 16, DEEP - 16).buffer(0.06).covers(point)  # four diameters of 4 mm


def test_clamps_stand_clear_of_the_cutter_with_their_toes_in_full_on_the_stock():
    """Arms 30 mm wide reach back from the toe; the whole outline is looked at, not the toe alone."""
    on = ground({"kind": "strap_clamp", "count": 8})
    margin = TABLES.value("practice", "retract", "clearance_beside_holder").typical * 1e3
    stock = shapely.box(0, 0, WIDE, DEEP)
    for piece in layouts(on)[-1]:
        toe = shapely.Polygon(piece.holder.toe_outline() * 1e3)
        assert stock.buffer(0.06).covers(toe.intersection(stock.buffer(50)))
        for body in on.bodies(piece):
            core = shapely.MultiPoint(body.core * 1e3).convex_hull.buffer(body.radius * 1e3)
            assert core.distance(cutter_way()) >= 4.0 + margin - 0.06


def test_no_two_holders_stand_in_one_place():
    """On a stock so small that eight arms do not fit round it."""
    small = {"material": "birch plywood", "size": [90, 70, THICK]}
    on = ground({"kind": "strap_clamp", "count": 8}, stock=small, path=[[40, 30, -6], [50, 40, -6]])
    found = layouts(on)
    assert 2 <= len(found[-1]) < 8
    for layout in found:
        shapes = [
            shapely.union_all([shapely.MultiPoint(b.core).convex_hull.buffer(b.radius) for b in on.bodies(p)])
            for p in layout
        ]
        for i, one in enumerate(shapes):
            assert all(one.intersection(other).area < 1e-6 for other in shapes[i + 1 :])


def test_clamps_bolt_into_the_inserts():
    pattern = [[x, y] for x in range(-50, 351, 50) for y in range(-25, 226, 50)]
    on = ground({"kind": "strap_clamp", "toe_reach": 45, "heel_reach": 40}, shop={"inserts": pattern})
    found = layouts(on)[-1]
    assert len(found) >= 2
    for piece in found:
        angle = piece.members["angle"]
        bolt = np.array(piece.at) * 1e3 - 45.0 * np.array([math.cos(angle), math.sin(angle)])
        assert min(math.dist(bolt, place) for place in pattern) < 0.1


def test_fewer_holders_are_the_beginning_of_more():
    """What a shop with fewer can do is tried of one with more as well."""
    many, few = (layouts(ground({"kind": "screw", "count": count})) for count in (14, 9))
    assert (len(many[-1]), len(few[-1])) == (14, 9)
    assert [[piece.at for piece in layout] for layout in few] == [
        [piece.at for piece in layout] for layout in many[: len(few)]
    ]


def test_stops_stand_two_on_a_long_side_and_one_on_a_short_one():
    """The 3-2-1 rule: two points on the long edge, one on the short one (common practice, no source)."""
    for layout in layouts(ground({"kind": "stop"})):
        words = [piece.members["faces"] for piece in layout]
        assert sorted(words.count(word) for word in set(words)) == [1, 2]
        assert next(word for word in words if words.count(word) == 2) in ("+y", "-y")
        for piece in layout:
            x, y = np.array(piece.at) * 1e3
            assert {"+x": x, "-x": WIDE - x, "+y": y, "-y": DEEP - y}[piece.members["faces"]] == pytest.approx(0.0)


def test_side_clamps_push_towards_the_stops():
    on = ground({"kind": "stop"}, {"kind": "side_clamp"})
    stops = layouts(on)[0]
    opposite = {"+x": "-x", "-x": "+x", "+y": "-y", "-y": "+y"}
    found = layouts(on, 1, stops)
    assert [len(one) for one in found] == [2, 3]
    assert {p.members["pushes"] for p in found[0]} == {opposite[p.members["faces"]] for p in stops}
    with pytest.raises(NoPlace, match="needs stops"):
        layouts(on, 1)


def test_tape_lies_inside_the_parts_and_under_the_whole_stock_without_any():
    part = shapely.Polygon(PART)
    (inside,) = layouts(ground({"kind": "film_tape"}, parts=[{"name": "p", "outline": PART}]))
    area = shapely.Polygon(inside[0].members["area"] * 1e3)
    assert part.buffer(-2.9).covers(area)
    assert area.area > 0.9 * part.area * (1 - 6 / 140) * (1 - 6 / 60)
    (whole,) = layouts(ground({"kind": "film_tape"}))
    assert shapely.Polygon(whole[0].members["area"] * 1e3).area == pytest.approx((WIDE - 6) * (DEEP - 6), rel=1e-3)


def test_a_slug_lies_on_the_tape_of_its_part():
    slug = [[100, 90], [130, 110]]
    parts = [{"name": "p", "outline": PART}, {"name": "s", "outline": slug}]
    (found,) = layouts(ground({"kind": "film_tape"}, parts=parts))
    (piece,) = found
    assert shapely.Polygon(piece.members["area"] * 1e3).area > 0.9 * shapely.Polygon(PART).area * 0.9


def test_only_the_zones_that_the_stock_covers_are_opened():
    zones = [[[0, 0], [150, 200]], [[150, 0], [300, 200]], [[300, 0], [450, 200]]]
    (found,) = layouts(ground({"kind": "vacuum"}, shop={"zones": zones}))
    assert [piece.members["area"].max(axis=0).tolist() for piece in found] == [[0.15, 0.2], [0.3, 0.2]]
    with pytest.raises(NoPlace, match="by 0%"):
        layouts(ground({"kind": "vacuum"}, shop={"zones": zones[2:]}))


def tabs(doc_width: float = 8) -> list[Layout]:
    outline = [[x, y, -18] for x, y in [*PART, PART[0]]]
    around = np.array(outline) + 0.0
    grown = shapely.Polygon(around[:-1, :2]).buffer(4, join_style="mitre")
    path = [[x, y, -18] for x, y in np.asarray(grown.exterior.coords)]
    holder = {"kind": "tab", "width": doc_width, "height": 3}
    return layouts(ground(holder, path=path, parts=[{"name": "p", "outline": PART}]))


def test_tabs_lie_on_the_outline_away_from_its_corners_and_are_doubled():
    """At least three on a part, so that no side can hinge (common practice); 400 mm round at 150 mm are three."""
    found = tabs()
    assert [len(layout) for layout in found] == [3, 6, 12]
    for layout in found:
        for piece in layout:
            point = shapely.Point(np.array(piece.at) * 1e3)
            assert shapely.Polygon(PART).exterior.distance(point) < 0.1
            assert min(math.dist(point.coords[0], corner) for corner in PART) >= 7.9
            assert piece.part == 0
            assert piece.holder.kerf == pytest.approx(0.008)  # that of the tool, which the shop does not state


def test_tabs_are_placed_only_where_a_part_comes_free():
    with pytest.raises(NoPlace, match="comes free"):
        layouts(ground({"kind": "tab", "width": 8, "height": 3}, parts=[{"name": "p", "outline": PART}]))


def test_nails_stand_inside_every_part():
    on = ground({"kind": "polymer_nail"}, parts=[{"name": "p", "outline": PART}])
    for layout in layouts(on):
        assert sum(shapely.Polygon(PART).contains(point) for point in places(layout)) >= 2


def test_a_vise_is_too_small_for_what_does_not_fit_between_its_jaws():
    with pytest.raises(NoPlace, match=r"200 mm wide.*150 mm"):
        layouts(ground({"kind": "vise"}))


def test_places_come_out_round_in_the_callers_unit():
    for piece in layouts(ground({"kind": "screw"}))[-1]:
        for length in piece.at:
            assert round(length * 1e3, 1) == pytest.approx(length * 1e3, abs=1e-9)


def test_what_stands_beyond_the_table_is_no_place():
    narrow = {"table": [[-10, -200], [310, 400]]}
    for piece in layouts(ground({"kind": "strap_clamp"}, shop=narrow))[-1]:
        assert piece.members["angle"] in (pytest.approx(math.pi / 2), pytest.approx(-math.pi / 2))


def _spread(layout: tuple[Piece, ...]) -> float:
    return max(math.dist(a.at, b.at) for a, b in pairwise(layout))


def test_the_first_two_stand_as_far_apart_as_they_can():
    first = layouts(ground({"kind": "fixture_plate"}, holes=[[15, 15], [285, 20], [280, 185], [20, 180]]))[0]
    assert _spread(first) == pytest.approx(math.dist((0.015, 0.015), (0.28, 0.185)))
