"""Thin plates against the Navier series, printed coefficients, closed forms and a finite-element library."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from skfem import (  # type: ignore[import-untyped]
    Basis,
    BilinearForm,
    ElementTriMorley,
    MeshTri,
    asm,
    condense,
    solve,
)
from skfem.helpers import dd, ddot, eye, trace  # type: ignore[import-untyped]
from skfem.models.poisson import unit_load  # type: ignore[import-untyped]

from stillstock.engine.mechanics.plate import bending_stiffness, clamped_sag, settled, sheet, supported_sag

E, T, NU = 3.1e9, 0.006, 0.3
D = bending_stiffness(E, thickness=T, poisson=NU)
A, B = 0.31, 0.23  # lopsided: sides and places share no symmetry


def navier(sides, at, *, force_at=None, stiffness=D):
    """Deflection of a supported rectangle under 1 Pa, or under 1 N at a place, by Navier's double series."""
    (a, b), (x, y) = sides, at
    m, n = np.meshgrid(np.arange(1, 200), np.arange(1, 200), indexing="ij")
    shape = np.sin(m * np.pi * x / a) * np.sin(n * np.pi * y / b)
    if force_at is None:
        load = 16.0 * (m % 2) * (n % 2) / (np.pi**2 * m * n)
    else:
        load = 4.0 / (a * b) * np.sin(m * np.pi * force_at[0] / a) * np.sin(n * np.pi * force_at[1] / b)
    return float(np.sum(load * shape / (stiffness * np.pi**4 * (m**2 / a**2 + n**2 / b**2) ** 2)))


@pytest.mark.parametrize(
    ("ratio", "printed"), [(1.0, 0.0444), (1.2, 0.0616), (1.4, 0.0770), (1.6, 0.0906), (1.8, 0.1017), (2.0, 0.1110)]
)
def test_supported_rectangles_of_roark(ratio, printed):
    """Roark, table 11.4 case 1a, printed alpha; and the Navier series, within 1 % of which the table lies."""
    got = supported_sag(1000.0, sides=(ratio * B, B), modulus=E, thickness=T)
    assert_allclose(got, printed * 1000.0 * B**4 / (E * T**3), rtol=1e-9)
    assert_allclose(got, 1000.0 * navier((ratio * B, B), (ratio * B / 2, B / 2)), rtol=1e-2)


@pytest.mark.parametrize("ratio", [1.1, 1.3, 1.7, 2.5, 3.5, 7.0])
def test_supported_rectangles_between_the_printed_ones(ratio):
    """Navier series. Tolerance: 1.5 %, of the table itself and of the line between its rows."""
    got = supported_sag(1.0, sides=(B, ratio * B), modulus=E, thickness=T)
    assert_allclose(got, navier((ratio * B, B), (ratio * B / 2, B / 2)), rtol=1.5e-2)


@pytest.mark.parametrize("ratio", [1.0, 1.3, 1.8])
def test_clamped_rectangles_agree_with_a_finite_element_library(ratio):
    """Morley elements of a general finite-element library, 44 along the short side. Tolerance: 2 %."""
    mesh = MeshTri.init_tensor(np.linspace(0, ratio * B, round(44 * ratio) + 1), np.linspace(0, B, 45))
    basis = Basis(mesh, ElementTriMorley())

    def bending(u, v):
        def moment(w):
            return D * ((1 - NU) * w + NU * eye(trace(w), 2))

        return ddot(moment(dd(u)), dd(v))

    matrix = asm(BilinearForm(lambda u, v, _: bending(u, v)), basis)
    found = solve(*condense(matrix, asm(unit_load, basis), D=basis.get_dofs()))
    middle = np.argmin(np.hypot(mesh.p[0] - ratio * B / 2, mesh.p[1] - B / 2))
    expected = found[basis.nodal_dofs[0, middle]]
    got = clamped_sag(1.0, sides=(B, ratio * B), modulus=E, thickness=T)
    assert_allclose(got, expected, rtol=2e-2)


def no_bed(model):
    return np.zeros((0, len(model.stiffness))), np.zeros(0), np.zeros(0)


