"""Air that leaks into a vacuum: through porous board, holes, kerfs and narrow gaps; and the air outside.

All flows are volumes of the air outside, for that is what a pump's curve counts at the same place. Pressures are
absolute.
"""

import numpy as np

__all__ = [
    "CRITICAL_RATIO",
    "RATED_AT",
    "between_boards",
    "orifice_flow",
    "porous_flow",
    "slot_flow",
    "standard_pressure",
]

#: Ratio of heats of air, gas constant of dry air, and viscosity at 20 C: general gas tables. [-], [J/(kg K)], [Pa s]
HEAT_RATIO, GAS_CONSTANT, VISCOSITY = 1.4, 287.05287, 1.81e-5

#: Temperature of the air in a shop. [K]
TEMPERATURE = 293.15

#: Pressure at which pumps are rated: sea level of the standard atmosphere. [Pa]
RATED_AT = 101325.0

#: Pressure behind a hole on the pressure before it at which the air in it reaches the speed of sound: 0.528. [-]
CRITICAL_RATIO = (2.0 / (HEAT_RATIO + 1.0)) ** (HEAT_RATIO / (HEAT_RATIO - 1.0))


def standard_pressure(altitude: float) -> float:
    r"""Return the pressure of the standard atmosphere.

    Parameters
    ----------
    altitude : float
        Above the sea, up to 11 km, as a geopotential height H, which is 1.4 m less than the map's at 3 km. [m]

    Returns
    -------
    float
        [Pa]

    Notes
    -----
    .. math:: p = p_0 \left(1 - \frac{0.0065\,H}{288.15}\right)^{5.25588}

    ISO 2533:1975, clause 2 (from memory).

    Examples
    --------
    >>> round(standard_pressure(0.0)), round(standard_pressure(10_000.0))
    (101325, 26436)
    """
    return float(RATED_AT * (1.0 - 0.0065 * altitude / 288.15) ** 5.25588)


def porous_flow(area: float, *, permeability: float, thickness: float, outside: float, inside: float) -> float:
    r"""Return the leak through a porous board.

    Parameters
    ----------
    area : float
        Of the board that lies open. [m2]
    permeability : float
        k. [m2]
    thickness : float
        L. [m]
    outside, inside : float
        Pressures p1 and p2. [Pa]

    Returns
    -------
    float
        Volume of outside air. [m3/s]

    Notes
    -----
    .. math:: Q = \frac{k A (p_1^2 - p_2^2)}{2 \mu L p_1}

    Darcy's law for a gas that expands on its way at one temperature (J. Bear, "Dynamics of Fluids in Porous Media",
    1972, from memory).

    Examples
    --------
    >>> round(3600.0 * porous_flow(1.0, permeability=2e-13, thickness=0.018, outside=101325.0, inside=71325.0))
    56
    """
    return permeability * area * (outside**2 - inside**2) / (2.0 * VISCOSITY * thickness * outside)


def between_boards(resistances: tuple[float, float], *, outside: float, inside: float) -> float:
    r"""Return the pressure between two porous boards that air passes one after the other.

    Parameters
    ----------
    resistances : tuple of float
        L / k of the outer and of the inner board; infinite for a tight one. [1/m]
    outside, inside : float
        Pressures p1 and p2. [Pa]

    Returns
    -------
    float
        [Pa]

    Notes
    -----
    .. math:: p^2 = p_1^2 - (p_1^2 - p_2^2) \frac{L_1 / k_1}{L_1 / k_1 + L_2 / k_2}

    As much air passes the one as the other, by Darcy's law as in `porous_flow`; own derivation from it.

    Examples
    --------
    >>> round(between_boards((1e11, 0.0), outside=1e5, inside=6e4))
    60000
    """
    outer, inner = resistances
    share = 1.0 if np.isinf(outer) else outer / (outer + inner)
    return float(np.sqrt(outside**2 - share * (outside**2 - inside**2)))


def orifice_flow(area: float, *, discharge: float, outside: float, inside: float) -> float:
    r"""Return the leak through a hole or an open kerf.

    Parameters
    ----------
    area : float
        Of the hole. [m2]
    discharge : float
        Coefficient of discharge, 0.61 at a sharp edge. [-]
    outside, inside : float
        Pressures p1 and p2. [Pa]

    Returns
    -------
    float
        Volume of outside air; below the critical ratio of pressures it grows no further. [m3/s]

    Notes
    -----
    .. math:: Q = C_d A \sqrt{\frac{2 g R T}{g - 1} \left(r^{2/g} - r^{(g+1)/g}\right)},
        \quad r = \max(p_2 / p_1, r_c)

    the isentropic nozzle (any text on gas dynamics; from memory) with the ratio of heats g.
    """
    ratio = max(inside / outside, CRITICAL_RATIO)
    g = HEAT_RATIO
    speed = 2.0 * g * GAS_CONSTANT * TEMPERATURE / (g - 1.0) * (ratio ** (2.0 / g) - ratio ** ((g + 1.0) / g))
    return float(discharge * area * np.sqrt(max(speed, 0.0)))


def slot_flow(width: float, *, gap: float, length: float, outside: float, inside: float) -> float:
    r"""Return the leak through a narrow gap, as under a gasket's lip.

    Parameters
    ----------
    width : float
        Of the gap along the lip. [m]
    gap : float
        Its height h. [m]
    length : float
        The way through it, l. [m]
    outside, inside : float
        Pressures p1 and p2. [Pa]

    Returns
    -------
    float
        Volume of outside air. [m3/s]

    Notes
    -----
    .. math:: Q = \frac{w h^3 (p_1^2 - p_2^2)}{24 \mu l p_1}

    for slow flow; a gap passes no more than the same opening as a hole without loss, so the lesser of both is taken.
    """
    laminar = width * gap**3 * (outside**2 - inside**2) / (24.0 * VISCOSITY * length * outside)
    return min(laminar, orifice_flow(width * gap, discharge=1.0, outside=outside, inside=inside))
