"""Coefficients of a material under a tool: wear, helix, density, the corners of their band."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.cutting.coefficients import Box, Coefficients, coefficient_box
from stillstock.engine.set_up import Edge, Helix, Material, Tool, ToolKind
from stillstock.tables.scatter import Triple


def band(low, typical, high, unit):
    return Triple(low=low * unit, typical=typical * unit, high=high * unit)


PLYWOOD = Material(
    key="plywood",
    title="plywood",
    family="panel",
    properties={},
    cutting={
        "ktc": band(12, 25, 55, 1e6),
        "krc": band(-6, 2.5, 18, 1e6),
        "kac": band(7, 14.4, 32, 1e6),
        "kte": band(1, 2.3, 6, 1e3),
        "kre": band(0.8, 2.3, 9, 1e3),
        "kae": band(0, 0.23, 1.3, 1e3),
    },
)


def tool(*, kind=ToolKind.END_MILL, edge=Edge.SHARP, **more):
    return Tool(number=1, kind=kind, diameter=6e-3, edge=edge, **more)


def box_of(cutter):
    box = coefficient_box(PLYWOOD, cutter)
    assert box is not None
    return box


def test_a_sharp_edge_at_thirty_degrees_takes_the_row_as_it_stands():
    assert coefficient_box(PLYWOOD, tool()) == Box(terms=PLYWOOD.cutting)


def test_a_material_without_coefficients_is_unknown():
    bare = Material(key="bone", title="bone", family="panel", properties={})
    assert coefficient_box(bare, tool()) is None


def test_a_row_with_gaps_is_our_own_mistake():
    cut = {k: v for k, v in PLYWOOD.cutting.items() if k != "kre"}
    with pytest.raises(ValueError, match="kre"):
        coefficient_box(Material(key="p", title="p", family="panel", properties={}, cutting=cut), tool())


@pytest.mark.parametrize(
    ("edge", "chip", "rubbing"), [(Edge.USED, 1.1, (1.2, 1.5, 2.0)), (Edge.DULL, 1.3, (2.0, 3.0, 4.0))]
)
def test_wear_grows_rubbing_most(edge, chip, rubbing):
    """Common practice, no source: Kte, Kre x 1.5 (1.2-2) used, x 3 (2-4) dull; Ktc x 1.1 and 1.3."""
    box = box_of(tool(edge=edge))
    kte, ktc = box.terms["kte"], box.terms["ktc"]
    assert_allclose((kte.low, kte.typical, kte.high), np.array([1e3, 2.3e3, 6e3]) * rubbing)
    assert_allclose((ktc.low, ktc.typical, ktc.high), np.array([12e6, 25e6, 55e6]) * chip)
    assert box.terms["krc"] == PLYWOOD.cutting["krc"]


def test_axial_terms_go_with_the_tangent_of_the_helix():
    """Frictionless edge: Kac = Ktc tan(beta); tan(45) / tan(30) = sqrt(3)."""
    box = box_of(tool(helix_angle=np.pi / 4))
    assert_allclose(box.terms["kac"].typical, 14.4e6 * np.sqrt(3))
    assert_allclose(box.terms["kae"].high, 1.3e3 * np.sqrt(3))


@pytest.mark.parametrize("straight", [tool(helix=Helix.STRAIGHT), tool(kind=ToolKind.V_BIT)])
def test_straight_edges_have_no_axial_part(straight):
    typical = box_of(straight).typical()
    assert (typical.kac, typical.kae) == (0.0, 0.0)
    assert len(box_of(straight).vertices()) == 4


def test_corners_are_eight_and_pairs_move_together():
    corners = Box(terms=PLYWOOD.cutting).vertices()
    assert len(corners) == len(set(corners)) == 8
    assert {(c.ktc, c.kte) for c in corners} == {(12e6, 1e3), (55e6, 6e3)}
    assert {(c.krc, c.kre) for c in corners} == {(-6e6, 0.8e3), (18e6, 9e3)}
    assert {(c.kac, c.kae) for c in corners} == {(7e6, 0.0), (32e6, 1.3e3)}


def test_typical_reads_every_term():
    assert Box(terms=PLYWOOD.cutting).typical() == Coefficients(
        ktc=25e6, krc=2.5e6, kac=14.4e6, kte=2.3e3, kre=2.3e3, kae=0.23e3
    )
