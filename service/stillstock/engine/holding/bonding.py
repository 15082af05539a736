"""What all adhesive tapes have in common: the bond of an area, weakened by faces, haste and cold."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Protocol

from stillstock.engine.holding.contacts import Bond
from stillstock.engine.holding.place import within_stock
from stillstock.engine.holding.pull_test import PullTest, measured_stress
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Grade, Triple

__all__ = ["AdhesiveTape", "bond", "face_factor", "taped", "weakened"]

SMOOTH = ("metal", "laminate")
LOW_ENERGY = ("hdpe",)
ONE = Triple(low=1.0, typical=1.0, high=1.0)


class AdhesiveTape(Protocol):
    """What a caller may say of any adhesive tape."""

    @property
    def kind(self) -> str:
        """The word in the document, and the subject of the table of tapes."""
        ...

    @property
    def area(self) -> FloatArray:
        """Where it lies, (n, 2). [m]"""
        ...

    @property
    def shear_strength(self) -> Triple | None:
        """From the shop's own test. [Pa]"""
        ...

    @property
    def tensile_strength(self) -> Triple | None:
        """From the shop's own test, in straight lift. [Pa]"""
        ...

    @property
    def pull_test(self) -> Sequence[PullTest]:
        """The shop's own pulls."""
        ...


def face_factor(set_up: SetUp, tables: Tables) -> Triple:
    """Return the factor of the worse of the two faces on a strength that was judged on fresh wood and board. [-]"""
    material = set_up.stock.material
    if material.key in LOW_ENERGY:
        return tables.value("tape", "face_low_energy", "surface_factor")
    if set_up.bed.condition == "dusty":
        return tables.value("tape", "face_raw_mdf", "surface_factor")
    return ONE


def weakened(strength: Triple, factor: Triple) -> Triple:
    """Return a strength times a scattered factor, end by end. [as `strength`]"""
    return replace(
        strength,
        low=strength.low * factor.low,
        typical=strength.typical * factor.typical,
        high=strength.high * factor.high,
        grade=Grade.PRACTICE if factor.what else strength.grade,
        note="; ".join(filter(None, (strength.note, factor.what and f"times {factor.what}"))),
    )


def bond(
    index: int, set_up: SetUp, *, area: FloatArray, strengths: tuple[Triple, Triple], modulus: float, thickness: float
) -> Bond:
    """Return the bond of a tape between stock and bed.

    Parameters
    ----------
    index : int
        Number of the holder.
    set_up : SetUp
    area : (n, 2) array
        Outline of the tape. [m]
    strengths : (2,) tuple of Triple
        In shear and in straight lift. [Pa]
    modulus : float
        Shear modulus at the rate of hand and feed. [Pa]
    thickness : float
        Of the tape. [m]

    Notes
    -----
    Stiffness G / t in shear and 3 G / t in tension: a soft solid that keeps its volume has E = 3 G. A wide thin layer
    is stiffer yet, since it cannot bulge; only the shares between tapes rest on it here.
    """
    return Bond(
        holder=index,
        area=area,
        height=set_up.stock.origin[2],
        shear=strengths[0],
        tension=strengths[1],
        shear_stiffness=modulus / thickness,
        tension_stiffness=3.0 * modulus / thickness,
    )


def taped(
    tape: AdhesiveTape,
    index: int,
    set_up: SetUp,
    tables: Tables,
    *,
    strengths: tuple[Triple, Triple],
    thickness: float,
) -> Bond:
    """Return the bond of the part of a tape that lies under the stock.

    Parameters
    ----------
    tape : AdhesiveTape
    index : int
        Number of the holder.
    set_up : SetUp
    tables : Tables
    strengths : (2,) tuple of Triple
        The tables' own in shear and in straight lift; what the shop stated or measured goes before them. [Pa]
    thickness : float
        Of all that gives way. [m]

    Raises
    ------
    ImpossibleSetUp
        If no part of it lies under the stock, or a pull test says nothing.
    """
    shear = measured_stress(
        tape.pull_test, "shear", given=tape.shear_strength, named="shear_strength", table=strengths[0]
    )
    tension = measured_stress(
        tape.pull_test, "lift", given=tape.tensile_strength, named="tensile_strength", table=strengths[1]
    )
    return bond(
        index,
        set_up,
        area=within_stock(set_up.stock, tape.area, what="tape"),
        strengths=(shear, tension),
        modulus=tables.value("tape", tape.kind, "shear_modulus_slow").typical,
        thickness=thickness,
    )
