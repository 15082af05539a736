"""Cutting coefficients of a material under a given tool, with their scatter."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from stillstock.engine.set_up import Edge, Helix, Material, Tool, ToolKind
from stillstock.tables.scatter import Corner, Triple

__all__ = [
    "CHIP_WEAR",
    "EDGE_WEAR",
    "REFERENCE_HELIX",
    "Box",
    "Coefficients",
    "coefficient_box",
]

REFERENCE_HELIX = np.pi / 6  # [rad] the helix for which a material's `kac` and `kae` stand

_PRACTICE = "common_practice"

# [-] growth of the rubbing (edge) terms with wear. Common practice, no source.
EDGE_WEAR: Mapping[Edge, Triple] = {
    Edge.SHARP: Triple(low=1.0, typical=1.0, high=1.0, what="rubbing of a sharp edge", source=_PRACTICE),
    Edge.USED: Triple(low=1.2, typical=1.5, high=2.0, what="rubbing of a used edge", source=_PRACTICE),
    Edge.DULL: Triple(low=2.0, typical=3.0, high=4.0, what="rubbing of a dull edge", source=_PRACTICE),
}

# [-] growth of the tangential and axial chip terms with wear. Common practice, no source; a wear factor of 1.3 at the
# usual end of life stands in Dietrich & Tschaetsch, "Praxis der Zerspantechnik", 11th ed. 2014 (quoted second hand).
CHIP_WEAR: Mapping[Edge, float] = {Edge.SHARP: 1.0, Edge.USED: 1.1, Edge.DULL: 1.3}

_PAIRS = (("ktc", "kte"), ("krc", "kre"), ("kac", "kae"))


@dataclass(frozen=True, kw_only=True)
class Coefficients:
    """One set of coefficients of the linear-edge model; 1 N/mm2 = 1e6 Pa, 1 N/mm = 1e3 N/m.

    Attributes
    ----------
    ktc, krc, kac : float
        Tangential, radial (normal to the edge) and axial growth of the force with the chip. Positive radial pushes the
        work away from the tool, negative draws it in; axial takes its sign from the helix. [Pa]
    kte, kre, kae : float
        The same three, of the edge's rubbing, which does not fade with the chip. [N/m]
    """

    ktc: float
    krc: float = 0.0
    kac: float = 0.0
    kte: float = 0.0
    kre: float = 0.0
    kae: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Box:
    """The band in which the coefficients lie: each term a triple.

    The chip and edge term of one direction move together, the three directions move freely: a dull blade in hard wood
    is high in both, while a high tangential force says little about the radial one, whose sign itself may change.

    Attributes
    ----------
    terms : mapping of str to Triple
        ``ktc``, ``krc``, ``kac`` [Pa] and ``kte``, ``kre``, ``kae`` [N/m], all six.
    """

    terms: Mapping[str, Triple]

    def typical(self) -> Coefficients:
        """Return the coefficients most often met. [Pa, N/m]"""
        return Coefficients(**{name: band.typical for name, band in self.terms.items()})

    def vertices(self) -> tuple[Coefficients, ...]:
        """Return the corners of the band, each direction low or high; doubles are left out (8 at most). [Pa, N/m]"""
        corners = (
            Coefficients(
                **{name: self.terms[name].at(end) for pair, end in zip(_PAIRS, ends, strict=True) for name in pair}
            )
            for ends in product((Corner.LOW, Corner.HIGH), repeat=len(_PAIRS))
        )
        return tuple(dict.fromkeys(corners))


def _helix_scale(tool: Tool) -> float:
    """Ratio of the axial terms to those of the reference helix, tan(beta) / tan(30 deg). [-]"""
    if tool.helix is Helix.STRAIGHT or tool.kind is ToolKind.V_BIT:
        return 0.0
    return float(np.tan(tool.helix_angle) / np.tan(REFERENCE_HELIX))


def _scaled(band: Triple, factor: float) -> Triple:
    """Scale a band by a factor >= 0. [as the band]"""
    return replace(band, low=band.low * factor, typical=band.typical * factor, high=band.high * factor)


def _worn(band: Triple, wear: Triple) -> Triple:
    """Band of a product: low of both ends with low, high with high (a negative low grows with the high wear)."""
    return replace(
        band,
        low=band.low * (wear.low if band.low >= 0.0 else wear.high),
        typical=band.typical * wear.typical,
        high=band.high * (wear.high if band.high >= 0.0 else wear.low),
    )


def coefficient_box(material: Material, tool: Tool) -> Box | None:
    """Band of the cutting coefficients of a material under a tool.

    Parameters
    ----------
    material : Material
        Its `cutting` bands hold for a sharp edge and, the axial ones, for a 30 degree helix.
    tool : Tool
        Its edge state grows the terms, its helix scales the axial ones.

    Returns
    -------
    Box or None
        None where the material's cutting coefficients are not known: the answer is then "unknown".

    Raises
    ------
    ValueError
        If only some of the six terms are there: a table row is missing.

    Notes
    -----
    A frictionless edge pushes along its normal, so the axial part grows as tan(beta) (Altintas 2012, ch. 2, from
    memory). Wear multiplies the three edge terms by `EDGE_WEAR` and the tangential and axial chip terms by
    `CHIP_WEAR`; the radial chip term keeps its wide band.
    """
    if not material.cutting:
        return None
    missing = [name for pair in _PAIRS for name in pair if name not in material.cutting]
    if missing:
        raise ValueError(f"{material.key}: no cutting coefficient {', '.join(missing)}")
    bands = material.cutting
    chip, edge, helix = CHIP_WEAR[tool.edge], EDGE_WEAR[tool.edge], _helix_scale(tool)
    return Box(
        terms={
            "ktc": _scaled(bands["ktc"], chip),
            "krc": bands["krc"],
            "kac": _scaled(bands["kac"], chip * helix),
            "kte": _worn(bands["kte"], edge),
            "kre": _worn(bands["kre"], edge),
            "kae": _scaled(_worn(bands["kae"], edge), helix),
        }
    )
