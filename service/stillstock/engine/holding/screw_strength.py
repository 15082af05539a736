"""What wood and board give to screws, by the published withdrawal and lateral equations."""

from dataclasses import replace

from stillstock.tables.load import Tables
from stillstock.tables.material import Material
from stillstock.tables.scatter import Triple

__all__ = ["lateral_strength", "withdrawal_strength"]

BOARDS = ("mdf", "particleboard")
#: Density of water, which specific gravity is counted from. [kg/m3]
WATER = 1000.0
#: Share that 12 % of moisture adds to the oven-dry mass by which the equations count gravity. [-]
MOIST = 1.12


def _gravity(member: Material) -> float:
    """Return the oven-dry specific gravity of a member. [-]"""
    density = member.properties["density"].typical / WATER
    return density / MOIST if member.family in ("softwood", "hardwood") else density


def withdrawal_strength(tables: Tables, *, member: Material, diameter: float, depth: float) -> Triple:
    r"""Return the greatest pull that a screw's thread bears in the face of a member.

    Parameters
    ----------
    tables : Tables
    member : Material
        What the thread sits in.
    diameter : float
        Nominal diameter D of the screw. [m]
    depth : float
        Length L of thread in the member. [m]

    Returns
    -------
    Triple
        [N]

    Notes
    -----
    Solid wood and plywood: :math:`p = C G^2 D L`; fibre and particle board: :math:`p = K D^{1/2} (L - D/3)^{5/4} G^2`.
    USDA Wood Handbook, FPL-GTR-190, ch. 8, from memory; ultimate loads of average screws. For plywood the first is
    known to say somewhat too much (Ahn et al. 2021): the low end carries that.
    """
    gravity = _gravity(member)
    if member.key in BOARDS:
        band = tables.value("screws", "panel_screw_face", "panel_coefficient")
        return replace(
            band.times(diameter**0.5 * max(depth - diameter / 3.0, 1e-6) ** 1.25 * gravity**2),
            what=f"pull-out of a screw from the face of {member.title}",
            dimension="force",
        )
    band = tables.value("screws", "wood_screw", "withdrawal_coefficient")
    return replace(
        band.times(gravity**2 * diameter * depth), what=f"pull-out of a screw from {member.title}", dimension="force"
    )


def lateral_strength(tables: Tables, *, member: Material, diameter: float) -> Triple:
    """Return the sideways force at which a screw starts to give, p = K D^2. [N]

    USDA Wood Handbook, FPL-GTR-190, Table 8-4, from memory; K by the member's specific gravity.
    """
    gravity = _gravity(member)
    classes = ((0.425, "0_29_to_0_42"), (0.475, "0_43_to_0_47"), (0.545, "0_48_to_0_52"), (9.9, "0_57_to_0_74"))
    row = next(name for bound, name in classes if gravity <= bound)
    band = tables.value("screws", f"wood_screw_gravity_{row}", "lateral_coefficient")
    return replace(band.times(diameter**2), what=f"sideways strength of a screw in {member.title}", dimension="force")