def edge_springs(model, *, stiffness=1e9):
    """Supports under all four edges, as many stiff springs."""
    s = np.linspace(0.0, 1.0, 41)
    edges = [np.column_stack([s * A, 0 * s]), np.column_stack([s * A, 0 * s + B])]
    edges += [np.column_stack([0 * s, s * B]), np.column_stack([0 * s + A, s * B])]
    rows = model.rows(np.concatenate(edges) + np.asarray(model.corner))
    return [(rows, np.full(len(rows), stiffness), np.zeros(len(rows)))]


def test_sheet_on_its_edges_bends_as_the_navier_series():
    """1 N off the middle, read at another place. Tolerance: 1 %; 12 splines a side, and springs for edges."""
    model = sheet((0.05, -0.02), size=(A, B), stiffnesses=(D, D), poisson=NU)
    force_at, at = (0.4 * A, 0.3 * B), (0.6 * A, 0.55 * B)
    corner = np.asarray(model.corner)
    load = model.rows(np.array([force_at]) + corner)[0]
    moved = settled(model, load=load, bed=no_bed(model), springs=edge_springs(model))
    got = float(model.rows(np.array([at]) + corner)[0] @ moved)
    assert_allclose(got, navier((A, B), at, force_at=force_at), rtol=1e-2)


def test_a_strip_of_sheet_bends_as_a_beam_in_its_own_direction():
    """Cantilever strips along x and y of a sheet ten times stiffer along x: F L^3 / 3 E I. Poisson's ratio 0."""
    for along, stiffness in ((0, 10.0), (1, 1.0)):
        size = (0.4, 0.02) if along == 0 else (0.02, 0.4)
        model = sheet((0.0, 0.0), size=size, stiffnesses=(10.0, 1.0), poisson=0.0)
        root = np.zeros((10, 2))
        root[:5, along], root[5:, along] = 0.0, 1e-4
        root[:, 1 - along] = np.tile(np.linspace(0.0, 0.02, 5), 2)
        rows = model.rows(root)
        end = np.array([0.2, 0.2])
        end[along], end[1 - along] = 0.4, 0.01
        tip = model.rows(end[None])[0]
        springs = [(rows, np.full(10, 1e10), np.zeros(10))]
        moved = settled(model, load=0.3 * tip, bed=no_bed(model), springs=springs)
        assert_allclose(tip @ moved, 0.3 * 0.4**3 / (3.0 * stiffness * 0.02), rtol=2e-2)


@pytest.mark.parametrize(("at", "coefficient"), [((0.5, 0.5), 1 / 8), ((0.5, 0.0), 0.465), ((0.0, 0.0), 1.205)])
def test_sheet_on_a_soft_bed_sinks_as_westergaard_found(at, coefficient):
    """Load inside, at an edge and at a corner of a slab on springs: H. M. Westergaard, Public Roads 7 (1926) 25-35.

    Interior F / 8 sqrt(k D); edge sqrt(2 + 1.2 nu) F / sqrt(E t^3 k); at the corner his 1.1 F / sqrt(k D) is low, and
    1.205 of A. M. Ioannides and others, Transportation Research Record 1049 (1985), is taken; all from memory.
    Tolerance 8 %: the corner's value is fitted, and the slab is 8 lengths wide.
    """
    bed = 4.0e7
    size = 8.0 * (D / bed) ** 0.25
    model = sheet((0.0, 0.0), size=(size, size), stiffnesses=(D, D), poisson=NU, elements=16)
    rows = model.rows(model.points)
    tip = model.rows(np.array([at]) * size)[0]
    moved = settled(model, load=tip, bed=no_bed(model), springs=[(rows, bed * model.weights, 0 * model.weights)])
    assert_allclose(tip @ moved, coefficient / np.sqrt(bed * D), rtol=8e-2)


def test_a_bed_only_pushes():
    """A sheet pulled up leaves the bed; pressed down it does not sink in."""
    model = sheet((0.0, 0.0), size=(A, B), stiffnesses=(D, D), poisson=NU)
    rows, weights = model.rows(model.points), model.weights
    tip = model.rows(np.array([[0.1 * A, 0.2 * B]]))[0]
    dead = -50.0 * weights @ rows
    up, down = (settled(model, load=dead + f * tip, bed=(rows, 1e9 * weights, 0 * weights)) for f in (1.2, -100.0))
    assert tip @ up > 1e-5
    assert -1e-4 < tip @ down < 0.0
    assert (rows @ up).min() > -1e-5
