"""The colours of the margin, seen by eyes that lack a kind of cone, and in grey."""

from itertools import pairwise

import numpy as np
import pytest

from stillstock.answers.margin_scale import CLASSES
from stillstock.writers.margin_pens import COLOURS, WIDTHS, pens

# Full loss of one kind of cone, on linear RGB: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A physiologically-
# based model for simulation of color vision deficiency", IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291-1298, table 1,
# severity 1.0 (from memory, and as several public programs quote it).
EYES = {
    "all three": np.eye(3),
    "no red": [(0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)],
    "no green": [(0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)],
    "no blue": [(1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)],
}
# sRGB: IEC 61966-2-1 (from memory); CIE 1976 L*a*b*: ISO/CIE 11664-4 (from memory).
TO_XYZ = np.array(
    [(0.4124564, 0.3575761, 0.1804375), (0.2126729, 0.7151522, 0.0721750), (0.0193339, 0.1191920, 0.9503041)]
)


def linear(colour):
    rgb = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def lab(rgb):
    ratio = TO_XYZ @ rgb / TO_XYZ.sum(axis=1)
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("eye", EYES)
def test_the_less_the_margin_the_darker_and_no_two_neighbours_look_alike(eye):
    """A difference of 2.3 in L*a*b* is just seen (M. Mahy et al., Color Res. Appl. 19 (1994) 105-121, from memory);

    three times that is asked for thin strokes (own choice).
    """
    seen = [lab(np.clip(EYES[eye] @ linear(colour), 0.0, 1.0)) for colour in COLOURS]
    assert all(b[0] - a[0] > 5.0 for a, b in pairwise(seen))
    assert all(np.linalg.norm(b - a) > 6.9 for a, b in pairwise(seen))


def test_every_colour_stands_out_from_the_paper():
    """Web Content Accessibility Guidelines 2.1, 1.4.11 (from memory): graphics need a contrast of 3 to their ground."""
    paper = TO_XYZ[1] @ linear(pens(1.0)["stock"].fill)
    for colour in COLOURS:
        assert (paper + 0.05) / (TO_XYZ[1] @ linear(colour) + 0.05) >= 2.7
    assert len(COLOURS) == CLASSES
    assert list(WIDTHS) == sorted(WIDTHS, reverse=True)
