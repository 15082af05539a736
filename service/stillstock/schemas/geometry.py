"""What no schema can say: whether the parts of a set-up fit each other. Each check returns the faults it finds."""

from collections.abc import Callable, Iterable, Iterator

import numpy as np

from stillstock import units
from stillstock.engine.holding.contact_list import holder_contacts
from stillstock.engine.set_up import Cut, Load, SetUp, Tool
from stillstock.errors import Fault
from stillstock.schemas.cut_tests import cut_test_faults
from stillstock.schemas.parts import part_faults
from stillstock.schemas.spelling import plainly_meant
from stillstock.tables.load import Tables
from stillstock.units import System

__all__ = ["set_up_faults"]

#: What rounding a document's numbers may shift. [m]
TOLERANCE = 1e-6
#: A measured thickness farther off its nominal than this is another stock, or another unit. [-]
THICKNESS_SCATTER = 0.25
#: How far beside the stock a stated load may attack (on a part that stands out). [m]
LOAD_REACH = 0.05


def set_up_faults(set_up: SetUp, *, system: System, tables: Tables) -> list[Fault]:
    """Return every fault of a set-up whose members are each right by themselves."""
    checks: tuple[Callable[[SetUp, System], Iterable[Fault]], ...] = (
        _stock,
        _machine,
        _tools,
        _cuts,
        _loads,
        cut_test_faults,
        part_faults,
    )
    found = [fault for check in checks for fault in check(set_up, system)]
    return found + holder_contacts(set_up, tables)[1]


def _length(value: float, system: System) -> str:
    return f"{units.present(value, 'length', system):g} {units.unit_name('length', system)}"


def _stock(set_up: SetUp, system: System) -> Iterator[Fault]:
    stock, bed = set_up.stock, set_up.bed
    low, high = stock.thickness
    nominal = stock.size[2]
    if low > high:
        yield Fault(
            pointer="/stock/thickness",
            code="order",
            detail="the least measured thickness comes first",
            corrected=[units.present(high, "length", system), units.present(low, "length", system)],
        )
    elif low < nominal * (1.0 - THICKNESS_SCATTER) or high > nominal * (1.0 + THICKNESS_SCATTER):
        yield Fault(
            pointer="/stock/thickness",
            code="mismatch",
            detail=f"measured {_length(low, system)} to {_length(high, system)}, size says {_length(nominal, system)}",
        )
    if stock.origin[2] < bed.top - TOLERANCE:
        yield Fault(
            pointer="/stock/origin/2",
            code="mismatch",
            detail=f"the stock would lie {_length(bed.top - stock.origin[2], system)} inside the bed",
            limit=units.present(bed.top, "length", system),
            seen=units.present(stock.origin[2], "length", system),
        )
    yield from _outline(set_up, system)


def _outline(set_up: SetUp, system: System) -> Iterator[Fault]:
    stock = set_up.stock
    if stock.outline is None:
        return
    low, high = _plan_box(set_up)
    outside = np.any((stock.outline < low - TOLERANCE) | (stock.outline > high + TOLERANCE), axis=1)
    if np.any(outside):
        x, y = stock.outline[int(np.argmax(outside))]
        yield Fault(
            pointer="/stock/outline",
            code="outside",
            detail=f"the corner at {_length(x, system)}, {_length(y, system)} lies outside what origin and size state",
        )


def _machine(set_up: SetUp, system: System) -> Iterator[Fault]:
    puck, bed = set_up.machine.puck, set_up.bed.top
    if puck is not None and puck.at[2] <= bed:
        yield Fault(
            pointer="/machine/puck/at/2",
            code="mismatch",
            detail=f"the puck's upper face must lie above the bed, which is at {_length(bed, system)}",
            limit=units.present(bed, "length", system),
            seen=units.present(puck.at[2], "length", system),
        )


def _plan_box(set_up: SetUp) -> tuple[np.ndarray, np.ndarray]:
    low = np.array(set_up.stock.origin[:2])
    return low, low + np.array(set_up.stock.size[:2])


