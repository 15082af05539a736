"""Whether everything fits under the spindle at the top of its travel, and whether the tool reaches down."""

from collections.abc import Mapping
from dataclasses import dataclass

from stillstock.engine.set_up import SetUp

__all__ = ["BudgetRow", "ToolBudget", "ZBudget", "gauge_length", "z_budget"]


@dataclass(frozen=True, kw_only=True)
class BudgetRow:
    """A storey of the column from the bed up to the spindle nose. `length` [m]."""

    what: str
    length: float


@dataclass(frozen=True, kw_only=True)
class ToolBudget:
    """The column with one tool in the spindle.

    Attributes
    ----------
    tool : int
    gauge : float
        From its tip to the spindle nose. [m]
    left : float
        Free between the column's top and the nose at the upper end of travel; negative if it does not fit. [m]
    below : float or None
        Travel that is left below its lowest cut; negative if it does not reach; None if the travel is not known. [m]
    """

    tool: int
    gauge: float
    left: float
    below: float | None


@dataclass(frozen=True, kw_only=True)
class ZBudget:
    """What stands between bed and spindle nose.

    Attributes
    ----------
    available : float
        From bed to nose at the upper end of travel. [m]
    rows : tuple of BudgetRow
        From the bed up, with the longest tool.
    tools : tuple of ToolBudget
    """

    available: float
    rows: tuple[BudgetRow, ...]
    tools: tuple[ToolBudget, ...]

    @property
    def left(self) -> float:
        """Free with the longest tool. [m]"""
        return self.available - sum(row.length for row in self.rows)


def gauge_length(*, stickout: float, nut: float) -> float:
    """Return the length from tip to spindle nose: what the tool sticks out of the nut, and the nut. [m]"""
    return stickout + nut


def z_budget(
    set_up: SetUp,
    *,
    gauges: Mapping[int, float],
    lowest: Mapping[int, float],
    clearance: float,
    short_of_switch: float,
) -> ZBudget | None:
    """Return the column from the bed to the spindle nose, or None if the machine's height or the tools are not known.

    Parameters
    ----------
    set_up : SetUp
    gauges : mapping of int to float
        Length from tip to nose by tool. [m]
    lowest : mapping of int to float
        Lowest height of each tool's tip in the job. [m]
    clearance : float
        Height to which the tip has to rise. [m]
    short_of_switch : float
        What is kept from the upper end of travel. [m]
    """
    machine, stock, bed = set_up.machine, set_up.stock, set_up.bed.top
    if machine.nose_to_bed is None or not gauges:
        return None
    bottom, top = stock.origin[2], stock.origin[2] + stock.thickness[1]
    storeys = (
        ("plate, vise or parallels under the stock", bottom - bed),
        ("stock", top - bottom),
        ("retract above the stock", clearance - top),
        ("tool below the spindle nose", max(gauges.values())),
        ("kept from the end of travel", short_of_switch),
    )
    tools = []
    for number, gauge in gauges.items():
        left = machine.nose_to_bed - (clearance - bed) - gauge - short_of_switch
        below = None
        if machine.z_travel is not None:
            # At the lower end of travel the nose stands this high above the bed, and the tip a gauge length below it.
            nose = machine.nose_to_bed - machine.z_travel
            below = (lowest.get(number, bottom) - bed) - (nose - gauge)
        tools.append(ToolBudget(tool=number, gauge=gauge, left=left, below=below))
    rows = tuple(BudgetRow(what=what, length=length) for what, length in storeys)
    return ZBudget(available=machine.nose_to_bed, rows=rows, tools=tuple(tools))
