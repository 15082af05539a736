"""What uneven height does to a V-line's width and to how an inlay fits."""

from collections.abc import Iterator

import numpy as np

from stillstock.engine.checks.check import Check
from stillstock.engine.checks.limits import tolerance
from stillstock.engine.checks.sheet import SheetState
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.set_up import SetUp, Tool, ToolKind

__all__ = ["flatness", "height_errors", "line_growth"]

#: Thickness scatter of one roll of tape on its thickness; common practice, no source. [-]
TAPE_SCATTER = 0.1


def line_growth(height_error: float, *, tip_angle: float) -> float:
    r"""Return by how much a V-line's width changes with the height of the face, and an inlay's fit with it.

    Parameters
    ----------
    height_error : float
        dz. [m]
    tip_angle : float
        Included angle of the bit. [rad]

    Returns
    -------
    float
        [m]

    Notes
    -----
    .. math:: \Delta w = 2\,dz \tan(\theta / 2)

    Examples
    --------
    >>> round(line_growth(1.2e-3, tip_angle=np.pi / 3.0) * 1e3, 2)
    1.39
    """
    return 2.0 * height_error * float(np.tan(tip_angle / 2.0))


def height_errors(set_up: SetUp, contacts: Contacts, gap: float) -> tuple[float, ...]:
    """Return what makes the top face uneven: stock, bed, bow that the holders leave, tape. [m]"""
    stock = set_up.stock
    tapes = [getattr(set_up.holders[bond.holder], "thickness", 0.0) for bond in contacts.bonds if bond.holder >= 0]
    return (
        stock.thickness[1] - stock.thickness[0],
        set_up.bed.error,
        gap,
        TAPE_SCATTER * max((float(thickness) for thickness in tapes), default=0.0),
    )


def _bits(set_up: SetUp) -> list[Tool]:
    """Return the V-bits that cut: those of the described cuts, all of them if a program cuts."""
    bits = [tool for tool in set_up.tools.values() if tool.kind is ToolKind.V_BIT]
    if set_up.program is not None:
        return bits
    used = {cut.tool for cut in set_up.cuts}
    return [tool for tool in bits if tool.number in used]


def flatness(set_up: SetUp, contacts: Contacts, states: tuple[SheetState | None, SheetState | None]) -> Iterator[Check]:
    """Give for each V-bit in use what uneven height does to its lines.

    Parameters
    ----------
    set_up : SetUp
    contacts : Contacts
    states : (2,) tuple of SheetState or None
        At the worst corner and the typical one; without them the whole bow counts.

    Notes
    -----
    At worst the errors add up; typically they are independent, and the root of the sum of their squares counts.
    """
    worst, usual = (state.gap if state is not None else set_up.stock.bow for state in states)
    most, source = tolerance(set_up)
    total = sum(height_errors(set_up, contacts, worst))
    if total <= 0.0:
        return
    typical = float(np.hypot.reduce(height_errors(set_up, contacts, usual)))
    for tool in _bits(set_up):
        growth = line_growth(total, tip_angle=tool.tip_angle)
        yield Check(
            name="flatness",
            holder=None,
            value=growth,
            limit=most,
            typical_ratio=line_growth(typical, tip_angle=tool.tip_angle) / most,
            breaks=False,
            detail=f"how much the lines of tool {tool.number} change over the uneven face, and an inlay fits worse",
            source=source,
            dimension="length",
        )
