"""Strokes broken at keep-outs, against a general geometry library and closed forms."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely import LineString, Point, Polygon

from stillstock.engine.grid.keep_outs import blocked_points, free_pieces
from stillstock.engine.grid.request import Circle2D, KeepOut, Strip


def strip(start, end, width, clearance=0.0, name="track"):
    return KeepOut(name=name, shape=Strip(start=start, end=end, width=width), clearance=clearance)


def disc(at, diameter, clearance=0.0, name="screw"):
    return KeepOut(name=name, shape=Circle2D(at=at, radius=diameter / 2.0), clearance=clearance)


def test_a_line_across_a_track_ends_at_the_track_plus_clearance_plus_half_its_width():
    """Closed form: 20 mm track at 300, 3 mm clearance, 1 mm line: free up to 286.5 and from 313.5."""
    line = np.array([[(0.1, 0.0), (0.1, 0.8)]])
    got = free_pieces(line, keep_outs=[strip((0, 0.3), (1, 0.3), 0.02, 0.003)], width=0.001, shortest=0.001)
    assert_allclose(got.points[:, :, 1], [(0.0, 0.2865), (0.3135, 0.8)], atol=1e-12)
    assert_allclose(got.points[:, :, 0], 0.1, atol=1e-15)
    assert got.hits == ((0, 0),)


def test_a_line_over_a_screw_is_broken_by_the_chord():
    """Closed form: 3 mm beside the middle of a circle of radius 5 mm the half chord is 4 mm."""
    line = np.array([[(0.0, 0.003), (0.1, 0.003)]])
    got = free_pieces(line, keep_outs=[disc((0.04, 0.0), 0.008, 0.001)], width=0.0, shortest=0.0)
    assert_allclose(got.points[:, :, 0], [(0.0, 0.036), (0.044, 0.1)], atol=1e-12)


def test_a_line_along_the_very_edge_of_the_clearance_is_whole():
    line = np.array([[(0.0, 0.313), (1.0, 0.313)], [(0.0, 0.3129), (1.0, 0.3129)]])
    got = free_pieces(line, keep_outs=[strip((0, 0.3), (1, 0.3), 0.02, 0.003)], width=0.0, shortest=0.001)
    assert got.stroke.tolist() == [0]
    assert (got.points[0] == line[0]).all()


def test_overlapping_keep_outs_make_one_gap_and_crumbs_are_dropped():
    line = np.array([[(0.0, 0.0), (1.0, 0.0)]])
    places = [disc((0.3, 0.0), 0.1), disc((0.35, 0.0), 0.1), disc((0.4505, 0.0), 0.1)]
    got = free_pieces(line, keep_outs=places, width=0.0, shortest=0.001)
    assert_allclose(got.points[:, :, 0], [(0.0, 0.25), (0.5005, 1.0)], atol=1e-12)
    assert got.dropped == 1


def test_a_line_that_lies_wholly_in_a_keep_out_vanishes_but_is_reported():
    got = free_pieces(
        np.array([[(0.0, 0.3), (1.0, 0.3)]]), keep_outs=[strip((-1, 0.3), (2, 0.3), 0.02)], width=0, shortest=0
    )
    assert len(got.points) == 0
    assert got.hits == ((0, 0),)


def test_slanted_tracks_and_strokes_agree_with_a_geometry_library():
    """Against shapely (general-purpose library): what four lopsided places leave of 200 strokes of any slope."""
    rng = np.random.default_rng(7)
    strokes = rng.random((200, 2, 2))
    places = [
        strip((0.1, 0.2), (0.9, 0.55), 0.06, 0.01),
        strip((0.7, 0.9), (0.75, 0.1), 0.02),
        disc((0.3, 0.7), 0.2, 0.02),
        disc((0.32, 0.62), 0.1),
    ]
    got = free_pieces(strokes, keep_outs=places, width=0.004, shortest=0.0)
    grown = [Polygon(p.shape.outline).buffer(p.clearance + 0.002, join_style="mitre") for p in places[:2]]
    grown += [Point(p.shape.at).buffer(p.shape.radius + p.clearance + 0.002, quad_segs=2000) for p in places[2:]]
    for number, stroke in enumerate(strokes):
        expected = LineString(stroke)
        for area in grown:
            expected = expected.difference(area)
        mine = sum(math.dist(*piece) for piece in got.points[got.stroke == number])
        assert mine == pytest.approx(expected.length, abs=2e-6)


def test_points_are_left_out_by_the_distance_to_the_edge():
    points = np.array([(0.5, 0.3149), (0.5, 0.3151), (-0.0049, 0.3), (-0.0051, 0.3)])
    got = blocked_points(points, keep_out=strip((0, 0.3), (1, 0.3), 0.02, 0.001), radius=0.004)
    assert got.tolist() == [True, False, True, False]


def test_points_near_a_screw_are_left_out_by_the_sum_of_radii():
    points = np.array([(0.0089, 0.0), (0.0, -0.0091)])
    assert blocked_points(points, keep_out=disc((0, 0), 0.008, 0.001), radius=0.004).tolist() == [True, False]
