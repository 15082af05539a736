"""The units in which sources print the numbers of the tables."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi
from types import MappingProxyType

__all__ = ["PRINTED_UNITS", "PrintedUnit"]


@dataclass(frozen=True)
class PrintedUnit:
    """A unit as printed: what one of it is in SI, and where its scale begins.

    Attributes
    ----------
    dimension : str
        Name of the dimension.
    factor : float
        One unit. [SI unit of `dimension`]
    zero : float
        Zero of its scale; other than 0 for degrees Celsius alone. [SI unit of `dimension`]
    """

    dimension: str
    factor: float
    zero: float = 0.0

    def to_si(self, number: float) -> float:
        """Return a printed number in SI."""
        return number * self.factor + self.zero


PRINTED_UNITS: Mapping[str, PrintedUnit] = MappingProxyType(
    {
        "-": PrintedUnit("number", 1.0),
        "%": PrintedUnit("number", 0.01),
        "ppm": PrintedUnit("number", 1e-6),
        "N": PrintedUnit("force", 1.0),
        "kN": PrintedUnit("force", 1e3),
        "lbf": PrintedUnit("force", 0.45359237 * 9.80665),
        "N m": PrintedUnit("torque", 1.0),
        "kPa": PrintedUnit("pressure", 1e3),
        "MPa": PrintedUnit("pressure", 1e6),
        "N/mm2": PrintedUnit("pressure", 1e6),
        "GPa": PrintedUnit("pressure", 1e9),
        "inHg": PrintedUnit("pressure", 3386.389),
        "N/mm": PrintedUnit("force_per_length", 1e3),
        "N/25mm": PrintedUnit("force_per_length", 40.0),
        "N/mm^1.5": PrintedUnit("force_per_length_to_1.5", 1e3**1.5),
        "N/mm^1.75": PrintedUnit("force_per_length_to_1.75", 1e3**1.75),
        "um": PrintedUnit("length", 1e-6),
        "mm": PrintedUnit("length", 1e-3),
        "in": PrintedUnit("length", 0.0254),
        "mm/450mm": PrintedUnit("number", 1e-3 / 0.45),
        "in2": PrintedUnit("area", 0.0254**2),
        "mm2": PrintedUnit("area", 1e-6),
        "cm2": PrintedUnit("area", 1e-4),
        "1e-13 m2": PrintedUnit("permeability", 1e-13),
        "deg": PrintedUnit("angle", pi / 180.0),
        "1/deg": PrintedUnit("per_angle", 180.0 / pi),
        "kg/m3": PrintedUnit("density", 1.0),
        "mg/m3": PrintedUnit("density", 1e-6),
        "s": PrintedUnit("time", 1.0),
        "min": PrintedUnit("time", 60.0),
        "h": PrintedUnit("time", 3600.0),
        "months": PrintedUnit("time", 365.25 / 12.0 * 86400.0),
        "degC": PrintedUnit("temperature", 1.0, 273.15),
        "1e-6/K": PrintedUnit("expansion", 1e-6),
        "W/(m K)": PrintedUnit("conductivity", 1.0),
        "J/mm3": PrintedUnit("energy_per_volume", 1e9),
        "W": PrintedUnit("power", 1.0),
        "kW": PrintedUnit("power", 1e3),
        "m/min": PrintedUnit("speed", 1.0 / 60.0),
        "mm/min": PrintedUnit("speed", 1e-3 / 60.0),
        "rev/min": PrintedUnit("angular_speed", pi / 30.0),
        "L/(min mm2)": PrintedUnit("speed", 1e-3 / 60.0 / 1e-6),
        "m3/h": PrintedUnit("flow", 1.0 / 3600.0),
        "L/min": PrintedUnit("flow", 1e-3 / 60.0),
    }
)
