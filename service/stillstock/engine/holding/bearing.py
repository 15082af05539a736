"""What the side of a hole bears from a bolt or pin in it."""

from dataclasses import replace

from stillstock.tables.material import Material
from stillstock.tables.scatter import Triple

__all__ = ["hole_bearing", "smaller"]

#: A diameter of one metre in the millimetres that the equations of the code count in. [mm/m]
MILLI = 1e3
#: kg/m3 to N/mm2 in the code's equations, in SI. [Pa]
MEGA = 1e6
PLYWOODS = ("birch_plywood", "softwood_plywood")


def hole_bearing(material: Material, *, diameter: float) -> Triple | None:
    r"""Return the pressure on d times depth that a hole's side bears, or None where nothing is known.

    Parameters
    ----------
    material : Material
        What the hole is in.
    diameter : float
        Of bolt or pin. [m]

    Returns
    -------
    Triple or None
        [Pa]

    Notes
    -----
    Measured values of the material first. Solid wood: :math:`f_h = 0.082 (1 - 0.01 d) \rho / k_{90}`, plywood:
    :math:`0.11 (1 - 0.01 d) \rho`, with d in mm, rho in kg/m3 and f in N/mm2, from EN 1995-1-1, 8.5.1 (from memory);
    the load may come across the grain, so :math:`k_{90} = 1.35 + 0.015 d` for softwood and
    :math:`0.90 + 0.015 d` for hardwood always counts, where it is more than 1.
    """
    known = material.properties
    for name in ("embedment", "bearing_strength"):
        if name in known:
            return known[name]
    d = diameter * MILLI
    share = {
        "softwood": 0.082 / (1.35 + 0.015 * d),
        "hardwood": 0.082 / max(0.90 + 0.015 * d, 1.0),
        "plywood": 0.11,
    }.get("plywood" if material.key in PLYWOODS else material.family)
    if share is not None:
        pressure = known["density"].times(share * (1.0 - 0.01 * d) * MEGA)
        return replace(pressure, what=f"bearing of a hole in {material.title}", dimension="pressure")
    return known.get("crush")


def smaller(*bands: Triple) -> Triple:
    """Return the least of bands at each end, named after the one whose low end is least. [as they are]"""
    weakest = min(bands, key=lambda band: band.low)
    low, typical, high = (min(getattr(band, end) for band in bands) for end in ("low", "typical", "high"))
    return replace(weakest, low=low, typical=typical, high=high)
