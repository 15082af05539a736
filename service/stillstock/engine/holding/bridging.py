"""What a tab or a skin has left of its height, and what the stock in it bears."""

from collections.abc import Callable
from dataclasses import replace
from math import cos, sin

from stillstock.engine.holding.demands import Demand
from stillstock.engine.set_up import Material, SetUp
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = [
    "COUNTED_FROM",
    "fibre_strength",
    "hankinson",
    "left",
    "lift_shear",
    "loss",
    "lost_height",
    "of_bands",
    "path_shear",
    "stiffness_of_bridge",
]

#: What the heights in the program are counted from: the stock's top less its nominal thickness, or the bed itself.
COUNTED_FROM = ("stock_top", "bed")

#: Shear modulus on elastic modulus: about 1/16 in wood and panels (USDA Wood Handbook, ch. 5, from memory: E/G of 14 to
#: 16), 1 / (2 (1 + nu)) with nu = 0.3 in all else. Only shares between bridges rest on it. [-]
SHEAR_MODULUS_WOOD, SHEAR_MODULUS_OTHER = 1.0 / 16.0, 1.0 / 2.6

#: Below this nothing is left: a shaving, far under what any stock is measured to. [m]
NOTHING = 1e-6

WOODS = ("softwood", "hardwood")
NOTCH_BRITTLE = ("acrylic",)


def of_bands(
    function: Callable[..., float], *bands: Triple, what: str, dimension: str, ground: Triple | None = None
) -> Triple:
    """Return a function that grows with every argument, at the low, typical and high ends of bands. [`dimension`]

    Source and grade are those of `ground`, or of the first band.
    """
    low, typical, high = (function(*(getattr(band, end) for band in bands)) for end in ("low", "typical", "high"))
    return replace(ground or bands[0], low=low, typical=typical, high=high, what=what, dimension=dimension)


def loss(set_up: SetUp, *, counted_from: str) -> Triple:
    """Return by how much what is left falls short of its nominal height.

    Parameters
    ----------
    set_up : SetUp
    counted_from : str
        One of `COUNTED_FROM`.

    Returns
    -------
    Triple
        Negative where the stock is thicker than it was said to be. [m]

    Notes
    -----
    The tool passes at a set height; what is left reaches from there down to the underside of the stock. Counted from
    the top, that underside lies higher by all that the stock is thinner than nominal; a bow or a high spot of the bed
    lifts it besides, whichever is counted from. Half of the bow is taken as typical, all of it and the bed's whole
    error at the high end. Own derivation.
    """
    stock, bed = set_up.stock, set_up.bed
    thin, thick = stock.thickness
    nominal = stock.size[2] if counted_from == "stock_top" else None
    least, middle, most = (
        (0.0, 0.0, 0.0) if nominal is None else (nominal - t for t in (thick, (thin + thick) / 2, thin))
    )
    return Triple(
        low=least,
        typical=middle + stock.bow / 2.0,
        high=most + stock.bow + bed.error,
        what="height lost to thin stock, bow and bed",
        source="caller",
        dimension="length",
        note="measured thickness, bow and error of the bed as stated",
    )


def left(nominal: float, *, lost: Triple) -> Triple:
    """Return what is left of a nominal height, none where the loss is greater. [m]"""
    remains = (nominal - gone for gone in (lost.high, lost.typical, lost.low))
    low, typical, high = (height if height > NOTHING else 0.0 for height in remains)
    return replace(lost, low=low, typical=typical, high=high, what="height left")


def hankinson(along: float, across: float, *, angle: float) -> float:
    r"""Return a strength or modulus at an angle to the grain. [as `along`]

    .. math:: N = \frac{P Q}{P \sin^2\theta + Q \cos^2\theta}

    R. L. Hankinson, 1921, as in the USDA Wood Handbook, FPL-GTR-190, ch. 5 (from memory; the power 2 is the usual one).
    """
    return along * across / (along * sin(angle) ** 2 + across * cos(angle) ** 2)


