"""Strips squeezed along their length: buckling load, middle rise, and what presses a bowed strip flat."""

import numpy as np

__all__ = ["bowed_rise", "eccentric_rise", "euler_load", "flattening_pressure", "modulus_at"]


def euler_load(modulus: float, *, second_moment: float, length: float, effective: float = 1.0) -> float:
    r"""Return the load at which a slender column buckles.

    Parameters
    ----------
    modulus : float
        Of elasticity E. [Pa]
    second_moment : float
        Of the section, I. [m4]
    length : float
        L. [m]
    effective : float
        K, the effective length on the length: 1 with pinned ends, 0.5 with both ends clamped. [-]

    Returns
    -------
    float
        [N]

    Notes
    -----
    .. math:: P_E = \pi^2 E I / (K L)^2

    S. P. Timoshenko and J. M. Gere, "Theory of Elastic Stability", 2nd ed., McGraw-Hill, 1961, ch. 2 (from memory).

    Examples
    --------
    >>> round(euler_load(10e9, second_moment=400e-8, length=5.0, effective=0.5))
    63165
    """
    return float(np.pi**2 * modulus * second_moment / (effective * length) ** 2)


def eccentric_rise(eccentricity: float, *, share: float) -> float:
    r"""Return how far the middle of a straight pinned strip moves when it is squeezed beside its axis.

    Parameters
    ----------
    eccentricity : float
        Distance e of the line of push from the axis, at both ends. [m]
    share : float
        Push on the Euler load, P / P_E. [-]

    Returns
    -------
    float
        Away from the line of push; infinite from P = P_E on. [m]

    Notes
    -----
    .. math:: y = e \left[\sec\left(\frac{\pi}{2} \sqrt{P / P_E}\right) - 1\right]

    the secant formula's deflection (Timoshenko and Gere 1961, ch. 1, from memory). With unequal eccentricities at the
    two ends the greater one is on the safe side.

    Examples
    --------
    >>> round(eccentric_rise(0.003, share=0.25), 6)
    0.001243
    """
    if eccentricity == 0.0:
        return 0.0
    return eccentricity * (1.0 / float(np.cos(np.pi / 2.0 * np.sqrt(share))) - 1.0) if share < 1.0 else np.inf


def bowed_rise(bow: float, *, share: float) -> float:
    r"""Return by how much more the middle of a bowed pinned strip rises when it is squeezed along its axis.

    Parameters
    ----------
    bow : float
        Rise d0 of its middle before. [m]
    share : float
        Push on the Euler load, P / P_E. [-]

    Returns
    -------
    float
        On top of `bow`; infinite from P = P_E on. [m]

    Notes
    -----
    .. math:: y = d_0 \frac{P / P_E}{1 - P / P_E}

    for a bow in the shape of half a sine wave (Timoshenko and Gere 1961, ch. 1, from memory).

    Examples
    --------
    >>> bowed_rise(0.001, share=0.5)
    0.001
    """
    if bow == 0.0:
        return 0.0
    return bow * share / (1.0 - share) if share < 1.0 else np.inf


def flattening_pressure(bow: float, *, span: float, modulus: float, thickness: float) -> float:
    r"""Return the even pressure that presses a bowed strip flat on a bed.

    Parameters
    ----------
    bow : float
        Rise d0 of its middle while it lies on its two ends. [m]
    span : float
        Between the ends, L. [m]
    modulus, thickness : float
        E and t. [Pa], [m]

    Returns
    -------
    float
        [Pa]

    Notes
    -----
    .. math:: q = 384 E I d_0 / (5 L^4) = 6.4 E t^3 d_0 / L^4

    the pressure under which a strip on two supports sags by d0 (beam tables).

    Examples
    --------
    >>> round(flattening_pressure(0.005, span=1.2, modulus=3e9, thickness=0.018))
    270
    """
    return 6.4 * modulus * thickness**3 * bow / span**4


def modulus_at(along: float, *, across: float, angle: float) -> float:
    r"""Return the modulus of elasticity at an angle to the grain.

    Parameters
    ----------
    along, across : float
        Moduli along and across the grain. [Pa]
    angle : float
        Between the grain and the direction asked for. [rad]

    Returns
    -------
    float
        [Pa]

    Notes
    -----
    .. math:: E = \frac{E_1 E_2}{E_1 \sin^2 a + E_2 \cos^2 a}

    Hankinson's formula with the exponent 2 that the Wood Handbook (FPL-GTR-282, ch. 5, from memory) gives for the
    modulus of elasticity.

    Examples
    --------
    >>> round(modulus_at(12.6e9, across=0.82e9, angle=0.0) / 1e9, 2)
    12.6
    >>> round(modulus_at(12.6e9, across=0.82e9, angle=np.pi / 2.0) / 1e9, 2)
    0.82
    """
    return float(along * across / (along * np.sin(angle) ** 2 + across * np.cos(angle) ** 2))
