"""The net of directions."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from stillstock.engine.mechanics.directions import VERTICES, in_triangles

coordinates = st.floats(-1e3, 1e3, allow_nan=False).map(lambda x: round(x, 6))


def test_the_net_is_eighteen_unit_vectors_that_are_all_different():
    """Six corners of an octahedron and the middles of its twelve edges: plane solid geometry."""
    assert VERTICES.shape == (18, 3)
    assert_allclose(np.linalg.norm(VERTICES, axis=1), 1.0, rtol=1e-15)
    assert len({tuple(np.round(v, 9) + 0.0) for v in VERTICES}) == 18


@settings(deadline=None, max_examples=300)
@given(st.lists(st.tuples(coordinates, coordinates, coordinates), min_size=1, max_size=6))
def test_every_vector_is_a_sum_of_three_directions_with_no_negative_part(vectors):
    """The definition; on edges, at corners and for the zero vector too."""
    given_vectors = np.array(vectors)
    corners, shares = in_triangles(given_vectors)
    assert (shares >= 0.0).all()
    back = np.einsum("ni,nij->nj", shares, VERTICES[corners])
    assert_allclose(back, given_vectors, rtol=0.0, atol=1e-12 * max(1.0, float(np.abs(given_vectors).max())))


def test_the_parts_of_a_unit_vector_add_up_to_little_more_than_one():
    """What the bounds lose by the net: least at its corners, most along (1, 1, 1), where it is sqrt(3/2) = 1.22.

    There the vector is a third of a sum of three middles of edges, each at cos = sqrt(2/3) to it: plane geometry.
    """
    vectors = np.random.default_rng(2).normal(size=(5000, 3))
    vectors /= np.linalg.norm(vectors, axis=1, keepdims=True)
    _, shares = in_triangles(vectors)
    middle = np.array([[1.0, 1.0, 1.0]]) / np.sqrt(3.0)
    assert_allclose(in_triangles(middle)[1].sum(), np.sqrt(1.5), rtol=1e-12)
    assert shares.sum(axis=1).min() >= 1.0
    assert shares.sum(axis=1).max() <= np.sqrt(1.5) + 1e-12
