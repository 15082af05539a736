"""Which units each dimension takes, how shops spell them, and what they are in SI.

The only module that imports pint, at import and with expressions that stand here: it derives the factors.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import pint

__all__ = ["DIMENSIONS", "DOCUMENT", "DOCUMENT_UNITS", "FACTORS", "SYSTEMS", "Dimension", "Factor", "System"]

System = Literal["metric", "inch"]
SYSTEMS: tuple[System, ...] = ("metric", "inch")


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """What belongs to one dimension; `units` maps each expression for pint to the spellings that mean it."""

    noun: str
    si: str
    metric: tuple[str, str]
    inch: tuple[str, str]
    units: Mapping[str, str]


# Spellings are parted by two blanks, because some hold one.
DIMENSIONS: Mapping[str, Dimension] = {
    "length": Dimension(
        noun="a length",
        si="m",
        metric=("mm", "mm"),
        inch=("in", "inch"),
        units={
            "mm": "mm",
            "cm": "cm",
            "m": "m",
            "micrometer": "um  µm  μm  micron  microns",
            "inch": 'in  inch  inches  in.  "  ″  ”',
            "inch/1000": "thou",
            "foot": "ft  foot  feet  '  ′  ’",
        },
    ),
    "area": Dimension(
        noun="an area",
        si="m**2",
        metric=("mm2", "mm**2"),
        inch=("in2", "inch**2"),
        units={
            "mm**2": "mm2  mm^2  mm²",
            "cm**2": "cm2  cm^2  cm²",
            "m**2": "m2  m^2  m²",
            "inch**2": "in2  in^2  in²  sq in",
            "foot**2": "ft2  ft^2  ft²  sq ft",
        },
    ),
    "force": Dimension(
        noun="a force",
        si="N",
        metric=("N", "N"),
        inch=("lbf", "pound_force"),
        units={
            "N": "N",
            "kN": "kN",
            "pound_force": "lbf",
            "kilogram_force": "kgf  kp",
            "ounce_force": "ozf",
        },
    ),
    "torque": Dimension(
        noun="a torque",
        si="N*m",
        metric=("N m", "N*m"),
        inch=("lbf in", "pound_force*inch"),
        units={
            "N*m": "N m  Nm  N-m  N*m  N·m  N⋅m  N.m",
            "kN*m": "kN m  kNm  kN-m  kN*m  kN·m  kN⋅m",
            "N*cm": "N cm  Ncm  N-cm  N*cm  N·cm  N⋅cm",
            "pound_force*inch": ("lbf in  lbf-in  lbf*in  lbf·in  in lbf  in-lbf  in-lb  in lb  in-lbs  lb-in  lb in"),
            "pound_force*foot": ("lbf ft  lbf-ft  lbf*ft  lbf·ft  ft lbf  ft-lbf  ft-lb  ft lb  ft-lbs  lb-ft  lb ft"),
            "kilogram_force*cm": "kgf cm  kgf-cm  kgf*cm",
            "kilogram_force*m": "kgf m  kgf-m  kgf*m",
        },
    ),
    "pressure": Dimension(
        noun="a pressure",
        si="Pa",
        metric=("kPa", "kPa"),
        inch=("psi", "pound_force/inch**2"),
        units={
            "Pa": "Pa  N/m2  N/m^2  N/m²",
            "kPa": "kPa  kN/m2  kN/m^2  kN/m²",
            "MPa": "MPa  N/mm2  N/mm^2  N/mm²",
            "GPa": "GPa  kN/mm2  kN/mm^2  kN/mm²",
            "bar": "bar",
            "millibar": "mbar",
            "pound_force/inch**2": "psi  PSI  lbf/in2  lbf/in^2  lbf/in²",
            "1000*pound_force/inch**2": "ksi",
            "inch_Hg": "inHg  in Hg  in-Hg",
            "millimeter_Hg": "mmHg  mm Hg  torr  Torr",
            "2.54*centimeter_H2O": "inH2O  in H2O  inWC  in WC",
        },
    ),
    "force_per_length": Dimension(
        noun="a force per length",
        si="N/m",
        metric=("N/mm", "N/mm"),
        inch=("lbf/in", "pound_force/inch"),
        units={
            "N/m": "N/m",
            "kN/m": "kN/m",
            "N/cm": "N/cm",
            "N/mm": "N/mm",
            "N/(25*mm)": "N/25mm  N/25 mm",
            "pound_force/inch": "lbf/in",
            "pound_force/foot": "lbf/ft",
            "ounce_force/inch": "ozf/in",
        },
    ),
    "power": Dimension(
        noun="a power",
        si="W",
        metric=("kW", "kW"),
        inch=("hp", "foot*pound_force*550/s"),
        units={
            "W": "W",
            "kW": "kW",
            "foot*pound_force*550/s": "hp  HP",
            "metric_horsepower": "PS",
        },
    ),
    "speed": Dimension(
        noun="a speed or feed",
        si="m/s",
        metric=("mm/min", "mm/min"),
        inch=("in/min", "inch/min"),
        units={
            "mm/min": "mm/min",
            "mm/s": "mm/s",
            "cm/min": "cm/min",
            "m/min": "m/min",
            "m/s": "m/s",
            "inch/min": "in/min  ipm  IPM",
            "inch/s": "in/s  ips  IPS",
            "foot/min": "ft/min  fpm  FPM  sfm  SFM",
            "foot/s": "ft/s",
        },
    ),
    "angular_speed": Dimension(
        noun="a spindle speed",
        si="rad/s",
        metric=("rev/min", "revolution/min"),
        inch=("rev/min", "revolution/min"),
        units={
            "revolution/min": "rev/min  rpm  RPM  r/min  1/min  /min  min-1  min^-1",
            "revolution/s": "rev/s  rps",
            "rad/s": "rad/s",
        },
    ),
    "angle": Dimension(
        noun="an angle",
        si="rad",
        metric=("deg", "degree"),
        inch=("deg", "degree"),
        units={"degree": "deg  °  degree  degrees", "rad": "rad"},
    ),
    "mass": Dimension(
        noun="a mass",
        si="kg",
        metric=("kg", "kg"),
        inch=("lb", "pound"),
        units={"kg": "kg", "g": "g", "pound": "lb  lbs  lbm", "ounce": "oz"},
    ),
    "time": Dimension(
        noun="a time",
        si="s",
        metric=("s", "s"),
        inch=("s", "s"),
        units={"s": "s  sec", "min": "min", "hour": "h  hr", "day": "d  day  days"},
    ),
    "density": Dimension(
        noun="a density",
        si="kg/m**3",
        metric=("kg/m3", "kg/m**3"),
        inch=("lb/ft3", "pound/foot**3"),
        units={
            "kg/m**3": "kg/m3  kg/m^3  kg/m³",
            "g/cm**3": "g/cm3  g/cm^3  g/cm³",
            "pound/foot**3": "lb/ft3  lb/ft^3  lb/ft³  pcf",
        },
    ),
    "flow": Dimension(
        noun="a flow of air",
        si="m**3/s",
        metric=("m3/h", "m**3/hour"),
        inch=("cfm", "foot**3/min"),
        units={
            "m**3/hour": "m3/h  m^3/h  m³/h",
            "m**3/min": "m3/min  m^3/min  m³/min",
            "liter/min": "L/min  l/min",
            "liter/s": "L/s  l/s",
            "foot**3/min": "cfm  CFM  ft3/min  ft^3/min  ft³/min",
        },
    ),
    "temperature": Dimension(
        noun="a temperature",
        si="kelvin",
        metric=("degC", "degC"),
        inch=("degF", "degF"),
        units={"degC": "degC  °C  C", "degF": "degF  °F  F", "kelvin": "K"},
    ),
    "fraction": Dimension(
        noun="a share",
        si="dimensionless",
        metric=("", "dimensionless"),
        inch=("", "dimensionless"),
        units={"percent": "%"},
    ),
}

# Dimensions of numbers in the tables that a document never states: they are answered in one unit for everybody.
_ANSWERED: Mapping[str, tuple[str, str, str]] = {
    "number": ("", "dimensionless", "dimensionless"),
    "force_per_length_to_1.5": ("N/mm^1.5", "N/m**1.5", "N/mm**1.5"),
    "force_per_length_to_1.75": ("N/mm^1.75", "N/m**1.75", "N/mm**1.75"),
    "permeability": ("m2", "m**2", "m**2"),
    "per_angle": ("1/deg", "1/rad", "1/degree"),
    "expansion": ("1/K", "1/kelvin", "1/kelvin"),
    "conductivity": ("W/(m K)", "W/(m*kelvin)", "W/(m*kelvin)"),
    "energy_per_volume": ("J/mm3", "J/m**3", "J/mm**3"),
}


@dataclass(frozen=True)
class Factor:
    """One unit of a dimension in SI, and where its scale begins (other than 0 for temperatures alone)."""

    factor: float
    zero: float = 0.0

    def to_si(self, number: float) -> float:
        """Return a number of this unit in SI."""
        return number * self.factor + self.zero

    def from_si(self, value: float) -> float:
        """Return an SI value in this unit."""
        return (value - self.zero) / self.factor


def _derive(registry: pint.UnitRegistry[float], expression: str, si: str) -> Factor:
    """Ask pint what one of our own expressions is in SI."""
    if expression in {"degC", "degF"}:
        zero = float(registry.Quantity(0.0, expression).to(si).magnitude)
        return Factor(_clean(registry.Quantity(1.0, f"delta_{expression}").to(si).magnitude), zero)
    return Factor(_clean(registry.parse_expression(expression).to(si).magnitude))


def _clean(factor: float) -> float:
    """Return the short decimal that a factor is meant to be, if there is one: an inch is 0.0254 m and no more."""
    short = float(f"{factor:.12g}")
    return short if abs(short - factor) < 1e-15 * factor else factor


def _spellings(dimension: str) -> dict[str, str]:
    """Return each spelling of a dimension's units with the expression that it stands for."""
    return {
        spelling: expression
        for expression, spellings in DIMENSIONS[dimension].units.items()
        for spelling in spellings.split("  ")
    }


def _derive_all() -> tuple[dict[str, dict[str, Factor]], dict[tuple[str, str], tuple[str, Factor]]]:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    factors: dict[str, dict[str, Factor]] = {}
    documents: dict[tuple[str, str], tuple[str, Factor]] = {}
    for name, dimension in DIMENSIONS.items():
        factors[name] = {s: _derive(registry, e, dimension.si) for s, e in _spellings(name).items()}
        for system, (unit, expression) in (("metric", dimension.metric), ("inch", dimension.inch)):
            documents[name, system] = (unit, _derive(registry, expression, dimension.si))
    for name, (unit, si, expression) in _ANSWERED.items():
        for system in SYSTEMS:
            documents[name, system] = (unit, _derive(registry, expression, si))
    return factors, documents


FACTORS, DOCUMENT = _derive_all()
#: By dimension, the unit of bare numbers in a metric and in an inch document.
DOCUMENT_UNITS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {name: (DOCUMENT[name, "metric"][0], DOCUMENT[name, "inch"][0]) for name in DIMENSIONS}
)
