"""The two units in which files are written, and numbers as text."""

from dataclasses import dataclass

__all__ = ["INCH", "MILLIMETRE", "WrittenUnit", "fixed", "trimmed"]


@dataclass(frozen=True, kw_only=True)
class WrittenUnit:
    """A unit of length in a file.

    Attributes
    ----------
    name, word : str
        As it stands behind a number, and as it stands in a file name.
    size : float
        Length of one unit. [m]
    decimals : int
        Decimals of a drawing's numbers: 0.001 mm, 0.000001 in. [-]
    program_decimals : int
        Decimals of a program's numbers: 0.001 mm, 0.0001 in. [-]
    insunits, measurement : int
        DXF header variables $INSUNITS and $MEASUREMENT. [-]
    word_g : str
        RS-274 word that sets it.
    known_length : float
        Length of the check line that is drawn beside a pattern. [m]
    """

    name: str
    word: str
    size: float
    decimals: int
    program_decimals: int
    insunits: int
    measurement: int
    word_g: str
    known_length: float


MILLIMETRE = WrittenUnit(
    name="mm",
    word="mm",
    size=1e-3,
    decimals=3,
    program_decimals=3,
    insunits=4,
    measurement=1,
    word_g="G21",
    known_length=0.1,
)
INCH = WrittenUnit(
    name="in",
    word="inch",
    size=0.0254,
    decimals=6,
    program_decimals=4,
    insunits=1,
    measurement=0,
    word_g="G20",
    known_length=0.1016,
)


def fixed(value: float, decimals: int) -> str:
    """Return a number without exponent and without trailing zeros, but always with a decimal point.

    Old controllers read ``X10`` as ten of their smallest steps; ``X10.0`` is ten units everywhere (common practice, no
    source).

    Examples
    --------
    >>> fixed(10.0, 3), fixed(-0.00004, 3), fixed(1 / 3, 4)
    ('10.0', '0.0', '0.3333')
    """
    text = trimmed(value, decimals)
    return text if "." in text else text + ".0"


def trimmed(value: float, decimals: int) -> str:
    """Return a number without exponent and without trailing zeros; minus nought is nought.

    Examples
    --------
    >>> trimmed(25.4, 3), trimmed(-0.0001, 3), trimmed(1e-9, 3), trimmed(1200.0, 3)
    ('25.4', '0', '0', '1200')
    """
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