def _known(material: Material, *names: str, pointer: str) -> Triple:
    for name in names:
        if name in material.properties:
            return material.properties[name]
    fault = Fault(
        pointer=pointer,
        code="not_known",
        detail=f"no table has the {names[0].replace('_', ' ')} of {material.title}: state it from the shop's own test",
    )
    raise ImpossibleSetUp([fault])


def fibre_strength(material: Material, tables: Tables, *, angle: float, given: Triple | None) -> Triple:
    """Return the pull or bending stress that a bridge bears along its span.

    Parameters
    ----------
    material : Material
    tables : Tables
    angle : float
        Between the span and the grain. [rad]
    given : Triple or None
        The caller's own. [Pa]

    Returns
    -------
    Triple
        [Pa]

    Notes
    -----
    Solid wood snaps across its grain at its tensile strength there, less what notches cost; between the two directions
    Hankinson's formula. Notch-brittle plastic is taken at the same share.
    """
    if given is not None:
        return given
    bending = _known(material, "bending_strength", pointer="/bending_strength")
    share = tables.value("tabs", "notch_brittle", "usable_share")
    if material.family in WOODS:
        across = _known(material, "tension_across", pointer="/bending_strength")
        return of_bands(
            lambda p, q, s: hankinson(p, q * s, angle=angle),
            bending,
            across,
            share,
            what=f"stress across which a bridge of {material.title} breaks",
            dimension="pressure",
        )
    if material.key in NOTCH_BRITTLE:
        return of_bands(lambda p, s: p * s, bending, share, what=bending.what, dimension="pressure")
    return bending


def path_shear(material: Material, *, given: Triple | None) -> Triple:
    """Return the shear stress that a bridge bears along the path. [Pa]"""
    return given or _known(material, "shear", "planar_shear", pointer="/shear_strength")


def lift_shear(material: Material, *, angle: float, given: Triple | None) -> Triple:
    """Return the shear stress that a bridge bears in lift: between layers or fibres, where it is least. [Pa]

    `angle` lies between the span and the grain; along it the shear is that along the grain, across it the fibres roll.
    """
    shear = path_shear(material, given=given)
    if given is not None:
        return given
    if material.family in WOODS:
        rolling = _known(material, "rolling_shear_ratio", pointer="/shear_strength")
        return of_bands(
            lambda p, r: hankinson(p, p * r, angle=angle), shear, rolling, what=shear.what, dimension="pressure"
        )
    return material.properties.get("planar_shear", shear)


def stiffness_of_bridge(material: Material, *, depth: float, breadth: float, span: float, angle: float) -> float:
    r"""Return the force per movement with which a bridge resists one end being shifted.

    Parameters
    ----------
    material : Material
    depth, breadth : float
        Of its section, along the force and across it. [m]
    span : float
        Between the two rigid ends. [m]
    angle : float
        Between the span and the grain. [rad]

    Returns
    -------
    float
        [N/m]

    Notes
    -----
    Bending and shear in series, as in Timoshenko's beam with both ends held and one guided:

    .. math:: 1 / k = d^3 / (12 E I) + 1.2 \, d / (G A)
    """
    known = material.properties
    wooden = material.family in (*WOODS, "panel")
    main = known["modulus_along"]
    modulus = hankinson(main.typical, known.get("modulus_across", main).typical, angle=angle)
    shear = modulus * (SHEAR_MODULUS_WOOD if wooden else SHEAR_MODULUS_OTHER)
    bending = span**3 / (modulus * breadth * depth**3)
    return 1.0 / (bending + 1.2 * span / (shear * breadth * depth))


def lost_height(
    index: int, set_up: SetUp, *, name: str, nominal: float, counted_from: str, at: tuple[float, float, float]
) -> Demand:
    """Return the demand on a nominal height: what thin stock, bow and bed take away must be less. [m]"""
    lost = loss(set_up, counted_from=counted_from)
    remains = left(nominal, lost=lost)
    stated = replace(lost, low=nominal, typical=nominal, high=nominal, what=f"nominal height of the {name}")
    return Demand(
        name=name,
        holder=index,
        value=lost,
        limit=stated,
        breaks=True,
        detail=f"height that the {name} loses; {{0}} to {{1}} of it are left",
        numbers=((remains.low, "length"), (remains.high, "length")),
        at=at,
    )
