"""A material as the engine sees it: named, of a family, with what is known of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from stillstock.tables.scatter import Triple

__all__ = ["FAMILIES", "Material"]

FAMILIES = ("softwood", "hardwood", "panel", "plastic", "foam", "laminate", "metal")


@dataclass(frozen=True, kw_only=True)
class Material:
    """A stock, bed or arm material.

    Attributes
    ----------
    key, title : str
        Key used in documents (``"birch_plywood"``) and name as a person reads it.
    family : str
        ``"softwood"``, ``"hardwood"``, ``"panel"``, ``"plastic"``, ``"foam"``, ``"laminate"`` or ``"metal"``.
    properties : mapping of str to Triple
        By property key: ``density`` [kg/m3], ``modulus_along``, ``modulus_across``, ``bending_strength``,
        ``tension_across``, ``crush``, ``shear`` [Pa], ... ; only what is known is there.
    cutting : mapping of str to Triple
        ``ktc``, ``krc``, ``kac`` [Pa] and ``kte``, ``kre``, ``kae`` [N/m], for a 30 degree helix; empty if unknown.
    """

    key: str
    title: str
    family: str
    properties: Mapping[str, Triple]
    cutting: Mapping[str, Triple] = field(default_factory=dict)