def _tools(set_up: SetUp, system: System) -> Iterator[Fault]:
    for number, tool in set_up.tools.items():
        for member, detail in _tool(tool, system):
            yield Fault(pointer=f"/tools/{number}/{member}", code="mismatch", detail=detail)


def _tool(tool: Tool, system: System) -> Iterator[tuple[str, str]]:
    if tool.tip_diameter > tool.diameter + TOLERANCE:
        yield "tip_diameter", f"must not exceed the tool's diameter, {_length(tool.diameter, system)}"
    if tool.helix == "compression" and tool.up_length <= 0.0:
        yield "up_length", "a compression bit needs the length of its up-cut part"
    if tool.kind == "v_bit" and tool.tip_angle >= np.pi * (1.0 - 1e-9):
        yield "tip_angle", "a V-bit needs its included angle, below 180 deg"
    if (
        tool.cutting_length is not None
        and tool.stickout is not None
        and tool.cutting_length > tool.stickout + TOLERANCE
    ):
        yield "cutting_length", f"must not exceed the stickout, {_length(tool.stickout, system)}"


def _cuts(set_up: SetUp, system: System) -> Iterator[Fault]:
    for index, cut in enumerate(set_up.cuts):
        at = f"/cuts/{index}"
        tool = set_up.tools.get(cut.tool)
        if tool is None:
            near = plainly_meant(str(cut.tool), [str(number) for number in set_up.tools])
            known = ", ".join(str(number) for number in set_up.tools) or "none"
            yield Fault(
                pointer=f"{at}/tool",
                code="unknown_tool",
                detail=f"there is no tool {cut.tool} among tools; known: {known}",
                seen=cut.tool,
                corrected=int(near) if near else None,
            )
            continue
        if tool.kind == "probe":
            yield Fault(pointer=f"{at}/tool", code="mismatch", detail="a probe cuts nothing", seen=cut.tool)
        if cut.width > tool.diameter * (1.0 + 1e-6):
            yield Fault(
                pointer=f"{at}/width",
                code="mismatch",
                detail=f"the width of cut must not exceed the tool's diameter, {_length(tool.diameter, system)}",
                limit=units.present(tool.diameter, "length", system),
                seen=units.present(cut.width, "length", system),
                corrected=units.present(tool.diameter, "length", system),
            )
        yield from _path(set_up, cut, at, tool.diameter, system)


def _path(set_up: SetUp, cut: Cut, at: str, reach: float, system: System) -> Iterator[Fault]:
    """Yield the first point that lies where nothing is to cut: beside, above or far below the stock."""
    low, high = _plan_box(set_up)
    bed = set_up.bed
    plan = np.any((cut.path[:, :2] < low - reach) | (cut.path[:, :2] > high + reach), axis=1)
    above = cut.path[:, 2] > set_up.stock.top + set_up.stock.bow + TOLERANCE
    below = cut.path[:, 2] < bed.top - bed.thickness - TOLERANCE
    for wrong, words in (
        (plan, "lies beside the stock"),
        (above, "lies above the stock: its height is where the tool tip runs"),
        (below, "lies below the bed"),
    ):
        if np.any(wrong):
            row = int(np.argmax(wrong))
            where = ", ".join(_length(float(x), system) for x in cut.path[row])
            yield Fault(pointer=f"{at}/path/{row}", code="outside", detail=f"the point {where} {words}")


def _loads(set_up: SetUp, system: System) -> Iterator[Fault]:
    stock = set_up.stock
    low = np.array(stock.origin) - LOAD_REACH
    high = np.array(stock.origin) + np.array(stock.size) + LOAD_REACH
    for index, load in enumerate(set_up.loads):
        yield from _load(index, load, low, high, system)


def _load(index: int, load: Load, low: np.ndarray, high: np.ndarray, system: System) -> Iterator[Fault]:
    at = np.array(load.at)
    if np.any((at < low) | (at > high)):
        where = ", ".join(_length(float(x), system) for x in at)
        yield Fault(pointer=f"/loads/{index}/at", code="outside", detail=f"the point {where} lies beside the stock")
    if not np.any(load.force) and not np.any(load.moment):
        yield Fault(pointer=f"/loads/{index}/force", code="no_load", detail="force and moment are both nought")
